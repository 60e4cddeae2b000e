/**
 * A walk along the benches as the phone keeps it: lines as one would type them for `pottag walk`, which
 * alone judges what they mean. `station NAME`, then a tag's text, `none` or `empty`, then what is seen.
 */
import { readSign, signText } from '../../codes/station-sign.js';
import { isTagLine } from '../../codes/tag-text.js';
import type { IdLength } from '../../ids/plant-id.js';
import type { GardenView } from '../views.js';

/** Where the walk stands: the open station, and what was said of it so far. */
export interface Standing {
  readonly station: string | null;
  readonly said: readonly string[];
}

export function standingOf(lines: readonly string[]): Standing {
  const at = lines.findLastIndex((line) => readSign(line) !== undefined);
  const station = at === -1 ? null : (readSign(lines[at] ?? '') ?? null);
  return { station, said: lines.slice(at + 1) };
}

/** Whether a line says what stands at a station, and not what is seen on it. */
export function isPot(line: string, idLength: IdLength): boolean {
  return line === 'none' || line === 'empty' || isTagLine(line, idLength);
}

export function stationCount(lines: readonly string[]): number {
  return new Set(lines.flatMap((line) => readSign(line) ?? [])).size;
}

export const stationLine = (station: string): string => signText(station);

/** The stations of living plants, by name, numbers by their size. */
export function stationsIn(garden: GardenView | undefined): string[] {
  const names =
    garden?.plants.flatMap(({ plant }) => (plant.ended === null ? (plant.station ?? []) : [])) ?? [];
  return [...new Set(names)].sort(new Intl.Collator('en', { numeric: true }).compare);
}

/** The one after `station`; the first, before the walk begins; undefined at the end or from a strange one. */
export function nextStation(stations: readonly string[], station: string | null): string | undefined {
  if (station === null) return stations[0];
  const at = stations.indexOf(station);
  return at === -1 ? undefined : stations[at + 1];
}
