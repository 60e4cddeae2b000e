import { join, resolve as resolvePath } from 'node:path';
import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import { writeWhole } from '../../files.js';
import { LAYOUTS_FOLDER } from '../../ledger/folders.js';
import { bold, columns, dim, green, red } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { problemList } from '../report-error.js';

interface StocksOptions {
  readonly out?: string;
  readonly check?: string;
}

const MORE_HELP = `
A stock file of your own goes into the ledger's "layouts" folder and works like these; one
of a shipped name takes its place. layouts/stock.schema.json lets an editor complete it.

Examples:
  pottag stocks
  pottag stocks a4-65-38x21 --out overlay.pdf    (print it, hold it against the real sheet)
  pottag stocks --check my-labels.json`;

export function addStocks(program: Command, run: Run): void {
  program
    .command('stocks')
    .description('List the labels that can be printed on, or draw one to lay over the real sheet.')
    .argument('[name]', 'one stock')
    .option('--out <file.pdf>', 'draw its cells with a ruler')
    .option('--check <file.json>', 'say everything that is wrong with a stock file')
    .addHelpText('after', MORE_HELP)
    .action((name: string | undefined, options: StocksOptions, command: Command) =>
      run(command, (context) => stocks(context, name, options)),
    );
}

async function stocks(context: Context, name: string | undefined, options: StocksOptions): Promise<ExitCode> {
  if (options.check !== undefined) return check(context, options.check);
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
  const { listStocks, shippedStocksFolder } = await import('../../sheets/stock-files.js');
  const stocks = listStocks([shippedStocksFolder(), join(ledgerFolder, LAYOUTS_FOLDER)]);
  console.document({ stocks });
  console.print(
    columns(stocks.map(({ name, description }) => [bold(name), description ?? red('has problems: --check')])),
  );
  return 0;
}

async function one(
  { console, ledgerFolder }: Context,
  name: string,
  out: string | undefined,
): Promise<ExitCode> {
  const { loadStock, shippedStocksFolder } = await import('../../sheets/stock-files.js');
  const stock = loadStock(name, [shippedStocksFolder(), join(ledgerFolder, LAYOUTS_FOLDER)]);
  const { page, cells } = stock;
  if (out !== undefined) {
    const { renderStock } = await import('../../sheets/overlay.js');
    writeWhole(out, await renderStock(stock));
  }
  console.document({ stock, out: out === undefined ? null : resolvePath(out) });
  console.print(
    `${bold(stock.name)}  ${stock.description}\n${columns(
      [
        ['page', `${page.width_mm} × ${page.height_mm} mm, ${page.kind}`],
        ['tags', `${cells.columns} × ${cells.rows} of ${cells.width_mm} × ${cells.height_mm} mm`],
        ['printer', `${stock.dpi} dpi`],
        ...stock.no_print.map(({ why }) => ['not printed', why]),
      ],
      '  ',
    )}`,
  );
  if (out === undefined)
    console.print(
      dim(`  pottag stocks ${stock.name} --out overlay.pdf draws it to lay over the real sheet.`),
    );
  else console.print(`Drawn: ${resolvePath(out)}. Print it at 100 % and hold it against the real sheet.`);
  return 0;
}

async function check({ console }: Context, file: string): Promise<ExitCode> {
  const { readStockFile } = await import('../../sheets/stock-files.js');
  const { checkStock } = await import('../../sheets/stock-check.js');
  const problems = checkStock(readStockFile(file));
  console.document({ file, problems });
  if (problems.length === 0) {
    console.print(`${green(bold('Sound.'))} ${file} can be printed on.`);
    return 0;
  }
  console.print(`${red(bold(`${problems.length} to put right`))} in ${file}:\n${problemList(problems)}`);
  return 1;
}
