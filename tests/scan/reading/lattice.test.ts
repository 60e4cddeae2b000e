/** The best rows of characters, held against trying every one. */
import { describe, expect, it } from 'vitest';
import { capacity, idOfNumber } from '../../../src/ids/allocation.js';
import { symbolValue } from '../../../src/ids/alphabet.js';
import { glyphSet } from '../../../src/scan/reading/glyphs.js';
import { Lattice } from '../../../src/scan/reading/lattice.js';
import { seededRandom } from '../../support/random.js';

const { id: GLYPHS } = glyphSet(1, 1);
const COLUMNS = 110;

function randomLattice(seed: number): Lattice {
  const random = seededRandom(seed);
  return new Lattice(
    Float32Array.from({ length: COLUMNS * GLYPHS.length }, () => random.between(0, 20)),
    COLUMNS,
    GLYPHS,
  );
}

function scoreFrom(lattice: Lattice, start: number, values: readonly number[]): number {
  let [at, score] = [start, 0];
  for (const value of values) {
    score += lattice.at(at, value);
    at += GLYPHS[value]?.advance ?? 0;
  }
  return score;
}

describe.each([1, 2, 3])('in a row of random likeness, seed %i', (seed) => {
  const lattice = randomLattice(seed);

  it('the likeliest sound IDs are those that trying all finds', () => {
    const all = Array.from({ length: capacity(5) }, (_, index) => {
      const values = [...idOfNumber(index + 1, 5)].map((character) => symbolValue(character) ?? 0);
      return { values, score: scoreFrom(lattice, 0, values) };
    });
    // No ledger gives 00000, which is sound too.
    all.push({ values: [0, 0, 0, 0, 0], score: scoreFrom(lattice, 0, [0, 0, 0, 0, 0]) });
    all.sort((a, b) => b.score - a.score);
    const found = lattice.likeliestSound(1, 5, 3);
    expect(found.map(({ values }) => values)).toEqual(all.slice(0, 3).map(({ values }) => values));
    expect(found[0]?.score).toBeCloseTo(all[0]?.score ?? 0, 6);
  });

  it('the best row of any characters is at least as good as the best sound one', () => {
    const [sound] = lattice.likeliestSound(9, 5, 1);
    expect(lattice.best(9, 5).score).toBeGreaterThanOrEqual((sound?.score ?? 0) - 1e-6);
  });
});
