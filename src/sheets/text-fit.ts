/** Fits the lines of a tag into a box: shrink, then wrap, then shorten with an ellipsis. */

/** Width of a text as a multiple of the type size. */
type Measure = (text: string) => number;

export interface Field {
  readonly name: string;
  readonly text: string;
  readonly measure: Measure;
  /** For a field that stands on many tags, such as the cross, so that it is wrapped once. */
  readonly wrapped?: WrappedBefore;
}

export interface FitBox {
  readonly width: number;
  readonly height: number;
  /** Type sizes in the box's unit; the largest is tried first. */
  readonly largestSize: number;
  readonly leastSize: number;
  /** Height of capitals, and from one baseline to the next, as multiples of the type size. */
  readonly capEm: number;
  readonly leadingEm: number;
}

interface FittedLine {
  readonly field: Field;
  readonly text: string;
}

export interface FittedText {
  readonly size: number;
  readonly lines: readonly FittedLine[];
  /** Fields that lost characters; `shown` is empty where nothing was left of one. */
  readonly shortened: readonly { readonly name: string; readonly full: string; readonly shown: string }[];
}

/** Sizes tried between the largest and the least. */
const STEPS = 6;
/** Shrinking below this share of the largest size costs more than a second line. */
const SHRINK_SHARE = 0.8;
/** And below this, a break at a no-break space costs less than still smaller type. */
const KEEP_SHARE = 0.64;

const SPACES = /[ \t\r\n]+/u;
/** No-break spaces too. */
const ALL_SPACES = /\s+/u;

export function fitText(fields: readonly Field[], box: FitBox): FittedText {
  const sizes = Array.from({ length: STEPS + 1 }, (_, step) =>
    Math.floor(box.largestSize - ((box.largestSize - box.leastSize) * step) / STEPS),
  );
  const widestEm = fields.reduce((widest, field) => Math.max(widest, field.measure(field.text)), 0);
  const unwrapped = sizes.find(
    (size) =>
      size >= SHRINK_SHARE * box.largestSize &&
      widestEm * size <= box.width &&
      fields.length <= lineCount(box, size),
  );
  if (unwrapped !== undefined) {
    return { size: unwrapped, lines: fields.map((field) => ({ field, text: field.text })), shortened: [] };
  }
  const keptSizes = sizes.filter((size) => size >= KEEP_SHARE * box.largestSize);
  return (
    wrapAll(fields, box, keptSizes, SPACES) ??
    wrapAll(fields, box, sizes, ALL_SPACES) ??
    shorten(fields, box, box.leastSize)
  );
}

/** Wraps every field at the first size at which all lines fit; null when none does. */
function wrapAll(
  fields: readonly Field[],
  box: FitBox,
  sizes: readonly number[],
  spaces: RegExp,
): FittedText | null {
  for (const size of sizes) {
    for (const wrapWords of [balancedParents, balanced]) {
      const lines = wrapFields(fields, spaces, wrapWords, box.width / size);
      if (lines !== null && lines.length <= lineCount(box, size)) return { size, lines, shortened: [] };
    }
  }
  return null;
}

function wrapFields(
  fields: readonly Field[],
  spaces: RegExp,
  wrapWords: WrapWords,
  widthEm: number,
): FittedLine[] | null {
  const lines: FittedLine[] = [];
  for (const field of fields) {
    const wrapped = wrapField(field, spaces, wrapWords, widthEm);
    if (wrapped === null) return null;
    for (const text of wrapped) lines.push({ field, text });
  }
  return lines;
}

type WrapWords = (words: readonly Word[], widthEm: number) => readonly string[] | null;
type WrappedLines = Map<number, readonly string[] | null>;

function wrapField(
  field: Field,
  spaces: RegExp,
  wrapWords: WrapWords,
  widthEm: number,
): readonly string[] | null {
  const known = field.wrapped?.linesFor(spaces, wrapWords);
  let lines = known?.get(widthEm);
  if (lines === undefined) {
    lines = wrapWords(wordsOf(field, spaces), widthEm);
    known?.set(widthEm, lines);
  }
  return lines;
}

/** The lines that a field was wrapped into before, by width. */
export class WrappedBefore {
  readonly #lines = new Map<RegExp, Map<WrapWords, WrappedLines>>();

  linesFor(spaces: RegExp, wrapWords: WrapWords): WrappedLines {
    const bySpaces = this.#lines.get(spaces) ?? new Map<WrapWords, WrappedLines>();
    this.#lines.set(spaces, bySpaces);
    const lines = bySpaces.get(wrapWords) ?? new Map();
    bySpaces.set(wrapWords, lines);
    return lines;
  }
}

/** Lines that fit one below the other: the first needs its capitals' height, the others the leading. */
export function lineCount(box: FitBox, size: number): number {
  const rest = box.height / size - box.capEm;
  return rest < 0 ? 0 : 1 + Math.floor(rest / box.leadingEm + 1e-9);
}

/** Gives every field a line as long as there are any, then further lines in the fields' order. */
function shorten(fields: readonly Field[], box: FitBox, size: number): FittedText {
  const widthEm = box.width / size;
  const count = lineCount(box, size);
  const shown = fields.slice(0, count);
  let spare = count - shown.length;
  const lines: FittedLine[] = [];
  const shortened: { name: string; full: string; shown: string }[] = [];
  for (const field of shown) {
    const wrapped = wrap(wordsOf(field, ALL_SPACES), widthEm);
    const cut =
      wrapped !== null && wrapped.length <= 1 + spare
        ? { lines: wrapped, shown: field.text }
        : cutToLines(field, widthEm, 1 + spare);
    spare -= Math.max(0, cut.lines.length - 1);
    for (const text of cut.lines) lines.push({ field, text });
    if (cut.shown !== field.text) shortened.push({ name: field.name, full: field.text, shown: cut.shown });
  }
  for (const field of fields.slice(count)) shortened.push({ name: field.name, full: field.text, shown: '' });
  return { size, lines, shortened };
}

interface Word {
  readonly text: string;
  readonly widthEm: number;
  /** Of a space before it. */
  readonly spaceEm: number;
}

/** Breaks between words; null when one is wider than the line. */
function wrap(words: readonly Word[], widthEm: number): string[] | null {
  const lines: string[] = [];
  let line = '';
  let lineEm = 0;
  for (const word of words) {
    if (word.widthEm > widthEm) return null;
    if (line === '' || lineEm + word.spaceEm + word.widthEm > widthEm) {
      if (line !== '') lines.push(line);
      line = word.text;
      lineEm = word.widthEm;
    } else {
      line += ` ${word.text}`;
      lineEm += word.spaceEm + word.widthEm;
    }
  }
  if (line !== '') lines.push(line);
  return lines;
}

/** Breaks a cross that needs more than one line at its `×` first, for at most one line more. */
function balancedParents(words: readonly Word[], widthEm: number): string[] | null {
  const lines = balanced(words, widthEm);
  const seedParentEnd = words.findIndex(({ text }) => text.endsWith(' ×')) + 1;
  if (lines === null || lines.length < 2 || seedParentEnd === 0) return lines;
  const parents = [words.slice(0, seedParentEnd), words.slice(seedParentEnd)];
  const apart = parents.flatMap((parent) => balanced(parent, widthEm) ?? []);
  return apart.length <= lines.length + 1 ? apart : lines;
}

/** As many lines as wrapping needs, of lengths as even as it gets: no last word alone on its line. */
function balanced(words: readonly Word[], widthEm: number): string[] | null {
  let lines = wrap(words, widthEm);
  if (lines === null || lines.length < 2) return lines;
  for (let share = 0.9; share > 0.45; share -= 0.1) {
    const narrower = wrap(words, share * widthEm);
    if (narrower === null || narrower.length > lines.length) break;
    lines = narrower;
  }
  return lines;
}

/**
 * The first lines as wrapped, breaking words that are too wide; the last ends in an ellipsis if anything is
 * lost. `shown` is what they say, without the breaks.
 */
function cutToLines(field: Field, widthEm: number, most: number): { lines: string[]; shown: string } {
  const lines: string[] = [];
  let rest = field.text;
  while (lines.length < most - 1 && field.measure(rest) > widthEm) {
    const fits = longestPrefix(rest, (prefix) => field.measure(prefix) <= widthEm);
    const space = rest.charAt(fits.length) === ' ' ? fits.length : fits.lastIndexOf(' ');
    const end = space > 0 ? space : fits.length;
    if (end === 0) break;
    lines.push(rest.slice(0, end).trimEnd());
    rest = rest.slice(end).trimStart();
  }
  const before = field.text.slice(0, field.text.length - rest.length);
  if (field.measure(rest) > widthEm) {
    rest = `${longestPrefix(rest, (prefix) => field.measure(`${prefix.trimEnd()}…`) <= widthEm).trimEnd()}…`;
  }
  return { lines: [...lines, rest], shown: before + rest };
}

/** Cuts between whole characters as people see them, never inside one. */
function longestPrefix(text: string, fits: (prefix: string) => boolean): string {
  let prefix = '';
  for (const { segment } of new Intl.Segmenter(undefined, { granularity: 'grapheme' }).segment(text)) {
    if (!fits(prefix + segment)) break;
    prefix += segment;
  }
  return prefix;
}

/** A `×` begins no line of its own: it stays with the name before it. */
function wordsOf(field: Field, spaces: RegExp): Word[] {
  const texts: string[] = [];
  for (const word of field.text.split(spaces)) {
    if (word === '') continue;
    if (word === '×' && texts.length > 0) texts[texts.length - 1] += ' ×';
    else texts.push(word);
  }
  const spaceEm = field.measure(' ');
  return texts.map((text) => ({ text, widthEm: field.measure(text), spaceEm }));
}
