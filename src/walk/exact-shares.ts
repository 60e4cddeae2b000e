/**
 * The share of each pair over all matchings of a few rows and columns, by summing over sets of columns.
 */

export interface Shares {
  readonly pairs: readonly (readonly number[])[];
  /** Of each row, that it has no column, and of each column, that it has no row. */
  readonly rowAlone: readonly number[];
  readonly columnAlone: readonly number[];
}

/** @param odds of each row and column, finite; time and memory grow as 2 to the smaller of both numbers */
export function exactShares(odds: readonly (readonly number[])[], columnCount: number): Shares {
  if (columnCount <= odds.length) return sharesBySets(odds, columnCount);
  const { pairs, rowAlone, columnAlone } = sharesBySets(transposed(odds, columnCount), odds.length);
  return { pairs: transposed(pairs, odds.length), rowAlone: columnAlone, columnAlone: rowAlone };
}

function transposed(rows: readonly (readonly number[])[], columnCount: number): number[][] {
  return Array.from({ length: columnCount }, (_, column) => rows.map((row) => row[column] ?? 0));
}

/** Sums over the sets of columns used by the rows before, and by the rows after. */
function sharesBySets(odds: readonly (readonly number[])[], columnCount: number): Shares {
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
    const to = new Float64Array(sets);
    for (let set = 0; set < sets; set++) to[set] = (from[set] as number) * none;
    weights.forEach((weight, column) => {
      if (weight === 0) return;
      for (let set = 0; set < sets; set++) {
        if ((set >> column) & 1)
          to[set] = (to[set] as number) + (from[set ^ (1 << column)] as number) * weight;
      }
    });
    before.push(to);
  }
  const used = before.at(-1) as Float64Array;
  const total = sumWithout(used, 0);
  const pairs: number[][] = Array(rows.length);
  const rowAlone: number[] = Array(rows.length);
  let after = new Float64Array(sets).fill(1);
  for (let index = rows.length - 1; index >= 0; index--) {
    const { none, weights } = rows[index] as (typeof rows)[number];
    const from = before[index] as Float64Array;
    const next = new Float64Array(sets);
    let alone = 0;
    for (let set = 0; set < sets; set++) {
      next[set] = (after[set] as number) * none;
      alone += (from[set] as number) * (next[set] as number);
    }
    rowAlone[index] = alone / total;
    pairs[index] = weights.map((weight, column) => {
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
  const columnAlone = Array.from(
    { length: columnCount },
    (_, column) => sumWithout(used, 1 << column) / total,
  );
  return { pairs, rowAlone, columnAlone };
}

/** Over the sets that lack these columns. */
function sumWithout(weights: Float64Array, columns: number): number {
  let sum = 0;
  for (let set = 0; set < weights.length; set++) {
    if ((set & columns) === 0) sum += weights[set] as number;
  }
  return sum;
}
