import { join, resolve as resolvePath } from 'node:path';
import { type Command, Option } from 'commander';
import { InputError } from '../../errors.js';
import { LAYOUTS_FOLDER } from '../../ledger/folders.js';
import type { PrintedSheet } from '../../ledger/model.js';
import type { Choice } from '../../plants/select.js';
import type { Printed } from '../../sheets/print.js';
import type { Stock, SymbolChoice } from '../../sheets/stock.js';
import { counted } from '../../wording.js';
import { calibrate } from '../calibrate.js';
import { bold } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { integerOption, numberOption, pairOption } from '../options.js';
import { remark } from '../sheet-remarks.js';

interface TagsOptions extends Omit<Choice, 'ids'> {
  readonly stock: string;
  readonly out: string;
  readonly symbol: SymbolChoice;
  readonly firstCell?: number | 'next';
  readonly dpi?: number;
  readonly link?: string;
  readonly copies: number;
  readonly reprint?: true;
  readonly nudge?: readonly [number, number];
  readonly scale?: number;
  readonly printer?: string;
}

const MORE_HELP = `
Every tag gets a new issue (K7FY5.2 after K7FY5.1) and makes the one before
superseded; --reprint prints the same issue again. Print at 100 %, not "fit to
page". For a label printer that takes pictures, name a folder (or one .png): it
gets a black-and-white PNG for each page, a pixel for each dot of the printer,
with the names of the tags on rolls (K7FY5.2.png).

Examples:
  pottag tags --untagged --stock a4-65-38x21 --out tags.pdf
  pottag tags K7FY5 --stock stake-a4-16x127 --out stake.pdf
  pottag tags --cross "A × B" --stock roll-203-50x25 --out labels/

Care: fig latex burns skin in sunlight; wear gloves when you tie tags to cut
wood, and wash. Moving or sharing cuttings falls under local plant-health and
plant-variety rules.`;

export function addTags(program: Command, run: Run): void {
  program
    .command('tags')
    .description('Print tags on a stock of blank labels, as PDF or PNG, and record an issue for each.')
    .argument('[id...]', 'plants to print tags for')
    .requiredOption('--stock <name>', 'the labels to print on (pottag stocks lists them)')
    .requiredOption('--out <file>', 'the .pdf to write, or a folder/ (or .png) for PNGs of one pixel a dot')
    .option('--untagged', 'all plants that have no current tag')
    .option('--queued', 'all plants whose tag was given up (pottag retag)')
    .option('--all', 'all plants')
    .option('--cross <cross>', 'plants of one cross, seed parent first: "A × B"')
    .option('--kind <kind>', 'seedling, cutting, graft or parent')
    .option('--station <prefix>', 'plants whose station begins like this')
    .addOption(
      new Option('--symbol <kind>', 'the code to scan').choices(['qr', 'code128', 'both']).default('qr'),
    )
    .option(
      '--first-cell <n>',
      'start at this label of a used sheet, counted along the rows; "next" is the first free one of the last sheet (default: 1)',
      firstCellOption,
    )
    .option('--copies <n>', 'of each tag', integerOption(1, 100), 1)
    .option('--reprint', 'the same issue again, after a jam')
    .option('--dpi <n>', "dots per inch of the printer (default: the stock's)", integerOption(100, 2400))
    .option('--link <url>', 'the QR code holds this address and the tag text')
    .option('--printer <name>', 'use the nudge and scale known of this printer; those given are remembered')
    .option('--nudge <x,y>', 'move everything by mm, right and down (default: 0,0)', pairOption(-20, 20))
    .option(
      '--scale <n>',
      'stretch the sheet, for a printer that shrinks it (default: 1)',
      numberOption(0.9, 1.1),
    )
    .addHelpText('after', MORE_HELP)
    .action((ids: string[], options: TagsOptions, command: Command) =>
      run(command, (context) => tags(context, ids, options)),
    );
}

function firstCellOption(text: string): number | 'next' {
  return text === 'next' ? text : integerOption(1)(text);
}

async function tags(context: Context, ids: readonly string[], options: TagsOptions): Promise<ExitCode> {
  const { loadStock, shippedStocksFolder } = await import('../../sheets/stock-files.js');
  const { choosePlants } = await import('../../plants/select.js');
  const { parseLink, printTags } = await import('../../sheets/print.js');
  const { parseOutput } = await import('../../sheets/output.js');
  const { console, ledgerFolder } = context;
  const stock = loadStock(options.stock, [shippedStocksFolder(), join(ledgerFolder, LAYOUTS_FOLDER)]);
  const link = options.link === undefined ? null : parseLink(options.link);
  if (link !== null && options.symbol === 'code128') {
    throw new InputError(
      'link-needs-qr',
      'A link goes into a QR code only.',
      'Print with --symbol qr or both, or leave --link out.',
    );
  }
  const output = parseOutput(options.out);
  return context.withLedger<ExitCode>(async (ledger) => {
    const plants = await choosePlants(ledger, { ...options, ids });
    if (plants.length === 0) {
      console.document(sheetsJson(stock.name, NOTHING_PRINTED));
      console.print('No plant is to get a tag; nothing was printed.');
      return 0;
    }
    const free = freeCell(stock, await ledger.lastSheetOf(stock.name));
    const sheets = await printTags(ledger, plants, {
      stock,
      output,
      link,
      isReprint: options.reprint ?? false,
      by: context.by,
      now: context.now(),
      symbol: options.symbol,
      firstCell: options.firstCell === 'next' ? (free ?? 1) : (options.firstCell ?? 1),
      copies: options.copies,
      ...(await calibrate(ledger, options)),
      ...rememberAs(options),
      ...(options.dpi === undefined ? {} : { dpi: options.dpi }),
      onProgress: console.progress('drawing tags'),
    });
    console.document(sheetsJson(stock.name, sheets));
    const what = options.reprint
      ? `${counted(sheets.placed.length, 'tag')} again`
      : counted(sheets.placed.length, 'tag');
    console.print(
      `${bold(what)} on ${counted(sheets.pageCount, 'page')} of ${stock.name}: ${resolvePath(options.out)}`,
    );
    if (sheets.supersededCount > 0) {
      console.print(
        `${counted(sheets.supersededCount, 'plant')} had a current tag, superseded now: take the old ones off.`,
      );
    }
    remark(context, sheets);
    if (options.firstCell === undefined && free !== undefined) {
      console.talk(
        `The sheet of ${stock.name} before this one has labels left from number ${free}: --first-cell next uses them.`,
      );
    }
    console.talk(
      output.kind === 'pdf'
        ? 'Print at 100 % (not "fit to page").'
        : `Send them to a printer of ${options.dpi ?? stock.dpi} dpi dot for dot, without scaling.`,
    );
    return 0;
  });
}

/** The first unused cell of the last sheet of a stock; undefined if none is left. */
function freeCell({ page, cells }: Stock, last: PrintedSheet | undefined): number | undefined {
  if (last === undefined || page.kind === 'roll') return undefined;
  return last.lastCell < cells.columns * cells.rows ? last.lastCell + 1 : undefined;
}

/** A nudge or scale given together with a printer's name is kept under it. */
function rememberAs({ printer, nudge, scale }: TagsOptions): { rememberAs?: string } {
  return printer !== undefined && (nudge !== undefined || scale !== undefined) ? { rememberAs: printer } : {};
}

const NOTHING_PRINTED = {
  files: [],
  pageCount: 0,
  placed: [],
  shortened: [],
  missingGlyphs: [],
  supersededCount: 0,
};

function sheetsJson(stock: string, sheets: Omit<Printed, 'pdf'>) {
  return {
    stock,
    files: sheets.files.map((file) => resolvePath(file)),
    pages: sheets.pageCount,
    tags: sheets.placed.map(({ id, issue, text, page, cell, boxMm, symbols }) => ({
      id,
      issue,
      text,
      page,
      cell,
      box_mm: boxMm,
      symbols: symbols.map((symbol) => ({
        kind: symbol.kind,
        text: symbol.text,
        module_mm: symbol.moduleMm,
        quiet_mm: symbol.quietMm,
        box_mm: symbol.boxMm,
      })),
    })),
    shortened: sheets.shortened,
    missing_glyphs: sheets.missingGlyphs,
    superseded: sheets.supersededCount,
  };
}
