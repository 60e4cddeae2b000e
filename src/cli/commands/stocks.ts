import { join, resolve as resolvePath } from 'node:path';
import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import { writeWhole } from '../../files.js';
import { LAYOUTS_FOLDER } from '../../ledger/folders.js';
import { SCHEMA_FILE, shippedStocksFolder } from '../../sheets/stock-folder.js';
import type { TagFit } from '../../sheets/what-fits.js';
import { counted } from '../../wording.js';
import { bold, columns, dim, green, red } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { problemList } from '../report-error.js';

interface StocksOptions {
  readonly out?: string;
  readonly check?: string;
}

const moreHelp = () => `
A stock file of your own goes into the ledger's "layouts" folder and works like
these; one of a shipped name takes its place. Start from a copy of one in
  ${shippedStocksFolder()}
For an editor to complete it, its "$schema" is the path of
  ${join(shippedStocksFolder(), SCHEMA_FILE)}

Examples:
  pottag stocks
  pottag stocks a4-65-38x21 --out overlay.pdf    (to hold against the sheet)
  pottag stocks --check my-labels.json`;

export function addStocks(program: Command, run: Run): void {
  program
    .command('stocks')
    .description('List the labels that can be printed on, or draw one to lay over the real sheet.')
    .argument('[name]', 'one stock')
    .option('--out <file.pdf>', 'draw its cells with a ruler')
    .option('--check <file.json>', 'say everything that is wrong with a stock file')
    .addHelpText('after', moreHelp)
    .action((name: string | undefined, options: StocksOptions, command: Command) =>
      run(command, (context) => stocks(context, name, options)),
    );
}

async function stocks(context: Context, name: string | undefined, options: StocksOptions): Promise<ExitCode> {
  if (options.check !== undefined) {
    if (name === undefined && options.out === undefined) return check(context, options.check);
    throw new InputError(
      'two-things-asked',
      '--check looks at a file, and nothing else goes with it.',
      'Leave out the name and --out: pottag stocks --check FILE.json',
    );
  }
  if (name !== undefined) return one(context, name, options.out);
  if (options.out !== undefined) {
    throw new InputError(
      'no-stock-named',
      '--out draws one stock, but none is named.',
      'pottag stocks NAME --out FILE.pdf',
    );
  }
  return list(context);
}

async function list({ console, ledgerFolder }: Context): Promise<ExitCode> {
  const { listStocks } = await import('../../sheets/stock-files.js');
  const stocks = listStocks([shippedStocksFolder(), join(ledgerFolder, LAYOUTS_FOLDER)]);
  console.document({ stocks });
  console.print(
    columns(
      stocks.map(({ name, file, description, problems }) => [
        bold(name),
        problems.length === 0
          ? (description ?? '')
          : red(`has ${counted(problems.length, 'problem')}: pottag stocks --check ${file}`),
      ]),
    ),
  );
  console.talk(dim('pottag stocks NAME says which codes one takes, and how large.'));
  return 0;
}

async function one(
  { console, ledgerFolder }: Context,
  name: string,
  out: string | undefined,
): Promise<ExitCode> {
  const { loadStock } = await import('../../sheets/stock-files.js');
  const stock = loadStock(name, [shippedStocksFolder(), join(ledgerFolder, LAYOUTS_FOLDER)]);
  const { tagFit } = await import('../../sheets/what-fits.js');
  if (out !== undefined) {
    if (!/\.pdf$/i.test(out)) {
      throw new InputError('not-a-pdf', `--out ${out} does not end in .pdf.`, 'Name a PDF file to write.');
    }
    const { renderStock } = await import('../../sheets/overlay.js');
    writeWhole(out, await renderStock(stock));
  }
  const fits = SYMBOLS.map(([symbol, name]) => ({ symbol, name, fit: tagFit(stock, symbol) }));
  console.document({
    stock,
    fits: fits.map(({ symbol, fit }) => ({ symbol, tag: fit === null ? null : fitJson(fit) })),
    out: out === undefined ? null : resolvePath(out),
  });
  const { page, cells } = stock;
  const rows = [
    ['page', `${page.width_mm} × ${page.height_mm} mm, ${page.kind}`],
    [
      'tags',
      `${counted(cells.columns, 'column')} × ${counted(cells.rows, 'row')} of ${cells.width_mm} × ${cells.height_mm} mm`,
    ],
    ['printer', `${stock.dpi} dpi (for another: tags --dpi)`],
    ...stock.no_print.map(({ why }) => ['not printed', why]),
    ...fits.map(({ name, fit }) => [name, fit === null ? 'does not fit' : fitInWords(fit)]),
  ];
  console.print(`${bold(stock.name)}  ${stock.description}\n${columns(rows, '  ')}`);
  console.print(
    out === undefined
      ? dim(`  pottag stocks ${stock.name} --out overlay.pdf draws it to lay over the real sheet.`)
      : `Drawn: ${resolvePath(out)}. Print it at 100 % and hold it against the real sheet.`,
  );
  return 0;
}

const SYMBOLS = [
  ['qr', 'QR code'],
  ['code128', 'Code 128'],
  ['both', 'both codes'],
] as const;

function fitJson({ symbols, idCapMm, idReadFromM }: TagFit) {
  return {
    symbols: symbols.map(({ kind, moduleMm }) => ({ kind, module_mm: moduleMm })),
    id_cap_mm: idCapMm,
    id_read_from_m: idReadFromM,
  };
}

function fitInWords({ symbols, idCapMm, idReadFromM }: TagFit): string {
  const modules = symbols.map(({ moduleMm }) => moduleMm.toFixed(2)).join(' and ');
  return `modules of ${modules} mm; ID ${idCapMm} mm high, easy to read up to ${idReadFromM} m away`;
}

async function check({ console }: Context, file: string): Promise<ExitCode> {
  const { checkStockFile } = await import('../../sheets/stock-files.js');
  const { problems } = checkStockFile(file);
  console.document({ file, problems });
  if (problems.length === 0) {
    console.print(`${green(bold('Sound.'))} ${file} can be printed on.`);
    return 0;
  }
  console.print(`${red(bold(`${problems.length} to put right`))} in ${file}:\n${problemList(problems)}`);
  return 1;
}
