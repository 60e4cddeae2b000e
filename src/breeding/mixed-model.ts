/**
 * What plants are worth, from unequal numbers of measurements: the mixed model
 *
 *   y = fixed effects (overall mean, years, tasters) + family + plant within family + rest
 *
 * with families, plants and rest normal and independent. Variances are estimated by restricted maximum
 * likelihood (REML, Patterson & Thompson 1971); families and plants by best linear unbiased prediction (BLUP,
 * Henderson 1975), which draws those with little evidence toward their family and families toward the mean.
 *
 * Plants of one family that were measured equally often enter the likelihood together, so that a step of its
 * maximisation does not grow with the number of plants, only with families and the square of fixed effects.
 */
import { logDeterminant, solve } from './linear.js';

/** Measurements in columns. */
export interface Measurements {
  /** Of each measurement, its plant, counting from 0. */
  readonly plant: readonly number[];
  readonly value: readonly number[];
  /** For each factor such as the year or the taster: of each measurement its level, counting from 0. */
  readonly factors: readonly (readonly number[])[];
}

export interface Variances {
  readonly family: number;
  readonly plant: number;
  readonly rest: number;
}

export interface Prediction {
  /** Deviation from the fixed effects. */
  readonly value: number;
  /** Of value − truth, the fixed effects being known. */
  readonly variance: number;
}

export interface MixedModel {
  readonly variances: Variances;
  /** The overall mean, years and tasters at their average over the measurements. */
  readonly mean: number;
  /** Standard error of the first coefficient; of the mean if there are no others. */
  readonly meanError: number;
  /** −2 ln of the restricted likelihood at its maximum. */
  readonly criterion: number;
  readonly families: readonly Prediction[];
  /** Each plant's deviation from its family, its family being as predicted. */
  readonly plants: readonly Prediction[];
}

/** What must be settled beforehand where there are too few to estimate it. */
export interface VarianceLimits {
  /** Families' variance as a multiple of the rest's, if it is not to be estimated. */
  readonly familyRatio?: number;
  readonly plantRatio?: number;
}

/**
 * @param familyOf each plant's family, both counting from 0; plants without a measurement are predicted too
 */
export function fitMixedModel(
  measurements: Measurements,
  familyOf: readonly number[],
  limits: VarianceLimits = {},
): MixedModel {
  const design = summarise(measurements, familyOf);
  const ratios = maximise((family, plant) => -evaluate(design, family, plant).criterion, limits);
  const { coefficients, rest, criterion, meanError } = evaluate(design, ratios.family, ratios.plant);
  const totals = design.xx.slice(0, design.size);
  return {
    variances: { family: ratios.family * rest, plant: ratios.plant * rest, rest },
    mean: coefficients.reduce((sum, value, i) => sum + value * at(totals, i), 0) / design.count,
    meanError,
    criterion,
    ...predict(design, familyOf, coefficients, ratios, rest),
  };
}

/** What the likelihood needs of the data. Matrices of `size` columns lie row after row. */
interface Design {
  readonly size: number;
  readonly count: number;
  readonly familyCount: number;
  /** X′X, X′y and y′y over all. */
  readonly xx: Float64Array;
  readonly xy: Float64Array;
  readonly yy: number;
  readonly groups: readonly Group[];
  /** Of each plant: how many, the sum of values, the sums of the columns of the design. */
  readonly counts: Float64Array;
  readonly values: Float64Array;
  readonly columns: Float64Array;
}

/** The plants of a family with equally many measurements: sums over plants of each plant's own sums. */
interface Group {
  readonly family: number;
  /** Measurements of each. */
  readonly each: number;
  plants: number;
  readonly x: Float64Array;
  y: number;
  readonly xx: Float64Array;
  readonly xy: Float64Array;
  yy: number;
}

function summarise(
  { plant: plants, value: values, factors }: Measurements,
  familyOf: readonly number[],
): Design {
  const columnsOf = designColumns(factors, plants.length);
  const size = columnsOf.size;
  const design = {
    size,
    count: plants.length,
    familyCount: familyOf.reduce((most, family) => Math.max(most, family + 1), 0),
    xx: new Float64Array(size * size),
    xy: new Float64Array(size),
    yy: 0,
    counts: new Float64Array(familyOf.length),
    values: new Float64Array(familyOf.length),
    columns: new Float64Array(familyOf.length * size),
  };
  plants.forEach((plant, index) => {
    const value = at(values, index);
    const own = columnsOf.at(index);
    design.yy += value * value;
    plus(design.counts, plant, 1);
    plus(design.values, plant, value);
    for (const i of own) {
      plus(design.columns, plant * size + i, 1);
      plus(design.xy, i, value);
      for (const j of own) plus(design.xx, i * size + j, 1);
    }
  });
  return { ...design, groups: grouped(design, familyOf) };
}

function grouped(
  { size, counts, values, columns }: Pick<Design, 'size' | 'counts' | 'values' | 'columns'>,
  familyOf: readonly number[],
): Group[] {
  const groups = new Map<string, Group>();
  familyOf.forEach((family, plant) => {
    const each = at(counts, plant);
    if (each === 0) return;
    const key = `${family} ${each}`;
    const group = groups.get(key) ?? emptyGroup(family, each, size);
    groups.set(key, group);
    const [own, y] = [columns.subarray(plant * size, (plant + 1) * size), at(values, plant)];
    group.plants++;
    group.y += y;
    group.yy += y * y;
    own.forEach((x, i) => {
      if (x === 0) return;
      plus(group.x, i, x);
      plus(group.xy, i, x * y);
      own.forEach((other, j) => {
        plus(group.xx, i * size + j, x * other);
      });
    });
  });
  return [...groups.values()];
}

function emptyGroup(family: number, each: number, size: number): Group {
  const vector = () => new Float64Array(size);
  return {
    family,
    each,
    plants: 0,
    x: vector(),
    y: 0,
    xx: new Float64Array(size * size),
    xy: vector(),
    yy: 0,
  };
}

/**
 * The columns of the design: the mean, then the levels of each factor but those that follow from columns
 * before them, as the last year does, or the only taster.
 */
function designColumns(factors: Measurements['factors'], count: number) {
  const levels = factors.map((factor) => factor.reduce((most, level) => Math.max(most, level + 1), 0));
  const starts = levels.map((_, factor) => 1 + levels.slice(0, factor).reduce((sum, own) => sum + own, 0));
  const all = 1 + levels.reduce((sum, own) => sum + own, 0);
  const columnsAt = (index: number) => [
    0,
    ...factors.map((factor, which) => at(starts, which) + at(factor, index)),
  ];
  const products = Array.from({ length: all }, () => new Float64Array(all));
  for (let index = 0; index < count; index++) {
    const own = columnsAt(index);
    for (const i of own) for (const j of own) plus(products[i] as Float64Array, j, 1);
  }
  const used: number[] = [];
  for (let column = 0; column < all; column++) {
    const tried = [...used, column];
    const matrix = tried.map((i) => tried.map((j) => at(products[i] as Float64Array, j)));
    if (
      solve(
        matrix,
        tried.map(() => 0),
      ) !== undefined
    )
      used.push(column);
  }
  const place = new Map(used.map((column, index) => [column, index]));
  return {
    size: used.length,
    at: (index: number) => columnsAt(index).flatMap((column) => place.get(column) ?? []),
  };
}

/** The restricted likelihood at these ratios of variances to the rest's. */
function evaluate(design: Design, familyRatio: number, plantRatio: number) {
  const { size, count, familyCount, groups } = design;
  const xx = Float64Array.from(design.xx);
  const xy = Float64Array.from(design.xy);
  let yy = design.yy;
  let logDet = 0;
  const weights = new Float64Array(familyCount);
  const familyX = new Float64Array(familyCount * size);
  const familyY = new Float64Array(familyCount);
  // V⁻¹ takes from the plain sums what measurements of one plant share, then what plants of one family do.
  for (const group of groups) {
    const shrink = 1 + plantRatio * group.each;
    const shared = plantRatio / shrink;
    for (let k = 0; k < size * size; k++) plus(xx, k, -shared * at(group.xx, k));
    for (let i = 0; i < size; i++) {
      plus(xy, i, -shared * at(group.xy, i));
      plus(familyX, group.family * size + i, at(group.x, i) / shrink);
    }
    yy -= shared * group.yy;
    logDet += group.plants * Math.log(shrink);
    plus(weights, group.family, (group.plants * group.each) / shrink);
    plus(familyY, group.family, group.y / shrink);
  }
  for (let family = 0; family < familyCount; family++) {
    const shrink = 1 + familyRatio * at(weights, family);
    const shared = familyRatio / shrink;
    const y = at(familyY, family);
    for (let i = 0; i < size; i++) {
      const x = shared * at(familyX, family * size + i);
      if (x === 0) continue;
      for (let j = 0; j < size; j++) plus(xx, i * size + j, -x * at(familyX, family * size + j));
      plus(xy, i, -x * y);
    }
    yy -= shared * y * y;
    logDet += Math.log(shrink);
  }
  const matrix = Array.from({ length: size }, (_, i) => [...xx.subarray(i * size, (i + 1) * size)]);
  const coefficients = solve(matrix, [...xy]) ?? matrix.map(() => 0);
  const df = Math.max(1, count - size);
  const explained = coefficients.reduce((sum, value, i) => sum + value * at(xy, i), 0);
  const rest = Math.max(yy - explained, Number.MIN_VALUE) / df;
  const firstOfInverse =
    solve(
      matrix,
      matrix.map((_, i) => (i === 0 ? 1 : 0)),
    )?.[0] ?? 0;
  return {
    coefficients,
    rest,
    meanError: Math.sqrt(rest * firstOfInverse),
    criterion: df * (1 + Math.log(2 * Math.PI * rest)) + logDet + logDeterminant(matrix),
  };
}

function predict(
  { size, familyCount, counts, values, columns }: Design,
  familyOf: readonly number[],
  coefficients: readonly number[],
  { family: familyRatio, plant: plantRatio }: { family: number; plant: number },
  rest: number,
): Pick<MixedModel, 'families' | 'plants'> {
  const deviation = familyOf.map((_, plant) =>
    coefficients.reduce((left, value, i) => left - value * at(columns, plant * size + i), at(values, plant)),
  );
  const weights = new Float64Array(familyCount);
  const sums = new Float64Array(familyCount);
  familyOf.forEach((family, plant) => {
    const shrink = 1 + plantRatio * at(counts, plant);
    plus(weights, family, at(counts, plant) / shrink);
    plus(sums, family, at(deviation, plant) / shrink);
  });
  const families = Array.from({ length: familyCount }, (_, family) => {
    const shrink = 1 + familyRatio * at(weights, family);
    return { value: (familyRatio * at(sums, family)) / shrink, variance: (familyRatio * rest) / shrink };
  });
  const plants = familyOf.map((family, plant) => {
    const n = at(counts, plant);
    const own = at(deviation, plant) - n * (families[family]?.value ?? 0);
    const shrink = 1 + plantRatio * n;
    return { value: (plantRatio * own) / shrink, variance: (plantRatio * rest) / shrink };
  });
  return { families, plants };
}

/** Ratios of variances as shares r / (1 + r), where the likelihood is tame; up to this one. */
const MOST_SHARE = 0.999;
const ROUNDS = 30;
/** Of ln L, and of the shares: far below what any data tell. */
const TOLERANCE = 1e-8;
const SHARE_TOLERANCE = 1e-8;

/** The two ratios at which the likelihood is largest, one after the other until neither moves. */
function maximise(
  logLikelihood: (family: number, plant: number) => number,
  limits: VarianceLimits,
): { family: number; plant: number } {
  let family = limits.familyRatio ?? 1;
  let plant = limits.plantRatio ?? 1;
  let reached = logLikelihood(family, plant);
  for (let round = 0; round < ROUNDS; round++) {
    if (limits.plantRatio === undefined) plant = best((ratio) => logLikelihood(family, ratio));
    if (limits.familyRatio === undefined) family = best((ratio) => logLikelihood(ratio, plant));
    const now = logLikelihood(family, plant);
    if (now - reached < TOLERANCE) break;
    reached = now;
  }
  return { family, plant };
}

/** The ratio at which a function with one peak is largest: golden section on r / (1 + r); 0 if that is best. */
function best(value: (ratio: number) => number): number {
  const ratioOf = (share: number) => share / (1 - share);
  const golden = (Math.sqrt(5) - 1) / 2;
  let [low, high] = [0, MOST_SHARE];
  let [a, b] = [high - golden * (high - low), low + golden * (high - low)];
  let [atA, atB] = [value(ratioOf(a)), value(ratioOf(b))];
  while (high - low > SHARE_TOLERANCE) {
    if (atA >= atB) {
      [high, b, atB] = [b, a, atA];
      a = high - golden * (high - low);
      atA = value(ratioOf(a));
    } else {
      [low, a, atA] = [a, b, atB];
      b = low + golden * (high - low);
      atB = value(ratioOf(b));
    }
  }
  const found = ratioOf((low + high) / 2);
  return value(0) >= value(found) ? 0 : found;
}

function at(values: ArrayLike<number>, index: number): number {
  return values[index] as number;
}

function plus(values: Float64Array, index: number, value: number): void {
  values[index] = (values[index] as number) + value;
}
