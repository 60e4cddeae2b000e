/**
 * What a walk found, as `walk --json` prints it.
 */
import type { Written } from '../walk/apply.js';
import { measurementInWords } from '../walk/evidence.js';
import type { Exchange } from '../walk/exchange.js';
import type { Finding } from '../walk/findings.js';
import { exchangesThatPutRight, type HungWrong } from '../walk/hung-wrong.js';
import type { WalkProblem } from '../walk/session.js';
import type { Measurement } from '../walk/settle.js';
import type { Proposal, WalkReport } from '../walk/walk.js';

/** @param days for each exchanged or rotated finding */
export function walkJson(
  { comparison, outside, exchanges, proposals }: WalkReport,
  days: ReadonlyMap<Finding, HungWrong>,
  written: Written | null,
  problems: readonly WalkProblem[],
) {
  return {
    findings: comparison.findings.map((finding) => ({
      ...findingJson(finding, exchanges.get(finding)),
      ...hungWrongJson(finding, days.get(finding)),
    })),
    proposals: proposals.map(proposalJson),
    outside,
    written: written === null ? null : writtenJson(written),
    /** Lines of a typed walk that were not taken. */
    problems: problems.map(({ line, problem }) => ({ line, column: null, problem })),
  };
}

function writtenJson({ doubted, change, ...written }: Written) {
  return {
    ...written,
    doubted: doubted.map(({ number, plants, after, until }) => ({ number, ids: plants, after, until })),
    change: change?.number ?? null,
    entry: change?.id ?? null,
  };
}

function hungWrongJson(finding: Finding, days: HungWrong | undefined) {
  if (days === undefined) return {};
  const exchanges = exchangesThatPutRight(finding).map(([a, b]) => [a.id, b.id]);
  return { hung_wrong: days, put_right_by: exchanges };
}

function findingJson({ kind, spots, plants }: Finding, exchange: Exchange | undefined) {
  const [spot, plant] = [spots[0], plants[0]];
  const expectedAt = plant?.station ?? null;
  return {
    kind,
    /** Where it was met; null for a pot that is missing where another stands. */
    station: spot?.station ?? (kind === 'not-visited' ? expectedAt : null),
    id: plant?.id ?? null,
    expected_at: expectedAt,
    scanned: spot?.scanned ?? null,
    line: spot?.line ?? null,
    stations: spots.map(({ station }) => station),
    ids: plants.map(({ id }) => id),
    candidates: spots.flatMap(({ reading }) =>
      reading.kind === 'spoilt' ? reading.candidates.map(({ id }) => id) : [],
    ),
    ...(exchange === undefined ? {} : exchangeJson(exchange)),
  };
}

function exchangeJson({ what, potsMoved, because, wouldSettle }: Exchange) {
  const settle =
    wouldSettle === null
      ? null
      : { station: wouldSettle.spot.station, ...measurementJson(wouldSettle.measurement) };
  return { what_moved: what, probability_pots: potsMoved, because, would_settle: settle };
}

function proposalJson({
  pot,
  plant,
  probability,
  because,
  runnerUp,
  none,
  isProposed,
  wouldSettle,
}: Proposal) {
  return {
    station: pot.spot.station,
    id: plant?.id ?? null,
    probability,
    because: because.join('; '),
    would_settle: wouldSettle === null ? null : measurementJson(wouldSettle),
    proposed: isProposed,
    runner_up: runnerUp === null ? null : { id: runnerUp.plant.id, probability: runnerUp.probability },
    none_of_these: none,
  };
}

function measurementJson(measurement: Measurement) {
  const { trait, bits } = measurement;
  return { trait, bits, expect: measurementInWords(measurement) };
}
