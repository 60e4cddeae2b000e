/**
 * One way through the ledger that counts, for each cross, what became of its seedlings. Keeps a few numbers
 * for each seedling with a sowing date and a little more for each that fruited; never the histories.
 */
import type { PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { History, Observation, Plant } from '../ledger/model.js';
import { type Crop, cropOf } from '../observe/crops.js';
import type { PerType } from '../observe/type-likelihoods.js';
import { cloneLogLikelihood } from './fig-types.js';
import { showsFruit, showsOutcome, yearsToFruit } from './fruiting.js';
import { added } from './per-type.js';
import { soundHistories } from './sound.js';
import type { Waiting } from './survival.js';

/** The mean over plants of each plant's own mean. */
export interface MeanOfPlants {
  plants: number;
  sum: number;
}

export interface CrossTally {
  readonly crop: Crop;
  readonly seedParent: string | null;
  readonly pollenParent: string | null;
  sown: number;
  /** Of how many it was noted that they came up, and that they did not. */
  germinated: number;
  notGerminated: number;
  alive: number;
  fruited: number;
  /** Years from sowing to first fruit, of those whose sowing is known. */
  readonly waiting: Waiting[];
  keepers: number;
  /** Had their chance: bore fruit to its end, ended themselves, or were given a verdict. */
  judged: number;
  readonly liking: MeanOfPlants;
  readonly brix: MeanOfPlants;
  /** What is known of the type of each fig that showed something of it. */
  readonly figs: FigSeen[];
}

export interface FigSeen {
  readonly id: PlantId;
  /** The plant's place in the order of enrolment. */
  readonly number: number;
  /** What the grower says its type is. */
  readonly stated: string | null;
  /** ln P(all that was seen on it and its cuttings | type). */
  logLikelihood: PerType;
  /** The same, of the seedling alone. */
  readonly ownLogLikelihood: PerType;
}

interface Verdict {
  readonly keep: boolean;
  readonly date: string;
}

/** A seedling of which there is more to say than that it was sown. */
interface Shown {
  readonly tally: CrossTally;
  readonly plant: Pick<Plant, 'id' | 'number' | 'type'>;
  fig: FigSeen | null;
  verdict: Verdict | null;
  readonly hadItsChance: boolean;
}

interface Cutting {
  readonly origin: PlantId;
  readonly logLikelihood: PerType | null;
  readonly verdict: Verdict | null;
}

const NOTHING_SEEN: PerType = [0, 0, 0, 0];

/**
 * @param today the day up to which those without fruit have waited, in ISO 8601
 * @param alsoFor who else looks at each history on the same way
 */
export async function surveyCrosses(
  ledger: LedgerReader,
  today: string,
  alsoFor: (history: History) => void = () => {},
): Promise<CrossTally[]> {
  const tallies = new Map<string, CrossTally>();
  const shown = new Map<PlantId, Shown>();
  const cuttings = new Map<PlantId, Cutting>();
  for await (const history of soundHistories(ledger, {})) {
    const { plant } = history;
    alsoFor(history);
    if (plant.origin !== null) {
      const cutting = {
        origin: plant.origin,
        logLikelihood: figEvidence(history),
        verdict: verdictIn(history),
      };
      cuttings.set(plant.id, cutting);
    } else if (plant.kind === 'seedling') {
      const tally = tallyOf(tallies, plant);
      count(tally, history, today);
      const seen = whatItShows(tally, history);
      if (seen !== null) shown.set(plant.id, seen);
    }
  }
  await addCuttings(ledger, tallies, shown, cuttings);
  for (const { tally, fig, verdict, hadItsChance } of shown.values()) {
    if (fig !== null) tally.figs.push(fig);
    if (verdict?.keep) tally.keepers++;
    if (hadItsChance || verdict !== null) tally.judged++;
  }
  return [...tallies.values()];
}

function tallyOf(tallies: Map<string, CrossTally>, plant: Plant): CrossTally {
  const crop = cropOf(plant);
  const { seedParent, pollenParent } = plant;
  const key = JSON.stringify([crop.name, seedParent, pollenParent]);
  const known = tallies.get(key);
  if (known !== undefined) return known;
  const tally: CrossTally = {
    crop,
    seedParent,
    pollenParent,
    sown: 0,
    germinated: 0,
    notGerminated: 0,
    alive: 0,
    fruited: 0,
    waiting: [],
    keepers: 0,
    judged: 0,
    liking: { plants: 0, sum: 0 },
    brix: { plants: 0, sum: 0 },
    figs: [],
  };
  tallies.set(key, tally);
  return tally;
}

function count(tally: CrossTally, history: History, today: string): void {
  const { plant, observations } = history;
  tally.sown++;
  if (plant.ended === null) tally.alive++;
  if (observations.some(showsFruit)) tally.fruited++;
  const germinated = lastValue(observations, 'germinated')?.value;
  if (germinated === 'yes') tally.germinated++;
  if (germinated === 'no') tally.notGerminated++;
  const waiting = yearsToFruit(history, today);
  if (waiting !== undefined) tally.waiting.push(waiting);
  addMean(tally.liking, observations, 'liking');
  addMean(tally.brix, observations, 'brix');
}

function whatItShows(tally: CrossTally, history: History): Shown | null {
  const { plant, observations } = history;
  const evidence = figEvidence(history);
  const isStatedFig = tally.crop.hasFigTypes && plant.type !== null;
  const fig = evidence === null && !isStatedFig ? null : figSeen(plant, evidence ?? NOTHING_SEEN);
  const verdict = verdictIn(history);
  // Not the whole plant: a ledger may hold a million.
  const { id, number, type } = plant;
  const hadItsChance = plant.ended !== null || observations.some(showsOutcome);
  return fig === null && verdict === null && !hadItsChance
    ? null
    : { tally, plant: { id, number, type }, fig, verdict, hadItsChance };
}

function figSeen({ id, number, type }: Shown['plant'], own: PerType): FigSeen {
  return { id, number, stated: type, logLikelihood: own, ownLogLikelihood: own };
}

/** What was seen on cuttings and grafts was seen on their genotype: it counts for the seedling. */
async function addCuttings(
  ledger: LedgerReader,
  tallies: Map<string, CrossTally>,
  shown: Map<PlantId, Shown>,
  cuttings: ReadonlyMap<PlantId, Cutting>,
): Promise<void> {
  const rootOf = ({ origin }: Cutting) => {
    let root = origin;
    for (let next = cuttings.get(root); next !== undefined; next = cuttings.get(root)) root = next.origin;
    return root;
  };
  const telling = [...cuttings.values()].filter(
    ({ logLikelihood, verdict }) => logLikelihood !== null || verdict !== null,
  );
  const missing = new Set(telling.map(rootOf).filter((root) => !shown.has(root)));
  for (const plant of await ledger.plantsByIds([...missing])) {
    if (plant.kind !== 'seedling') continue;
    const tally = tallyOf(tallies, plant);
    shown.set(plant.id, { tally, plant, fig: null, verdict: null, hadItsChance: false });
  }
  for (const cutting of telling) {
    const root = rootOf(cutting);
    const seedling = shown.get(root);
    if (seedling === undefined) continue;
    if (cutting.verdict !== null && cutting.verdict.date >= (seedling.verdict?.date ?? '')) {
      seedling.verdict = cutting.verdict;
    }
    if (cutting.logLikelihood === null) continue;
    seedling.fig ??= figSeen(seedling.plant, NOTHING_SEEN);
    seedling.fig.logLikelihood = added(seedling.fig.logLikelihood, cutting.logLikelihood);
  }
}

function figEvidence(history: History): PerType | null {
  const isTelling = history.observations.some(showsFruit) && cropOf(history.plant).hasFigTypes;
  return isTelling ? cloneLogLikelihood([history]) : null;
}

function verdictIn({ observations }: History): Verdict | null {
  const last = lastValue(observations, 'keep');
  return last === undefined ? null : { keep: last.value === 'yes', date: last.date };
}

function lastValue(observations: readonly Observation[], trait: string) {
  const last = observations.findLast(({ values }) => values[trait] !== undefined);
  return last === undefined ? undefined : { value: last.values[trait], date: last.date };
}

function addMean(mean: MeanOfPlants, observations: readonly Observation[], trait: string): void {
  const values = observations.flatMap(({ values }) => {
    const value = values[trait];
    return typeof value === 'number' ? [value] : [];
  });
  if (values.length === 0) return;
  mean.plants++;
  mean.sum += values.reduce((sum, value) => sum + value, 0) / values.length;
}
