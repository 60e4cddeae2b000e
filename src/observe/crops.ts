/**
 * What Pottag knows of each crop. A crop is one entry here; everything else works alike for all.
 */
import type { Plant } from '../ledger/model.js';
import { fold } from '../wording.js';

/** Days from the day fruit is first seen set until it is ripe, before the ledger has its own. */
export interface Ripening {
  /** Null: wood that is not noted, or does not matter. */
  readonly wood: 'new' | 'old' | null;
  readonly medianDays: number;
  /** Nine fruit in ten ripen between these. */
  readonly fromDays: number;
  readonly toDays: number;
  readonly source: string;
}

export interface Crop {
  readonly name: string;
  /** Other words for it in a CSV's column `crop`. */
  readonly alsoCalled: readonly string[];
  /** Whether its seedlings have the four types of figs. */
  readonly hasFigTypes: boolean;
  /** The traits that matter in it, in the order in which they are usually seen. */
  readonly observations: readonly string[];
  readonly ripening: readonly Ripening[];
  /** So long ripe fruit stays on the plant before it falls or rots (common practice). */
  readonly ripeHangsDays: number;
  /** Fruit picked so many days before it is ripe still becomes good indoors (common practice). */
  readonly ripensOffPlantDays: number;
}

const FIG: Crop = {
  name: 'fig',
  alsoCalled: ['figs', 'Ficus carica', 'Feige', 'figuier', 'figue', 'higuera', 'higo', 'fico'],
  hasFigTypes: true,
  observations: [
    'fruit',
    'wood',
    'pollination',
    'inside',
    'pulp-colour',
    'weight',
    'brix',
    'liking',
    'flavour',
  ],
  ripening: [
    {
      wood: 'new',
      medianDays: 95,
      fromDays: 70,
      toDays: 130,
      source: 'common practice: the main crop takes about three months in a warm summer, four in a cool one',
    },
    {
      wood: 'old',
      medianDays: 100,
      fromDays: 75,
      toDays: 130,
      source: 'common practice: breba figs set in early spring are ripe in early summer',
    },
    { wood: null, medianDays: 95, fromDays: 70, toDays: 130, source: 'common practice' },
  ],
  ripeHangsDays: 7,
  ripensOffPlantDays: 5,
};

const PEAR: Crop = {
  name: 'pear',
  alsoCalled: ['pears', 'Pyrus', 'Pyrus communis', 'Birne', 'poire', 'poirier', 'pera', 'peral', 'pero'],
  hasFigTypes: false,
  observations: ['fruit', 'weight', 'brix', 'liking', 'flavour'],
  ripening: [
    {
      wood: null,
      medianDays: 135,
      fromDays: 95,
      toDays: 175,
      source: 'common practice: from set in spring to picking, summer pears to winter pears',
    },
  ],
  ripeHangsDays: 10,
  ripensOffPlantDays: 30,
};

const PEPPER: Crop = {
  name: 'pepper',
  alsoCalled: [
    'peppers',
    'chilli',
    'chili',
    'Capsicum',
    'Paprika',
    'piment',
    'poivron',
    'pimiento',
    'peperone',
  ],
  hasFigTypes: false,
  observations: ['fruit', 'weight', 'brix', 'liking', 'flavour'],
  ripening: [
    {
      wood: null,
      medianDays: 70,
      fromDays: 50,
      toDays: 95,
      source: 'common practice: seven to thirteen weeks from set to full colour',
    },
  ],
  ripeHangsDays: 21,
  ripensOffPlantDays: 20,
};

export const CROPS: readonly Crop[] = [FIG, PEAR, PEPPER];

/** Of a plant whose crop is none of those: nothing is known but what the ledger shows. */
const OTHER: Omit<Crop, 'name'> = {
  alsoCalled: [],
  hasFigTypes: false,
  observations: ['fruit', 'weight', 'brix', 'liking', 'flavour'],
  ripening: [
    { wood: null, medianDays: 90, fromDays: 45, toDays: 180, source: 'a guess; the crop is not known' },
  ],
  ripeHangsDays: 14,
  ripensOffPlantDays: 0,
};

/** The column of the grower's CSV that names a plant's crop. */
const CROP_COLUMN = 'crop';

/** What the plant's column `crop` says; without one it is a fig. */
export function cropOf({ extra }: Pick<Plant, 'extra'>): Crop {
  for (const [heading, cell] of Object.entries(extra)) {
    if (isCropColumn(heading) && fold(cell) !== '') return cropNamed(cell);
  }
  return FIG;
}

export function isCropColumn(heading: string): boolean {
  return fold(heading) === CROP_COLUMN;
}

const BY_WORD = new Map(
  CROPS.flatMap((crop) => [crop.name, ...crop.alsoCalled].map((word) => [fold(word), crop] as const)),
);
const others = new Map<string, Crop>();

/** A crop without an entry keeps its name. */
function cropNamed(word: string): Crop {
  const folded = fold(word);
  const known = BY_WORD.get(folded) ?? others.get(folded);
  if (known !== undefined) return known;
  const other = { name: folded, ...OTHER };
  others.set(folded, other);
  return other;
}
