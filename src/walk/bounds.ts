/**
 * How large the share of a pair can be at all, from its own odds and its rivals'.
 *
 * Taking the pair (pot, plant) apart and giving the plant its best pot instead (or the pot its best plant)
 * multiplies a matching's weight by at least `value / bound`, which bounds the pair's share from above.
 */

/** Visits the plants that a pot may hold, by index, with the odds of each. */
export type EachPlant = (pot: number, visit: (plant: number, odds: number) => void) => void;

/** @returns the bound of a pair with these odds */
export function shareBounds(
  potCount: number,
  plantCount: number,
  each: EachPlant,
): (pot: number, plant: number, odds: number) => number {
  const ofPot = new TwoBest(potCount);
  const ofPlant = new TwoBest(plantCount);
  for (let pot = 0; pot < potCount; pot++) {
    each(pot, (plant, odds) => {
      ofPot.add(pot, odds);
      ofPlant.add(plant, odds);
    });
  }
  const forPot = new Float64Array(potCount).fill(1);
  const forPlant = new Float64Array(plantCount).fill(1);
  for (let pot = 0; pot < potCount; pot++) {
    each(pot, (plant, odds) => {
      forPot[pot] = Math.max(forPot[pot] as number, odds / ofPlant.rival(plant, odds));
      forPlant[plant] = Math.max(forPlant[plant] as number, odds / ofPot.rival(pot, odds));
    });
  }
  return (pot, plant, odds) => odds / Math.max(forPot[pot] as number, forPlant[plant] as number);
}

class TwoBest {
  readonly #first: Float64Array;
  readonly #second: Float64Array;

  constructor(count: number) {
    this.#first = new Float64Array(count).fill(1);
    this.#second = new Float64Array(count).fill(1);
  }

  add(index: number, odds: number): void {
    const first = this.#first[index] as number;
    if (odds > first) {
      this.#second[index] = first;
      this.#first[index] = odds;
    } else if (odds > (this.#second[index] as number)) this.#second[index] = odds;
  }

  /** The best of the others, or 1 for going without. */
  rival(index: number, odds: number): number {
    const first = this.#first[index] as number;
    return odds === first ? (this.#second[index] as number) : first;
  }
}
