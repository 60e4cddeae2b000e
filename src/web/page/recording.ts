/** Recording from a screen: what was seen goes to the queue, and is shown with its undo. */
import { findTrait, readTrait, withUnit } from '../../observe/vocabulary.js';
import type { App, Logged } from './app.js';
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

/** Keeps an observation to be sent; null, and the person is told, if this phone cannot. */
export async function keep(
  { queue }: Pick<App, 'queue'>,
  found: Found,
  values: Values,
  photo: string | null,
): Promise<Logged | null> {
  try {
    const entry = await queue.observe(found, values, photo);
    navigator.vibrate?.(40);
    return { entry, id: found.plant.id, words: inWords(values, photo !== null), isTakenBack: false };
  } catch {
    tellNoRoom();
    return null;
  }
}

/** Takes an observation back; `onKept` follows when that would survive a reload. */
export async function takeBack(
  { queue }: Pick<App, 'queue'>,
  { entry, id, words }: Pick<Logged, 'entry' | 'id' | 'words'>,
  onKept = () => {},
): Promise<void> {
  try {
    await queue.withdraw(entry, id, words);
    onKept();
  } catch {
    tellNoRoom();
  }
}

function tellNoRoom(): void {
  alert('NOT recorded: this phone has no room to keep it. Go where there is reception until nothing waits.');
}

/** Keeps an observation and shows it with its undo. */
export async function record(
  app: Pick<App, 'queue' | 'setLogged'>,
  found: Found,
  values: Values,
  { photo = null, onKept = () => {} }: { photo?: string | null; onKept?: () => void } = {},
): Promise<void> {
  const logged = await keep(app, found, values, photo);
  if (logged === null) return;
  app.setLogged(logged);
  onKept();
}
