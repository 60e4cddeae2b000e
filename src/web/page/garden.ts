/**
 * The phone's copy of the ledger's plants and tags, for scans where there is no reception: fetched and kept.
 */
import type { GardenView } from '../views.js';
import { ask } from './ask.js';
import type { Waiting } from './queue.js';
import type { Store } from './store.js';

const KEPT_AS = 'garden';

export async function keptGarden(store: Store<Waiting>): Promise<GardenView | undefined> {
  return store.read<GardenView>(KEPT_AS);
}

/** A forgotten phone is to hold no more of the ledger than what it has yet to send. */
export async function forgetGarden(store: Store<Waiting>): Promise<void> {
  await store.erase(KEPT_AS);
}

/** Fetches the copy anew, unless it is the same still. */
export async function fetchGarden(store: Store<Waiting>, kept: GardenView | undefined): Promise<GardenView> {
  const known = kept === undefined ? '' : `?known=${kept.version}`;
  const answer = await ask<GardenView | { readonly version: string; readonly same: true }>(
    `/api/garden${known}`,
  );
  if ('same' in answer && kept !== undefined) return kept;
  const garden = answer as GardenView;
  await store.write(KEPT_AS, garden);
  return garden;
}
