/**
 * The distribution of a time that was only seen to lie between two looks: Turnbull's nonparametric maximum
 * likelihood estimate (J. R. Statist. Soc. B 38:290, 1976), by self-consistency.
 */

/** It happened after `after` and no later than `until`; never seen to happen: `until` is Infinity. */
export interface Between {
  readonly after: number;
  readonly until: number;
}

/** A piece of the distribution: where in it the share lies, the data cannot say. */
export interface Mass extends Between {
  readonly share: number;
}

const TOLERANCE = 1e-9;
const MOST_ROUNDS = 20_000;

/** The pieces in order; shares add up to 1. Empty if nothing was seen. */
export function turnbull(times: readonly Between[]): Mass[] {
  const pieces = innermost(times);
  const seen = merged(times).map(({ after, until, count }) => ({
    count,
    from: firstAt(pieces, after),
    to: lastAt(pieces, until),
  }));
  let shares = pieces.map(() => 1 / pieces.length);
  for (let round = 0; round < MOST_ROUNDS; round++) {
    const next = expected(seen, shares, times.length);
    const moved = Math.max(...next.map((share, index) => Math.abs(share - (shares[index] as number))));
    shares = next;
    if (moved < TOLERANCE) break;
  }
  return pieces.map((piece, index) => ({ ...piece, share: shares[index] as number }));
}

/** P(it has happened by `time`), a piece's share being spread evenly over it. */
export function shareBy(masses: readonly Mass[], time: number): number {
  return masses.reduce((sum, { after, until, share }) => {
    if (time >= until) return sum + share;
    return time <= after || until === Infinity ? sum : sum + (share * (time - after)) / (until - after);
  }, 0);
}

/** Stretches from a beginning to the next end, with neither between them: only there can there be any share. */
function innermost(times: readonly Between[]): Between[] {
  const ends = times.flatMap(({ after, until }) => [
    { at: until, isEnd: true },
    { at: after, isEnd: false },
  ]);
  // An interval holds its end and not its beginning: of the same time the end comes first.
  ends.sort((a, b) => a.at - b.at || Number(b.isEnd) - Number(a.isEnd));
  return ends.flatMap((end, index) => {
    const next = ends[index + 1];
    return !end.isEnd && next?.isEnd ? [{ after: end.at, until: next.at }] : [];
  });
}

function merged(times: readonly Between[]): (Between & { count: number })[] {
  const groups = new Map<string, Between & { count: number }>();
  for (const { after, until } of times) {
    const key = `${after} ${until}`;
    groups.set(key, { after, until, count: (groups.get(key)?.count ?? 0) + 1 });
  }
  return [...groups.values()];
}

interface Span {
  readonly count: number;
  /** The pieces it holds: from the first to before the last. */
  readonly from: number;
  readonly to: number;
}

/** Each interval's share of one, given to its pieces in the proportion of what they have. */
function expected(seen: readonly Span[], shares: readonly number[], total: number): number[] {
  const before = [0];
  for (const share of shares) before.push((before.at(-1) as number) + share);
  const steps = new Float64Array(shares.length + 1);
  for (const { count, from, to } of seen) {
    const weight = count / ((before[to] as number) - (before[from] as number));
    steps[from] = (steps[from] as number) + weight;
    steps[to] = (steps[to] as number) - weight;
  }
  let weight = 0;
  return shares.map((share, index) => {
    weight += steps[index] as number;
    return (share * weight) / total;
  });
}

function firstAt(pieces: readonly Between[], after: number): number {
  return pieces.findIndex((piece) => piece.after >= after);
}

function lastAt(pieces: readonly Between[], until: number): number {
  return pieces.findLastIndex((piece) => piece.until <= until) + 1;
}
