/**
 * Every number that the walk's probabilities rest on, with its reason. Nobody has published rates for
 * pots on a breeder's benches; 'common practice' marks what is a grower's experience and no more. The
 * bench (tests/bench/walk.ts) shows how far the results hang on them.
 */
export const WALK = {
  /**
   * Rates, as if so many had been counted before this walk; what this walk shows is added, for after a storm
   * it says more than any rule (rates.ts). Common practice: a tag in a hundred is lost or spoilt between two
   * walks; one in ten of those was found on the ground and stuck into another pot; a plant in a hundred died
   * or was given away, and nobody wrote it down; at one free place in a thousand stands a strange pot; one
   * pot in twenty is moved, and one in ten of those without a tag, which is lost when a pot falls.
   */
  counted: {
    lost: { count: 1, of: 100 },
    gone: { count: 1, of: 100 },
    strange: { count: 0.05, of: 50 },
    mishung: { count: 1, of: 10 },
    exchanged: { count: 1, of: 100 },
    moved: { count: 1, of: 20 },
    movedUntagged: { count: 1, of: 10 },
  },
  /** What no walk shows as free, a path or a table by the door, draws pots like this share of all places. */
  outOfSight: 0.05,
  /** Of the pots that moved: how many stay in their row, on their bench, or do not; counted likewise. */
  movedTo: { row: 7.5, bench: 1.5, elsewhere: 1 },
  /**
   * A value says nothing: misread, in the wrong line, pruned, frosted. Between the 6.57 % of fields copied
   * from records and the 0.29 % of single entry (Garza et al., PMC13078370).
   */
  valueWrong: 0.03,
  /** A character that can be read on a spoilt tag is read wrong; keyed from sound ones it is 1 in 300. */
  characterWrong: 0.01,

  /** Growth of potted seedlings in a year, and how far plants differ in it: common practice. */
  growthCmPerYear: { mean: 40, sd: 25 },
  /** So many plants measured before and on this walk tell more of growth than the rule above. */
  leastForGrowth: 8,
  /** Error of a height: a part of it (where does the tip end?) and the folding rule's. */
  heightError: { share: 0.04, cm: 1.5 },
  /** Scatter of another number on one plant, as a part of its spread over the garden. */
  numberScatter: 0.4,

  /** Which happens more often, that two pots or that two tags change places: nobody knows. */
  potsNotTags: 0.5,

  /** From here on a plant is proposed (design, section 6). */
  propose: 0.9,
  /** From here on, and only where the ledger expects the plant, `--apply` writes it unasked. */
  certain: 0.999,
  /** So often rates and matches are found in turns; more changes nothing that could be seen. */
  turns: 3,
  /** A possibility that can have no larger share than this is left out. */
  negligible: 0.00001,
  /** A measurement that is expected to tell less than this, in bits, is not worth the way. */
  leastBits: 0.05,
} as const;
