/**
 * Codes with which a new device is paired: short-lived, good for one device, and not to be guessed.
 *
 * A code is one of 2^40. It is given up after 20 wrong tries, so that a guesser's chance is one in fifty
 * thousand million for each code that the person at the computer asks for.
 */
import { createHash, randomInt, timingSafeEqual } from 'node:crypto';
import { ALPHABET, canonical } from '../ids/alphabet.js';

const CODE_LENGTH = 8;
export const CODE_MINUTES = 10;
const LIFE_MS = CODE_MINUTES * 60_000;

/** Wrong tries before a code is given up; before an address has to wait for the next code. */
export const MOST_WRONG = 20;
export const MOST_WRONG_OF_ADDRESS = 5;

/**
 * - `paired`: it was the code, which is used up now
 * - `wrong`: it was another
 * - `too-often`: this address has tried too often for this code
 * - `no-code`: the code has expired, was used, or was given up
 */
export type Attempt = 'paired' | 'wrong' | 'too-often' | 'no-code';

export class PairingDesk {
  #code: { readonly text: string; readonly untilMs: number } | undefined;
  #wrong = 0;
  #wrongOf = new Map<string, number>();

  constructor(private readonly now: () => Date) {}

  /** Makes a new code; the one before no longer counts. */
  renew(): string {
    const text = Array.from({ length: CODE_LENGTH }, () => ALPHABET.charAt(randomInt(ALPHABET.length))).join(
      '',
    );
    this.#code = { text, untilMs: this.now().getTime() + LIFE_MS };
    this.#wrong = 0;
    this.#wrongOf = new Map();
    return text;
  }

  /** @param address the network address that tries */
  attempt(typed: string, address: string): Attempt {
    const code = this.#code;
    if (code === undefined || this.now().getTime() >= code.untilMs) return 'no-code';
    const wrongBefore = this.#wrongOf.get(address) ?? 0;
    if (wrongBefore >= MOST_WRONG_OF_ADDRESS) return 'too-often';
    if (isSame(canonical(typed), code.text)) {
      this.#code = undefined;
      return 'paired';
    }
    this.#wrongOf.set(address, wrongBefore + 1);
    this.#wrong++;
    if (this.#wrong >= MOST_WRONG) this.#code = undefined;
    return 'wrong';
  }
}

/** Takes the same time wherever the two differ; their hashes have one length. */
function isSame(a: string, b: string): boolean {
  const hash = (text: string) => createHash('sha256').update(text).digest();
  return timingSafeEqual(hash(a), hash(b));
}

/** `K7FY-5Q2M`, to read aloud. */
export function spelled(code: string): string {
  return `${code.slice(0, CODE_LENGTH / 2)}-${code.slice(CODE_LENGTH / 2)}`;
}
