/**
 * The Code 128 symbols of many tags, by their number of symbol characters, so that all of them can be held
 * against one picture at once: a table of log-likelihoods for every place and value, and a sum a tag.
 */
import {
  CHARACTER_MODULES,
  code128Modules,
  STOP_MODULES,
  tagCode128Values,
} from '../../codes/tag-code128.js';

/** Values that a symbol character can have, the three start characters included (ISO/IEC 15417). */
export const VALUES = 106;

/** Modules of the quiet zones that are looked at, on each side. */
export const QUIET = 5;

/** Symbols with the same number of characters. */
export interface BarGroup {
  readonly texts: readonly string[];
  /** Of all tags, of this ledger and others, the share with so many characters. */
  readonly tagShare: number;
  /** Symbol characters of each: start, text, check. */
  readonly characterCount: number;
  /** Modules across, the quiet zones looked at included. */
  readonly modules: number;
  /** First those of `texts`, then the strangers'; `characterCount` each. */
  readonly values: Uint8Array;
  /** For each module, the share of these symbols in which it is dark. */
  readonly darkShare: Float64Array;
  /** For each character and value, the share of these symbols that have it; `VALUES` each. */
  readonly valueShare: Float64Array;
}

const moduleCount = (characterCount: number): number =>
  2 * QUIET + characterCount * CHARACTER_MODULES + STOP_MODULES;

/** A tag text with the values of its symbol. */
interface Coded {
  readonly text: string;
  readonly values: readonly number[];
}

/** Groups that hold a tag of the ledger, the largest first. @param strangers tag texts that are none of `texts` */
export function packBarCodes(texts: readonly string[], strangers: readonly string[]): BarGroup[] {
  const coded = (text: string): Coded => ({ text, values: tagCode128Values(text) });
  const byLength = new Map<number, { own: Coded[]; strange: Coded[] }>();
  for (const tag of texts.map(coded)) {
    const group = byLength.get(tag.values.length) ?? { own: [], strange: [] };
    byLength.set(tag.values.length, group);
    group.own.push(tag);
  }
  for (const tag of strangers.map(coded)) byLength.get(tag.values.length)?.strange.push(tag);
  const tagCount = [...byLength.values()].reduce((sum, of) => sum + of.own.length + of.strange.length, 0);
  return [...byLength]
    .map(([characterCount, { own, strange }]) => packed(characterCount, own, strange, tagCount))
    .sort((a, b) => b.texts.length - a.texts.length);
}

function packed(
  characterCount: number,
  own: readonly Coded[],
  strange: readonly Coded[],
  tagCount: number,
): BarGroup {
  const count = own.length + strange.length;
  const values = new Uint8Array(count * characterCount);
  const valueShare = new Float64Array(characterCount * VALUES);
  for (const [index, tag] of [...own, ...strange].entries()) {
    values.set(tag.values, index * characterCount);
    tag.values.forEach((value, place) => {
      const at = place * VALUES + value;
      valueShare[at] = (valueShare[at] as number) + 1 / count;
    });
  }
  return {
    texts: own.map(({ text }) => text),
    tagShare: count / tagCount,
    characterCount,
    modules: moduleCount(characterCount),
    values,
    valueShare,
    darkShare: meanModules(characterCount, valueShare),
  };
}

/** Which modules of a tag's symbol are dark: 1, or 0. */
export function tagModules(text: string): Float64Array {
  const values = tagCode128Values(text);
  const shares = new Float64Array(values.length * VALUES);
  values.forEach((value, place) => {
    shares[place * VALUES + value] = 1;
  });
  return meanModules(values.length, shares);
}

/** How likely each module is dark, given how likely each character has each value. */
export function meanModules(characterCount: number, valueShare: Float64Array): Float64Array {
  const { characters, stop } = code128Modules();
  const mean = new Float64Array(moduleCount(characterCount));
  for (let place = 0; place < characterCount; place++) {
    const first = QUIET + place * CHARACTER_MODULES;
    characters.forEach((modules, value) => {
      const share = valueShare[place * VALUES + value] as number;
      if (share === 0) return;
      modules.forEach((dark, module) => {
        mean[first + module] = (mean[first + module] as number) + share * dark;
      });
    });
  }
  mean.set(stop, QUIET + characterCount * CHARACTER_MODULES);
  return mean;
}

/** Each tag's sum of its characters' values in `table` (`VALUES` a place), the strangers' after the ledger's. */
export function sumsOfValues({ values, characterCount }: BarGroup, table: Float64Array): Float32Array {
  const sums = new Float32Array(values.length / characterCount);
  for (let index = 0, at = 0; index < sums.length; index++) {
    let sum = 0;
    for (let place = 0; place < characterCount; place++, at++) {
      sum += table[place * VALUES + (values[at] as number)] as number;
    }
    sums[index] = sum;
  }
  return sums;
}
