import { describe, expect, it } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import { benchesOf, firstOf } from '../../src/report/benches.js';
import type { Pot } from '../../src/report/garden.js';

function pot(station: string, id = 'PXSV9', hasEnded = false): Pot {
  return { id: id as PlantId, station, hasEnded, hasFruited: false };
}

const drawn = (stations: readonly string[]) =>
  benchesOf(stations.map((station) => pot(station))).map(({ name, lines }) => ({
    name,
    lines: lines.map((line) => [line.name, line.spots.map(({ place }) => place)]),
  }));

describe('benches', () => {
  it('are read from the names, numbers counted as numbers', () => {
    const stations = [
      'bench 10 / row 1 / 1',
      'bench 2 / row 10 / 2',
      'bench 2 / row 9 / 11',
      'bench 2 / row 9 / 2',
    ];
    expect(drawn(stations)).toEqual([
      {
        name: 'bench 2',
        lines: [
          ['bench 2 / row 9', [2, 11]],
          ['bench 2 / row 10', [2]],
        ],
      },
      { name: 'bench 10 / row 1', lines: [['bench 10 / row 1', [1]]] },
    ]);
  });

  it('understand letters and short names', () => {
    expect(drawn(['A3-07', 'A3-08', 'A4-01'])).toEqual([
      {
        name: 'A',
        lines: [
          ['A3', [7, 8]],
          ['A4', [1]],
        ],
      },
    ]);
    expect(drawn(['North bench 12', 'North bench 13'])[0]?.name).toBe('North bench');
  });

  it('put places without numbers last, and together', () => {
    expect(drawn(['by the gate', 'bench 1 / 1', 'porch']).map(({ lines }) => lines.length)).toEqual([1, 1]);
    const last = drawn(['by the gate', 'bench 1 / 1', 'porch']).at(-1);
    expect(last).toEqual({ name: '', lines: [['', [null, null]]] });
  });

  it('do not take a part of a number for the name', () => {
    expect(drawn(['bench 1 / row 11 / 1', 'bench 1 / row 12 / 1'])[0]?.name).toBe('bench 1');
  });

  it('break a long row', () => {
    const [bench] = drawn(Array.from({ length: 30 }, (_, index) => `row 1 / ${index + 1}`));
    expect(bench?.lines.map(([, places]) => places?.length)).toEqual([12, 12, 6]);
  });

  it('come in parts where they are longer than a page', () => {
    const parts = drawn(Array.from({ length: 45 }, (_, index) => `bench 1 / row ${index} / 1`));
    expect(parts.map(({ name, lines }) => [name, lines.length])).toEqual([
      ['bench 1', 20],
      ['bench 1', 20],
      ['bench 1', 5],
    ]);
  });

  it('show the living pot where one ended before, and count others that live there', () => {
    const here = (pots: readonly Pot[]) => benchesOf(pots)[0]?.lines[0]?.spots;
    const dead = pot('bench 1 / 1', 'AAAAA', true);
    const living = pot('bench 1 / 1', 'BBBBB');
    const second = pot('Bench 1/01', 'CCCCC');
    expect(here([dead, living])?.map((spot) => [spot.pot.id, spot.others.length])).toEqual([['BBBBB', 0]]);
    expect(here([dead])?.map((spot) => spot.pot.id)).toEqual(['AAAAA']);
    expect(here([living, dead, second])?.map((spot) => [spot.pot.id, spot.others.length])).toEqual([
      ['BBBBB', 1],
    ]);
  });

  it('keep every station, each once', () => {
    const stations = Array.from(
      { length: 500 },
      (_, index) => `bench ${index % 7} / row ${index % 11} / ${index}`,
    );
    const spots = benchesOf(stations.map((station) => pot(station))).flatMap(({ lines }) =>
      lines.flatMap((line) => line.spots.map(({ station }) => station)),
    );
    expect(spots.sort()).toEqual(stations.sort());
  });

  it('are cut by whole rows', () => {
    const all = benchesOf(
      Array.from({ length: 40 }, (_, index) =>
        pot(`bench ${Math.floor(index / 20)} / row ${Math.floor(index / 5)} / ${index}`),
      ),
    );
    const some = firstOf(all, 12);
    expect(some.flatMap(({ lines }) => lines).map(({ spots }) => spots.length)).toEqual([5, 5]);
  });
});
