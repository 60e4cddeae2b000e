/**
 * Taking back what was written: one observation, a tag given up, or all that one command changed. Nothing
 * is deleted: further entries take it back, and those can be taken back in turn.
 */
import { InputError } from '../errors.js';
import type { PlantId } from '../ids/plant-id.js';
import type { Change, Entry } from '../ledger/changes.js';
import type { NewEntry } from '../ledger/entries.js';
import type { Ledger, LedgerReader, Recorded } from '../ledger/ledger.js';
import { checkNotExchanged } from './corrections.js';
import { seenInWords } from './observation.js';

export interface Undone {
  /** What was undone. */
  readonly undone: Change;
  /** The change that did it, which can be undone too. */
  readonly change: Recorded;
  readonly withdrawn: number;
  readonly restored: number;
}

/**
 * @param which the number of a change or of a single entry, or its UUID
 * @throws InputError if there is nothing of that name to undo
 */
export async function undo(ledger: Ledger, which: number | string, by: string): Promise<Undone> {
  return ledger.write(by, async (writer) => {
    const undone = await writer.change(which);
    if (undone === undefined) {
      throw refused('no-such-change', `There is no change ${which}.`, 'pottag undo lists the latest ones.');
    }
    const inverses: NewEntry[] = [];
    for (const entry of undone.entries.toReversed()) {
      if (entry.stands) inverses.push(...(await inverseOf(writer, entry)));
    }
    if (inverses.length === 0) throw nothingLeft(undone);
    for (const inverse of inverses) await writer.append(inverse);
    const words = `undo of ${undone.number}: ${changeInWords(undone)}`;
    const change = await writer.append({
      kind: 'changed',
      body: { what: 'undo', words, entries: inverses.length },
    });
    const count = (kind: NewEntry['kind']) => inverses.filter((inverse) => inverse.kind === kind).length;
    return { undone, change, withdrawn: count('withdrawn'), restored: count('restored') };
  });
}

/** What takes an entry back; nothing for one that is a fact, or that something later stands in for. */
async function inverseOf(ledger: LedgerReader, entry: Entry): Promise<NewEntry[]> {
  const why = 'undone';
  switch (entry.kind) {
    case 'tag-voided':
    case 'observed':
    case 'exchanged':
    case 'reassigned':
    case 'doubted':
      return [{ kind: 'withdrawn', body: { entry: entry.id, why } }];
    case 'restored':
      return [{ kind: 'withdrawn', body: { entry: entry.body.entry, why } }];
    case 'withdrawn': {
      const named = (await ledger.change(entry.body.entry))?.entries[0];
      if (named?.kind === 'tag-voided') {
        const { id, issue } = named.body;
        const tag = (await ledger.tags(id)).find((one) => one.issue === issue);
        if (tag?.status === 'void') return []; // Given up anew in the meantime.
      }
      if (named?.kind === 'exchanged') {
        const { a, b, since, until } = named.body;
        await checkNotExchanged(ledger, { a: { id: a }, b: { id: b }, since, until });
      }
      return [{ kind: 'restored', body: { entry: entry.body.entry } }];
    }
    default:
      return [];
  }
}

function nothingLeft(change: Change): InputError {
  const kind = change.entries[0]?.kind;
  if (kind === 'plant-enrolled' || kind === 'plant-amended') {
    return refused(
      'cannot-undo',
      `${change.number} is what a CSV said of a plant.`,
      'Put the CSV right and enrol it again with --amend.',
    );
  }
  if (kind === 'tag-issued' || kind === 'tag-reprinted' || kind === 'sheet-printed') {
    return refused(
      'cannot-undo',
      `${change.number} is a printed tag.`,
      'If it spoilt: pottag tags --reprint prints it again; if it hangs nowhere: pottag retag ID.',
    );
  }
  if (kind === 'ledger-made' || kind === 'printer-calibrated') {
    return refused('cannot-undo', `${change.number} cannot be undone.`, 'pottag undo lists what can.');
  }
  return refused(
    'undone-already',
    `${change.number}, ${changeInWords(change)}, was undone already.`,
    'pottag undo lists what can be undone.',
  );
}

/** A change in a line of text. */
export function changeInWords({ words, entries }: Change): string {
  const [entry] = entries;
  if (words !== null || entry === undefined) return words ?? '';
  switch (entry.kind) {
    case 'observed':
      return `seen on ${entry.body.id} on ${entry.body.date}: ${seenInWords(entry.body)}`;
    case 'tag-voided':
      return `tag ${entry.body.id}.${entry.body.issue} given up (${entry.body.why})`;
    case 'exchanged':
      return `exchange of ${entry.body.a} and ${entry.body.b} from ${entry.body.since} to ${entry.body.until}`;
    case 'reassigned':
      return `an observation put under ${entry.body.id}`;
    case 'doubted':
      return `a doubt about ${inList(entry.body.plants)}, up to ${entry.body.until}`;
    default:
      return entry.kind;
  }
}

function inList(ids: readonly PlantId[]): string {
  return `${ids.slice(0, -1).join(', ')} and ${ids.at(-1)}`;
}

function refused(code: string, message: string, hint: string): InputError {
  return new InputError(code, message, `${hint} Nothing was written.`);
}
