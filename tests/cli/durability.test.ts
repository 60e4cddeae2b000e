/** What was acknowledged is in the ledger, whatever ends the process that wrote it. */
import { describe, expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { createLedger, openLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, NOON, seedling } from '../support/ledger.js';
import { type Bench, makeBench } from '../support/pottag.js';
import { seededRandom } from '../support/random.js';

const LEDGER = 'pottag-ledger';

async function garden(): Promise<{ bench: Bench; ids: readonly string[] }> {
  const bench = makeBench();
  const ledger = await createLedger(bench.file(LEDGER), 5, 'wren', NOON);
  const plants = Array.from({ length: 10 }, (_, index) => seedling(`plant ${index}`));
  const ids = await ledger.write('wren', (writer) => enrolInto(writer, 5, plants));
  ledger.close();
  return { bench, ids };
}

/** The notes in the ledger, each with the plant it is under. */
async function notesIn(bench: Bench): Promise<Map<string, string>> {
  const ledger = openLedger(bench.file(LEDGER), NOON);
  const notes = new Map<string, string>();
  for (const { id } of await ledger.plants({})) {
    for (const { values } of await ledger.observations(id)) {
      expect(notes.has(`${values.note}`), `${values.note} is there once`).toBe(false);
      notes.set(`${values.note}`, id);
    }
  }
  ledger.close();
  return notes;
}

/** A session's input: note `from`, `from + 1`, … each under the next of the plants. */
const sessionInput = (ids: readonly string[], from: number, count: number) =>
  Array.from({ length: count }, (_, index) => `${ids[index % ids.length]}\nnote n${from + index}\n`).join('');

const acknowledged = (stdout: string) =>
  [...stdout.matchAll(/recorded [\d-]+: note (n\d+) .*\n/g)].map(([, note]) => note ?? '');

describe('when a session is killed at any moment', () => {
  it('everything it said it had recorded is in the ledger, and the ledger is sound', async () => {
    const random = seededRandom(20261125);
    const { bench, ids } = await garden();
    const perRound = 400;
    const expected = new Map<string, string>();
    for (let round = 0; round < 8; round++) {
      const child = bench.start(['scan']);
      let stdout = '';
      const killAfter = random.below(60);
      const delayMs = random.below(4);
      child.stdin?.on('error', () => {}); // It is killed while it is written to.
      child.stdout?.setEncoding('utf8').on('data', (text: string) => {
        stdout += text;
        if (acknowledged(stdout).length > killAfter) setTimeout(() => child.kill('SIGKILL'), delayMs);
      });
      const ended = new Promise<string | null>((done) =>
        child.once('close', (_code, signal) => done(signal)),
      );
      child.stdin?.write(sessionInput(ids, round * perRound, perRound));
      expect(await ended).toBe('SIGKILL');
      const said = acknowledged(stdout);
      expect(said.length).toBeGreaterThan(0);
      for (const note of said) {
        expected.set(note, ids[(Number(note.slice(1)) - round * perRound) % ids.length] ?? '');
      }
      const found = await notesIn(bench);
      for (const [note, id] of expected) expect(found.get(note)).toBe(id);
      const { findings, observations } = checkLedger(bench.file(LEDGER), () => {});
      expect(findings).toEqual([]);
      expect(observations).toBe(found.size);
    }
    // And it can be written again.
    bench.expect(0, ['scan', ids[0] ?? '', '--note', 'after all']);
  });
});

describe('when seven sessions and an enrolment write at once', () => {
  const SESSIONS = [0, 1, 2, 3, 4, 5, 6];

  it('nothing is lost, nothing is there twice', async () => {
    const { bench, ids } = await garden();
    bench.write(
      'more.csv',
      `key\n${Array.from({ length: 300 }, (_, index) => `more ${index}`).join('\n')}\n`,
    );
    const each = 30;
    const children = SESSIONS.map((session) => {
      const child = bench.start(['scan']);
      child.stdout?.resume();
      child.stdin?.end(sessionInput(ids, session * each, each));
      return child;
    });
    const all = [...children, bench.start(['enrol', 'more.csv'])];
    const statuses = await Promise.all(all.map((child) => new Promise((done) => child.once('close', done))));
    expect(statuses).toEqual(all.map(() => 0));
    const found = await notesIn(bench);
    expect(found.size).toBe(SESSIONS.length * each);
    for (let note = 0; note < SESSIONS.length * each; note++) {
      expect(found.get(`n${note}`)).toBe(ids[(note % each) % ids.length]);
    }
    expect(checkLedger(bench.file(LEDGER), () => {})).toMatchObject({ findings: [], plants: 310 });
  });
});
