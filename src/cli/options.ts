/**
 * Option values as typed, checked. Commander puts the option's name before these texts.
 */
import { InvalidArgumentError } from 'commander';

/** A whole number from `least` to `most`. */
export function integerOption(least: number, most = 1_000_000): (text: string) => number {
  return (text) => {
    const number = Number(text);
    if (/^\d+$/.test(text) && number >= least && number <= most) return number;
    throw new InvalidArgumentError(`It is a whole number from ${least} to ${most.toLocaleString('en-GB')}.`);
  };
}

/** A number from `least` to `most`. */
export function numberOption(least: number, most: number): (text: string) => number {
  return (text) => {
    const number = Number(text);
    if (/^-?\d+(\.\d+)?$/.test(text) && number >= least && number <= most) return number;
    throw new InvalidArgumentError(`It is a number from ${least} to ${most}.`);
  };
}

/** Two numbers with a comma between them. */
export function pairOption(least: number, most: number): (text: string) => readonly [number, number] {
  return (text) => {
    const [x, y, ...more] = text.split(',').map(Number);
    const isInRange = (value: number | undefined) => value !== undefined && value >= least && value <= most;
    if (isInRange(x) && isInRange(y) && more.length === 0) return [x as number, y as number];
    throw new InvalidArgumentError(`It is two numbers from ${least} to ${most} with a comma, e.g. 0.5,-1.`);
  };
}
