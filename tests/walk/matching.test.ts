import { describe, expect, it } from 'vitest';
import type { Plant } from '../../src/ledger/model.js';
import { exactShares } from '../../src/walk/exact-shares.js';
import type { OpenPot } from '../../src/walk/findings.js';
import { exchangedTags, halfExchanges } from '../../src/walk/half-exchange.js';
import { Landing } from '../../src/walk/landing.js';
import { matchPots } from '../../src/walk/matching.js';
import { type Candidate, type Garden, legibleRatio, oddsFor } from '../../src/walk/odds.js';
import { placeOf } from '../../src/walk/stations.js';
import { TraitKnowledge } from '../../src/walk/traits.js';
import { seededRandom } from '../support/random.js';
import { NO_TAG, plantAt, spoilt, spotAt, tagOf } from './spots.js';

const S = (place: number) => `bench 1 / row 1 / ${place}`;

const RATES = {
  lost: 0.01,
  mishung: 0.1,
  gone: 0.01,
  strange: 0.001,
  exchanged: 0.01,
  moved: 0.05,
  movedUntagged: 0.1,
};
const MOVED_TO = { row: 0.75, bench: 0.15, elsewhere: 0.1 };
const NOTHING_YET = { untagged: 0, movedUntagged: 0, mishung: 0, strange: 0, gone: 0 };

/** Place 2 of the first row is free, and nine on another bench. */
const FREE = [S(2), ...Array.from({ length: 9 }, (_, index) => `bench 3 / row 1 / ${index + 1}`)];

function gardenOf(plants: readonly Plant[], leaves: readonly string[] = []): Garden {
  const seen = new Map(
    plants.map(({ id }, index) => [
      id,
      new Map([['leaf', { value: leaves[index] ?? '', date: '2026-05-01' }]]),
    ]),
  );
  const known = leaves.length > 0 ? seen : new Map();
  return {
    rates: RATES,
    landing: new Landing(FREE.map(placeOf), 100, 100, MOVED_TO),
    halves: new Map(),
    tagPartners: new Map(),
    traits: new TraitKnowledge(plants, known, '2026-10-17', { mean: 40, sd: 20 }),
  };
}

/** With rates that do not change from turn to turn. */
function match(pots: readonly OpenPot[], candidates: readonly Candidate[], garden: Garden) {
  return matchPots(pots, candidates, NOTHING_YET, () => garden);
}

const candidate = (plant: Plant): Candidate => ({
  plant,
  home: plant.station === null ? null : placeOf(plant.station),
  isMissing: true,
});
const open = (station: string, traits = {}): OpenPot => ({
  spot: spotAt(station, NO_TAG, traits),
  worn: null,
});

describe('matchPots', () => {
  it('takes a pot without a tag for the plant expected there', () => {
    const plants = [plantAt(1, S(1)), plantAt(2, S(2))];
    const matches = match([open(S(1)), open(S(2))], plants.map(candidate), gardenOf(plants));
    expect(matches.map(({ assigned }) => assigned?.number)).toEqual([1, 2]);
    for (const { shares } of matches) expect(shares[0]?.share).toBeGreaterThan(0.98);
  });

  it('prefers the neighbour to the stranger', () => {
    const plants = [plantAt(1, S(1)), plantAt(2, 'bench 9 / row 1 / 1')];
    const [found] = match([open(S(2))], plants.map(candidate), gardenOf(plants));
    expect(found?.shares.map(({ plant }) => plant.number)).toEqual([1, 2]);
    expect(found?.shares[0]?.share).toBeGreaterThan(0.9);
  });

  it('lets traits overrule places', () => {
    const plants = [plantAt(1, S(1)), plantAt(2, S(3)), ...[4, 5, 6, 7, 8].map((n) => plantAt(n, S(n)))];
    const leaves = ['unlobed', 'seven-lobed', ...Array<string>(5).fill('five-lobed')];
    const pots = [open(S(2), { leaf: 'seven-lobed' })];
    const [found] = match(pots, plants.slice(0, 2).map(candidate), gardenOf(plants, leaves));
    expect(found?.assigned?.number).toBe(2);
    expect(found?.shares[0]?.share).toBeGreaterThan(0.9);
  });

  it('lets legible characters overrule places', () => {
    const [here, far] = [plantAt(1, S(1)), plantAt(2, 'bench 9 / row 1 / 1')];
    const pattern = [...far.id]
      .map((character, index) => (index === 1 || index === 3 ? '?' : character))
      .join('');
    const pot: OpenPot = { spot: spotAt(S(1), spoilt(pattern, far)), worn: null };
    const plants = [here, far];
    const [found] = match([pot], plants.map(candidate), gardenOf(plants));
    expect(found?.assigned?.number).toBe(2);
  });

  it('calls it none of them where the only plant missing is one that does not fit', () => {
    const far = plantAt(2, 'bench 9 / row 1 / 1');
    const others = [3, 4, 5, 6].map((n) => plantAt(n, S(n)));
    const garden = gardenOf([far, ...others], ['unlobed', ...Array<string>(4).fill('five-lobed')]);
    const [found] = match([open(S(2), { leaf: 'five-lobed' })], [candidate(far)], garden);
    expect(found?.assigned).toBeNull();
    expect(found?.none).toBeGreaterThan(0.9);
  });

  it('without candidates, knows no plant', () => {
    expect(match([open(S(1))], [], gardenOf([]))).toMatchObject([{ assigned: null, shares: [], none: 1 }]);
    expect(match([], [candidate(plantAt(1, S(1)))], gardenOf([]))).toEqual([]);
  });

  // Pots are parted into independent groups, unlikely pairs left out: it must not change the shares.
  it('gives the shares of the whole problem solved at once', () => {
    const random = seededRandom(20261125);
    for (let turn = 0; turn < 60; turn++) {
      const plants = Array.from({ length: 7 }, (_, index) => plantAt(index + 1, S(1 + random.below(30))));
      const leaves = plants.map(() => ['unlobed', 'three-lobed', 'five-lobed'][random.below(3)] as string);
      const pots = Array.from({ length: 6 }, () =>
        open(S(1 + random.below(30)), { leaf: leaves[random.below(7)] as string }),
      );
      const garden = gardenOf(plants, leaves);
      const odds = pots.map((pot) => plants.map((plant) => oddsFor(pot, garden)(candidate(plant))));
      const whole = exactShares(odds, plants.length).pairs;
      const matches = match(pots, plants.map(candidate), garden);
      matches.forEach(({ shares, none }, row) => {
        plants.forEach(({ id }, column) => {
          const share = shares.find(({ plant }) => plant.id === id)?.share ?? 0;
          expect(Math.abs(share - (whole[row]?.[column] ?? NaN))).toBeLessThan(0.002);
        });
        expect(none + shares.reduce((sum, { share }) => sum + share, 0)).toBeCloseTo(1, 2);
      });
    }
  });
});

describe('half of an exchange', () => {
  const [one, two] = [plantAt(1, S(1)), plantAt(2, S(2))];
  const smeared = `??${two.id.slice(2)}`;
  // The tag of plant 1 hangs at the place of plant 2, whose own, smeared, hangs at that of plant 1.
  const pots = (leaves: readonly [string, string]): OpenPot[] => [
    { spot: spotAt(S(1), spoilt(smeared, two), { leaf: leaves[0] }), worn: null },
    { spot: spotAt(S(2), tagOf(one), { leaf: leaves[1] }), worn: one },
  ];
  const candidates = [one, two].map(candidate);
  const others = [3, 4, 5, 6].map((n) => plantAt(n, S(n)));
  const leaves = ['unlobed', 'seven-lobed', ...others.map(() => 'five-lobed')];
  const said = (seen: readonly [string, string]) => {
    const open = pots(seen);
    const garden = { ...gardenOf([one, two, ...others], leaves), halves: halfExchanges(open, candidates) };
    return match(open, candidates, garden).map(({ shares }) => shares);
  };

  it('is pots or tags alike, if nothing else tells', () => {
    for (const shares of said(['five-lobed', 'five-lobed'])) {
      expect(shares.map(({ share }) => share)).toEqual([expect.closeTo(0.5, 2), expect.closeTo(0.5, 2)]);
    }
  });

  it('is told by traits, which need not be strong', () => {
    const potsMoved = said(['seven-lobed', 'unlobed']).map(([best]) => best?.plant.number);
    const tagsMoved = said(['unlobed', 'seven-lobed']).map(([best]) => best?.plant.number);
    expect([potsMoved, tagsMoved]).toEqual([
      [2, 1],
      [1, 2],
    ]);
  });

  it('is none where the smeared tag cannot be that of the other plant', () => {
    const open: OpenPot[] = [
      { spot: spotAt(S(1), spoilt('?????', plantAt(9, S(9)))), worn: null },
      { spot: spotAt(S(2), tagOf(one)), worn: one },
    ];
    expect(halfExchanges(open, candidates).size).toBe(0);
  });
});

describe('tags that were exchanged before one of the pots went elsewhere', () => {
  const [one, two] = [plantAt(1, S(1)), plantAt(2, S(2))];
  const candidates = [one, two].map(candidate);
  const others = [4, 5, 6, 7].map((n) => plantAt(n, S(n)));
  const leaves = ['unlobed', 'seven-lobed', ...others.map(() => 'five-lobed')];
  // The tag of plant 1 hangs at the place of plant 2, that of plant 2 far away; at the place of 1 is nothing.
  const said = (atTwo: string, faraway: string) => {
    const open: OpenPot[] = [
      { spot: spotAt(S(2), tagOf(one), { leaf: atTwo }), worn: one },
      { spot: spotAt('bench 3 / row 1 / 4', tagOf(two), { leaf: faraway }), worn: two },
    ];
    const garden = {
      ...gardenOf([one, two, ...others], leaves),
      tagPartners: exchangedTags(open, candidates),
    };
    return match(open, candidates, garden).map(({ shares: [best] }) => best?.plant.number);
  };

  it('are told by the traits, and otherwise taken for the tags of their pots', () => {
    expect(said('seven-lobed', 'unlobed')).toEqual([2, 1]);
    expect(said('unlobed', 'seven-lobed')).toEqual([1, 2]);
    expect(said('five-lobed', 'five-lobed')).toEqual([1, 2]);
  });
});

it('each legible character that fits counts 32 to 1 for a plant, one that does not as much against it', () => {
  const { id } = plantAt(1, S(1));
  const first = id[0] as string;
  expect(legibleRatio(`${first}????`, id)).toBeCloseTo(0.99 * 32, 6);
  expect(legibleRatio('?????', id)).toBe(1);
  expect(legibleRatio(`${first === 'A' ? 'B' : 'A'}????`, id)).toBeCloseTo((0.01 / 31) * 32, 6);
});
