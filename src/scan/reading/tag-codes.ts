/**
 * The symbols of many tags, packed so that all of them can be held against one picture at once: only the
 * modules in which any two differ, eight a byte.
 */
import { TAG_QR_SIZE, tagQrWords } from '../../codes/tag-qr.js';
import { blankGrid, cellOfModule, DARK, LIGHT } from './tag-grid.js';

export interface TagCodes {
  readonly texts: readonly string[];
  /** Texts of no tag of this ledger, drawn from all there could be: what chance alone can look like. */
  readonly strangerCount: number;
  /** Cells that differ between tags, in the order of the bits. */
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

/** @param strangers tag texts that are none of `texts` */
export function packTagCodes(texts: readonly string[], strangers: readonly string[]): TagCodes {
  const all = [...texts, ...strangers];
  const first = tagQrWords(all[0] as string);
  const differing = new Uint32Array(first.length);
  for (const text of all) {
    const words = tagQrWords(text);
    for (let at = 0; at < words.length; at++) {
      differing[at] = (differing[at] as number) | ((words[at] as number) ^ (first[at] as number));
    }
  }
  const isSet = (words: Uint32Array, module: number): boolean =>
    (((words[module >> 5] as number) >>> (module & 31)) & 1) === 1;
  const known = blankGrid();
  const varying: number[] = [];
  for (let module = 0; module < MODULES; module++) {
    if (isSet(differing, module)) varying.push(module);
    else known[cellOfModule(module)] = isSet(first, module) ? DARK : LIGHT;
  }
  const bytesEach = Math.ceil(varying.length / 8);
  const bytes = new Uint8Array(all.length * bytesEach);
  const darkCount = new Float32Array(varying.length);
  for (const [index, text] of all.entries()) {
    const words = tagQrWords(text);
    for (let bit = 0; bit < varying.length; bit++) {
      const module = varying[bit] as number;
      if ((((words[module >> 5] as number) >>> (module & 31)) & 1) === 0) continue;
      const at = index * bytesEach + (bit >> 3);
      bytes[at] = (bytes[at] as number) | (1 << (bit & 7));
      if (index >= texts.length) darkCount[bit] = (darkCount[bit] as number) + 1;
    }
  }
  return {
    texts,
    strangerCount: strangers.length,
    varyingCells: Uint16Array.from(varying, cellOfModule),
    bytesEach,
    bytes,
    known,
    darkShare: darkCount.map((count) => (count + 0.5) / (strangers.length + 1)),
  };
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
