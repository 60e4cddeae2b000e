/** Neighbours that are alike put together, all in their order: what is done to them can be done at once. */
export function stretches<T>(items: readonly T[], areAlike: (a: T, b: T) => boolean): [T, ...T[]][] {
  const found: [T, ...T[]][] = [];
  for (const item of items) {
    const stretch = found.at(-1);
    if (stretch !== undefined && areAlike(stretch[0], item)) stretch.push(item);
    else found.push([item]);
  }
  return found;
}
