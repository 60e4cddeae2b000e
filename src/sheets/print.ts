/**
 * Tags for plants: their issues, the files that carry them, and the record of both.
 *
 * The issues are recorded in the same transaction in which the files are put in place. If the process is
 * killed between the two, the files are there and the issues are not: the next call makes the same ones.
 */
import { tagText } from '../codes/tag-text.js';
import { InputError } from '../errors.js';
import { refuseFieldCopy } from '../ledger/field-copy.js';
import { SHEETS_FOLDER } from '../ledger/folders.js';
import { type KeptFile, keepFile } from '../ledger/kept-files.js';
import type { Ledger, LedgerWriter } from '../ledger/ledger.js';
import type { Tag as LedgerTag, Plant } from '../ledger/model.js';
import { formatCross } from '../plants/cross.js';
import { type Output, pageNames, type Written, writeSheets } from './output.js';
import { renderSheets, type SheetOptions, type Sheets, type Tag } from './sheets.js';
import type { Stock } from './stock.js';

export interface PrintOptions extends Omit<SheetOptions, 'madeAt'> {
  readonly stock: Stock;
  readonly output: Output;
  /** A link that the QR code holds before the tag text, without the slash between them; null for none. */
  readonly link: string | null;
  /** Print the current issue once more instead of a new one. */
  readonly isReprint: boolean;
  /** The name of the printer whose nudge and scale these are from now on; absent: nothing is remembered. */
  readonly rememberAs?: string;
  readonly by: string;
  readonly now: Date;
}

export interface Printed extends Sheets {
  /** What was written, in the order of the pages. */
  readonly files: readonly string[];
  /** How many plants had a current tag, which is superseded now. */
  readonly supersededCount: number;
}

/**
 * Prints a tag for every plant, in this order, and records it.
 *
 * Drawing takes long, so it is done before the ledger is locked: others go on scanning. If one of the
 * plants got another tag meanwhile, the tags are drawn anew.
 */
export async function printTags(
  ledger: Ledger,
  plants: readonly Plant[],
  options: PrintOptions,
): Promise<Printed> {
  await refuseFieldCopy(ledger);
  const ids = plants.map(({ id }) => id);
  for (;;) {
    const last = await ledger.lastTags(ids);
    const tags = plants.map((plant) => tagToPrint(plant, last.get(plant.id), options));
    const sheets = await renderLargestLevel(tags, options);
    const { output, stock, onProgress } = options;
    const written = await writeSheets(output, sheets, pageNames(stock, sheets), dpiOf(options), onProgress);
    const isRecorded = await putAndRecord(ledger, written, sheets, options, { ids, last });
    if (!isRecorded) continue;
    const replaced = [...last.values()].filter(({ status }) => status === 'current').length;
    return { ...sheets, files: written.files, supersededCount: options.isReprint ? 0 : replaced };
  }
}

/** False, and nothing done, if the plants' tags are no longer those that the sheets were drawn for. */
async function putAndRecord(
  ledger: Ledger,
  written: Written,
  sheets: Sheets,
  options: PrintOptions,
  drawnFor: { readonly ids: readonly Plant['id'][]; readonly last: LastTags },
): Promise<boolean> {
  try {
    const kept = keepFile(ledger.folder, SHEETS_FOLDER, sheets.pdf, 'pdf');
    return await ledger.write(options.by, async (writer) => {
      if (!isSame(await writer.lastTags(drawnFor.ids), drawnFor.last)) return false;
      await recordSheets(writer, kept, sheets, options);
      written.putInPlace();
      return true;
    });
  } catch (error) {
    written.takeBack();
    throw error;
  } finally {
    written.discard();
  }
}

type LastTags = Awaited<ReturnType<Ledger['lastTags']>>;

function isSame(now: LastTags, before: LastTags): boolean {
  const isUnchanged = ([id, tag]: [Plant['id'], { issue: number; status: string }]) => {
    const known = before.get(id);
    return known?.issue === tag.issue && known.status === tag.status;
  };
  return now.size === before.size && [...now].every(isUnchanged);
}

function tagToPrint(
  plant: Plant,
  last: Pick<LedgerTag, 'issue' | 'status'> | undefined,
  { isReprint, link }: PrintOptions,
): Tag {
  if (isReprint && last?.status !== 'current') {
    throw new InputError(
      'nothing-to-reprint',
      `Plant ${plant.id} has no current tag, so there is none to print again.`,
      'Leave --reprint out to print its next tag.',
    );
  }
  const issue = isReprint ? (last?.issue ?? 1) : (last?.issue ?? 0) + 1;
  const text = tagText(plant.id, issue);
  return {
    id: plant.id,
    issue,
    text: link === null ? text : `${link}/${text}`,
    cross: formatCross(plant.seedParent, plant.pollenParent) ?? null,
    sown: plant.sown,
    key: plant.key,
    origin: plant.origin,
  };
}

/** A tag text is at level H always; a link, which is longer, at the highest level that fits the stock. */
async function renderLargestLevel(tags: readonly Tag[], options: PrintOptions): Promise<Sheets> {
  const levels = options.link === null ? (['H'] as const) : (['H', 'Q', 'M', 'L'] as const);
  let refusal: unknown;
  for (const level of levels) {
    try {
      return await renderSheets(options.stock, tags, { ...options, level, madeAt: options.now });
    } catch (error) {
      if (!(error instanceof InputError) || error.code !== 'symbol-does-not-fit') throw error;
      refusal ??= error;
    }
  }
  throw refusal;
}

async function recordSheets(
  writer: LedgerWriter,
  kept: KeptFile,
  sheets: Sheets,
  options: PrintOptions,
): Promise<void> {
  const stock = options.stock.name;
  const { nudgeMm, scale, rememberAs } = options;
  if (rememberAs !== undefined) {
    await writer.append({ kind: 'printer-calibrated', body: { printer: rememberAs, nudgeMm, scale } });
  }
  await writer.append({
    kind: 'sheet-printed',
    body: {
      ...kept,
      stock,
      symbol: options.symbol,
      dpi: dpiOf(options),
      link: options.link,
      firstCell: options.firstCell,
      lastCell: lastCell(options.stock, sheets),
      pages: sheets.pageCount,
      nudgeMm: options.nudgeMm,
      scale: options.scale,
    },
  });
  const kind = options.isReprint ? 'tag-reprinted' : 'tag-issued';
  const recorded = new Set<string>();
  for (const { id, issue, page, cell } of sheets.placed) {
    if (recorded.has(id)) continue; // A further copy of the same tag.
    recorded.add(id);
    await writer.append({
      kind,
      body: {
        id: id as Plant['id'],
        issue,
        stock,
        sheet: kept.file,
        page,
        row: cell.row,
        column: cell.column,
      },
    });
  }
}

function dpiOf({ dpi, stock }: PrintOptions): number {
  return dpi ?? stock.dpi;
}

/** The cell of the last tag, counted along the rows from 1. */
function lastCell({ cells }: Stock, { placed }: Sheets): number {
  const last = placed.at(-1);
  return last === undefined ? 1 : (last.cell.row - 1) * cells.columns + last.cell.column;
}

/** @throws InputError unless the link is an http or https address that tag text can follow */
export function parseLink(text: string): string {
  const link = text.replace(/\/+$/, '');
  const isSound = URL.canParse(link) && /^https?:\/\/[^\s?#]+$/i.test(link);
  if (isSound) return link;
  throw new InputError(
    'bad-link',
    `"${text}" is not an address that a tag text can follow.`,
    'Give it as --link https://host or https://host/path; the tag then holds https://host/path/K7FY5.1.',
  );
}
