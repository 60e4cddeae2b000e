import { describe, expect, it } from 'vitest';
import { distance, placeOf, rowOf, shareOfMoves } from '../../src/walk/stations.js';

const between = (a: string, b: string) => distance(placeOf(a), placeOf(b));

describe('placeOf', () => {
  it('is one for spellings of one station, and not for others', () => {
    expect(placeOf('Bench 2/row 3/07').key).toBe(placeOf('bench 2 / row 3 / 7').key);
    expect(placeOf('A3-07').key).toBe(placeOf('a3 7').key);
    expect(placeOf('bench 2 / row 37').key).not.toBe(placeOf('bench 2 / row 3 / 7').key);
    expect(placeOf('bench 23 / 7').key).not.toBe(placeOf('bench 2 / 37').key);
    expect(placeOf('Südwand 1').key).not.toBe(placeOf('Nordwand 1').key);
    expect(placeOf('***').key).not.toBe(placeOf('+++').key);
  });

  it('reads numbers and single letters as coordinates, coarsest first', () => {
    expect(placeOf('bench 2 / row 3 / 7')).toMatchObject({
      system: 'bench # row # #',
      coordinates: [2, 3, 7],
    });
    expect(placeOf('C12').coordinates).toEqual([3, 12]);
    expect(placeOf('North bench 12')).toMatchObject({ system: 'north bench #', coordinates: [12] });
    expect(placeOf('by the gate').coordinates).toEqual([]);
  });
});

describe('distance', () => {
  it('is counted along the row, then in rows on the bench, and not beyond', () => {
    expect(between('bench 2 / row 3 / 7', 'Bench 2 / Row 3 / 7')).toEqual({ kind: 'same' });
    expect(between('bench 2 / row 3 / 7', 'bench 2 / row 3 / 10')).toEqual({ kind: 'row', places: 3 });
    expect(between('bench 2 / row 3 / 7', 'bench 2 / row 1 / 6')).toEqual({
      kind: 'bench',
      rows: 2,
      places: 1,
    });
    expect(between('bench 2 / row 3 / 7', 'bench 1 / row 3 / 7')).toEqual({ kind: 'elsewhere' });
    expect(between('A3-07', 'B3-07')).toEqual({ kind: 'elsewhere' });
    expect(between('North bench 12', 'North bench 14')).toEqual({ kind: 'row', places: 2 });
    expect(between('North bench 12', 'South bench 12')).toEqual({ kind: 'elsewhere' });
    expect(between('by the gate', 'under the fig')).toEqual({ kind: 'elsewhere' });
  });
});

describe('rowOf', () => {
  it('is shared by the stations of a row alone', () => {
    expect(rowOf(placeOf('bench 2 / row 3 / 7'))).toBe(rowOf(placeOf('bench 2 / row 3 / 9')));
    expect(rowOf(placeOf('bench 2 / row 3 / 7'))).not.toBe(rowOf(placeOf('bench 2 / row 4 / 7')));
    expect(rowOf(placeOf('bench 2 / row 3 / 7'))).not.toBe(rowOf(placeOf('shelf 2 / row 3 / 7')));
  });
});

describe('shareOfMoves', () => {
  const movedTo = { row: 0.7, bench: 0.2, elsewhere: 0.1 };

  it('adds up to one over an endless bench and the rest of the garden', () => {
    let [row, bench] = [0, 0];
    for (let places = 1; places < 20_000; places++) {
      row += 2 * shareOfMoves({ kind: 'row', places }, movedTo, 1000);
    }
    for (let rows = 1; rows < 2000; rows++) {
      bench += 2 * shareOfMoves({ kind: 'bench', rows, places: 0 }, movedTo, 1000);
      for (let places = 1; places < 2000; places++) {
        bench += 4 * shareOfMoves({ kind: 'bench', rows, places }, movedTo, 1000);
      }
    }
    expect(row).toBeCloseTo(0.7, 3);
    expect(bench).toBeCloseTo(0.2, 3);
    expect(1000 * shareOfMoves({ kind: 'elsewhere' }, movedTo, 1000)).toBeCloseTo(0.1, 12);
  });

  it('falls with the distance: neighbours before strangers', () => {
    const ways = [
      { kind: 'row', places: 1 },
      { kind: 'row', places: 2 },
      { kind: 'bench', rows: 1, places: 0 },
      { kind: 'bench', rows: 2, places: 1 },
      { kind: 'elsewhere' },
    ] as const;
    const shares = ways.map((way) => shareOfMoves(way, movedTo, 1000));
    expect(shares).toEqual(shares.toSorted((a, b) => b - a));
  });
});
