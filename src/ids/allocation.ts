/**
 * Which ID the n-th plant of a ledger gets: a fixed order over all IDs, scrambled so that plants
 * enrolled one after another, which stand side by side, have IDs that look different.
 *
 * The order is a one-to-one mapping of the numbers below 32^(length − 2): multiplying by an odd
 * number modulo a power of two and mixing high bits into low ones can both be undone. It is fixed
 * for ever, like the check symbols: a ledger stores only how many plants it has.
 */
import { ALPHABET, symbolValue } from './alphabet.js';
import { CHECK_SYMBOLS } from './check-symbols.js';
import { type IdLength, idOf, type PlantId } from './plant-id.js';

const BITS_PER_SYMBOL = 5;

/** Odd, below 2²⁵, so that products stay exact in a double (below 2⁵⁰). */
const FIRST_MULTIPLIER = 0x19e3779 | 1;
const SECOND_MULTIPLIER = 0x05ebca7 | 1;

/** How many plants a ledger can hold. One less than 32^(length − 2): 00000 is not given. */
export function capacity(length: IdLength): number {
  return ALPHABET.length ** (length - CHECK_SYMBOLS) - 1;
}

/** The ID of plant `number`, 1 ≤ number ≤ capacity. Number 0 would be 00000. */
export function idOfNumber(number: number, length: IdLength): PlantId {
  if (!Number.isInteger(number) || number < 1 || number > capacity(length)) {
    throw new RangeError(`plant number ${number} is outside 1 to ${capacity(length)}`);
  }
  return idOf(scramble(number, BITS_PER_SYMBOL * (length - CHECK_SYMBOLS)), length);
}

function scramble(number: number, bits: number): number {
  const size = 2 ** bits;
  const shift = Math.ceil(bits / 2);
  const first = (number * (FIRST_MULTIPLIER % size)) % size;
  const mixed = first ^ (first >>> shift);
  const second = (mixed * (SECOND_MULTIPLIER % size)) % size;
  return second ^ (second >>> shift);
}

/** The number of a sound ID: the inverse of `idOfNumber`. */
export function numberOfId(id: PlantId): number {
  const bits = BITS_PER_SYMBOL * (id.length - CHECK_SYMBOLS);
  const size = 2n ** BigInt(bits);
  const shift = Math.ceil(bits / 2); // At least half the bits, so that mixing twice is not mixing at all.
  let value = 0;
  for (const character of id.slice(0, -CHECK_SYMBOLS)) {
    value = value * ALPHABET.length + (symbolValue(character) ?? 0);
  }
  const second = BigInt(value ^ (value >>> shift));
  const mixed = Number((second * inverse(SECOND_MULTIPLIER, size)) % size);
  const first = BigInt(mixed ^ (mixed >>> shift));
  return Number((first * inverse(FIRST_MULTIPLIER, size)) % size);
}

/** Of an odd number modulo a power of two: Newton's method doubles the right bits with every step. */
function inverse(odd: number, size: bigint): bigint {
  let found = 1n;
  for (let rightBits = 1; 2n ** BigInt(rightBits) < size; rightBits *= 2) {
    found = (((found * (2n - BigInt(odd) * found)) % size) + size) % size;
  }
  return found;
}
