/**
 * The share of each pair over all matchings of many pots and plants. They are cut along the pairs that can
 * have the smallest shares into clusters that are summed exactly; the clusters tell each other how free
 * their pots and plants are, until nothing changes.
 *
 * It is belief propagation (for matchings: Bayati, Gamarnik, Katz, Nair & Tetali 2007) of whole clusters.
 * Pair by pair it is sure of the better of two nearly equal ways round a ring, such as an exchange.
 */
import { shareBounds } from './bounds.js';
import { exactShares, type Shares } from './exact-shares.js';
import type { Edges } from './groups.js';

/** So many pots, or plants, make a cluster at most: 2⁷ × 7 sums a pot. */
const LARGEST_CLUSTER = 7;
const MOST_ROUNDS = 500;
/** Shares change by less than this part in a further round. */
const SETTLED = 1e-4;

/** Pairs whose pot and plant are in different clusters, with what each end tells the other: a column each. */
interface Links {
  readonly pot: Int32Array;
  readonly plant: Int32Array;
  readonly weight: Float64Array;
  readonly fromPot: Float64Array;
  readonly fromPlant: Float64Array;
}

interface Cluster {
  readonly pots: readonly number[];
  readonly plants: readonly number[];
  readonly odds: readonly (readonly number[])[];
  /** What the shares were worked out for: of each pot and plant, what it has instead of a partner here. */
  instead: readonly number[];
  shares: Shares;
}

/** @param largest how many pots or plants a cluster may have; 1 is belief propagation pair by pair */
export function clusteredShares(
  odds: Edges,
  plantCount: number,
  largest: number = LARGEST_CLUSTER,
): Map<number, number>[] {
  const clusters = clustersOf(odds, plantCount, largest);
  const links = linksBetween(clusters, odds);
  const [ofPot, ofPlant] = [new Float64Array(odds.length), new Float64Array(plantCount)];
  const [alonePot, alonePlant] = [new Float64Array(odds.length), new Float64Array(plantCount)];
  for (let round = 0; round < MOST_ROUNDS; round++) {
    gather(links, ofPot, ofPlant);
    for (const cluster of clusters) {
      solve(cluster, ofPot, ofPlant);
      const { pots, plants, shares } = cluster;
      for (const [at, pot] of pots.entries()) alonePot[pot] = shares.rowAlone[at] as number;
      for (const [at, plant] of plants.entries()) alonePlant[plant] = shares.columnAlone[at] as number;
    }
    if (tell(links, { ofPot, ofPlant, alonePot, alonePlant }) < SETTLED) break;
  }
  const shares = odds.map((row) => new Map([...row.keys()].map((plant) => [plant, 0])));
  for (const { pots, plants, shares: own } of clusters) {
    pots.forEach((pot, row) => {
      plants.forEach((plant, column) => {
        if (shares[pot]?.has(plant)) shares[pot].set(plant, own.pairs[row]?.[column] ?? 0);
      });
    });
  }
  links.weight.forEach((weight, index) => {
    const pair = weight * (links.fromPot[index] as number) * (links.fromPlant[index] as number);
    shares[links.pot[index] as number]?.set(links.plant[index] as number, pair / (1 + pair));
  });
  return shares;
}

/** What each pot and plant has instead of a partner in its cluster: 1 for going alone, and its links. */
function gather(
  { pot, plant, weight, fromPot, fromPlant }: Links,
  ofPot: Float64Array,
  ofPlant: Float64Array,
) {
  ofPot.fill(1);
  ofPlant.fill(1);
  for (let index = 0; index < weight.length; index++) {
    const [atPot, atPlant, odds] = [pot[index] as number, plant[index] as number, weight[index] as number];
    ofPot[atPot] = (ofPot[atPot] as number) + odds * (fromPlant[index] as number);
    ofPlant[atPlant] = (ofPlant[atPlant] as number) + odds * (fromPot[index] as number);
  }
}

/** Each end of a link tells the other how free it is. @returns the largest change, as a part of what was */
function tell(
  { pot, plant, weight, fromPot, fromPlant }: Links,
  ends: Readonly<Record<'ofPot' | 'ofPlant' | 'alonePot' | 'alonePlant', Float64Array>>,
): number {
  const { ofPot, ofPlant, alonePot, alonePlant } = ends;
  let change = 0;
  for (let index = 0; index < weight.length; index++) {
    const [atPot, atPlant, odds] = [pot[index] as number, plant[index] as number, weight[index] as number];
    const [before, other] = [fromPot[index] as number, fromPlant[index] as number];
    const after = sent(before, alonePot[atPot] as number, ofPot[atPot] as number, odds * other);
    const back = sent(other, alonePlant[atPlant] as number, ofPlant[atPlant] as number, odds * before);
    fromPot[index] = after;
    fromPlant[index] = back;
    change = Math.max(change, Math.abs(after / before - 1), Math.abs(back / other - 1));
  }
  return change;
}

/** Works the shares out anew if something changed: what is instead of a partner weakens all pairs with it. */
function solve(cluster: Cluster, ofPot: Float64Array, ofPlant: Float64Array): void {
  const { pots, plants, odds } = cluster;
  const instead = [
    ...pots.map((pot) => ofPot[pot] as number),
    ...plants.map((plant) => ofPlant[plant] as number),
  ];
  const isSame = instead.every(
    (value, index) => Math.abs(value / (cluster.instead[index] ?? 0) - 1) < SETTLED / 10,
  );
  if (isSame) return;
  cluster.instead = instead;
  cluster.shares = exactShares(
    odds.map((row, at) =>
      row.map(
        (value, column) => value / ((instead[at] as number) * (instead[pots.length + column] as number)),
      ),
    ),
    plants.length,
  );
}

/**
 * How free an end of a link is, if the link were not there. The mean of the last two messages is sent, since
 * bare ones swing.
 * @param alone the share of having no partner in the cluster
 * @param instead what it has instead: 1 for going alone, and its links
 */
function sent(before: number, alone: number, instead: number, link: number): number {
  const matched = (instead * (1 - alone)) / Math.max(alone, Number.MIN_VALUE);
  return Math.sqrt(before / Math.max(1, instead - link + matched));
}

/** Joins pots and plants along the pairs that can have the largest shares, as far as clusters may grow. */
function clustersOf(odds: Edges, plantCount: number, largest: number): Cluster[] {
  const bound = shareBounds(odds.length, plantCount, (pot, visit) =>
    odds[pot]?.forEach((value, plant) => {
      visit(plant, value);
    }),
  );
  const pairs = odds.flatMap((row, pot) =>
    [...row].map(([plant, value]) => ({ pot, plant, bound: bound(pot, plant, value) })),
  );
  const ofPot = odds.map((_, pot) => ({ pots: [pot], plants: [] as number[] }));
  const ofPlant = Array.from({ length: plantCount }, (_, plant) => ({
    pots: [] as number[],
    plants: [plant],
  }));
  for (const { pot, plant } of pairs.sort((a, b) => b.bound - a.bound)) {
    const [one, two] = [ofPot[pot], ofPlant[plant]];
    if (one === undefined || two === undefined || one === two) continue;
    const pots = one.pots.length + two.pots.length;
    if (Math.min(pots, one.plants.length + two.plants.length) > largest) continue;
    one.pots.push(...two.pots);
    one.plants.push(...two.plants);
    for (const moved of two.pots) ofPot[moved] = one;
    for (const moved of two.plants) ofPlant[moved] = one;
  }
  return [...new Set([...ofPot, ...ofPlant])].map(({ pots, plants }) => ({
    pots,
    plants,
    odds: pots.map((pot) => plants.map((plant) => odds[pot]?.get(plant) ?? 0)),
    instead: [],
    shares: { pairs: [], rowAlone: pots.map(() => 1), columnAlone: plants.map(() => 1) },
  }));
}

function linksBetween(clusters: readonly Cluster[], odds: Edges): Links {
  const ofPlant = new Map(clusters.flatMap((cluster) => cluster.plants.map((plant) => [plant, cluster])));
  const [pot, plant, weight]: [number[], number[], number[]] = [[], [], []];
  for (const cluster of clusters) {
    for (const from of cluster.pots) {
      odds[from]?.forEach((value, to) => {
        if (ofPlant.get(to) === cluster) return;
        pot.push(from);
        plant.push(to);
        weight.push(value);
      });
    }
  }
  return {
    pot: Int32Array.from(pot),
    plant: Int32Array.from(plant),
    weight: Float64Array.from(weight),
    fromPot: new Float64Array(weight.length).fill(1),
    fromPlant: new Float64Array(weight.length).fill(1),
  };
}
