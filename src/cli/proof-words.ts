/** What `proof` says to the person at the printer: a verdict, what to do, and the tags that need a look. */
import type { Cell } from '../sheets/proof/cell-grid.js';
import {
  type GradedSymbol,
  isTrue,
  type Measured,
  type PageProof,
  type TagOnPage,
} from '../sheets/proof/examine.js';
import { TOLERANCE_MM } from '../sheets/proof/fit.js';
import type { Point } from '../sheets/proof/projective.js';
import { type FileProof, isAllSound } from '../sheets/proof/proof.js';
import type { TagName } from '../sheets/proof/symbols.js';
import { counted } from '../wording.js';
import { bold, columns, green, yellow } from './console.js';
import { localDay } from './context.js';
import { calibrationOptions } from './proof-json.js';

/** More rows than this scroll the verdict away; --json has them all. */
const MOST_ROWS = 40;

/** @param isCurrent whether the tag still counts: one that was replaced since is not printed again */
export function fileInWords(proof: FileProof, isCurrent: (tag: TagName) => boolean): string {
  const lines = [verdict(proof)];
  for (const page of proof.pages) {
    const rows = rowsOf(page);
    if (proof.pages.length > 1 && rows.length > 0) lines.push(`  page ${page.page.number}:`);
    if (rows.length > 0) lines.push(columns(rows.slice(0, MOST_ROWS), '  '));
    if (rows.length > MOST_ROWS) lines.push(`  … and ${rows.length - MOST_ROWS} more (--json lists all)`);
  }
  for (const { page, tags } of proof.missingPages) {
    lines.push(`  page ${page} is not in the file: ${counted(tags.length, 'tag')} missing`);
  }
  if (proof.kind === 'picture') {
    for (const page of proof.pages) lines.push(...placeInWords(page));
    const grades = gradesInWords(proof.pages.flatMap((page) => page.grades));
    if (grades !== null) lines.push(grades);
  }
  for (const call of reprints(proof, isCurrent))
    lines.push(`Print ${call.what} again (--first-cell N starts on a used sheet):\n  ${bold(call.command)}`);
  return lines.join('\n');
}

function verdict(proof: FileProof): string {
  const { file, pages, missingPages } = proof;
  const absent = missingPages.reduce((sum, { tags }) => sum + tags.length, 0);
  const expected = pages.reduce((sum, page) => sum + page.expectedCount, absent);
  const read = pages.reduce((sum, page) => sum + page.readCount, 0);
  const [first] = pages;
  const where =
    pages.length === 1 ? `page ${first?.page.number} of ` : `${counted(pages.length, 'page')} of `;
  const what = `${read} of ${counted(expected, 'tag')} read on ${where}${first?.page.sheet.stock}`;
  const printed = first && localDay(new Date(first.page.sheet.printedAt));
  const word = isAllSound([proof]) ? green(bold('Sound.')) : yellow(bold('Needs a look.'));
  return `${word} ${what}, printed ${printed}: ${file}`;
}

function rowsOf({ missing, unreadable, misplaced, doubles, strangers, grades }: PageProof): string[][] {
  const row = (one: TagOnPage, what: string) => [nameOf(one), cellInWords(one.tag.cell), what];
  const grade = ({ grade: found }: GradedSymbol) => found?.grade ?? 4;
  const weakest = (one: GradedSymbol) => {
    const parts = [...(one.grade?.parts ?? [])].sort((a, b) => (a.grade ?? 4) - (b.grade ?? 4));
    const [part] = parts;
    const value = part?.value === null || part === undefined ? '' : ` ${part.value.toFixed(2)}`;
    return `print grade ${one.grade?.letter}: ${part?.name}${value}`;
  };
  return [
    ...missing.map((one) =>
      row(one, one.instead === null ? MISSING[one.because] : `not found; ${one.instead} is there instead`),
    ),
    ...unreadable.map((one) =>
      row(one, `something is there, but ${symbolsInWords(one.symbols)} cannot be read`),
    ),
    ...misplaced.map((one) =>
      row(
        one,
        one.foundIn?.row === one.tag.cell.row && one.foundIn.column === one.tag.cell.column
          ? `slipped: ${one.offMm === null ? 'its place is not known' : shiftInWords(one.offMm)}`
          : `found in ${one.foundIn === null ? 'no cell' : cellInWords(one.foundIn)}`,
      ),
    ),
    ...doubles.map((one) =>
      row(one, `printed twice: also in ${one.foundIn === null ? 'no cell' : cellInWords(one.foundIn)}`),
    ),
    ...strangers.map(({ text, foundIn }) => [
      text,
      foundIn === null ? '' : cellInWords(foundIn),
      'not a tag of this page',
    ]),
    ...grades.filter((one) => grade(one) < LEAST_GOOD).map((one) => row(one, weakest(one))),
  ];
}

/** C and better is the usual minimum (GS1 General Specifications ask for 1.5). */
const LEAST_GOOD = 1.5;

const MISSING = {
  empty: 'nothing is printed there',
  'outside the picture': 'outside the picture',
  'another tag': 'another tag is there',
} as const;

function placeInWords({ measured, page }: PageProof): string[] {
  if (measured === null)
    return [`Scale and offset were not measured: the paper's four edges are not in the picture. ${DARK}`];
  const { scale, offsetMm, worstShiftMm, correction } = measured;
  const shrunk = scale === null ? '' : ` at ${(100 * scale).toFixed(2)} % of its size,`;
  const on = page.isRoll ? `Page ${page.number}: printed` : 'Printed';
  if (offsetMm === null) {
    const size = scale === null ? '' : `${on}${shrunk.slice(0, -1)}. `;
    return [`${size}Where on the paper was not measured. ${DARK}`];
  }
  const lines = [
    `${on}${shrunk} ${shiftInWords(offsetMm)}; the tag farthest off is off by ${worstShiftMm?.toFixed(1)} mm (${TOLERANCE_MM} mm is allowed).`,
  ];
  if (measured.by === 'whole picture') {
    lines.push(
      `The picture was taken for the page, which is true only if it ends exactly at the paper's edges. ${DARK}`,
    );
  }
  if (isTrue(measured)) return lines;
  lines.push(
    correction === null
      ? uncorrected(scale)
      : `Print the next sheet with:\n  ${bold(calibrationOptions(correction))}`,
  );
  const askew = askewInWords(measured);
  if (askew !== null) lines.push(askew);
  return lines;
}

function uncorrected(scale: number | null): string {
  return scale === null
    ? 'So few tags do not tell the scale, so no correction is offered: proof a sheet with more of them, far apart.'
    : 'That is more than --nudge and --scale can put right: print at 100 %, and see that the paper lies in the feed as it should.';
}

const DARK = 'Lay a dark sheet behind the paper and leave a margin around it.';

/** Less than this does not move a tag on A4 by a third of a millimetre. */
const LEAST_SKEW_DEG = 0.1;

function askewInWords({ printer: { rotationDeg } }: Measured): string | null {
  if (rotationDeg === null || Math.abs(rotationDeg) < LEAST_SKEW_DEG) return null;
  const way = rotationDeg > 0 ? 'clockwise' : 'anticlockwise';
  return `The print is turned by ${Math.abs(rotationDeg).toFixed(2)}° ${way}, which no option corrects: set the paper guides close.`;
}

function gradesInWords(grades: readonly GradedSymbol[]): string | null {
  if (grades.length === 0) return null;
  const counts = new Map<string, number>();
  for (const { grade } of grades)
    if (grade !== null) counts.set(grade.letter, (counts.get(grade.letter) ?? 0) + 1);
  const ungraded = grades.filter(({ grade }) => grade === null);
  const parts = ['A', 'B', 'C', 'D', 'F'].flatMap((letter) =>
    counts.has(letter) ? [`${counts.get(letter)} × ${letter}`] : [],
  );
  if (ungraded.length > 0) {
    const least = Math.min(...ungraded.map(({ pxPerModule }) => pxPerModule));
    parts.push(
      `${ungraded.length} not graded (${least.toFixed(1)} pixels a module; grading needs 3: scan finer)`,
    );
  }
  return `Print quality, as far as a picture tells: ${parts.join(', ')}.`;
}

function reprints(
  { pages }: FileProof,
  isCurrent: (tag: TagName) => boolean,
): { readonly what: string; readonly command: string }[] {
  return pages.flatMap(({ page, missing, unreadable, measured }) => {
    const tags = [...missing.filter(({ because }) => because !== 'outside the picture'), ...unreadable];
    const ids = [...new Set(tags.flatMap(({ tag }) => (isCurrent(tag) ? tag.id : [])))];
    if (ids.length === 0) return [];
    const { stock, symbol, dpi } = page.sheet;
    const text = page.tags.flatMap(({ symbols }) => symbols.find(({ kind }) => kind === 'qr')?.text ?? [])[0];
    const link = text?.includes('/') ? ` --link ${text.slice(0, text.lastIndexOf('/'))}` : '';
    const calibration = measured?.correction ?? page.sheet;
    const command = `pottag tags ${ids.join(' ')} --reprint --stock ${stock} --symbol ${symbol} --dpi ${dpi}${link} ${calibrationOptions(calibration)} --out reprint.pdf`;
    return [{ what: counted(ids.length, 'tag'), command }];
  });
}

function nameOf({ tag }: TagOnPage): string {
  return `${tag.id}.${tag.issue}`;
}

function cellInWords({ row, column }: Cell): string {
  return `row ${row}, column ${column}`;
}

function symbolsInWords(symbols: readonly string[]): string {
  const names = symbols.map((kind) => (kind === 'qr' ? 'the QR code' : 'the Code 128'));
  return names.length === 0 ? 'it' : names.join(' and ');
}

/** Less is not worth a word. */
const TRUE_MM = 0.1;

/** `1.50 mm too far right, 1.00 mm too far up`; only what is off is named. */
function shiftInWords({ x, y }: Point): string {
  const parts = [
    { mm: x, way: x < 0 ? 'left' : 'right' },
    { mm: y, way: y < 0 ? 'up' : 'down' },
  ].filter(({ mm }) => Math.abs(mm) > TRUE_MM);
  if (parts.length === 0) return `true to ${TRUE_MM} mm`;
  return parts.map(({ mm, way }) => `${Math.abs(mm).toFixed(2)} mm too far ${way}`).join(', ');
}
