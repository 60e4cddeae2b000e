/** Every command that writes, ended in the middle of it as by kill -9: a short run of what the bench does a thousand times. */
import { rmSync } from 'node:fs';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { seededRandom } from '../support/random.js';
import { type Garden, makeGarden } from './garden.js';
import { killedAt, undisturbed } from './rounds.js';
import { SERVING_STEPS, serveKilledAt } from './serving.js';

/** Of each command; the slow one is left to the bench. */
const ROUNDS = 2;

let garden: Garden;
beforeAll(async () => {
  garden = await makeGarden();
});
afterAll(() => rmSync(garden.bench.folder, { recursive: true, force: true }));

it('the ledger is sound, what was acknowledged is there, nothing is half there, and it can be run again', async () => {
  const random = seededRandom(20261125);
  let killed = 0;
  for (const writing of garden.writings.filter(({ name }) => !name.startsWith('proof'))) {
    const whole = await undisturbed(garden, writing);
    for (let round = 0; round < ROUNDS; round++) {
      // The later half of the steps is where a command writes.
      const half = Math.floor(whole.steps / 2);
      const beforeStep = 1 + (round % 2) * half + random.below(whole.steps - half);
      if (await killedAt(garden, writing, { beforeStep }, whole)) killed++;
    }
  }
  expect(killed).toBeGreaterThan(garden.writings.length);
}, 180_000);

it('what a phone was told is recorded is there when the server is killed, and there once when all is sent again', async () => {
  const random = seededRandom(20261126);
  for (let round = 0; round < 3; round++) {
    await serveKilledAt(garden, { beforeStep: 1 + random.below(SERVING_STEPS) });
  }
}, 120_000);
