import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { describe, expect, it } from 'vitest';
import type { Ledger } from '../../src/ledger/ledger.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, NOON, seedling } from '../support/ledger.js';
import { type Bench, makeBench } from '../support/pottag.js';

interface Enrolled {
  readonly enrolled: number;
  readonly known: number;
  readonly changed: number;
  readonly problems: readonly { line: number; column: string | null; problem: string }[];
  readonly plants: readonly { id: string; key: string }[];
}

const TABLE = 'key,seed_parent,station\na,Amber Tollhouse,bench 1\nb,Amber Tollhouse,bench 2\n';
const LEDGER = 'pottag-ledger';

function garden(): Bench {
  const bench = makeBench();
  bench.write('plants.csv', TABLE);
  bench.expect(0, ['enrol', 'plants.csv']);
  return bench;
}

/** Every file of the ledger with its bytes. */
function bytesOf(bench: Bench): Map<string, string> {
  const names = readdirSync(bench.file(LEDGER), { recursive: true, encoding: 'utf8' });
  return new Map(
    names
      .filter((name) => !name.endsWith('-shm')) // SQLite's shared memory: no data, rewritten by every reader.
      .map((name) => [name, readFileSync(bench.file(`${LEDGER}/${name}`)).toString('base64')]),
  );
}

describe('enrol', () => {
  it('says which rows are short, and of the column crop that it is understood', () => {
    const bench = makeBench();
    bench.write('plants.csv', 'key,crop,lot,note\na,pear,7,\nb,pear\n');
    const { stderr } = bench.expect(0, ['enrol', 'plants.csv', '--dry-run']);
    expect(stderr).toContain('Columns: key, note, crop; kept as they are: lot');
    expect(stderr).toMatch(/1 row with fewer cells than headings: line 3\./);
    expect(bench.json(0, ['enrol', 'plants.csv'])).toMatchObject({ enrolled: 2, short_rows: [3] });
  });

  it('says what is wrong with a file though another command is writing', async () => {
    const bench = garden();
    bench.write('bad.csv', 'key,sown\nc,some day\na,2024-03-01\n,2024-03-01\n');
    const ledger = openLedger(bench.file(LEDGER), NOON);
    const { problems } = await ledger.write('finch', async () =>
      bench.json<Enrolled>(2, ['enrol', 'bad.csv']),
    );
    ledger.close();
    expect(problems.map(({ line }) => line)).toEqual([2, 4]);
  });

  it('twice gives the same IDs and nothing new', () => {
    const bench = makeBench();
    bench.write('plants.csv', TABLE);
    const first = bench.json<Enrolled>(0, ['enrol', 'plants.csv']);
    expect(first).toMatchObject({ enrolled: 2, known: 0, changed: 0, problems: [] });
    const second = bench.json<Enrolled>(0, ['enrol', 'plants.csv']);
    expect(second).toMatchObject({ enrolled: 0, known: 2, changed: 0, plants: first.plants });
  });

  it('when any row is bad, lists every problem and writes nothing, not even a ledger', () => {
    const bench = makeBench();
    bench.write('plants.csv', 'key,kind,sown\na,,\na,,\nb,shrub,\nc,,32.13.2024\n');
    const { problems, enrolled, plants } = bench.json<Enrolled>(2, ['enrol', 'plants.csv']);
    expect(problems.map(({ line, column }) => [line, column])).toEqual([
      [3, 'key'],
      [4, 'kind'],
      [5, 'sown'],
    ]);
    expect({ enrolled, plants }).toEqual({ enrolled: 0, plants: [] });
    expect(existsSync(bench.file(LEDGER))).toBe(false);
  });

  it('--skip-bad enrols the good rows and ends with 1', () => {
    const bench = makeBench();
    bench.write('plants.csv', 'key,kind,origin\na,,\na,,\nb,shrub,\nc,cutting,b\nd,cutting,a\n');
    const { problems, plants } = bench.json<Enrolled>(1, [
      'enrol',
      'plants.csv',
      '--skip-bad',
      '--out',
      'ids.csv',
    ]);
    expect(problems.map(({ line }) => line)).toEqual([3, 4, 5]);
    expect(plants.map(({ key }) => key)).toEqual(['a', 'd']);
    // The bad rows are written back too, without an ID.
    const lines = readFileSync(bench.file('ids.csv'), 'utf8').split('\n');
    expect(lines.slice(1, 6).map((line) => line.split(',')[0] !== '')).toEqual([
      true,
      false,
      false,
      false,
      true,
    ]);
  });

  it('changed fields are reported with 1, and written with --amend', () => {
    const bench = garden();
    bench.write('plants.csv', TABLE.replace('bench 2', 'bench 9'));
    const { stdout } = bench.expect(1, ['enrol', 'plants.csv']);
    expect(stdout).toMatch(/line 3.*station.*bench 2 → bench 9/);
    expect(stdout).toMatch(/--amend/);
    expect(bench.json<Enrolled>(0, ['enrol', 'plants.csv', '--amend'])).toMatchObject({ changed: 1 });
    expect(bench.json<Enrolled>(0, ['enrol', 'plants.csv'])).toMatchObject({ changed: 0, known: 2 });
    expect(bench.json<{ plant: { station: string } }>(0, ['show', 'DZK67']).plant.station).toBe('bench 9');
  });

  it('--dry-run says what would be done, and changes not a byte of the ledger', () => {
    const bench = garden();
    bench.write('more.csv', `${TABLE.replace('bench 2', 'bench 9')}c,,\n`);
    const before = bytesOf(bench);
    const dry = bench.json<Enrolled>(1, ['enrol', 'more.csv', '--dry-run', '--out', 'out.csv']);
    expect(dry).toMatchObject({ enrolled: 1, known: 2, changed: 1 });
    expect(bytesOf(bench)).toEqual(before);
    expect(existsSync(bench.file('out.csv'))).toBe(false);
    // What was announced is what is then done.
    expect(bench.json<Enrolled>(1, ['enrol', 'more.csv']).plants).toEqual(dry.plants);
  });

  it('--dry-run makes no ledger', () => {
    const bench = makeBench();
    bench.write('plants.csv', TABLE);
    const { stdout } = bench.expect(0, ['enrol', 'plants.csv', '--dry-run']);
    expect(stdout).toContain('2 plants would be enrolled');
    expect(readdirSync(bench.folder)).toEqual(['plants.csv']);
  });

  it('--out may be the file itself, which then enrols as known', () => {
    const bench = makeBench();
    bench.write('plants.csv', 'Tag;Mother\r\n"a;1";Amber\r\nb;\r\n');
    const first = bench.json<Enrolled>(0, ['enrol', 'plants.csv', '--out', 'plants.csv']);
    const written = readFileSync(bench.file('plants.csv'), 'utf8');
    expect(written).toMatch(/^\ufeffid;Tag;Mother\r\n/);
    const again = bench.json<Enrolled>(0, ['enrol', 'plants.csv', '--out', 'plants.csv']);
    expect(again).toMatchObject({ enrolled: 0, known: 2, changed: 0, plants: first.plants });
    expect(readFileSync(bench.file('plants.csv'), 'utf8')).toBe(written);
    expect(readdirSync(bench.folder).sort()).toEqual(['plants.csv', LEDGER]);
  });

  for (const out of ['none/x.csv', '.']) {
    it(`when --out cannot be written (${out}), nothing is enrolled`, () => {
      const bench = garden();
      bench.write('more.csv', `${TABLE}c,,\n`);
      const before = bytesOf(bench);
      bench.expect(2, ['enrol', 'more.csv', '--out', out]);
      expect(bench.json<{ plants: number }>(0, ['check']).plants).toBe(2);
      expect([...bytesOf(bench).keys()]).toEqual([...before.keys()]);
      expect(readdirSync(bench.folder).sort()).toEqual(['more.csv', 'plants.csv', LEDGER]);
    });
  }

  // Exit code 2 says that nothing was written.
  it('when --out cannot be written, no new ledger is left behind', () => {
    const bench = makeBench();
    bench.write('plants.csv', TABLE);
    bench.expect(2, ['enrol', 'plants.csv', '--out', 'none/x.csv']);
    expect(readdirSync(bench.folder)).toEqual(['plants.csv']);
  });

  it('when --out is in a file instead of a folder, says so as wrong input', () => {
    const bench = garden();
    bench.expect(2, ['enrol', 'plants.csv', '--out', 'plants.csv/x.csv']);
  });

  for (const length of [6, 7]) {
    it(`--id-length ${length} makes a ledger of such IDs, and is then fixed`, () => {
      const bench = makeBench();
      bench.write('plants.csv', TABLE);
      const { plants } = bench.json<Enrolled>(0, ['enrol', 'plants.csv', '--id-length', `${length}`]);
      for (const { id } of plants) expect(id).toHaveLength(length);
      bench.expect(0, ['enrol', 'plants.csv', '--id-length', `${length}`]);
      expect(bench.expect(2, ['enrol', 'plants.csv', '--id-length', '5']).stderr).toContain(
        `${length} characters`,
      );
    });
  }

  it('a plant that has died keeps its ID and its key', () => {
    const bench = garden();
    bench.expect(0, ['scan', 'DZK67', '--alive', 'no']);
    bench.write('more.csv', 'key\nc\nb\n');
    const { plants } = bench.json<Enrolled>(0, ['enrol', 'more.csv']);
    expect(plants.find(({ key }) => key === 'b')?.id).toBe('DZK67');
    expect(plants.find(({ key }) => key === 'c')?.id).not.toBe('DZK67');
  });
});

describe('several at once', () => {
  const ended = (child: ReturnType<Bench['start']>) => new Promise((done) => child.once('close', done));

  it('making the ledger and enrolling, never give an ID twice', async () => {
    const bench = makeBench();
    const files = ['p', 'q', 'r', 's'].map((name) => {
      const keys = Array.from({ length: 200 }, (_, index) => `${name} ${index}`);
      return bench.write(`${name}.csv`, `key\n${keys.join('\n')}\nshared\n`);
    });
    const statuses = await Promise.all(files.map((file) => ended(bench.start(['enrol', file]))));
    expect(statuses).toEqual([0, 0, 0, 0]);
    expect(bench.json<{ plants: number }>(0, ['check']).plants).toBe(801);
    const all = files.flatMap((file) => bench.json<Enrolled>(0, ['enrol', file]).plants);
    expect(new Set(all.map(({ id }) => id)).size).toBe(801);
  });

  /** Runs `work` while a call that has planned its enrolment waits for the ledger. */
  async function whileWaiting(
    bench: Bench,
    args: readonly string[],
    work: (writer: Parameters<Parameters<Ledger['write']>[1]>[0]) => Promise<unknown>,
  ) {
    const ledger = openLedger(bench.file(LEDGER), NOON);
    let child: ReturnType<Bench['start']> | undefined;
    await ledger.write('wren', async (writer) => {
      child = bench.start(args);
      await new Promise((later) => setTimeout(later, 1500));
      await work(writer);
    });
    ledger.close();
    return child === undefined ? undefined : ended(child);
  }

  it('when another command enrols between planning and writing, the IDs follow its', async () => {
    const bench = garden();
    bench.write('more.csv', 'key\nc\n');
    const status = await whileWaiting(bench, ['enrol', 'more.csv'], (writer) =>
      enrolInto(writer, 5, [seedling('x')]),
    );
    expect(status).toBe(0);
    expect(bench.json<{ plants: number }>(0, ['check']).plants).toBe(4);
  });

  // The plan made anew inside the transaction may have problems; it is carried out all the same, and the
  // report then says "nothing was written" of what was.
  it('when that makes a row bad, nothing is written', async () => {
    const bench = garden();
    bench.write('more.csv', 'id,key\nPXSV9,x\n,c\n');
    const status = await whileWaiting(bench, ['enrol', 'more.csv', '--amend'], (writer) =>
      enrolInto(writer, 5, [seedling('x')]),
    );
    expect(status).toBe(2);
    expect(bench.json<{ plants: number }>(0, ['check']).plants).toBe(3);
  });
});
