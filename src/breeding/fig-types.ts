/**
 * The type of one fig, from all that is known: its parents' types, what its siblings by the same pollen
 * parent showed, what was seen on it and on the cuttings and grafts taken from it, and what the grower says.
 */
import type { LedgerReader } from '../ledger/ledger.js';
import type { History, Plant } from '../ledger/model.js';
import { isSanPedro, typeLogLikelihood } from '../observe/type-evidence.js';
import type { FigType, PerType } from '../observe/type-likelihoods.js';
import { type PollenParent, PollenParentEvidence, pollenParentPrior } from './fig-genetics.js';
import { showsFruit } from './fruiting.js';
import { type Call, calledType, likeliest, type WouldSettle, whatWouldSettle } from './judged-type.js';
import { ParentTypes, statedLikelihood } from './parent-types.js';
import { added, likelihoodOf, multiplied, of } from './per-type.js';
import { soundHistories, soundHistory } from './sound.js';

/** So many seedlings that fruited tell a pollen parent's genotype; more would only take time. */
export const SIBLINGS_ENOUGH = 200;

export interface TypeJudgement {
  readonly stated: string | null;
  readonly called: FigType | null;
  /** In the order of `FIG_TYPES`. */
  readonly posterior: PerType;
  readonly isSanPedro: boolean;
  readonly wouldSettle: WouldSettle | null;
  /** Each change of the call that an observation brought, siblings as they are known today. */
  readonly calls: readonly Call[];
  /** What is believed of the pollen parent; null where none is named. */
  readonly pollenParent: PollenParent | null;
}

/**
 * Judges one plant. Reads the seedlings of its pollen parent, so it grows with their number (until 200 of
 * them have fruited).
 */
export async function judgeType(ledger: LedgerReader, plant: Plant): Promise<TypeJudgement> {
  const clone = await cloneOf(ledger, plant);
  const root = (clone[0] as History).plant;
  const parents = new ParentTypes(ledger);
  const isSeedParentCaprifig = await parents.isCaprifig(root.seedParent);
  const siblings = await siblingsEvidence(ledger, root, parents);

  const stated = statedLikelihood(
    clone.map(({ plant: { type } }) => type).find((type) => type !== null) ?? null,
  );
  const judge = (seen: readonly History[]) => {
    const likelihood = multiplied(stated, likelihoodOf(cloneLogLikelihood(seen)));
    const offspring = { likelihood, isSeedParentCaprifig };
    const family = siblings.with(offspring);
    return { posterior: family.typeOf(offspring), family };
  };
  const { posterior, family } = judge(clone);
  return {
    stated: plant.type,
    called: calledType(posterior),
    posterior,
    isSanPedro: clone.some((each) => isSanPedro(each.observations, hasBorneBefore(each.plant))),
    wouldSettle: whatWouldSettle(posterior, clone.some(hasFruited)),
    calls: callsIn(clone, (seen) => judge(seen).posterior),
    pollenParent: root.pollenParent === null ? null : family.believed(),
  };
}

/** A tree that was there before the ledger is past its youth. */
function hasBorneBefore(plant: Plant): boolean {
  return plant.kind === 'parent';
}

function hasFruited({ observations }: History): boolean {
  return observations.some(showsFruit);
}

function isTelling(history: History): boolean {
  return history.plant.type !== null || hasFruited(history);
}

/** ln P(what was seen on these plants of one genotype | type). */
export function cloneLogLikelihood(clone: readonly History[]): PerType {
  return clone
    .map(({ plant, observations }) => typeLogLikelihood(observations, hasBorneBefore(plant)))
    .reduce(added, [0, 0, 0, 0]);
}

/** The seedling or tree it comes from, first, and every cutting and graft of that. */
async function cloneOf(ledger: LedgerReader, plant: Plant): Promise<History[]> {
  let root = plant;
  for (let origin = root.origin; origin !== null; origin = root.origin) {
    const found = await ledger.plant(origin);
    if (found === undefined) break;
    root = found;
  }
  const plants = [root];
  for (const each of plants) plants.push(...(await ledger.plantsFrom(each.id)));
  return Promise.all(plants.map((each) => soundHistory(ledger, each)));
}

async function siblingsEvidence(
  ledger: LedgerReader,
  root: Plant,
  parents: ParentTypes,
): Promise<PollenParentEvidence> {
  const { pollenParent } = root;
  let evidence = PollenParentEvidence.before(pollenParentPrior(await parents.of(pollenParent)));
  if (pollenParent === null) return evidence;
  let count = 0;
  for await (const history of soundHistories(ledger, { pollenParent, kind: 'seedling' })) {
    if (history.plant.id === root.id || !isTelling(history)) continue;
    const seen = likelihoodOf(cloneLogLikelihood([history]));
    evidence = evidence.with({
      likelihood: multiplied(statedLikelihood(history.plant.type), seen),
      isSeedParentCaprifig: await parents.isCaprifig(history.plant.seedParent),
    });
    if (++count === SIBLINGS_ENOUGH) break;
  }
  return evidence;
}

/** How the call stood after each observation, where it changed. */
function callsIn(clone: readonly History[], judge: (seen: readonly History[]) => PerType): Call[] {
  const all = clone.flatMap(({ observations }) => observations).sort(byTime);
  const calls: Call[] = [];
  let called = calledType(judge(clone.map(({ plant }) => ({ plant, observations: [] }))));
  all.forEach(({ date, entry }, index) => {
    const until = new Set(all.slice(0, index + 1));
    const posterior = judge(
      clone.map(({ plant, observations }) => ({
        plant,
        observations: observations.filter((o) => until.has(o)),
      })),
    );
    const now = calledType(posterior);
    if (now === called) return;
    called = now;
    calls.push({ date, entry, called, probability: of(posterior, likeliest(posterior)) });
  });
  return calls;
}

function byTime(a: { date: string; entry: string }, b: { date: string; entry: string }): number {
  return a.date.localeCompare(b.date) || a.entry.localeCompare(b.entry);
}
