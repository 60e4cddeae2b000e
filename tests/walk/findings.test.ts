/**
 * Every combination of what stands at a station and what the ledger expects there, and that each spot and
 * each plant falls in exactly one finding, for gardens and walks of any kind.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Plant } from '../../src/ledger/model.js';
import { type Comparison, compare, type FindingKind } from '../../src/walk/findings.js';
import type { Reading, Spot } from '../../src/walk/readings.js';
import { NO_POT, NO_TAG, plantAt, STRANGER, spoilt, spotAt, tagOf } from './spots.js';

const S = (place: number, row = 1) => `bench 1 / row ${row} / ${place}`;
const [A, B, C, D] = [1, 2, 3, 4].map((n) => plantAt(n, S(n))) as [Plant, Plant, Plant, Plant];
const GARDEN = [A, B, C, D];

const walk = (spots: readonly Spot[], plants: readonly Plant[] = GARDEN, awaiting: readonly Plant[] = []) =>
  compare(spots, { plants, awaiting: new Set(awaiting.map(({ id }) => id)) });

/** `kind stations: ids`, for comparing at a glance. */
const told = ({ findings }: Comparison) =>
  findings.map(({ kind, spots, plants }) => {
    const where = spots.map(({ station }) => station.replace('bench 1 / row 1 / ', '')).join('+');
    return `${kind} ${where}: ${plants.map(({ number }) => number).join('+')}`;
  });

/** The walk 1 to 4 with these readings. */
const four = (...readings: readonly Reading[]) =>
  readings.map((reading, index) => spotAt(S(index + 1), reading));
const inOrder = GARDEN.map((plant) => tagOf(plant));

describe('compare', () => {
  const cases: readonly (readonly [what: string, spots: readonly Spot[], found: readonly string[]])[] = [
    ['all in place', four(...inOrder), ['in-place 1: 1', 'in-place 2: 2', 'in-place 3: 3', 'in-place 4: 4']],
    [
      'two exchanged',
      four(tagOf(A), tagOf(C), tagOf(B), tagOf(D)),
      ['in-place 1: 1', 'exchanged 2+3: 3+2', 'in-place 4: 4'],
    ],
    [
      'three rotated',
      four(tagOf(C), tagOf(A), tagOf(B), tagOf(D)),
      ['rotated 1+2+3: 3+1+2', 'in-place 4: 4'],
    ],
    [
      'two exchanges at once',
      four(tagOf(B), tagOf(A), tagOf(D), tagOf(C)),
      ['exchanged 1+2: 2+1', 'exchanged 3+4: 4+3'],
    ],
    [
      'moved to a station that the ledger does not know',
      [...four(tagOf(A), NO_POT, tagOf(C), tagOf(D)), spotAt(S(5), tagOf(B))],
      ['in-place 1: 1', 'in-place 3: 3', 'in-place 4: 4', 'moved 5+2: 2'],
    ],
    [
      'moved into the place of one that is missing',
      four(tagOf(A), tagOf(C), NO_POT, tagOf(D)),
      ['in-place 1: 1', 'moved 2+3: 3', 'in-place 4: 4', 'pot-missing : 2'],
    ],
    [
      'a chain of moves that does not close',
      [...four(NO_POT, tagOf(A), tagOf(B), tagOf(D)), spotAt(S(9), tagOf(C))],
      ['moved 2+1: 1', 'moved 3: 2', 'in-place 4: 4', 'moved 9: 3'],
    ],
    [
      'tag missing',
      four(tagOf(A), NO_TAG, tagOf(C), tagOf(D)),
      ['in-place 1: 1', 'tag-missing 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'tag missing where the plant is elsewhere',
      [...four(tagOf(A), NO_TAG, tagOf(C), tagOf(D)), spotAt(S(5), tagOf(B))],
      ['in-place 1: 1', 'tag-missing 2: ', 'in-place 3: 3', 'in-place 4: 4', 'moved 5: 2'],
    ],
    [
      'pot missing',
      four(tagOf(A), NO_POT, tagOf(C), tagOf(D)),
      ['in-place 1: 1', 'pot-missing 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'unreadable, fitting the plant expected',
      four(tagOf(A), spoilt('??', B, D), tagOf(C), tagOf(D)),
      ['in-place 1: 1', 'unreadable 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'unreadable, not fitting the plant expected',
      four(tagOf(A), spoilt('??', D), tagOf(C), NO_POT),
      ['in-place 1: 1', 'unreadable 2: ', 'in-place 3: 3', 'pot-missing 4: 4', 'pot-missing : 2'],
    ],
    [
      'unreadable, fitting nobody: the plant expected may be there',
      four(tagOf(A), spoilt('???'), tagOf(C), tagOf(D)),
      ['in-place 1: 1', 'unreadable 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'duplicate tag, one of them at home',
      four(tagOf(A), tagOf(A), tagOf(C), tagOf(D)),
      ['duplicate 1+2: 1', 'in-place 3: 3', 'in-place 4: 4', 'pot-missing : 2'],
    ],
    [
      'duplicate tag while its own place is empty',
      four(NO_POT, tagOf(A), tagOf(A), tagOf(D)),
      ['duplicate 2+3+1: 1', 'in-place 4: 4', 'pot-missing : 2', 'pot-missing : 3'],
    ],
    [
      'the same tag read twice on one pot, with and without its issue',
      [...four(...inOrder), spotAt(S(1), { kind: 'tag', plant: A, issue: null, state: 'current' })],
      ['in-place 1+1: 1', 'in-place 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'superseded tag still hanging on its plant',
      four(tagOf(A, 'superseded'), ...inOrder.slice(1)),
      ['superseded 1: 1', 'in-place 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'old and new tag on one pot',
      [...four(...inOrder), spotAt(S(1), tagOf(A, 'superseded'))],
      ['superseded 1+1: 1', 'in-place 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'old tag on another pot, the new one in place',
      four(tagOf(A), tagOf(A, 'superseded'), tagOf(C), tagOf(D)),
      ['in-place 1: 1', 'superseded 2: ', 'in-place 3: 3', 'in-place 4: 4', 'pot-missing : 2'],
    ],
    [
      'a void tag, and one that was never issued',
      four(tagOf(A, 'void'), tagOf(B, 'unissued', 7), tagOf(C), tagOf(D)),
      ['void 1: 1', 'unissued 2: 2', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'a void tag on a pot of another station',
      four(NO_POT, tagOf(A, 'void'), tagOf(C), tagOf(D)),
      ['pot-missing 1: 1', 'void 2: ', 'in-place 3: 3', 'in-place 4: 4', 'pot-missing : 2'],
    ],
    [
      'the tag of a plant that is exchanged hangs twice',
      [...four(tagOf(B), tagOf(A), tagOf(C), tagOf(D)), spotAt(S(5), tagOf(A))],
      ['moved 1: 2', 'duplicate 2+5: 1', 'in-place 3: 3', 'in-place 4: 4'],
    ],
    [
      'a stranger in the place of one that moved',
      [...four(tagOf(A), STRANGER, tagOf(C), tagOf(D)), spotAt(S(5), tagOf(B))],
      ['in-place 1: 1', 'stranger 2: ', 'in-place 3: 3', 'in-place 4: 4', 'moved 5: 2'],
    ],
    [
      'stranger',
      four(STRANGER, ...inOrder.slice(1)),
      ['stranger 1: ', 'in-place 2: 2', 'in-place 3: 3', 'in-place 4: 4', 'pot-missing : 1'],
    ],
    [
      'not visited',
      four(tagOf(A), tagOf(B), tagOf(C)),
      ['in-place 1: 1', 'in-place 2: 2', 'in-place 3: 3', 'not-visited : 4'],
    ],
  ];
  for (const [what, spots, found] of cases) {
    it(what, () => expect(told(walk(spots))).toEqual(found));
  }

  it('a plant without a station so far has its first place', () => {
    const E = plantAt(5, null);
    expect(told(walk([spotAt(S(9), tagOf(E))], [...GARDEN, E]))[0]).toBe('first-place 9: 5');
  });

  it('a plant taken for dead is not expected, and its tag is looked at', () => {
    const dead = plantAt(5, S(5), { ended: '2025-11-02' });
    expect(told(walk([spotAt(S(5), NO_POT), ...four(...inOrder)]))[0]).toBe('in-place 5: ');
    expect(told(walk([spotAt(S(5), tagOf(dead)), ...four(...inOrder)]))[0]).toBe('ended 5: 5');
  });

  it('an empty station where nothing is expected is in place', () => {
    expect(told(walk([...four(...inOrder), spotAt(S(5), NO_POT)])).at(-1)).toBe('in-place 5: ');
  });

  it('a partial walk misses nothing elsewhere', () => {
    const far = [plantAt(8, S(1, 2)), plantAt(9, 'bench 7 / row 1 / 1')];
    const { findings, outside } = walk(four(...inOrder), [...GARDEN, ...far]);
    expect(findings.map(({ kind }) => kind)).toEqual(['in-place', 'in-place', 'in-place', 'in-place']);
    expect(outside).toEqual(far);
  });

  it('an exchange with a plant of another bench is a move and a missing plant', () => {
    const far = plantAt(9, 'bench 7 / row 1 / 1');
    expect(told(walk(four(tagOf(far), ...inOrder.slice(1)), [...GARDEN, far]))).toEqual([
      'moved 1: 9',
      'in-place 2: 2',
      'in-place 3: 3',
      'in-place 4: 4',
      'pot-missing : 1',
    ]);
  });

  it('a pot without a tag, or with an old one, is in order where a plant waits for its tag', () => {
    for (const reading of [NO_TAG, spoilt('??', A), tagOf(A, 'void'), tagOf(B, 'superseded')]) {
      expect(told(walk(four(reading, ...inOrder.slice(1)), GARDEN, [A]))[0]).toBe('awaiting-tag 1: 1');
    }
    expect(told(walk(four(NO_POT, ...inOrder.slice(1)), GARDEN, [A]))[0]).toBe('pot-missing 1: 1');
    // A typed ID needs no tag.
    expect(told(walk(four(...inOrder), GARDEN, [A]))[0]).toBe('in-place 1: 1');
  });

  it('several pots at a station of one name are told apart by their tags', () => {
    const shelf = [plantAt(1, 'shelf'), plantAt(2, 'shelf'), plantAt(3, 'shelf')] as const;
    const [one, two] = shelf;
    const spots = [spotAt('shelf', tagOf(two)), spotAt('shelf', NO_TAG), spotAt('shelf', tagOf(one))];
    expect(told(walk(spots, shelf))).toEqual([
      'in-place shelf: 2',
      'tag-missing shelf: 3',
      'in-place shelf: 1',
    ]);
  });

  describe('open pots', () => {
    it('are those without a sound tag, and tags that may be on the wrong pot', () => {
      const { openPots, openPlants } = walk(four(NO_TAG, tagOf(A), tagOf(C), tagOf(D)));
      // A's tag hangs at B's place, while a pot without one stands at A's.
      expect(openPots.map(({ spot, worn }) => [spot.station, worn?.number ?? null])).toEqual([
        [S(1), null],
        [S(2), 1],
      ]);
      expect(openPlants.map(({ number }) => number).sort()).toEqual([1, 2]);
    });

    it('are none where all is in place or moved into free places', () => {
      expect(walk(four(...inOrder)).openPots).toEqual([]);
      expect(walk([...four(NO_POT, ...inOrder.slice(1)), spotAt(S(5), tagOf(A))]).openPots).toEqual([]);
    });
  });
});

const KINDS_OF_READING = [
  'tag',
  'tag',
  'tag',
  'old',
  'given up',
  'never printed',
  'none',
  'empty',
  'spoilt',
  'illegible',
  'stranger',
] as const;

const PLANTS = [0, 1, 2, 3, 4, 5, 6, 7];

/** A garden of 12 stations in two rows, and a reading for each of the stations walked. */
const anyGardens = fc.record({
  homes: fc.array(fc.option(fc.integer({ min: 0, max: 13 })), { minLength: 8, maxLength: 8 }),
  ended: fc.array(fc.boolean(), { minLength: 8, maxLength: 8 }),
  awaiting: fc.array(fc.boolean(), { minLength: 8, maxLength: 8 }),
  walked: fc.array(
    fc.record({
      station: fc.integer({ min: 0, max: 15 }),
      what: fc.constantFrom(...KINDS_OF_READING),
      plants: fc.array(fc.integer({ min: 0, max: 7 }), { minLength: 1, maxLength: 3 }),
    }),
    { maxLength: 14 },
  ),
});

/** One row in which some pots changed places, and some tags suffered. */
const mixedRows = fc
  .tuple(
    fc.shuffledSubarray(PLANTS, { minLength: 8 }),
    fc.array(
      fc.oneof({ weight: 5, arbitrary: fc.constant('tag' as const) }, fc.constantFrom(...KINDS_OF_READING)),
      {
        minLength: 8,
        maxLength: 8,
      },
    ),
  )
  .map(([standing, what]) => ({
    homes: PLANTS,
    ended: PLANTS.map(() => false),
    awaiting: PLANTS.map(() => false),
    walked: PLANTS.map((station) => ({
      station,
      what: what[station] ?? 'tag',
      plants: [standing[station] ?? station],
    })),
  }));

const gardens = fc.oneof(anyGardens, mixedRows).map(({ homes, ended, awaiting, walked }) => {
  const name = (index: number) => S((index % 8) + 1, 1 + Math.floor(index / 8));
  const plants = homes.map((home, index) =>
    plantAt(index + 1, home === null ? null : name(home), {
      ended: ended[index] && index > 5 ? '2025-01-01' : null,
    }),
  );
  const readings = {
    tag: (some: readonly Plant[]) => tagOf(some[0] as Plant),
    old: (some: readonly Plant[]) => tagOf(some[0] as Plant, 'superseded'),
    'given up': (some: readonly Plant[]) => tagOf(some[0] as Plant, 'void'),
    'never printed': (some: readonly Plant[]) => tagOf(some[0] as Plant, 'unissued', 9),
    illegible: () => spoilt('?????'),
    none: () => NO_TAG,
    empty: () => NO_POT,
    spoilt: (some: readonly Plant[]) => spoilt('?????', ...some),
    stranger: () => STRANGER,
  };
  const spots = walked.map(({ station, what, plants: some }) =>
    spotAt(name(station), readings[what as keyof typeof readings](some.map((at) => plants[at] as Plant))),
  );
  const living = plants.filter((plant) => plant.ended === null);
  const waiting = new Set(living.filter((_, index) => awaiting[index]).map(({ id }) => id));
  return { spots, plants: living, waiting };
});

const seeded = (numRuns: number) => ({ seed: 20261125, numRuns });

describe('for any garden and walk', () => {
  it('finds things of every kind', () => {
    const found = new Set(
      fc
        .sample(gardens, seeded(3000))
        .flatMap(({ spots, plants, waiting }) => compare(spots, { plants, awaiting: waiting }).findings)
        .map(({ kind }) => kind),
    );
    const all: Record<FindingKind, true> = {
      'in-place': true,
      'awaiting-tag': true,
      exchanged: true,
      rotated: true,
      moved: true,
      'first-place': true,
      'tag-missing': true,
      unreadable: true,
      'pot-missing': true,
      duplicate: true,
      superseded: true,
      void: true,
      unissued: true,
      stranger: true,
      ended: true,
      'not-visited': true,
    };
    expect([...found].sort()).toEqual(Object.keys(all).sort());
  });

  it('each spot is in exactly one finding', () => {
    fc.assert(
      fc.property(gardens, ({ spots, plants, waiting }) => {
        const { findings } = compare(spots, { plants, awaiting: waiting });
        const all = findings.flatMap((finding) => finding.spots);
        expect(all).toHaveLength(spots.length);
        expect(new Set(all)).toEqual(new Set(spots));
      }),
      seeded(2000),
    );
  });

  it('each plant is in exactly one finding, outside the walk, or expected nowhere and not seen', () => {
    fc.assert(
      fc.property(gardens, ({ spots, plants, waiting }) => {
        const { findings, outside } = compare(spots, { plants, awaiting: waiting });
        const all = [...findings.flatMap((finding) => finding.plants), ...outside].map(({ id }) => id);
        expect(new Set(all).size).toBe(all.length);
        const placed = plants.filter(({ station }) => station !== null).map(({ id }) => id);
        expect(placed.filter((id) => !all.includes(id))).toEqual([]);
      }),
      seeded(2000),
    );
  });

  it('what is open is a pot of the walk, once, and its plants are not in place', () => {
    fc.assert(
      fc.property(gardens, ({ spots, plants, waiting }) => {
        const { findings, openPots, openPlants } = compare(spots, { plants, awaiting: waiting });
        expect(new Set(openPots.map(({ spot }) => spot)).size).toBe(openPots.length);
        for (const { spot } of openPots) expect(spot.reading.kind).not.toBe('no pot');
        const inPlace = new Set<PlantId>(
          findings.filter(({ kind }) => kind === 'in-place').flatMap((f) => f.plants.map(({ id }) => id)),
        );
        expect(openPlants.filter(({ id }) => inPlace.has(id))).toEqual([]);
      }),
      seeded(1000),
    );
  });

  it('a whole bench set down one place on is as many moves, found in one go', () => {
    const plants = Array.from({ length: 20_000 }, (_, index) => plantAt(index + 1, `shelf ${index + 1}`));
    const spots = plants.map((plant, index) => spotAt(`shelf ${index + 2}`, tagOf(plant)));
    const { findings } = compare([spotAt('shelf 1', NO_POT), ...spots], { plants, awaiting: new Set() });
    expect(findings.map(({ kind }) => kind)).toEqual(plants.map(() => 'moved'));
  });

  const sizes = fc.integer({ min: 2, max: 12 });

  it('a walk in place finds nothing', () => {
    fc.assert(
      fc.property(sizes, (size) => {
        const plants = Array.from({ length: size }, (_, index) => plantAt(index + 1, S(index + 1)));
        const { findings, openPots } = walk(
          plants.map((plant) => spotAt(plant.station ?? '', tagOf(plant))),
          plants,
        );
        expect(findings.map(({ kind }) => kind)).toEqual(plants.map(() => 'in-place'));
        expect(openPots).toEqual([]);
      }),
      seeded(20),
    );
  });

  it('a planted exchange or rotation is found whole and alone, in whatever order the stations are walked', () => {
    const planted = sizes.chain((size) =>
      fc.record({
        cycle: fc.shuffledSubarray(
          Array.from({ length: size }, (_, index) => index),
          { minLength: 2 },
        ),
        order: fc.shuffledSubarray(
          Array.from({ length: size }, (_, index) => index),
          { minLength: size },
        ),
      }),
    );
    fc.assert(
      fc.property(planted, ({ cycle, order }) => {
        const plants = order.map((_, index) => plantAt(index + 1, S(index + 1)));
        const standing = plants.map((plant) => plant);
        cycle.forEach((from, at) => {
          standing[cycle[(at + 1) % cycle.length] as number] = plants[from] as Plant;
        });
        const spots = order.map((index) => spotAt(S(index + 1), tagOf(standing[index] as Plant)));
        const { findings } = walk(spots, plants);
        const [found, ...more] = findings.filter(({ kind }) => kind !== 'in-place');
        expect(more).toEqual([]);
        expect(found?.kind).toBe(cycle.length === 2 ? 'exchanged' : 'rotated');
        expect(new Set(found?.spots.map(({ station }) => station))).toEqual(
          new Set(cycle.map((index) => S(index + 1))),
        );
        found?.spots.forEach((spot, index) => {
          expect(spot.reading).toMatchObject({ plant: { id: found.plants[index]?.id } });
        });
      }),
      seeded(300),
    );
  });
});
