import { describe, expect, it } from 'vitest';
import { numbersOf } from '../../src/walk/expected.js';
import { placeOf } from '../../src/walk/stations.js';

const of = (...stations: readonly string[]) => numbersOf(stations.map(placeOf));

describe('numbersOf', () => {
  it('are those of the rows, once each', () => {
    expect(of('bench 2 / row 3 / 7', 'Bench 2/Row 03/08', 'bench 2 / row 4 / 1')).toEqual([
      [2, 3],
      [2, 4],
    ]);
    expect(of('A3-07')).toEqual([[3]]);
    expect(of('Südwand 12')).toEqual([[]]);
    expect(of('3 b')).toEqual([[3]]);
  });

  it('of many rows are those of their benches, and of many benches none', () => {
    const rows = (benches: number) =>
      Array.from({ length: 12 * benches }, (_, index) => `bench ${1 + (index % benches)} / row ${index} / 1`);
    expect(of(...rows(2))).toEqual([[1], [2]]);
    expect(of(...rows(30))).toEqual([[]]);
    expect(of()).toEqual([[]]);
  });
});
