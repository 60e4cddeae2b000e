/** Recording from a screen: what was seen goes to the queue, and is shown with its undo. */
import { findTrait, readTrait, withUnit } from '../../observe/vocabulary.js';
import type { App } from './app.js';
import type { Found } from './screens.js';

export type Values = Readonly<Record<string, string>>;

/** `fruit ripe, wood new`; `photo` where there is nothing else. */
export function inWords(values: Values, hasPhoto = false): string {
  const parts = Object.entries(values).map(([name, value]) => {
    const trait = findTrait(name);
    return trait === undefined ? value : `${name} ${withUnit(trait, value)}`;
  });
  return [...parts, ...(hasPhoto ? ['photo'] : [])].join(', ');
}

/** The first thing wrong with what was typed, in words; null if all is well. */
export function problemIn(values: Values): string | null {
  for (const [name, text] of Object.entries(values)) {
    const trait = findTrait(name);
    const reading = trait === undefined ? undefined : readTrait(trait, text);
    if (reading?.kind === 'problem') return reading.problem;
  }
  return null;
}

export async function record(
  app: Pick<App, 'queue' | 'setLogged'>,
  found: Found,
  values: Values,
  photo: string | null = null,
): Promise<void> {
  const entry = await app.queue.observe(found, values, photo);
  navigator.vibrate?.(40);
  app.setLogged({ entry, id: found.plant.id, words: inWords(values, photo !== null), isTakenBack: false });
}
