/**
 * The symbols of many tags, packed so that all of them can be held against one picture at once: only the
 * modules in which any two differ, eight a byte.
 */
import { TAG_QR_SIZE } from '../../codes/qr-block.js';
import { isDark, tagQrWords } from '../../codes/tag-qr.js';
import type { IdLength } from '../../ids/plant-id.js';
import { blankGrid, cellOfModule, DARK, LIGHT } from './tag-grid.js';

export interface TagCodes {
  readonly texts: readonly string[];
  /** Texts of no tag of this ledger, drawn from all there could be: what chance alone can look like. */
  readonly strangers: readonly string[];
  /** Modules that differ between tags, in the order of the bits; and the cells they are. */
  readonly varyingModules: Uint16Array;
  readonly varyingCells: Uint16Array;
  readonly bytesEach: number;
  /** First those of `texts`, then the strangers; bit b of byte B is varying cell 8 B + b, set if dark. */
  readonly bytes: Uint8Array;
  /** `LIGHT`, `DARK` or `VARYING`, for every cell of the grid. */
  readonly known: Int8Array;
  /** For each varying cell, the share of strangers with a dark module there. */
  readonly darkShare: Float32Array;
}

const MODULES = TAG_QR_SIZE * TAG_QR_SIZE;

/** Characters of an ID of the ledger. */
export const idLengthOf = ({ texts }: TagCodes): IdLength => (texts[0] as string).indexOf('.') as IdLength;

/** @param strangers tag texts that are none of `texts` */
export function packTagCodes(texts: readonly string[], strangers: readonly string[]): TagCodes {
  const first = tagQrWords(texts[0] ?? (strangers[0] as string));
  const differing = new Uint32Array(first.length);
  for (const some of [texts, strangers]) {
    for (const text of some) addDifferences(differing, tagQrWords(text), first);
  }
  const known = blankGrid();
  const varying: number[] = [];
  for (let module = 0; module < MODULES; module++) {
    if (isDark(differing, module)) varying.push(module);
    else known[cellOfModule(module)] = isDark(first, module) ? DARK : LIGHT;
  }
  const varyingModules = Uint16Array.from(varying);
  const bytesEach = Math.ceil(varying.length / 8);
  const bytes = new Uint8Array((texts.length + strangers.length) * bytesEach);
  pack(bytes, 0, texts, varyingModules);
  pack(bytes, texts.length * bytesEach, strangers, varyingModules);
  return {
    texts,
    strangers,
    varyingModules,
    varyingCells: varyingModules.map(cellOfModule),
    bytesEach,
    bytes,
    known,
    darkShare: darkShareOf(bytes.subarray(texts.length * bytesEach), bytesEach, varying.length),
  };
}

/** The same with further tags, none of which is there already; what is packed is not packed again. */
export function withMoreTags(codes: TagCodes, more: readonly string[]): TagCodes {
  const { varyingModules, bytesEach } = codes;
  const texts = [...codes.texts, ...more];
  const own = new Set(more);
  const strangers = codes.strangers.filter((text) => !own.has(text));
  const first = tagQrWords(texts[0] as string);
  const differing = new Uint32Array(first.length);
  for (const text of more) addDifferences(differing, tagQrWords(text), first);
  for (const module of varyingModules) {
    differing[module >> 5] = (differing[module >> 5] as number) & ~(1 << (module & 31));
  }
  // A tag that differs where all were alike so far, e.g. the first with an issue of two digits.
  if (differing.some((word) => word !== 0)) return packTagCodes(texts, strangers);
  const bytes = new Uint8Array((texts.length + strangers.length) * bytesEach);
  bytes.set(codes.bytes.subarray(0, codes.texts.length * bytesEach));
  pack(bytes, codes.texts.length * bytesEach, more, varyingModules);
  let at = texts.length * bytesEach;
  for (const [index, text] of codes.strangers.entries()) {
    if (own.has(text)) continue;
    const from = (codes.texts.length + index) * bytesEach;
    bytes.set(codes.bytes.subarray(from, from + bytesEach), at);
    at += bytesEach;
  }
  const packedStrangers = bytes.subarray(texts.length * bytesEach);
  const darkShare = darkShareOf(packedStrangers, bytesEach, varyingModules.length);
  return { ...codes, texts, strangers, bytes, darkShare };
}

function addDifferences(differing: Uint32Array, words: Uint32Array, first: Uint32Array): void {
  for (let at = 0; at < words.length; at++) {
    differing[at] = (differing[at] as number) | ((words[at] as number) ^ (first[at] as number));
  }
}

/** Writes the symbols of `texts` into `bytes`, which are 0 there. */
function pack(bytes: Uint8Array, from: number, texts: readonly string[], varyingModules: Uint16Array): void {
  const bytesEach = Math.ceil(varyingModules.length / 8);
  for (const [index, text] of texts.entries()) {
    const words = tagQrWords(text);
    const start = from + index * bytesEach;
    for (let bit = 0; bit < varyingModules.length; bit++) {
      if (!isDark(words, varyingModules[bit] as number)) continue;
      const at = start + (bit >> 3);
      bytes[at] = (bytes[at] as number) | (1 << (bit & 7));
    }
  }
}

/** For each varying cell the share of the packed symbols that are dark there. */
function darkShareOf(bytes: Uint8Array, bytesEach: number, cellCount: number): Float32Array {
  const count = bytesEach === 0 ? 0 : bytes.length / bytesEach;
  const dark = new Float32Array(cellCount);
  for (let index = 0, start = 0; index < count; index++, start += bytesEach) {
    for (let bit = 0; bit < cellCount; bit++) {
      const byte = bytes[start + (bit >> 3)] as number;
      dark[bit] = (dark[bit] as number) + ((byte >> (bit & 7)) & 1);
    }
  }
  return dark.map((darkCount) => (darkCount + 0.5) / (count + 1));
}

/**
 * Each tag's sum of `weights` over its dark varying cells, the strangers' after the ledger's: by a table
 * of 256 sums a byte, so that a tag costs some twenty additions.
 */
export function sumsOverDark(
  { bytes, bytesEach, varyingCells }: TagCodes,
  weights: Float64Array,
): Float32Array {
  const tables = new Float32Array(bytesEach * 256);
  for (let byte = 0; byte < bytesEach; byte++) {
    for (let value = 1; value < 256; value++) {
      const lowest = 31 - Math.clz32(value & -value);
      const bit = 8 * byte + lowest;
      const rest = tables[256 * byte + (value & (value - 1))] as number;
      tables[256 * byte + value] = rest + (bit < varyingCells.length ? (weights[bit] as number) : 0);
    }
  }
  const sums = new Float32Array(bytes.length / bytesEach);
  for (let index = 0, at = 0; index < sums.length; index++) {
    let sum = 0;
    for (let table = 0; table < tables.length; table += 256, at++) {
      sum += tables[table + (bytes[at] as number)] as number;
    }
    sums[index] = sum;
  }
  return sums;
}
