/**
 * A scanning session, line by line: a hand scanner types a tag's text, which opens that plant; the
 * lines after it (`brix 18.5`) are what was seen on it, until the next tag or the end.
 *
 * A line that is neither closes the plant: what follows may have been seen on the pot whose tag was
 * just misread, and must not land on the one before. Only a slip for a word that is known (`brx 18`) leaves the plant
 * open.
 */
import { readTagText } from '../codes/tag-text.js';
import { InputError } from '../errors.js';
import type { Ledger } from '../ledger/ledger.js';
import type { Observation, ObservedValues } from '../ledger/model.js';
import { checkAgainstPlant, doubtAbout, parseDay, recordSeen } from '../observe/observation.js';
import { findTrait, readTrait, TRAITS, type Trait, withUnit } from '../observe/vocabulary.js';
import { nearest, quote } from '../wording.js';
import { type Resolution, resolve } from './resolve.js';

/** A tag of the session, and what came to be recorded under it. */
export interface SessionScan extends Resolution {
  observation: Observation | null;
}

export interface SessionProblem {
  /** Counts the session's lines from 1. */
  readonly line: number;
  readonly problem: string;
}

/** What happened on a line, for the person at the bench to see at once. */
export type SessionEvent =
  | { readonly kind: 'scanned'; readonly scan: SessionScan }
  | { readonly kind: 'noted'; readonly what: string }
  | { readonly kind: 'saved'; readonly scan: SessionScan; readonly observation: Observation }
  | ({ readonly kind: 'problem' } & SessionProblem);

export interface SessionOptions {
  readonly by: string;
  /** The local calendar day. */
  readonly today: string;
  /** The day of observations that do not say their own. */
  readonly date: string;
  /** Seen on every plant of the session. */
  readonly values: ObservedValues;
}

interface OpenPlant {
  readonly scan: SessionScan;
  /** Whether something was typed since it was scanned. */
  isTouched: boolean;
  date: string;
  values: Record<string, string | number>;
}

export class ScanSession {
  readonly scans: SessionScan[] = [];
  readonly problems: SessionProblem[] = [];
  #open: OpenPlant | undefined;
  #lineCount = 0;

  constructor(
    private readonly ledger: Ledger,
    private readonly options: SessionOptions,
  ) {}

  async line(text: string): Promise<SessionEvent[]> {
    this.#lineCount++;
    const line = text.trim();
    if (line === '') return [];
    const [, word = '', rest = ''] = /^([\p{L}-]+)\s*(?:[\s:=]\s*(.*))?$/su.exec(line) ?? [];
    // Words first: with longer IDs `brix 18.5` has the shape of a tag, spaces being ignored there.
    const trait = findTrait(word);
    if (trait !== undefined) return [this.#trait(trait, rest)];
    if (word.toLowerCase() === 'date') return [this.#date(rest)];
    if (/^yes$/i.test(line)) return this.#confirm();
    if (/^help$/i.test(line)) return [{ kind: 'noted', what: `words: ${SESSION_WORDS.join(', ')}` }];
    const meant = nearest(word, SESSION_WORDS);
    if (meant !== undefined && rest !== '') return [this.#slip(word, meant)];
    if (readTagText(line, this.ledger.idLength).kind !== 'not a tag') return this.#tag(line);
    return this.#neither(line, word);
  }

  /** What is typed and not yet saved, as lines that can be typed again. */
  unsaved(): string[] {
    if (this.#open === undefined) return [];
    const { scan, date, values } = this.#open;
    return [scan.text, `date ${date}`, ...Object.entries(values).map(([name, value]) => `${name} ${value}`)];
  }

  /** After the last line: saves what is still open. */
  end(): Promise<SessionEvent[]> {
    return this.#save();
  }

  /** Closes the open plant, and saves what was seen on it. */
  async #save(): Promise<SessionEvent[]> {
    const open = this.#open;
    if (open === undefined || open.scan.plant === null || Object.keys(open.values).length === 0) {
      this.#open = undefined;
      return [];
    }
    const { scan, date, values } = open;
    const on = { plant: open.scan.plant, issue: scan.issue };
    try {
      const observation = await this.ledger.write(this.options.by, (writer) =>
        recordSeen(writer, on, { date, values, photo: null }),
      );
      scan.observation = observation;
      this.#open = undefined;
      return [{ kind: 'saved', scan, observation }];
    } catch (error) {
      if (!(error instanceof InputError)) throw error; // Still open: `unsaved` tells what is in it.
      this.#open = undefined;
      return [this.#problem(`${error.message} Nothing was saved for it.`)];
    }
  }

  async #tag(text: string): Promise<SessionEvent[]> {
    const isRepeat = this.#open?.scan.text === text && !this.#open.isTouched;
    if (isRepeat) return []; // Hand scanners fire twice; the plant is open already.
    const saved = await this.#save();
    return [...saved, ...(await this.#openPlant(await resolve(this.ledger, text)))];
  }

  async #openPlant(resolution: Resolution): Promise<SessionEvent[]> {
    const scan: SessionScan = { ...resolution, observation: null };
    this.scans.push(scan);
    if (scan.status !== 'current' || scan.plant === null) return [{ kind: 'scanned', scan }];
    const { date, values } = this.options;
    this.#open = { scan, isTouched: false, date, values: { ...values } };
    const { plant } = scan;
    const doubt = doubtAbout(plant, values);
    const doubts = doubt === null ? [] : [this.#problem(doubt)];
    return [{ kind: 'scanned', scan }, ...doubts, ...this.#refused(() => checkAgainstPlant(plant, date))];
  }

  /** The problem that `check` throws, if it throws one of input. */
  #refused(check: () => void): SessionEvent[] {
    try {
      check();
      return [];
    } catch (error) {
      if (error instanceof InputError) return [this.#problem(`${error.message} ${error.hint}`)];
      throw error;
    }
  }

  /** `yes` takes the one plant that was offered for the unreadable tag just before. */
  async #confirm(): Promise<SessionEvent[]> {
    const last = this.scans.at(-1);
    const [only, ...others] =
      last?.status === 'unreadable' && this.#open === undefined ? last.candidates : [];
    if (only === undefined || others.length > 0) {
      return [this.#problem('There is no single offered plant to say yes to; type its ID.')];
    }
    this.scans.pop();
    return this.#openPlant(await resolve(this.ledger, only.plant.id));
  }

  #date(text: string): SessionEvent {
    const open = this.#open;
    if (open?.scan.plant == null) return this.#nothingOpen();
    const { plant } = open.scan;
    const [problem] = this.#refused(() => {
      const date = parseDay(text, this.options.today);
      checkAgainstPlant(plant, date);
      open.date = date;
      open.isTouched = true;
    });
    return problem ?? { kind: 'noted', what: `date ${open.date}` };
  }

  #trait(trait: Trait, text: string): SessionEvent {
    if (this.#open === undefined) return this.#nothingOpen();
    const { values } = this.#open;
    const before = values[trait.name];
    // A second remark adds to the first; a second measurement puts the first one right.
    const isAdded = trait.kind === 'text' && before !== undefined;
    const reading = readTrait(trait, isAdded ? `${before}; ${text}` : text);
    if (reading.kind === 'problem') return this.#problem(`${reading.problem}. Type it again.`);
    const { value } = reading;
    values[trait.name] = value;
    this.#open.isTouched = true;
    const instead = before === undefined || isAdded ? '' : ` instead of ${withUnit(trait, before)}`;
    return { kind: 'noted', what: `${trait.name} ${withUnit(trait, value)}${instead}` };
  }

  #slip(word: string, meant: string): SessionEvent {
    const open = this.#open?.scan.plant;
    const after = open == null ? 'No plant is open.' : `${open.id} is still open.`;
    return this.#problem(
      `${quote(word)} is no trait (did you mean "${meant}"?), so this was not recorded. ${after}`,
    );
  }

  async #neither(line: string, word: string): Promise<SessionEvent[]> {
    const saved = await this.#save();
    const scan: SessionScan = { ...(await resolve(this.ledger, line)), observation: null };
    this.scans.push(scan);
    const near = nearest(word, SESSION_WORDS);
    if (near === undefined) return [...saved, { kind: 'scanned', scan }];
    const problem = `Did you mean "${near}"? No plant is open now: scan the tag again, then type it.`;
    return [...saved, { kind: 'scanned', scan }, this.#problem(problem)];
  }

  #nothingOpen(): SessionEvent {
    return this.#problem('No plant is open, so this was not recorded. Scan a tag first.');
  }

  #problem(problem: string): SessionEvent & { kind: 'problem' } {
    const found = { line: this.#lineCount, problem };
    this.problems.push(found);
    return { kind: 'problem', ...found };
  }
}

/** The words that a session understands, for its help. */
export const SESSION_WORDS: readonly string[] = [
  ...TRAITS.map(({ name }) => name),
  'date',
  'yes',
  'help',
  'end',
];
