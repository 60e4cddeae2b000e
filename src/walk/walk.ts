/**
 * A walk examined: findings, whether pots or tags changed places, and which plant an open pot is.
 * Reads the ledger and writes nothing.
 */
import type { IdLength, PlantId } from '../ids/plant-id.js';
import type { LedgerReader } from '../ledger/ledger.js';
import type { Plant } from '../ledger/model.js';
import { whyThisPlant } from './evidence.js';
import { type Exchange, judgeExchange } from './exchange.js';
import { expectedPlants } from './expected.js';
import { type Comparison, compare, type Finding, type OpenPot } from './findings.js';
import { exchangedTags, halfExchanges } from './half-exchange.js';
import { freePlaces, Landing } from './landing.js';
import { type Match, matchPots } from './matching.js';
import type { Candidate } from './odds.js';
import { WALK } from './parameters.js';
import { firstCounts, movedTo, ratesOf } from './rates.js';
import { readSpots, type Spot } from './readings.js';
import type { WalkRow } from './rows.js';
import { bestMeasurement, type Measurement } from './settle.js';
import { placeOf } from './stations.js';
import { growthOf, lastingTraits, type Seen, TraitKnowledge } from './traits.js';

export interface Proposal {
  readonly pot: OpenPot;
  /** The likeliest plant; null if none of the plants is likely at all. */
  readonly plant: Plant | null;
  readonly probability: number;
  /** Evidence in words. */
  readonly because: readonly string[];
  readonly runnerUp: { readonly plant: Plant; readonly probability: number } | null;
  /** That it is none of the plants looked for. */
  readonly none: number;
  /** Likely enough to be written with `--accept`. */
  readonly isProposed: boolean;
  /** What would tell most; null where nothing needs to, or nothing known can. */
  readonly wouldSettle: Measurement | null;
}

export interface WalkReport {
  readonly spots: readonly Spot[];
  readonly comparison: Comparison;
  /** Living plants elsewhere, of which the walk says nothing. */
  readonly outside: number;
  /** For each `exchanged` and `rotated` finding. */
  readonly exchanges: ReadonlyMap<Finding, Exchange>;
  /** For every open pot, in the order of walking. */
  readonly proposals: readonly Proposal[];
  readonly knowledge: TraitKnowledge;
}

/** @param date the day of the walk, in ISO 8601 */
export async function examineWalk(
  ledger: LedgerReader,
  idLength: IdLength,
  rows: readonly WalkRow[],
  date: string,
): Promise<WalkReport> {
  const spots = await readSpots(ledger, idLength, rows);
  const named = spots.flatMap(plantsNamed);
  const { inRows, placed } = await expectedPlants(
    ledger,
    spots.map(({ place }) => place),
  );
  const plants = onePerId([...inRows, ...named]).filter(
    ({ station, ended }) => station !== null && ended === null,
  );
  const keys = new Set(spots.map(({ place }) => place.key));
  const atStations = plants.filter(({ station }) => keys.has(placeOf(station as string).key));
  const known = onePerId([...atStations, ...named]);
  const ids = known.map(({ id }) => id);
  const lastTags = await ledger.lastTags(ids);
  const awaiting = new Set(ids.filter((id) => (lastTags.get(id)?.status ?? 'void') === 'void'));
  const comparison = compare(spots, { plants, awaiting });
  const seen = await ledger.latestValues(ids, date);
  const growth = growthOf(measuredTwice(comparison.findings, seen), date);
  const knowledge = new TraitKnowledge(known, seen, date, growth);
  const traits = lastingTraits([...seen.values(), ...rows.map((row) => row.traits)]);
  const candidates = candidatesOf(comparison, keys);
  const exchanges = new Map(
    comparison.findings.flatMap((finding) =>
      finding.kind === 'exchanged' || finding.kind === 'rotated'
        ? [[finding, judgeExchange(finding, traits, knowledge)] as const]
        : [],
    ),
  );
  const landing = new Landing(
    freePlaces(comparison),
    keys.size,
    Math.max(placed, keys.size),
    movedTo(comparison),
  );
  const halves = halfExchanges(comparison.openPots, candidates);
  const tagPartners = exchangedTags(comparison.openPots, candidates);
  const matches = matchPots(comparison.openPots, candidates, firstCounts(comparison), (counts) => ({
    rates: ratesOf(comparison, exchanges, counts, landing.freeCount),
    landing,
    halves,
    tagPartners,
    traits: knowledge,
  }));
  const order = new Map(spots.map((spot, index) => [spot, index]));
  const position = ({ pot }: Match) => order.get(pot.spot) ?? 0;
  return {
    spots,
    comparison,
    outside: placed - plants.length + comparison.outside.length,
    exchanges,
    proposals: matches
      .toSorted((a, b) => position(a) - position(b))
      .map((match) => propose(match, traits, knowledge)),
    knowledge,
  };
}

function plantsNamed({ reading }: Spot): readonly Plant[] {
  if (reading.kind === 'tag') return [reading.plant];
  return reading.kind === 'spoilt' ? reading.candidates : [];
}

function onePerId(plants: readonly Plant[]): Plant[] {
  return [...new Map(plants.map((plant) => [plant.id, plant])).values()];
}

function measuredTwice(findings: readonly Finding[], seen: ReadonlyMap<PlantId, Seen>) {
  return findings.flatMap(({ kind, spots: [spot], plants: [plant] }) => {
    const now = spot?.traits.get('height');
    const before = plant === undefined ? undefined : seen.get(plant.id)?.get('height');
    return kind === 'in-place' && typeof now === 'number' && before !== undefined ? [{ before, now }] : [];
  });
}

/** Plants not seen for certain that are missing, fit a spoilt tag, or whose tag hangs on an open pot. */
function candidatesOf(
  { findings, openPots, openPlants }: Comparison,
  walked: ReadonlySet<string>,
): Candidate[] {
  const open = new Set(openPlants.map(({ id }) => id));
  const isCertain = new Set(
    findings
      .filter(({ kind }) => kind !== 'not-visited')
      .flatMap(({ plants }) => plants.map(({ id }) => id).filter((id) => !open.has(id))),
  );
  const hinted = openPots.flatMap(({ spot, worn }) => [
    ...(worn === null ? [] : [worn]),
    ...(spot.reading.kind === 'spoilt' ? spot.reading.candidates : []),
  ]);
  return onePerId([...openPlants, ...hinted])
    .filter(({ id, ended }) => !isCertain.has(id) && ended === null)
    .map((plant) => {
      const home = plant.station === null ? null : placeOf(plant.station);
      return { plant, home, isMissing: home !== null && walked.has(home.key) };
    });
}

/** Possibilities less likely than this are no reason to measure anything. */
const WORTH_TELLING_APART = 0.01;

function propose(match: Match, traits: readonly string[], knowledge: TraitKnowledge): Proposal {
  const { pot, shares, none, assigned } = match;
  const first = shares.find(({ plant }) => plant.id === assigned?.id) ?? shares[0];
  const second = shares.find((share) => share !== first);
  const probability = first?.share ?? 0;
  const isProposed = probability >= WALK.propose;
  const possibilities = [
    ...shares.map(({ plant, share }) => ({ id: plant.id, share })),
    { id: null, share: none },
  ].filter(({ share }) => share >= WORTH_TELLING_APART);
  return {
    pot,
    plant: first?.plant ?? null,
    probability,
    because: first === undefined ? [] : whyThisPlant(pot, first.plant, knowledge),
    runnerUp: second === undefined ? null : { plant: second.plant, probability: second.share },
    none,
    isProposed,
    wouldSettle: isProposed ? null : bestMeasurement(possibilities, traits, pot.spot.traits, knowledge),
  };
}
