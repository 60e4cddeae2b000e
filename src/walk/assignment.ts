/**
 * The assignment problem: to each row at most one column, to each column at most one row, at the least
 * total cost. Shortest augmenting paths with dual prices (Kuhn 1955; Edmonds & Karp 1972), O(rows² ×
 * columns). Our own: it is one page, and the groups of pots it is given are small.
 */

/**
 * Assigns every row, so there must be at least as many columns.
 * @param costs one array a row; `Infinity` forbids a pair
 * @returns the column of each row, or undefined if no complete assignment is allowed
 * @throws RangeError for a cost that is NaN or −∞, or more rows than columns
 */
export function assign(costs: readonly ArrayLike<number>[]): number[] | undefined {
  const columnCount = costs[0]?.length ?? 0;
  if (costs.length > columnCount) throw new RangeError(`${costs.length} rows, ${columnCount} columns`);
  for (const row of costs) {
    for (let column = 0; column < columnCount; column++) {
      if (!((row[column] as number) > -Infinity)) throw new RangeError('a cost is not a number or −∞');
    }
  }
  const rowPrice = new Float64Array(costs.length);
  const columnPrice = new Float64Array(columnCount);
  const rowOf = new Int32Array(columnCount).fill(-1);
  for (let start = 0; start < costs.length; start++) {
    if (!augment(costs, start, rowPrice, columnPrice, rowOf)) return undefined;
  }
  const columnOf: number[] = Array(costs.length);
  rowOf.forEach((row, column) => {
    if (row !== -1) columnOf[row] = column;
  });
  return columnOf;
}

/** Finds a place for one more row along the cheapest chain of changes; false if there is none. */
function augment(
  costs: readonly ArrayLike<number>[],
  start: number,
  rowPrice: Float64Array,
  columnPrice: Float64Array,
  rowOf: Int32Array,
): boolean {
  const columnCount = columnPrice.length;
  const reached = new Float64Array(columnCount).fill(Infinity);
  const cameFrom = new Int32Array(columnCount).fill(-1);
  const isDone = new Uint8Array(columnCount);
  let column = -1;
  let length = 0;
  do {
    const row = column === -1 ? start : (rowOf[column] as number);
    let nearest = -1;
    for (let next = 0; next < columnCount; next++) {
      if (isDone[next]) continue;
      const reduced =
        (costs[row]?.[next] as number) - (rowPrice[row] as number) - (columnPrice[next] as number);
      if (length + reduced < (reached[next] as number)) {
        reached[next] = length + reduced;
        cameFrom[next] = column;
      }
      if (nearest === -1 || (reached[next] as number) < (reached[nearest] as number)) nearest = next;
    }
    length = nearest === -1 ? Infinity : (reached[nearest] as number);
    if (length === Infinity) return false;
    column = nearest;
    isDone[column] = 1;
  } while (rowOf[column] !== -1);
  rowPrice[start] = (rowPrice[start] as number) + length;
  for (let done = 0; done < columnCount; done++) {
    if (!isDone[done]) continue;
    const slack = length - (reached[done] as number);
    columnPrice[done] = (columnPrice[done] as number) - slack;
    const row = rowOf[done] as number;
    if (row !== -1) rowPrice[row] = (rowPrice[row] as number) + slack;
  }
  while (column !== -1) {
    const before = cameFrom[column] as number;
    rowOf[column] = before === -1 ? start : (rowOf[before] as number);
    column = before;
  }
  return true;
}
