/** Reads printed sheets back, from PDFs or pictures, and holds them against what was printed. */
import { createHash } from 'node:crypto';
import { InputError } from '../../errors.js';
import type { Ledger } from '../../ledger/ledger.js';
import type { Calibration, SheetTag } from '../../ledger/model.js';
import { loadPicture } from '../../scan/picture.js';
import type { Stock } from '../stock.js';
import { examinePage, isSound, type Measured, type PageProof, type View } from './examine.js';
import { correctionFor, type PrinterMap } from './fit.js';
import { findPaperMap, pageQuad, roughPlane } from './paper.js';
import { isPdf, openPdf, type PagePicture, type PdfPages } from './pdf-pages.js';
import { type PlaneMap, type Point, similarity } from './projective.js';
import { type PrintedPage, PrintedSheets, REFERENCE_DPI } from './reference.js';
import { type FoundSymbol, keyOf, readSheet, type TagName, tagNamed } from './symbols.js';

export interface FileProof {
  readonly file: string;
  readonly kind: 'pdf' | 'picture';
  readonly pages: readonly PageProof[];
  /** Tags on pages of the sheet that a PDF does not hold. */
  readonly missingPages: readonly { readonly page: number; readonly tags: readonly SheetTag[] }[];
}

export interface InputFile {
  readonly file: string;
  readonly bytes: Uint8Array;
}

/**
 * Proofs each file by itself.
 *
 * Throws `InputError` where a file cannot be read (`not-a-picture`, `picture-damaged`, `pdf-damaged` ...)
 * or holds no tag of this ledger (`no-tag-read`, `not-of-this-ledger`), and `stock-changed`.
 */
export async function proofFiles(
  ledger: Ledger,
  loadStock: (name: string) => Stock,
  files: readonly InputFile[],
  onProgress: (done: number, of: number) => void,
): Promise<FileProof[]> {
  const printed = new PrintedSheets(ledger, loadStock);
  try {
    const proofs: FileProof[] = [];
    for (const [index, input] of files.entries()) {
      const share = (done: number) => onProgress(index + done, files.length);
      share(0);
      const work = isPdf(input.bytes) ? proofPdf : proofPicture;
      proofs.push(await named(input.file, () => work(printed, input, share)));
    }
    onProgress(files.length, files.length);
    return proofs;
  } finally {
    printed.close();
  }
}

/** Says in which file an error was. */
async function named<T>(file: string, work: () => Promise<T>): Promise<T> {
  try {
    return await work();
  } catch (error) {
    if (!(error instanceof InputError) || error.place.file !== undefined) throw error;
    const { code, message, hint, place, problems } = error.code === 'not-a-picture' ? neither(error) : error;
    throw new InputError(code, message, hint, { file, ...place }, problems, { cause: error });
  }
}

function neither({ code }: InputError): InputError {
  return new InputError(
    code,
    'The file is neither a PDF nor a JPEG, PNG or WebP picture.',
    'Give the PDF, or a scan or photo of the printed sheet.',
  );
}

async function proofPicture(printed: PrintedSheets, { file, bytes }: InputFile): Promise<FileProof> {
  const picture = await loadPicture(bytes);
  const dpi = await densityOf(bytes);
  const found = await readSheet(picture);
  const names = namesOf(printed, found);
  const best = await printed.findPage(names);
  if (best === null) throw nothingFound(names, 'picture');
  const first = await printed.page(best.file, best.page);
  const strip = await otherLabels(printed, first, names);
  const paper = pageQuad(picture);
  const pages: PageProof[] = [];
  for (const page of [first, ...strip]) {
    const size = page.picture;
    const isAlone = strip.length === 0;
    const view: View = {
      picture,
      plane: isAlone ? roughPlane(paper.quad, size) : similarity(1, 0, 0, 0),
      paperAt: (pose) => (isAlone ? findPaperMap(picture, paper, size, pose, dpi) : null),
      isPrint: true,
    };
    const own = isAlone ? found : symbolsOf(printed, page, found);
    const proof = await examinePage(view, own, page, printed.ledger.idLength);
    if (proof !== null) pages.push(proof);
  }
  if (pages.length === 0) throw nothingFound(names, 'picture');
  return { file, kind: 'picture', pages, missingPages: [] };
}

/** Of a roll every label is a page, and a picture may show several. */
async function otherLabels(
  printed: PrintedSheets,
  first: PrintedPage,
  names: readonly TagName[],
): Promise<PrintedPage[]> {
  const { file } = first.sheet;
  if (!first.isRoll) return [];
  const numbers = new Set<number>();
  for (const name of names) {
    const found = await printed.findPage([name], file);
    if (found !== null && found.page !== first.number) numbers.add(found.page);
  }
  const pages: PrintedPage[] = [];
  for (const number of [...numbers].sort((a, b) => a - b)) pages.push(await printed.page(file, number));
  return pages;
}

function symbolsOf(printed: PrintedSheets, page: PrintedPage, found: readonly FoundSymbol[]): FoundSymbol[] {
  const names = new Set(page.tags.map(keyOf));
  return found.filter(({ text }) => {
    const tag = tagNamed(text, printed.ledger.idLength);
    return tag !== null && names.has(keyOf(tag));
  });
}

async function proofPdf(
  printed: PrintedSheets,
  { file, bytes }: InputFile,
  onProgress: (share: number) => void,
): Promise<FileProof> {
  const kept = `${createHash('sha256').update(bytes).digest('hex').slice(0, 16)}.pdf`;
  const pdf = await openPdf(bytes, REFERENCE_DPI);
  try {
    const pages: PageProof[] = [];
    const names: TagName[] = [];
    let sheet = (await printed.sheet(kept)) && kept;
    for (let number = 1; number <= pdf.count; number++) {
      const look =
        sheet === kept ? await lookAtKept(printed, kept, number) : await lookAt(printed, pdf, number, sheet);
      onProgress(number / (pdf.count + 1));
      names.push(...namesOf(printed, look.read));
      if (look.page === null) continue;
      sheet = look.page.sheet.file;
      const proof = await examinePage(pdfView(look.picture), look.read, look.page, printed.ledger.idLength);
      if (proof !== null) pages.push(proof);
    }
    if (sheet === undefined || pages.length === 0) throw nothingFound(names, 'PDF');
    return {
      file,
      kind: 'pdf',
      pages,
      missingPages: pagesWithout((await printed.sheet(sheet))?.tags ?? [], pages),
    };
  } finally {
    pdf.close();
  }
}

/** A page of a PDF, what is read on it, and the printed page it is; null for none. */
interface PdfLook {
  readonly picture: PagePicture;
  readonly read: readonly FoundSymbol[];
  readonly page: PrintedPage | null;
}

async function lookAt(
  printed: PrintedSheets,
  pdf: PdfPages,
  number: number,
  sheet: string | undefined,
): Promise<PdfLook> {
  const picture = await pdf.page(number);
  const read = await readSheet(picture);
  const best = await printed.findPage(namesOf(printed, read), sheet);
  return { picture, read, page: best && (await printed.page(best.file, best.page)) };
}

/** The very PDF that the ledger kept: its pages are drawn and read once. */
async function lookAtKept(printed: PrintedSheets, kept: string, number: number): Promise<PdfLook> {
  const page = await printed.page(kept, number);
  return { picture: page.picture, read: page.read, page };
}

function pdfView(picture: PagePicture): View {
  const [x, y] = [picture.widthMm / picture.width, picture.heightMm / picture.height];
  const map: PlaneMap = [x, 0, 0, 0, y, 0, 0, 0, 1];
  return {
    picture,
    plane: map,
    paperAt: () => ({ map, by: 'pdf page', scaleBy: 'pdf page' }),
    isPrint: false,
  };
}

function pagesWithout(tags: readonly SheetTag[], pages: readonly PageProof[]) {
  const seen = new Set(pages.map(({ page }) => page.number));
  const missing = new Map<number, SheetTag[]>();
  for (const tag of tags) {
    if (!seen.has(tag.page)) missing.set(tag.page, [...(missing.get(tag.page) ?? []), tag]);
  }
  return [...missing].map(([page, tags]) => ({ page, tags }));
}

function namesOf(printed: PrintedSheets, found: readonly FoundSymbol[]): TagName[] {
  return found.flatMap(({ text }) => tagNamed(text, printed.ledger.idLength) ?? []);
}

/** Dots per inch that a picture's file states; null for none. */
async function densityOf(bytes: Uint8Array): Promise<number | null> {
  const { default: sharp } = await import('sharp');
  const { density } = await sharp(bytes).metadata();
  return density !== undefined && density > 0 ? density : null;
}

function nothingFound(names: readonly TagName[], what: 'picture' | 'PDF'): InputError {
  const [first] = names;
  if (first === undefined) {
    return new InputError(
      'no-tag-read',
      `No tag could be read in the ${what}.`,
      what === 'PDF'
        ? 'It holds no printed tags of this ledger: give the PDF that pottag tags wrote, or a scan of the printed sheet.'
        : 'Scan the whole sheet at 300 dpi, or take a sharp photo straight from above, and give that.',
    );
  }
  return new InputError(
    'not-of-this-ledger',
    `Tags were read (${keyOf(first)}${names.length > 1 ? ` and ${names.length - 1} more` : ''}), but this ledger printed none of them.`,
    'Name the ledger they are of with --ledger FOLDER.',
  );
}

/** How far the sheets of all files are off, on the mean by the number of their symbols; null where unmeasured. */
export function meanError(files: readonly FileProof[]): {
  readonly scale: number | null;
  readonly offsetMm: Point | null;
  readonly rotationDeg: number | null;
  readonly worstShiftMm: number | null;
} {
  const all = files.flatMap(({ pages }) => pages.flatMap(({ measured }) => measured ?? []));
  const mean = (value: (measured: Measured) => number | null): number | null => {
    const known = all.flatMap((measured) => {
      const number = value(measured);
      return number === null ? [] : [{ number, weight: measured.printer.symbolCount }];
    });
    const whole = known.reduce((sum, { weight }) => sum + weight, 0);
    return whole === 0 ? null : known.reduce((sum, { number, weight }) => sum + number * weight, 0) / whole;
  };
  const x = mean(({ offsetMm }) => offsetMm?.x ?? null);
  const y = mean(({ offsetMm }) => offsetMm?.y ?? null);
  const shifts = all.flatMap(({ worstShiftMm }) => worstShiftMm ?? []);
  return {
    scale: mean(({ scale }) => scale),
    offsetMm: x === null || y === null ? null : { x, y },
    rotationDeg: mean(({ printer }) => printer.rotationDeg),
    worstShiftMm: shifts.length === 0 ? null : Math.max(...shifts),
  };
}

/** What all files together say of the printer, and how the next sheets are to be printed. */
export interface PrinterMeasure {
  /** Null where the scale was not measured, or it is more than options can put right. */
  readonly correction: Calibration | null;
  /** Why it is not good enough to be remembered; null where it is. */
  readonly why: string | null;
}

/** A measure is remembered only from so many symbols a page, and with no more than this left over (mm). */
const GOOD_SYMBOLS = 4;
const GOOD_RESIDUAL_MM = 0.3;

/** Null when no picture says anything of the printer. */
export function measurePrinter(files: readonly FileProof[]): PrinterMeasure | null {
  const pages = files
    .filter(({ kind }) => kind === 'picture')
    .flatMap((file) => file.pages)
    .filter(({ measured }) => measured !== null && measured.offsetMm !== null);
  const reasons = pages.map(({ measured }) => measured && reasonAgainst(measured.by, measured.printer));
  const good = pages.filter((_, index) => reasons[index] === null);
  if (pages.length === 0) return null;
  const correction = correctionFor(meanMap(good.length > 0 ? good : pages));
  if (good.length === 0) return { correction, why: reasons[0] ?? null };
  return {
    correction,
    why: correction === null ? 'it is more than --nudge and --scale can put right' : null,
  };
}

function reasonAgainst(by: string, { scale, symbolCount, residualMm }: PrinterMap): string | null {
  if (by !== 'paper edges') return "the paper's four edges are not in the picture";
  if (scale === null || symbolCount < GOOD_SYMBOLS)
    return 'there are too few tags, or too near to each other';
  if (residualMm > GOOD_RESIDUAL_MM) {
    return `the tags lie up and down by ${residualMm.toFixed(2)} mm from any even scale and offset`;
  }
  return null;
}

/** The mean over pages, by the number of their symbols. */
function meanMap(pages: readonly PageProof[]): Pick<PrinterMap, 'scale' | 'offsetMm'> {
  const maps = pages.flatMap(({ measured }) => measured?.printer ?? []);
  const whole = maps.reduce((sum, { symbolCount }) => sum + symbolCount, 0);
  const mean = (value: (map: PrinterMap) => number): number =>
    maps.reduce((sum, map) => sum + value(map) * map.symbolCount, 0) / whole;
  return {
    scale: maps.every(({ scale }) => scale !== null) ? mean(({ scale }) => scale ?? 1) : null,
    offsetMm: { x: mean(({ offsetMm }) => offsetMm.x), y: mean(({ offsetMm }) => offsetMm.y) },
  };
}

/** Every tag is read, in place and once, and no tag lies off by more than the tolerance. */
export function isAllSound(files: readonly FileProof[]): boolean {
  return files.every(({ pages, missingPages }) => missingPages.length === 0 && pages.every(isSound));
}
