/**
 * How likely each type of fig is to do what was seen: the whole table from which a type is judged.
 *
 * The numbers are judgements, common practice put into figures by us; what they lean on is named in each
 * line. They are deliberately mild: a fruit that falls or holds has many reasons, and one slip of the hand
 * in 300 entries is usual (Garza et al.: 0.29 % of fields entered once are wrong).
 */

/** Sex and persistence (Storey 1975), in the words of a plant's `type`. */
export const FIG_TYPES = [
  'persistent female',
  'caducous female',
  'persistent caprifig',
  'caducous caprifig',
] as const;
export type FigType = (typeof FIG_TYPES)[number];

/** Of each type in the order of `FIG_TYPES`. */
export type PerType = readonly [number, number, number, number];

/** `either` also stands for wood that was not noted; `open` also for pollination that was not noted. */
export interface Holding {
  readonly wood: 'new' | 'old' | 'either';
  readonly pollination: 'none' | 'open' | 'hand' | 'any';
  /** The first season in which fruit was seen on the plant, or a later one. */
  readonly season: 'first' | 'later' | 'any';
  /** The mean share of fruit that is held until ripe. */
  readonly held: PerType;
  /** How alike the fruit of one season are: the share differs between seasons as after this many fruit. */
  readonly asSureAs: number;
  readonly because: string;
  readonly source: string;
}

/** The first line that fits counts. */
export const HOLDING: readonly Holding[] = [
  {
    wood: 'old',
    pollination: 'any',
    season: 'any',
    held: [0.5, 0.5, 0.5, 0.5],
    asSureAs: 2,
    because:
      'the breba crop says nothing of the main crop: San Pedro figs hold it and drop the other, common figs may drop nearly all of it',
    source: 'Condit 1955, Hilgardia 23:11; San Pedro type: common practice',
  },
  {
    wood: 'new',
    pollination: 'none',
    season: 'later',
    held: [0.8, 0.03, 0.7, 0.03],
    asSureAs: 2,
    because: 'holding the unpollinated main crop is what persistent means; some hold it in one climate only',
    source: 'Storey 1975; Condit 1955 on climate',
  },
  {
    wood: 'new',
    pollination: 'none',
    season: 'first',
    held: [0.4, 0.02, 0.35, 0.02],
    asSureAs: 1.5,
    because: 'a young tree drops most of its first crop, whatever its type; but what it holds, it holds',
    source: 'common practice',
  },
  {
    wood: 'either',
    pollination: 'none',
    season: 'later',
    held: [0.65, 0.2, 0.6, 0.2],
    asSureAs: 2,
    because: 'it may have been the breba crop',
    source: 'between the lines for new and old wood',
  },
  {
    wood: 'either',
    pollination: 'none',
    season: 'first',
    held: [0.35, 0.15, 0.3, 0.15],
    asSureAs: 1.5,
    because: 'it may have been the breba crop, on a young tree',
    source: 'between the lines for new and old wood',
  },
  {
    wood: 'either',
    pollination: 'hand',
    season: 'later',
    held: [0.85, 0.75, 0.7, 0.55],
    asSureAs: 2,
    because: 'pollinated fruit ripens on any female; that it took is never certain',
    source: 'Storey 1975; share that takes: common practice',
  },
  {
    wood: 'either',
    pollination: 'hand',
    season: 'first',
    held: [0.5, 0.45, 0.4, 0.35],
    asSureAs: 1.5,
    because: 'as in later seasons, on a young tree',
    source: 'common practice',
  },
  {
    wood: 'either',
    pollination: 'open',
    season: 'later',
    held: [0.8, 0.4, 0.7, 0.3],
    asSureAs: 2,
    because: 'whether a wasp brought pollen is not known',
    source: 'common practice',
  },
  {
    wood: 'either',
    pollination: 'open',
    season: 'first',
    held: [0.4, 0.2, 0.35, 0.15],
    asSureAs: 1.5,
    because: 'whether a wasp brought pollen is not known, and the tree is young',
    source: 'common practice',
  },
];

/** How long after hard weather (the trait `weather`) any tree may drop fruit, so that it says nothing. */
export const WEATHER_COUNTS_DAYS = 21;

/** `tasted`: liked (5 or more) without a word on what it was like cut open. */
export interface CutFruit {
  readonly seen: 'pulp' | 'stamens' | 'dry' | 'tasted';
  /** Whether the fruit was ripe (or nothing was said of it), or was cut before that. */
  readonly fruit: 'ripe' | 'unripe';
  readonly probability: PerType;
  readonly because: string;
  readonly source: string;
}

export const CUT_FRUIT: readonly CutFruit[] = [
  {
    seen: 'pulp',
    fruit: 'ripe',
    probability: [0.95, 0.85, 0.05, 0.03],
    because: 'the female fruit is the edible one; few caprifigs are',
    source: 'Storey 1975; edible caprifigs: common practice',
  },
  {
    seen: 'stamens',
    fruit: 'ripe',
    probability: [0.005, 0.005, 0.7, 0.7],
    because: 'only the caprifig has the dominant factor for stamens; a slip of the hand is left',
    source: 'Storey 1975; slips: Garza et al.',
  },
  {
    seen: 'dry',
    fruit: 'ripe',
    probability: [0.045, 0.145, 0.25, 0.27],
    because: 'caprifigs are dry; so is a female fruit that shrivelled unpollinated',
    source: 'common practice',
  },
  {
    seen: 'pulp',
    fruit: 'unripe',
    probability: [0.35, 0.25, 0.03, 0.02],
    because: 'pulp swells only toward ripeness',
    source: 'common practice',
  },
  {
    seen: 'stamens',
    fruit: 'unripe',
    probability: [0.005, 0.005, 0.35, 0.3],
    because: 'stamens are the last to develop, and may not be seen yet',
    source: 'Storey 1975; share seen: common practice',
  },
  {
    seen: 'dry',
    fruit: 'unripe',
    probability: [0.645, 0.745, 0.62, 0.68],
    because: 'every unripe fruit is rather dry',
    source: 'common practice',
  },
  {
    seen: 'tasted',
    fruit: 'ripe',
    probability: [0.6, 0.55, 0.06, 0.05],
    because: 'who likes a fruit has eaten pulp; few caprifigs have any',
    source: 'common practice',
  },
];
