/**
 * Which one measurement would tell most about which plant a pot is: the trait with the largest expected
 * information (the mutual information of plant and value, in bits).
 */
import type { PlantId } from '../ids/plant-id.js';
import { WALK } from './parameters.js';
import { type Belief, density, garden, type Spread, type TraitKnowledge } from './traits.js';

/** What a pot may be: a plant, or (null) none of them; the shares add up to one. */
export interface Possibility {
  readonly id: PlantId | null;
  readonly share: number;
}

export interface Measurement {
  readonly trait: string;
  readonly bits: number;
  /** What the trait should be for each of the plants it is known of, likeliest plant first. */
  readonly expect: readonly { readonly id: PlantId; readonly value: string | number }[];
}

/** @param done traits seen on the pot already */
export function bestMeasurement(
  possibilities: readonly Possibility[],
  traits: readonly string[],
  done: ReadonlyMap<string, unknown>,
  knowledge: TraitKnowledge,
): Measurement | null {
  let best: Measurement | null = null;
  for (const trait of traits) {
    const spread = knowledge.spread(trait);
    if (done.has(trait) || spread === undefined) continue;
    const believed = possibilities.map(({ id, share }) => ({
      id,
      share,
      belief: id === null ? undefined : knowledge.belief(trait, id),
    }));
    const bits = information(believed, spread);
    if (bits < WALK.leastBits || bits <= (best?.bits ?? 0)) continue;
    best = { trait, bits, expect: expectations(believed) };
  }
  return best;
}

type Believed = Possibility & { readonly belief: Belief | undefined };

function expectations(believed: readonly Believed[]): Measurement['expect'] {
  return believed.flatMap(({ id, belief }) => {
    if (id === null || belief === undefined) return [];
    return [{ id, value: likeliestValue(belief) }];
  });
}

function likeliestValue(belief: Belief): string | number {
  switch (belief.kind) {
    case 'number':
      return Number(belief.mean.toPrecision(3));
    case 'category':
      return belief.value;
    case 'shares':
      return [...belief.shares].reduce((best, other) => (other[1] > best[1] ? other : best), ['', 0])[0];
  }
}

/** Σ over values and plants of share × p(value | plant) × log₂ (p(value | plant) / p(value)). */
export function information(believed: readonly Believed[], spread: Spread): number {
  let bits = 0;
  for (const { value, width } of valuesOf(believed, spread)) {
    const common = garden(spread, value);
    const each = believed.map(({ belief }) =>
      belief === undefined
        ? common
        : WALK.valueWrong * common + (1 - WALK.valueWrong) * density(belief, value),
    );
    const all = each.reduce((sum, chance, index) => sum + chance * (believed[index]?.share ?? 0), 0);
    for (const [index, chance] of each.entries()) {
      if (chance > 0 && all > 0)
        bits += width * (believed[index]?.share ?? 0) * chance * Math.log2(chance / all);
    }
  }
  return bits;
}

/** Steps of a numeric integral; a bell is then sampled often enough even where another is 30 times as wide. */
const STEPS = 400;

function valuesOf(
  believed: readonly Believed[],
  spread: Spread,
): { value: string | number; width: number }[] {
  if (spread.kind === 'category') {
    // A value that nobody has ("\0") stands for all others.
    return [...spread.counts.keys(), '\0'].map((value) => ({ value, width: 1 }));
  }
  const bells = believed.flatMap(({ belief }) => (belief?.kind === 'number' ? [belief] : []));
  const [low, high] = [spread, ...bells].reduce(
    ([least, most], { mean, sd }) => [Math.min(least, mean - 4 * sd), Math.max(most, mean + 4 * sd)],
    [Infinity, -Infinity],
  );
  const width = (high - low) / STEPS;
  return Array.from({ length: STEPS }, (_, step) => ({ value: low + (step + 0.5) * width, width }));
}
