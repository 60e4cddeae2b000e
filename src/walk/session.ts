/**
 * A walk typed or scanned line by line: a station's sign or name opens the station; the lines after it say what
 * stands there (a tag, `none`, `empty`) and what is seen on it (`height 64`), until the next station.
 *
 * A line that cannot be meant is a problem of its own and changes nothing; what was typed before it stays.
 */
import { isTagLine } from '../codes/tag-text.js';
import type { IdLength } from '../ids/plant-id.js';
import { findTrait, readTrait, TRAITS, withUnit } from '../observe/vocabulary.js';
import { writeCell } from '../plants/write-back.js';
import { nearest, quote, tidy } from '../wording.js';
import { type KnownStations, partsOf, stationNamed } from './lines.js';
import { NO_POT, NO_TAG, traitName } from './rows.js';
import { placeOf } from './stations.js';

export interface WalkProblem {
  /** Counts the session's lines from 1. */
  readonly line: number;
  readonly problem: string;
}

/** What happened on a line, for the person at the bench to see at once. */
export type WalkEvent =
  | { readonly kind: 'station'; readonly station: string }
  | { readonly kind: 'noted'; readonly what: string }
  | ({ readonly kind: 'problem' } & WalkProblem);

interface Pot {
  readonly scanned: string;
  readonly traits: Map<string, string | number>;
}

interface Station {
  readonly name: string;
  readonly line: number;
  readonly pots: Pot[];
}

export class WalkSession {
  readonly problems: WalkProblem[] = [];
  /** By the key of their place, in the order of walking. */
  readonly #stations = new Map<string, Station>();
  #open: Station | undefined;
  #lineCount = 0;

  constructor(
    private readonly idLength: IdLength,
    private readonly known: KnownStations,
  ) {}

  line(text: string): WalkEvent[] {
    this.#lineCount++;
    const line = tidy(text);
    if (line === '') return [];
    const station = stationNamed(line, this.known, this.idLength);
    if (station !== undefined) return this.#sign(station);
    if (/^help$/i.test(line)) return [{ kind: 'noted', what: WALK_WORDS }];
    const open = this.#open;
    if (open === undefined) return [this.#noStation(line)];
    if (/^forget$/i.test(line)) return [this.#forget(open)];
    const word = line.toLowerCase();
    if (word === NO_TAG || word === NO_POT) return this.#pot(open, word);
    if (this.#isTrait(line, open)) return [this.#trait(line, open)];
    if (isTagLine(line, this.idLength)) return this.#pot(open, line);
    const near = nearest(word.split(/[\s:=]/)[0] ?? '', WORDS);
    if (near !== undefined)
      return [this.#problem(`Did you mean "${near}"? This was not taken: type it again.`)];
    return this.#pot(open, line);
  }

  /** The walk so far, as the CSV it could have been written in. */
  csv(): string {
    const pots = [...this.#stations.values()].flatMap(({ name, pots: own }) =>
      own.map((pot) => ({ name, ...pot })),
    );
    const traits = [...new Set(pots.flatMap((pot) => [...pot.traits.keys()]))];
    const lines = [
      ['station', 'scanned', ...traits],
      ...pots.map(({ name, scanned, traits: seen }) => [
        name,
        withoutFormula(scanned),
        ...traits.map((trait) => withoutFormula(`${seen.get(trait) ?? ''}`)),
      ]),
    ];
    return lines.map((cells) => `${cells.map((cell) => writeCell(cell, ',')).join(',')}\n`).join('');
  }

  /** What there is to say at the end of the lines. */
  end(): WalkEvent[] {
    return this.#leave();
  }

  #sign(name: string): WalkEvent[] {
    const { key } = placeOf(name);
    if (this.#open !== undefined && placeOf(this.#open.name).key === key) return []; // Scanners fire twice.
    const left = this.#leave();
    const station = this.#stations.get(key) ?? { name, line: this.#lineCount, pots: [] };
    this.#stations.set(key, station);
    this.#open = station;
    return [...left, { kind: 'station', station: station.name }];
  }

  #leave(): WalkEvent[] {
    const open = this.#open;
    this.#open = undefined;
    if (open === undefined || open.pots.length > 0) return [];
    this.#stations.delete(placeOf(open.name).key);
    return [
      this.#problem(
        `${quote(open.name)} was left without a word of what stands there: it counts as not visited.`,
        open.line,
      ),
    ];
  }

  #pot(open: Station, scanned: string): WalkEvent[] {
    const isRepeat =
      scanned !== NO_TAG && open.pots.some((pot) => pot.scanned.toUpperCase() === scanned.toUpperCase());
    if (isRepeat) return [];
    const isEmpty = open.pots.some((pot) => pot.scanned === NO_POT);
    if (isEmpty || (scanned === NO_POT && open.pots.length > 0)) {
      const has = isEmpty ? NO_POT : open.pots.map((pot) => pot.scanned).join(', ');
      const isKnown = scanned === NO_TAG || scanned === NO_POT || isTagLine(scanned, this.idLength);
      const unknown = isKnown ? '' : `${quote(scanned)} is no word that a walk knows (help lists them). `;
      return [
        this.#problem(
          `${unknown}${quote(open.name)} has ${has} already. If that is wrong, type "forget", then what is there.`,
        ),
      ];
    }
    open.pots.push({ scanned, traits: new Map() });
    return [{ kind: 'noted', what: this.#whatIs(scanned) }];
  }

  /** Words of the vocabulary, and any other of a pot: `leaf five-lobed`, or `leaf form: five-lobed`. */
  #isTrait(line: string, open: Station): boolean {
    if (/^https?:/i.test(line)) return false;
    const { name, value } = partsOf(line);
    if (name === '' || findTrait(name) !== undefined) return name !== '';
    if (value === '' || open.pots.length === 0) return false;
    return nearest(name, WORDS) === undefined && !isTagLine(line, this.idLength);
  }

  #trait(line: string, open: Station): WalkEvent {
    const pot = open.pots.at(-1);
    const { name, value } = partsOf(line);
    if (pot === undefined || pot.scanned === NO_POT) {
      return this.#problem(
        `${quote(open.name)} has no pot yet, so this was not taken. Scan its tag, or type ${NO_TAG}, first.`,
      );
    }
    const trait = findTrait(name);
    const reading = trait === undefined ? undefined : readTrait(trait, value);
    if (reading?.kind === 'problem') return this.#problem(`${reading.problem}. Type it again.`);
    const seen = reading?.value ?? value;
    pot.traits.set(traitName(name), seen);
    return {
      kind: 'noted',
      what: `${traitName(name)} ${trait === undefined ? seen : withUnit(trait, seen)}`,
    };
  }

  #whatIs(scanned: string): string {
    if (scanned === NO_TAG) return 'a pot without a tag';
    if (scanned === NO_POT) return 'no pot';
    if (isTagLine(scanned, this.idLength)) return scanned;
    return `${quote(scanned)}, which is no tag of Pottag (if it does not hang there: forget)`;
  }

  #forget(open: Station): WalkEvent {
    open.pots.length = 0;
    return { kind: 'noted', what: `${open.name}: nothing yet` };
  }

  #noStation(line: string): WalkEvent {
    return this.#problem(
      `No station is open, so ${quote(line)} was not taken. Scan its sign, or type its name; if no plant of the ledger stands there yet: station NAME`,
    );
  }

  #problem(problem: string, line: number = this.#lineCount): WalkEvent & { kind: 'problem' } {
    const found = { line, problem };
    this.problems.push(found);
    return { kind: 'problem', ...found };
  }
}

/** A stranger's code can hold what a spreadsheet takes for a formula and obeys. No tag begins like one. */
function withoutFormula(cell: string): string {
  return /^[=+\-@](?![\d.]+$)/.test(cell) ? `'${cell}` : cell;
}

const WORDS: readonly string[] = [
  ...TRAITS.map(({ name }) => name),
  'station',
  NO_TAG,
  NO_POT,
  'forget',
  'help',
  'end',
];

const WALK_WORDS = `a station's name ("station NAME" if it is new), then a tag, ${NO_TAG} or ${NO_POT}, then what you see (height 64, leaf five-lobed); forget, help, end`;
