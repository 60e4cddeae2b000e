/**
 * Design section 10: kill -9 at any moment, a thousand times. Half of the rounds end a command before a step by
 * which it changes a file or the database, all steps alike likely; half after a time within its whole run.
 */
import { rmSync } from 'node:fs';
import { makeGarden } from '../faults/garden.js';
import { killedAt, type Moment, undisturbed } from '../faults/rounds.js';
import { SERVING_STEPS, serveKilledAt } from '../faults/serving.js';
import { seededRandom } from '../support/random.js';
import type { BenchRow } from './measure.js';

/** Takes about ten minutes. */
const ROUNDS = 1000;
const SERVE_EVERY = 20;
/** A round of the slowest command takes as long as ten of others. */
const PROOF_EVERY = 10;

export async function benchFaults(rounds = ROUNDS): Promise<BenchRow[]> {
  const random = seededRandom(20261125);
  const garden = await makeGarden();
  const failures: string[] = [];
  let killed = 0;
  try {
    const writings = [];
    for (const writing of garden.writings)
      writings.push({ writing, whole: await undisturbed(garden, writing) });
    for (let round = 0; round < rounds; round++) {
      const { writing, whole } = writings[round % writings.length] as (typeof writings)[number];
      const at = (steps: number, durationMs: number): Moment =>
        random.below(2) === 0
          ? { beforeStep: 1 + random.below(steps) }
          : { afterMs: random.between(0, durationMs) };
      try {
        if (round % SERVE_EVERY === 0) {
          await serveKilledAt(garden, at(SERVING_STEPS, 1000));
          killed++;
        } else if (!writing.name.startsWith('proof') || random.below(PROOF_EVERY) === 0) {
          if (await killedAt(garden, writing, at(whole.steps, whole.durationMs), whole)) killed++;
        }
      } catch (error) {
        failures.push((error as Error).message);
      }
    }
  } finally {
    rmSync(garden.bench.folder, { recursive: true, force: true });
  }
  for (const failure of failures) console.error(failure);
  return [
    {
      what: `kill -9 at any moment of ${garden.writings.length} commands and of serve`,
      measured: `${failures.length} of ${killed} times something was lost, half written, or could not be run again`,
      bar: 'none',
      holds: failures.length === 0 && killed > rounds / 2,
    },
  ];
}
