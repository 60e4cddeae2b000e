/**
 * The commands of the breeder's decisions: crosses, keepers, picks, and the type in show.
 */
import { describe, expect, it } from 'vitest';
import { type Bench, makeBench } from '../support/pottag.js';

const PLANTS = `key,kind,type,seed_parent,pollen_parent,sown,station,crop
Hollow Amber,parent,persistent female,,,,,
Marl,parent,persistent caprifig,,,,,
s1,seedling,,Hollow Amber,Marl,2020-02-11,bench 1 / 2,
s2,seedling,,Hollow Amber,Marl,2020-02-11,bench 1 / 1,
w1,seedling,,Wether,Ram,2016-02-11,plot 3,pear
`;

/** A garden with two figs that fruited and a pear. */
function garden(): { bench: Bench; s1: string; s2: string; w1: string } {
  const bench = makeBench();
  bench.write('plants.csv', PLANTS);
  const { plants } = bench.json<{ plants: { id: string; key: string }[] }>(0, ['enrol', 'plants.csv']);
  const idOf = (key: string) => plants.find((plant) => plant.key === key)?.id ?? '';
  const [s1, s2, w1] = [idOf('s1'), idOf('s2'), idOf('w1')];
  const ripe = ['--fruit', 'ripe', '--wood', 'new', '--pollination', 'none', '--inside', 'pulp'];
  bench.expect(0, ['scan', s1, ...ripe, '--brix', '19', '--liking', '8', '--date', '2023-09-02']);
  bench.expect(0, ['scan', s1, ...ripe, '--brix', '18', '--liking', '8', '--date', '2024-09-02']);
  bench.expect(0, ['scan', s1, '--keep', 'yes', '--name', 'Hollow Lamp', '--date', '2024-10-02']);
  bench.expect(0, [
    'scan',
    s2,
    '--fruit',
    'ripe',
    '--inside',
    'pulp',
    '--liking',
    '4',
    '--date',
    '2024-09-02',
  ]);
  bench.expect(0, [
    'scan',
    w1,
    '--fruit',
    'ripe',
    '--weight',
    '180',
    '--liking',
    '7',
    '--date',
    '2024-09-12',
  ]);
  return { bench, s1, s2, w1 };
}

describe('show', () => {
  it('tells the type of a fig, its posterior, when it was called and by what', () => {
    const { bench, s1 } = garden();
    interface Shown {
      observations: { entry: string; date: string }[];
      type: Record<string, unknown> & { calls: { entry: string; date: string }[] };
    }
    const { type, observations } = bench.json<Shown>(0, ['show', s1]);
    expect(type).toMatchObject({ stated: null, state: 'called', called: 'persistent female', settles: null });
    const posterior = Object.values(type.posterior as Record<string, number>);
    expect(posterior.reduce((sum, share) => sum + share, 0)).toBeCloseTo(1, 9);
    expect(observations.map(({ entry }) => entry)).toContain(type.calls[0]?.entry);
    expect(bench.expect(0, ['show', s1]).stdout).toMatch(
      /Type\n +called: persistent female 9.*\n.*called persistent female/,
    );
  });

  it('says what would settle an open one', () => {
    const { bench, s2 } = garden();
    const { type } = bench.json<{ type: { state: string; settles: { look: string } } }>(0, ['show', s2]);
    expect(type).toMatchObject({ state: 'open', settles: { look: 'unpollinated fruit on new wood' } });
    expect(bench.expect(0, ['show', s2]).stdout).toMatch(/open: .*\n.*to settle it/);
  });

  it('of a cross that gives all four alike, names none the likeliest before something is seen', () => {
    const bench = makeBench();
    bench.write('plants.csv', 'key,cross,kind,type\na,Wether × Ram,,\nRam,,parent,persistent caprifig\n');
    const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
    const { stdout } = bench.expect(0, ['show', plants[0]?.id ?? '']);
    expect(stdout).toMatch(/Type\n +open; nothing tells yet\n +to settle it/);
    expect(stdout).not.toMatch(/caprifig/);
  });

  it('has no type for another crop than figs', () => {
    const { bench, w1 } = garden();
    expect(bench.json<{ type: unknown }>(0, ['show', w1]).type).toEqual({ stated: null });
    expect(bench.expect(0, ['show', w1]).stdout).not.toMatch(/^Type/m);
  });
});

describe('crosses', () => {
  it('reports each cross of each crop, in words and as one document', () => {
    const { bench } = garden();
    interface Report {
      crosses: Record<string, unknown>[];
      parents: { parent: string; as: string }[];
    }
    const { crosses, parents } = bench.json<Report>(0, ['crosses']);
    expect(crosses).toHaveLength(2);
    expect(crosses[0]).toMatchObject({
      crop: 'fig',
      cross: 'Hollow Amber × Marl',
      sown: 2,
      alive: 2,
      fruited: 2,
      keepers: { hits: 1, of: 2, share: 0.5 },
      more_seedlings: { chance: 0.95, for_a_persistent_female: 11 },
    });
    expect(crosses[1]).toMatchObject({ crop: 'pear', types: null, persistent_females: null });
    expect(parents.map(({ parent, as }) => `${parent}, ${as}`)).toContain('Marl, pollen parent');
    const { stdout } = bench.expect(0, ['crosses']);
    expect(stdout).toMatch(/Hollow Amber × Marl[\s\S]*too few to contradict[\s\S]*Wether × Ram/);
  });

  it('does not call it fruited twice where fruit only hangs and had no chance yet', () => {
    const bench = makeBench();
    bench.write('plants.csv', 'key,cross\na,Wether × Ram\nb,Wether × Ram\n');
    const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
    bench.expect(0, ['scan', plants[0]?.id ?? '', '--fruit', 'set']);
    bench.expect(0, ['scan', plants[1]?.id ?? '', '--fruit', 'ripe']);
    const { stdout } = bench.expect(0, ['crosses']);
    expect(stdout).toMatch(/2 fruited\b/);
    expect(stdout).toMatch(/0 of 1 that had their chance/);
    expect(stdout).toMatch(/set or swelling/);
  });

  it('of a ledger without seedlings says so', () => {
    const bench = makeBench();
    bench.write('parents.csv', 'key,kind\nMarl,parent\n');
    bench.expect(0, ['enrol', 'parents.csv']);
    expect(bench.expect(0, ['crosses']).stdout).toMatch(/No seedlings/);
    expect(bench.json<{ crosses: unknown[] }>(0, ['crosses']).crosses).toEqual([]);
  });
});

describe('keepers', () => {
  it('ranks, names keepers, and says what to know before cuttings leave the garden', () => {
    const { bench, s1, s2 } = garden();
    interface Report {
      crops: { crop: string; ranking: { id: string; rank: number; name: string | null }[] }[];
      named: { name: string; plant: { id: string } }[];
      cautions: string[];
    }
    const { crops, named, cautions } = bench.json<Report>(0, ['keepers']);
    expect(crops.map(({ crop }) => crop)).toEqual(['fig', 'pear']);
    expect(crops[0]?.ranking.map(({ id }) => id)).toEqual([s1, s2]);
    expect(named).toMatchObject([{ name: 'Hollow Lamp', plant: { id: s1 } }]);
    // Design, section 12.
    expect(cautions.join(' ')).toMatch(/plant-health.*latex.*waiting period.*poisonous/);
    expect(bench.expect(0, ['keepers']).stdout).toMatch(/Hollow Lamp[\s\S]*plant-health/);
  });

  it('takes weights, and refuses what is none', () => {
    const { bench, s1, s2 } = garden();
    const order = (weights: string[]) =>
      bench
        .json<{ crops: { ranking: { id: string }[] }[] }>(0, ['keepers', ...weights])
        .crops[0]?.ranking.map(({ id }) => id);
    expect(order(['--weight', 'liking=-1', '--weight', 'brix=0', '--weight', 'held=0'])).toEqual([s2, s1]);
    expect(bench.expect(2, ['keepers', '--weight', 'sweetness=3']).stderr).toMatch(
      /no criterion "sweetness"[\s\S]*criteria are liking, brix/,
    );
    expect(bench.expect(2, ['keepers', '--weight', 'liking']).stderr).toMatch(/liking=3/);
    expect(bench.expect(2, ['keepers', '--top', '0']).stderr).toMatch(/whole number/);
  });
});

describe('picks', () => {
  it('lists what hangs, and sorts it before a frost', () => {
    const { bench, s1, s2 } = garden();
    const today = new Date();
    const day = (offset: number) => {
      const date = new Date(today.getFullYear(), today.getMonth(), today.getDate() + offset, 12);
      return date.toISOString().slice(0, 10);
    };
    bench.expect(0, ['scan', s1, '--fruit', 'set', '--wood', 'new', '--date', day(-112)]);
    bench.expect(0, ['scan', s2, '--fruit', 'set', '--date', day(-5)]);
    const { frost, picks } = bench.json<{ frost: string; picks: { id: string; group: string }[] }>(0, [
      'picks',
      '--frost',
      day(1),
    ]);
    expect(frost).toBe(day(1));
    // By station: s2 stands first.
    expect(picks.map(({ id, group }) => [id, group])).toEqual([
      [s2, 'too far off'],
      [s1, 'pick'],
    ]);
    const toPick = (frost: string) => bench.expect(0, ['picks', '--frost', frost]).stdout;
    expect(toPick(day(1))).toContain(`Pick before the frost of ${day(1)}: 1 plant`);
    expect(toPick(day(0))).toContain('Pick before the frost, tonight:');
    const { stdout } = bench.expect(0, ['picks']);
    expect(stdout).toMatch(/common practice/);
    // Both take 95 days: what tells the rows apart has to be said of each.
    expect(stdout).toMatch(/^ {2}fig, wood not noted: 95 days/m);
    expect(stdout).toMatch(/^ {2}fig on new wood: 95 days/m);
  });

  it('refuses a frost that is past, and what is no day', () => {
    const { bench } = garden();
    expect(bench.expect(2, ['picks', '--frost', '2020-10-01']).stderr).toMatch(/past/);
    expect(bench.expect(2, ['picks', '--frost', 'tonight']).stderr).toMatch(/not a day/);
    expect(bench.expect(0, ['picks']).stdout).toMatch(/No fruit hangs/);
  });
});

describe('help', () => {
  for (const command of ['crosses', 'keepers', 'picks']) {
    it(`of ${command} has an example of it`, () => {
      const { stdout } = makeBench().expect(0, [command, '--help']);
      expect(stdout).toMatch(new RegExp(`^  pottag ${command}\\b`, 'm'));
    });
  }

  it('of keepers has the cautions', () => {
    expect(makeBench().expect(0, ['keepers', '--help']).stdout).toMatch(/plant-health[\s\S]*latex/);
  });
});
