import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { PlantFields } from '../../src/ledger/model.js';
import { createLedger } from '../../src/ledger/sqlite-ledger.js';
import { enrolInto, NOON, seedling } from '../support/ledger.js';
import { type Bench, makeBench } from '../support/pottag.js';

interface Scans {
  readonly scans: readonly {
    text: string;
    id: string | null;
    issue: number | null;
    status: string;
    plant: { id: string; key: string } | null;
    candidates: { id: string; cross: string | null; station: string | null }[];
    observation: Record<string, unknown> | null;
  }[];
}

interface Shown {
  readonly observations: readonly Record<string, unknown>[];
}

/** `PXSV9` with tags 1 (superseded) and 2, `DZK67` without a tag. */
async function garden(): Promise<Bench> {
  const bench = makeBench();
  const ledger = await createLedger(bench.file('pottag-ledger'), 5, 'wren', NOON);
  const known = { seedParent: 'Amber Tollhouse', pollenParent: 'Moth Captain', sown: '2024-03-10' };
  await ledger.write('wren', async (writer) => {
    const [first, second] = ['a', 'b'].map((key, index) =>
      seedling(key, { ...known, station: `bench 1 / ${index + 1}` }),
    ) as [PlantFields, PlantFields];
    const [id] = await enrolInto(writer, 5, [first, second]);
    for (const issue of [1, 2]) {
      const place = { stock: 'x', sheet: 'x.pdf', page: 1, row: 1, column: issue };
      await writer.append({ kind: 'tag-issued', body: { id: id as PlantId, issue, ...place } });
    }
  });
  ledger.close();
  return bench;
}

const observations = (bench: Bench, id: string) => bench.json<Shown>(0, ['show', id]).observations;

describe('scan', () => {
  it('several texts at once: each its status, recorded only where the plant is certain', async () => {
    const bench = await garden();
    const texts = ['PXSV9.2', 'PXSV9.1', 'PXSV9.3', 'K7FY5', 'PX?V9', 'LOT 4711', 'DZK67'];
    const { scans } = bench.json<Scans>(1, [
      'scan',
      ...texts,
      '--fruit',
      'ripe',
      '--brix',
      '18,5',
      '--by',
      'finch',
    ]);
    expect(scans.map(({ status }) => status)).toEqual([
      'current',
      'superseded',
      'unissued',
      'unknown',
      'unreadable',
      'not-a-tag',
      'current',
    ]);
    expect(scans.map(({ text }) => text)).toEqual(texts);
    expect(scans.flatMap(({ observation }, index) => (observation === null ? [] : [index]))).toEqual([0, 6]);
    expect(scans[4]?.candidates).toMatchObject([
      { id: 'PXSV9', cross: 'Amber Tollhouse × Moth Captain', station: 'bench 1 / 1' },
    ]);
    const seen = { fruit: 'ripe', brix: 18.5, by: 'finch' };
    expect(observations(bench, 'PXSV9')).toMatchObject([{ ...seen, issue: 2 }]);
    expect(observations(bench, 'DZK67')).toMatchObject([{ ...seen, issue: null }]);
  });

  it('says a note of several lines in one, so that a line is a plant', async () => {
    const bench = await garden();
    const { stdout } = bench.expect(0, ['scan', 'PXSV9.2', '--note', 'scab\non two leaves', '--brix', '17']);
    expect(stdout).toMatch(/recorded .*brix 17 °Bx, note scab \/ on two leaves/);
    expect(observations(bench, 'PXSV9')).toMatchObject([{ note: 'scab\non two leaves' }]);
  });

  it('offers with the cross and the station, for the person to confirm', async () => {
    const bench = await garden();
    for (const text of ['PX?V?', 'PXSV8', 'XPSV9']) {
      const { stdout } = bench.expect(1, ['scan', text, '--brix', '18']);
      expect(stdout).toMatch(/Is it PXSV9\?.*Amber Tollhouse × Moth Captain.*bench 1 \/ 1/);
      expect(stdout).toMatch(/not recorded/);
    }
    expect(observations(bench, 'PXSV9')).toEqual([]);
  });

  // Design, section 3: a walk sees the leaf; what it saw is noted in the same word one by one.
  it('the leaf is noted like the colour of the pulp', async () => {
    const bench = await garden();
    bench.expect(0, ['scan', 'DZK67', '--leaf', 'dreilappig', '--pulp-colour', 'dark red']);
    expect(observations(bench, 'DZK67')).toMatchObject([{ leaf: 'dreilappig', 'pulp-colour': 'dark red' }]);
  });

  it('by default the day is today and the name is POTTAG_BY', async () => {
    const bench = await garden();
    bench.expect(0, ['scan', 'DZK67', '--note', '-- cracked at the eye']);
    const today = new Date().toISOString().slice(0, 10); // The commands of these tests run in UTC.
    expect(observations(bench, 'DZK67')).toMatchObject([
      { note: '-- cracked at the eye', by: 'wren', date: today },
    ]);
  });

  it('each wrong value is named with all that is allowed, and nothing is recorded', async () => {
    const bench = await garden();
    const ranges: readonly (readonly [option: string, value: string, allowed: string])[] = [
      ['--fruit', 'rotten', 'set, swelling, ripe, dropped, picked-unripe'],
      ['--wood', 'green', 'new, old'],
      ['--pollination', 'bees', 'none, hand, open, unknown'],
      ['--inside', 'seeds', 'pulp, stamens, dry'],
      ['--brix', '40.1', '0 to 40 °Bx'],
      ['--weight', '0', '0.1 to 5000 g'],
      ['--liking', '10', 'a whole number from 1 to 9'],
      ['--height', '5001', '0.1 to 5000 cm'],
      ['--note', '', 'up to 2000 characters'],
    ];
    const { stderr } = bench.expect(2, ['scan', 'PXSV9', ...ranges.flatMap((range) => range.slice(0, 2))]);
    for (const [option, value, allowed] of ranges) {
      expect(stderr).toContain(`${option.slice(2)} "${value}"`);
      expect(stderr).toContain(allowed);
    }
    expect(observations(bench, 'PXSV9')).toEqual([]);
  });

  it('each wrong value is named once', async () => {
    const { stderr } = (await garden()).expect(2, ['scan', 'PXSV9', '--brix', '50', '--wood', 'green']);
    expect(stderr.split('brix "50"')).toHaveLength(2);
  });

  it('a day that is to come, before the sowing, or no day is refused', async () => {
    const bench = await garden();
    expect(bench.expect(2, ['scan', 'PXSV9', '--brix', '1', '--date', '2999-01-01']).stderr).toMatch(
      /future/,
    );
    expect(bench.expect(2, ['scan', 'PXSV9', '--brix', '1', '--date', '2024-03-09']).stderr).toMatch(
      /2024-03-10/,
    );
    expect(bench.expect(2, ['scan', 'PXSV9', '--brix', '1', '--date', '9/14/2026']).stderr).toMatch(
      /2026-09-14/,
    );
    expect(observations(bench, 'PXSV9')).toEqual([]);
  });

  it('a day of no calendar is refused as wrong input', async () => {
    (await garden()).expect(2, ['scan', 'PXSV9', '--date', '2026-13-01']);
  });

  it('an empty name of who saw it is refused, or the default taken', async () => {
    const bench = await garden();
    bench.run(['scan', 'DZK67', '--brix', '18', '--by', '']);
    for (const { by } of observations(bench, 'DZK67')) expect(by).toBe('wren');
  });
});

describe('show', () => {
  it('tells the plant’s story: parents, tags, what was seen, by date', async () => {
    const bench = await garden();
    bench.expect(0, ['scan', 'PXSV9.2', '--brix', '18.5', '--date', '2025-09-14', '--by', 'finch']);
    bench.expect(0, ['scan', 'PXSV9', '--fruit', 'set', '--date', '2025-06-01']);
    const { stdout } = bench.expect(0, ['show', 'pxsv9']);
    expect(stdout).toMatch(
      /Amber Tollhouse × Moth Captain[\s\S]*issue 1 +superseded[\s\S]*issue 2 +current[\s\S]*2025-06-01.*fruit set[\s\S]*2025-09-14.*finch.*brix 18\.5 °Bx/,
    );
    const shown = bench.json<Record<string, unknown>>(0, ['show', 'PXSV9.2']);
    expect(Object.keys(shown)).toEqual(expect.arrayContaining(['observations', 'plant', 'tags', 'type']));
  });

  it('when a plant has ended, says since when', async () => {
    const bench = await garden();
    bench.expect(0, ['scan', 'DZK67', '--alive', 'no', '--date', '2025-12-01']);
    expect(bench.expect(0, ['show', 'DZK67']).stdout).toMatch(/ended 2025-12-01/);
  });

  // So that a slip of the finger can be put right.
  it('when a plant seen dead is seen alive later, it has not ended', async () => {
    const bench = await garden();
    bench.expect(0, ['scan', 'DZK67', '--alive', 'no', '--date', '2025-12-01']);
    bench.expect(0, ['scan', 'DZK67', '--alive', 'yes', '--date', '2026-05-01']);
    expect(bench.json<{ plant: { ended: string | null } }>(0, ['show', 'DZK67']).plant.ended).toBeNull();
  });
});
