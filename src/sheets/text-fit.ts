/** Fits the lines of a tag into a box: shrink, then wrap, then shorten with an ellipsis. */

/** Width of a text as a multiple of the type size. */
export type Measure = (text: string) => number;

export interface Field {
  readonly name: string;
  readonly text: string;
  readonly measure: Measure;
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

export interface FittedLine {
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
const KEEP_SHARE = 0.7;

export function fitText(fields: readonly Field[], box: FitBox): FittedText {
  const sizes = Array.from({ length: STEPS + 1 }, (_, step) =>
    Math.floor(box.largestSize - ((box.largestSize - box.leastSize) * step) / STEPS),
  );
  const unwrapped = sizes.find(
    (size) => oneLineEach(fields, box, size) && size >= SHRINK_SHARE * box.largestSize,
  );
  if (unwrapped !== undefined) {
    return {
      size: unwrapped,
      lines: fields.map((field) => ({ field, text: field.text })),
      shortened: [],
    };
  }
  for (const kept of [true, false]) {
    for (const size of sizes) {
      if (kept && size < KEEP_SHARE * box.largestSize) break;
      const wrapped = fields.map((field) => wrap(field, box.width / size, Number.POSITIVE_INFINITY, kept));
      if (wrapped.some((lines) => lines === null)) continue;
      const lines = wrapped.flatMap((lines) => lines ?? []);
      if (lines.length <= lineCount(box, size)) return { size, lines, shortened: [] };
    }
  }
  return shorten(fields, box, box.leastSize);
}

/** Lines that fit one below the other: the first needs its capitals' height, the others the leading. */
export function lineCount(box: FitBox, size: number): number {
  const rest = box.height / size - box.capEm;
  return rest < 0 ? 0 : 1 + Math.floor(rest / box.leadingEm + 1e-9);
}

function oneLineEach(fields: readonly Field[], box: FitBox, size: number): boolean {
  return (
    fields.length <= lineCount(box, size) &&
    fields.every((field) => field.measure(field.text) * size <= box.width)
  );
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
    const whole = wrap(field, widthEm, 1 + spare, false);
    const cut = whole ?? cutToLines(field, widthEm, 1 + spare);
    spare -= Math.max(0, cut.length - 1);
    lines.push(...cut);
    if (whole === null) {
      shortened.push({ name: field.name, full: field.text, shown: cut.map((line) => line.text).join(' ') });
    }
  }
  for (const field of fields.slice(count)) shortened.push({ name: field.name, full: field.text, shown: '' });
  return { size, lines, shortened };
}

/** Breaks at spaces; null when a word is wider than the line or there are more lines than allowed. */
function wrap(field: Field, widthEm: number, most: number, kept: boolean): FittedLine[] | null {
  const lines: FittedLine[] = [];
  let line = '';
  for (const word of wordsOf(field.text, kept)) {
    if (field.measure(word) > widthEm) return null;
    const longer = line === '' ? word : `${line} ${word}`;
    if (field.measure(longer) <= widthEm) {
      line = longer;
      continue;
    }
    lines.push({ field, text: line });
    line = word;
  }
  if (line !== '') lines.push({ field, text: line });
  return lines.length <= most ? lines : null;
}

/** The first lines as wrapped, breaking words that are too wide; the last ends in an ellipsis. */
function cutToLines(field: Field, widthEm: number, most: number): FittedLine[] {
  const lines: FittedLine[] = [];
  let rest = field.text;
  while (lines.length < most - 1 && field.measure(rest) > widthEm) {
    const fits = longestPrefix(rest, (prefix) => field.measure(prefix) <= widthEm);
    const space = rest.charAt(fits.length) === ' ' ? fits.length : fits.lastIndexOf(' ');
    const end = space > 0 ? space : fits.length;
    if (end === 0) break;
    lines.push({ field, text: rest.slice(0, end).trimEnd() });
    rest = rest.slice(end).trimStart();
  }
  if (field.measure(rest) > widthEm) {
    rest = `${longestPrefix(rest, (prefix) => field.measure(`${prefix.trimEnd()}…`) <= widthEm).trimEnd()}…`;
  }
  lines.push({ field, text: rest });
  return lines;
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
function wordsOf(text: string, kept: boolean): string[] {
  return text
    .split(kept ? /[ \t\r\n]+/u : /\s+/u)
    .filter((word) => word !== '')
    .reduce<string[]>((words, word) => {
      if (word === '×' && words.length > 0) words[words.length - 1] += ' ×';
      else words.push(word);
      return words;
    }, []);
}
