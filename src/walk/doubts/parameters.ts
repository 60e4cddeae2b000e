/**
 * Every number that doubts rest on and the walk does not, with its reason. Nobody has published such rates
 * for a breeder's benches; 'common practice' marks what is a grower's experience and no more. The bench
 * (tests/bench/doubts.ts) shows what they come to.
 */
export const DOUBTS = {
  /** In a year, the tag of one plant in a hundred comes to hang on another plant unnoticed: common practice. */
  exchangedAYear: 0.01,
  /** All that was noted on a day was seen on another plant (wrong tag scanned, bags mixed): common practice. */
  dayElsewhere: 0.005,
  /** From one record to the next a trait changed for good: adult leaves, a sport, another word. Common practice. */
  changed: 0.01,
  /** A plant that fits no line of the table of types: an edible caprifig. Common practice. */
  unlikeAnyType: 0.01,
  /** So many pairs of values count for the rule of how often one is wrong; what the garden shows is added. */
  countedPairs: 100,
  /** So many histories of neighbours are kept in memory. */
  historiesAtOnce: 20_000,
  /** Links of numbers that are looked at to learn their scatter. */
  mostLinks: 100_000,

  /** A history contradicts itself if two plants, or a record left out, make it so much likelier. */
  contradicts: 5,
  /** A pair nearer than this share of all exchanges is weighed whatever its history. */
  near: 0.002,
  /** A pair of strangers whose odds may reach this is weighed. */
  worthWeighing: 0.01,
  /** A weighed pair with lower odds is left out. */
  negligible: 0.0001,
  /** From here on an exchange is listed, and said to be one. */
  list: 0.5,
  say: 0.9,
  /** Exchanges said to be one that may be expected, over all, in a garden that had none. */
  falseAlarms: 0.05,
  /**
   * How much rarer high odds are, where there was no exchange, than the worst case that Markov's inequality
   * allows: a hundred times in simulated gardens, 80,000 plants with 3 to 5 % of values misjudged.
   */
  tail: 0.01,
  /** The days named hold the exchange with this probability. */
  credible: 0.95,
} as const;
