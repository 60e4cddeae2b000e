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
/** A round of the slowest command takes as long as ten of others. */
const PROOF_EVERY = 10;

/** The rounds of one command. */
interface Killed {
  readonly name: string;
  /** Only in every so many of its rounds anything is done. */
  readonly every: number;
  /** @returns whether it was killed before it had ended */
  round(): Promise<boolean>;
  killed: number;
}

export async function benchFaults(rounds = ROUNDS, seed = 20261125): Promise<BenchRow[]> {
  const random = seededRandom(seed);
  const at = (steps: number, durationMs: number): Moment =>
    random.below(2) === 0
      ? { beforeStep: 1 + random.below(steps) }
      : { afterMs: random.between(0, durationMs) };
  const garden = await makeGarden();
  const failures: string[] = [];
  const commands: Killed[] = [];
  try {
    for (const writing of garden.writings) {
      const whole = await undisturbed(garden, writing);
      const every = writing.name.startsWith('proof') ? PROOF_EVERY : 1;
      const round = () => killedAt(garden, writing, at(whole.steps, whole.durationMs), whole);
      commands.push({ name: writing.name, every, round, killed: 0 });
    }
    const serving = () => serveKilledAt(garden, at(SERVING_STEPS, 1000)).then(() => true);
    commands.push({ name: 'serve', every: 1, round: serving, killed: 0 });
    for (let round = 0; round < rounds; round++) {
      const command = commands[round % commands.length] as Killed;
      if (Math.floor(round / commands.length) % command.every !== 0) continue;
      try {
        if (await command.round()) command.killed++;
      } catch (error) {
        failures.push((error as Error).message);
      }
    }
  } finally {
    rmSync(garden.bench.folder, { recursive: true, force: true });
  }
  for (const failure of failures) console.error(failure);
  const killed = commands.reduce((sum, command) => sum + command.killed, 0);
  const counts = commands.map((command) => `${command.name} ${command.killed}`).join(', ');
  return [
    {
      what: `kill -9 at any moment of ${commands.length} commands`,
      measured: `killed ${killed} times (${counts}); ${failures.length} times something was lost, half written, or could not be run again`,
      bar: 'none',
      holds: failures.length === 0 && killed > rounds / 2 && commands.every((command) => command.killed > 0),
    },
  ];
}
