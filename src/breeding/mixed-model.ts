/**
 * What plants are worth, from unequal numbers of measurements: the mixed model
 *
 *   y = fixed effects (overall mean, years, tasters) + family + plant within family + rest
 *
 * with families, plants and rest normal and independent. Variances are estimated by restricted maximum
 * likelihood (REML, Patterson & Thompson 1971); families and plants by best linear unbiased prediction (BLUP,
 * Henderson 1975), which draws those with little evidence toward their family and families toward the mean.
 * All sums run over plants and families, so the work grows with their number and with the square of the
 * number of fixed effects.
 */
import { logDeterminant, solve } from './linear.js';

export interface Measurement {
  /** Counts from 0. */
  readonly plant: number;
  readonly value: number;
  /** Columns of the design that are 1 here, besides the mean; a year, a taster. They count from 1. */
  readonly fixed: readonly number[];
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
  measurements: readonly Measurement[],
  familyOf: readonly number[],
  limits: VarianceLimits = {},
): MixedModel {
  const design = summarise(measurements, familyOf);
  const ratios = maximise((family, plant) => -evaluate(design, family, plant).criterion, limits);
  const { coefficients, rest, criterion, meanError } = evaluate(design, ratios.family, ratios.plant);
  const variances = { family: ratios.family * rest, plant: ratios.plant * rest, rest };
  return {
    variances,
    mean: averageFit(measurements, design, coefficients),
    meanError,
    criterion,
    ...predict(design, coefficients, ratios, rest),
  };
}

/** What the likelihood needs of the data: sums over each plant's measurements. */
interface Design {
  readonly size: number;
  readonly count: number;
  readonly familyCount: number;
  readonly familyOf: readonly number[];
  /** Of each plant: how many, the sum of values, the sums of the columns of the design. */
  readonly counts: Float64Array;
  readonly values: Float64Array;
  readonly columns: readonly Float64Array[];
  /** X′X, X′y and y′y over all. */
  readonly xx: readonly Float64Array[];
  readonly xy: Float64Array;
  readonly yy: number;
}

function summarise(measurements: readonly Measurement[], familyOf: readonly number[]): Design {
  // A column that follows from those before it, such as the only year of the only taster, is left out.
  const used = independentColumns(measurements);
  const size = used.length;
  const place = new Map(used.map((column, index) => [column, index]));
  const plants = familyOf.length;
  const design = {
    size,
    count: measurements.length,
    familyCount: familyOf.reduce((most, family) => Math.max(most, family + 1), 0),
    familyOf,
    counts: new Float64Array(plants),
    values: new Float64Array(plants),
    columns: Array.from({ length: plants }, () => new Float64Array(size)),
    xx: Array.from({ length: size }, () => new Float64Array(size)),
    xy: new Float64Array(size),
    yy: 0,
  };
  for (const { plant, value, fixed } of measurements) {
    const own = [0, ...fixed].flatMap((column) => place.get(column) ?? []);
    design.counts[plant] = at(design.counts, plant) + 1;
    design.values[plant] = at(design.values, plant) + value;
    design.yy += value * value;
    for (const i of own) {
      const sums = design.columns[plant] as Float64Array;
      sums[i] = at(sums, i) + 1;
      design.xy[i] = at(design.xy, i) + value;
      const row = design.xx[i] as Float64Array;
      for (const j of own) row[j] = at(row, j) + 1;
    }
  }
  return design;
}

/** Columns of the design, the mean (0) first, that are no combination of the ones before. */
function independentColumns(measurements: readonly Measurement[]): number[] {
  const columns = [0, ...new Set(measurements.flatMap(({ fixed }) => fixed))].sort((a, b) => a - b);
  const products = new Map<string, number>();
  for (const { fixed } of measurements) {
    const own = [0, ...fixed];
    for (const i of own) for (const j of own) products.set(`${i} ${j}`, (products.get(`${i} ${j}`) ?? 0) + 1);
  }
  const used: number[] = [];
  for (const column of columns) {
    const tried = [...used, column];
    const matrix = tried.map((i) => tried.map((j) => products.get(`${i} ${j}`) ?? 0));
    if (
      solve(
        matrix,
        tried.map(() => 0),
      ) !== undefined
    )
      used.push(column);
  }
  return used;
}

/** The restricted likelihood at these ratios of variances to the rest's. */
function evaluate(design: Design, familyRatio: number, plantRatio: number) {
  const { size, count, familyCount, familyOf, counts, values, columns } = design;
  const xx = design.xx.map((row) => Float64Array.from(row));
  const xy = Float64Array.from(design.xy);
  let yy = design.yy;
  let logDet = 0;
  // V⁻¹ takes from the plain sums what measurements of one plant, and plants of one family, share.
  const take = (factor: number, sums: Float64Array, value: number) => {
    for (let i = 0; i < size; i++) {
      const scaled = factor * at(sums, i);
      if (scaled === 0) continue;
      const row = xx[i] as Float64Array;
      for (let j = 0; j < size; j++) row[j] = at(row, j) - scaled * at(sums, j);
      xy[i] = at(xy, i) - scaled * value;
    }
    yy -= factor * value * value;
  };
  const weights = new Float64Array(familyCount);
  const familyColumns = Array.from({ length: familyCount }, () => new Float64Array(size));
  const familyValues = new Float64Array(familyCount);
  for (let plant = 0; plant < familyOf.length; plant++) {
    const n = at(counts, plant);
    if (n === 0) continue;
    const shrink = 1 + plantRatio * n;
    const family = familyOf[plant] as number;
    const sums = columns[plant] as Float64Array;
    take(plantRatio / shrink, sums, at(values, plant));
    logDet += Math.log(shrink);
    weights[family] = at(weights, family) + n / shrink;
    familyValues[family] = at(familyValues, family) + at(values, plant) / shrink;
    const own = familyColumns[family] as Float64Array;
    for (let i = 0; i < size; i++) own[i] = at(own, i) + at(sums, i) / shrink;
  }
  for (let family = 0; family < familyCount; family++) {
    const shrink = 1 + familyRatio * at(weights, family);
    take(familyRatio / shrink, familyColumns[family] as Float64Array, at(familyValues, family));
    logDet += Math.log(shrink);
  }
  const matrix = xx.map((row) => [...row]);
  const coefficients = solve(matrix, [...xy]) ?? xx.map(() => 0);
  const df = Math.max(1, count - size);
  const explained = coefficients.reduce((sum, value, i) => sum + value * at(xy, i), 0);
  const rest = Math.max(yy - explained, Number.MIN_VALUE) / df;
  const [firstColumn = []] = [
    solve(
      matrix,
      matrix.map((_, i) => (i === 0 ? 1 : 0)),
    ),
  ];
  return {
    coefficients,
    rest,
    meanError: Math.sqrt(rest * (firstColumn[0] ?? 0)),
    criterion: df * (1 + Math.log(2 * Math.PI * rest)) + logDet + logDeterminant(matrix),
  };
}

function predict(
  { familyCount, familyOf, counts, values, columns }: Design,
  coefficients: readonly number[],
  { family: familyRatio, plant: plantRatio }: { family: number; plant: number },
  rest: number,
): Pick<MixedModel, 'families' | 'plants'> {
  const deviation = familyOf.map((_, plant) =>
    coefficients.reduce(
      (left, value, i) => left - value * at(columns[plant] as Float64Array, i),
      at(values, plant),
    ),
  );
  const weights = new Float64Array(familyCount);
  const sums = new Float64Array(familyCount);
  familyOf.forEach((family, plant) => {
    const shrink = 1 + plantRatio * at(counts, plant);
    weights[family] = at(weights, family) + at(counts, plant) / shrink;
    sums[family] = at(sums, family) + (deviation[plant] as number) / shrink;
  });
  const families = Array.from({ length: familyCount }, (_, family) => {
    const shrink = 1 + familyRatio * at(weights, family);
    return { value: (familyRatio * at(sums, family)) / shrink, variance: (familyRatio * rest) / shrink };
  });
  const plants = familyOf.map((family, plant) => {
    const n = at(counts, plant);
    const own = (deviation[plant] as number) - n * (families[family]?.value ?? 0);
    const shrink = 1 + plantRatio * n;
    return { value: (plantRatio * own) / shrink, variance: (plantRatio * rest) / shrink };
  });
  return { families, plants };
}

function averageFit(
  measurements: readonly Measurement[],
  { xx }: Design,
  coefficients: readonly number[],
): number {
  const columnTotals = xx[0] ?? new Float64Array();
  return coefficients.reduce((sum, value, i) => sum + value * at(columnTotals, i), 0) / measurements.length;
}

/** Ratios of variances as shares r / (1 + r), where the likelihood is tame; up to this one. */
const MOST_SHARE = 0.999;
const ROUNDS = 30;
const TOLERANCE = 1e-10;

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
  while (high - low > 1e-9) {
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
