/**
 * Arithmetic in GF(32), the field of 32 elements built on x⁵ + x² + 1, with α = x (the value 2).
 *
 * Elements are whole numbers 0–31; addition is exclusive or. The same field carries the paging code
 * of ITU-R M.584, whose fixed codewords serve as an outside check (tests/standards).
 */

const POLYNOMIAL = 0b100101;

/** α has order 31: α³¹ = 1. */
export const ORDER = 31;

const POWERS: readonly number[] = powersOfAlpha();
/** The exponent of each element; none of 0. */
const LOGS: readonly (number | undefined)[] = logarithms();

function powersOfAlpha(): number[] {
  const powers: number[] = [];
  let value = 1;
  for (let exponent = 0; exponent < ORDER; exponent++) {
    powers.push(value);
    value <<= 1;
    if (value & 0b100000) value ^= POLYNOMIAL;
  }
  return powers;
}

function logarithms(): (number | undefined)[] {
  const logs = Array<number | undefined>(ORDER + 1).fill(undefined);
  for (const [exponent, value] of POWERS.entries()) logs[value] = exponent;
  return logs;
}

/** α to a whole power, negative ones too. */
export function powerOfAlpha(exponent: number): number {
  const value = POWERS[((exponent % ORDER) + ORDER) % ORDER];
  if (value === undefined) throw new RangeError(`${exponent} is not a whole exponent`);
  return value;
}

/** The exponent 0–30 with α^exponent = value; throws for 0, which has none. */
export function logOf(value: number): number {
  const exponent = LOGS[value];
  if (exponent === undefined) throw new RangeError(`${value} has no logarithm in GF(32)`);
  return exponent;
}

export function multiply(a: number, b: number): number {
  if (a === 0 || b === 0) return 0;
  return powerOfAlpha(logOf(a) + logOf(b));
}

/** a / b; throws if b is 0. */
export function divide(a: number, b: number): number {
  const exponent = logOf(b);
  return a === 0 ? 0 : powerOfAlpha(logOf(a) - exponent);
}
