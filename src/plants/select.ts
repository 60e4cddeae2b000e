/**
 * Which plants a command is about: named one by one, or by what they have in common.
 */
import { InputError } from '../errors.js';
import type { Ledger, PlantSelection } from '../ledger/ledger.js';
import { PLANT_KINDS, type Plant } from '../ledger/model.js';
import { resolve } from '../scan/resolve.js';
import { unresolvedPlant } from '../scan/unresolved.js';
import { nearest } from '../wording.js';
import { formatCross, parseCross } from './cross.js';

/** As on the command line; every condition given must hold. */
export interface Choice {
  readonly ids: readonly string[];
  readonly all?: boolean | undefined;
  readonly untagged?: boolean | undefined;
  readonly queued?: boolean | undefined;
  readonly cross?: string | undefined;
  readonly kind?: string | undefined;
  readonly station?: string | undefined;
}

/**
 * The chosen plants: those named in the order named, others in the order of enrolment. Plants seen dead
 * or culled are left out unless named.
 * @throws InputError if nothing was chosen, or something chosen is not there
 */
export async function choosePlants(ledger: Ledger, choice: Choice): Promise<Plant[]> {
  const { ids, all, untagged, queued, cross, kind, station } = choice;
  const isGroup =
    all === true ||
    untagged === true ||
    queued === true ||
    cross !== undefined ||
    kind !== undefined ||
    station !== undefined;
  if (ids.length > 0 && isGroup) {
    throw new InputError(
      'ids-and-group',
      'IDs were given together with --all, --untagged, --queued, --cross, --kind or --station.',
      'Give one or the other.',
    );
  }
  if (ids.length > 0) return namedPlants(ledger, ids);
  if (!isGroup) {
    throw new InputError(
      'nothing-chosen',
      'No plants were chosen.',
      'Name IDs, or choose with --untagged, --queued, --all, --cross "A × B", --kind or --station.',
    );
  }
  const chosen = await ledger.plants({
    alive: true,
    untagged: untagged ?? false,
    queued: queued ?? false,
    ...crossSelection(cross),
    ...kindSelection(kind),
    ...(station === undefined ? {} : { stationPrefix: station }),
  });
  if (chosen.length === 0) await assertKnown(ledger, choice);
  return chosen;
}

/** A cross or a station that no plant has is a slip; one whose plants need nothing is not. */
async function assertKnown(ledger: Ledger, { cross, station }: Choice): Promise<void> {
  const plants = await ledger.plants({});
  const refuse = (
    code: string,
    what: string,
    given: string,
    known: readonly (string | null | undefined)[],
  ) => {
    const names = [...new Set(known)].filter((name) => name != null);
    const near = nearest(given, names);
    const hint =
      near === undefined
        ? `It is written as in the CSV, e.g. "${names[0] ?? ''}".`
        : `Did you mean "${near}"?`;
    throw new InputError(code, `No plant is ${what} "${given}".`, hint);
  };
  const crosses = plants.map(({ seedParent, pollenParent }) => formatCross(seedParent, pollenParent));
  if (cross !== undefined) {
    const { seedParent = null, pollenParent = null } = crossSelection(cross);
    if (!crosses.includes(formatCross(seedParent, pollenParent)))
      refuse('unknown-cross', 'of the cross', cross, crosses);
  }
  const stations = plants.map((plant) => plant.station);
  if (station !== undefined && !stations.some((name) => name?.startsWith(station))) {
    refuse('unknown-station', 'at a station that begins with', station, stations);
  }
}

async function namedPlants(ledger: Ledger, ids: readonly string[]): Promise<Plant[]> {
  const plants: Plant[] = [];
  for (const text of ids) {
    const resolution = await resolve(ledger, text);
    if (resolution.plant === null) throw unresolvedPlant(resolution, ledger.idLength);
    const { plant } = resolution;
    if (!plants.some(({ id }) => id === plant.id)) plants.push(plant);
  }
  return plants;
}

function crossSelection(text: string | undefined): PlantSelection {
  if (text === undefined) return {};
  const cross = parseCross(text);
  if (cross === undefined) {
    throw new InputError(
      'bad-cross',
      `"${text}" is not a cross.`,
      'Write the seed parent first: --cross "Seed Parent × Pollen Parent" (an x with spaces will do, ? for one not known).',
    );
  }
  return cross;
}

function kindSelection(kind: string | undefined): PlantSelection {
  if (kind === undefined) return {};
  if (PLANT_KINDS.some((known) => known === kind)) return { kind };
  throw new InputError('bad-kind', `There is no kind "${kind}".`, `The kinds are ${PLANT_KINDS.join(', ')}.`);
}
