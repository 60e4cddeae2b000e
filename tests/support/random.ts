/** A small seeded generator, so that every made picture is a pure function of its seed. */
export interface Random {
  /** Uniform in [0, 1). */
  next(): number;
  /** Uniform in [low, high). */
  between(low: number, high: number): number;
  /** A whole number from 0 to `count - 1`. */
  below(count: number): number;
  /** Normal with mean 0 and standard deviation 1 (Box-Muller). */
  normal(): number;
}

/** The 32-bit generator known as mulberry32 (public domain); `seed` is any whole number. */
export function seededRandom(seed: number): Random {
  let state = seed >>> 0;
  const next = (): number => {
    state = (state + 0x6d2b79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 2 ** 32;
  };
  return {
    next,
    between: (low, high) => low + (high - low) * next(),
    below: (count) => Math.floor(next() * count),
    normal: () => Math.sqrt(-2 * Math.log(1 - next())) * Math.cos(2 * Math.PI * next()),
  };
}
