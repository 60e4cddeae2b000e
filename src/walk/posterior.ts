/**
 * How probable each pair is, over all ways to match pots with plants at once.
 *
 * A matching has the weight Π odds over its pairs: the odds of a pair say how much likelier it is than that
 * this pot holds none of these plants and this plant is gone. The share of a pair is the weight of all
 * matchings that hold it. Small problems are summed exactly, over the sets of plants (or pots) used so far;
 * large ones by belief propagation for matchings, whose messages settle on one answer whatever the start
 * and which is close where each pot has many weak rivals (Bayati, Gamarnik, Katz, Nair & Tetali 2007).
 */

/** Sets of so many are summed exactly: 2¹² × 12 sums a pot. */
const LARGEST_EXACT = 12;

/**
 * @param odds of each pot (row) and plant (column), finite, 0 where the pair cannot be
 * @returns the share of each pair; what a row lacks to one is the share of "none of these"
 */
export function pairShares(odds: readonly (readonly number[])[]): number[][] {
  const columnCount = odds[0]?.length ?? 0;
  if (columnCount <= LARGEST_EXACT) return exactShares(odds, columnCount);
  if (odds.length <= LARGEST_EXACT) {
    return transposed(exactShares(transposed(odds, columnCount), odds.length), odds.length);
  }
  return propagatedShares(odds, columnCount);
}

function transposed(rows: readonly (readonly number[])[], columnCount: number): number[][] {
  return Array.from({ length: columnCount }, (_, column) => rows.map((row) => row[column] ?? 0));
}

/** Sums over the sets of columns used by the rows before, and by the rows after. */
export function exactShares(odds: readonly (readonly number[])[], columnCount: number): number[][] {
  const sets = 1 << columnCount;
  // Each row's weights by its largest, so that no product leaves the range of numbers.
  const rows = odds.map((row) => {
    const largest = Math.max(1, ...row);
    return { none: 1 / largest, weights: row.map((weight) => weight / largest) };
  });
  const before = [new Float64Array(sets)];
  (before[0] as Float64Array)[0] = 1;
  for (const { none, weights } of rows) {
    const from = before.at(-1) as Float64Array;
    const to = from.map((sum) => sum * none);
    weights.forEach((weight, column) => {
      if (weight === 0) return;
      for (let set = 0; set < sets; set++) {
        if ((set >> column) & 1)
          to[set] = (to[set] as number) + (from[set ^ (1 << column)] as number) * weight;
      }
    });
    before.push(to);
  }
  const total = (before.at(-1) as Float64Array).reduce((sum, weight) => sum + weight, 0);
  const shares: number[][] = Array(rows.length);
  let after = new Float64Array(sets).fill(1);
  for (let index = rows.length - 1; index >= 0; index--) {
    const { none, weights } = rows[index] as (typeof rows)[number];
    const from = before[index] as Float64Array;
    const next = after.map((sum) => sum * none);
    shares[index] = weights.map((weight, column) => {
      let share = 0;
      for (let set = 0; weight > 0 && set < sets; set++) {
        if ((set >> column) & 1) continue;
        const rest = (after[set | (1 << column)] as number) * weight;
        share += (from[set] as number) * rest;
        next[set] = (next[set] as number) + rest;
      }
      return share / total;
    });
    after = next;
  }
  return shares;
}

const MOST_ROUNDS = 2000;
const SETTLED = 1e-7;

/**
 * Each pot tells each plant how free it is of the other plants, and the other way round, until nothing
 * changes. The mean of the last two messages is sent, since bare ones swing.
 */
export function propagatedShares(odds: readonly (readonly number[])[], columnCount: number): number[][] {
  const edges = odds.flatMap((row, pot) =>
    row.flatMap((weight, plant) => (weight > 0 ? [{ pot, plant, weight, fromPot: 1, fromPlant: 1 }] : [])),
  );
  const potSum = new Float64Array(odds.length);
  const plantSum = new Float64Array(columnCount);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    let change = 0;
    potSum.fill(1);
    for (const { pot, weight, fromPlant } of edges)
      potSum[pot] = (potSum[pot] as number) + weight * fromPlant;
    for (const edge of edges) {
      const free = 1 / Math.max(1, (potSum[edge.pot] as number) - edge.weight * edge.fromPlant);
      const sent = Math.sqrt(edge.fromPot * free);
      change = Math.max(change, Math.abs(sent - edge.fromPot) / sent);
      edge.fromPot = sent;
    }
    plantSum.fill(1);
    for (const { plant, weight, fromPot } of edges) {
      plantSum[plant] = (plantSum[plant] as number) + weight * fromPot;
    }
    for (const edge of edges) {
      const free = 1 / Math.max(1, (plantSum[edge.plant] as number) - edge.weight * edge.fromPot);
      const sent = Math.sqrt(edge.fromPlant * free);
      change = Math.max(change, Math.abs(sent - edge.fromPlant) / sent);
      edge.fromPlant = sent;
    }
    if (change < SETTLED) break;
  }
  const shares = odds.map((row) => row.map(() => 0));
  for (const { pot, plant, weight, fromPot, fromPlant } of edges) {
    const pair = weight * fromPot * fromPlant;
    (shares[pot] as number[])[plant] = pair / (1 + pair);
  }
  return shares;
}
