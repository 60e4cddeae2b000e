/**
 * What a line of a walk says, apart from what was said before it.
 */
import { readSign } from '../codes/station-sign.js';
import { readTagText } from '../codes/tag-text.js';
import type { IdLength } from '../ids/plant-id.js';
import { findTrait } from '../observe/vocabulary.js';
import { tidy } from '../wording.js';
import { placeOf } from './stations.js';

/** Stations where plants are known to stand: the key of their place → their name. */
export type KnownStations = ReadonlyMap<string, string>;

export function knownStations(names: Iterable<string>): KnownStations {
  return new Map([...names].map((name) => [placeOf(name).key, name]));
}

/**
 * The station that a line names: by a sign, by the name of a known one in any spelling, or by a name of parts
 * (`bench 2 / row 3 / 7`). A known one is spelled as it is known.
 */
export function stationNamed(line: string, known: KnownStations, idLength: IdLength): string | undefined {
  const sign = readSign(line);
  const name = sign ?? tidy(line);
  const spelled = known.get(placeOf(name).key);
  if (sign !== undefined) return spelled ?? sign;
  if (readTagText(name, idLength).kind === 'sound') return undefined;
  return spelled ?? (isOfParts(name) ? name : undefined);
}

function isOfParts(name: string): boolean {
  return name.includes(' / ') && !/[:=]/.test(name) && findTrait(partsOf(name).name) === undefined;
}

/** `height 64`, `leaf form: five-lobed`; both are empty for a line that names no trait. */
export function partsOf(line: string): { readonly name: string; readonly value: string } {
  const [, name = '', value = ''] =
    /^([^:=]*\p{L}[^:=]*?)\s*[:=]\s*(.*)$/su.exec(line) ??
    /^(\p{L}[\p{L}\p{N}_-]*)(?:\s+(.+))?$/su.exec(line) ??
    [];
  return { name, value };
}
