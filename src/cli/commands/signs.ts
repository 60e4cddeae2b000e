import { join, resolve as resolvePath } from 'node:path';
import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import { LAYOUTS_FOLDER } from '../../ledger/folders.js';
import { counted } from '../../wording.js';
import { calibrate } from '../calibrate.js';
import { bold } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { integerOption } from '../options.js';
import { remark } from '../sheet-remarks.js';

interface SignsOptions {
  readonly station?: string;
  readonly stock: string;
  readonly out: string;
  readonly firstCell: number;
  readonly dpi?: number;
  readonly printer?: string;
}

const MORE_HELP = `
A sign holds the word "station" and the station's name, so that a walk can be
scanned: the sign, what hangs there, the next sign (pottag walk --help). No sign
can be taken for a tag.

Examples:
  pottag signs --station "bench 2 /" --stock a4-24-64x34 --out signs.pdf
  pottag signs "bench 7 / row 1 / 1" --stock roll-203-57x32 --out signs/`;

export function addSigns(program: Command, run: Run): void {
  program
    .command('signs')
    .description('Print signs for stations: their names, and a code to scan on a walk.')
    .argument('[station...]', 'the names of stations')
    .option('--station <prefix>', 'all stations of living plants whose names begin like this')
    .requiredOption('--stock <name>', 'the labels to print on (pottag stocks lists them)')
    .requiredOption('--out <file>', 'the .pdf to write, or a folder/ (or .png) for PNGs of one pixel a dot')
    .option(
      '--first-cell <n>',
      'start at this label of a used sheet, counted along the rows',
      integerOption(1),
      1,
    )
    .option('--dpi <n>', "dots per inch of the printer (default: the stock's)", integerOption(100, 2400))
    .option('--printer <name>', 'use the nudge and scale known of this printer')
    .addHelpText('after', MORE_HELP)
    .action((stations: string[], options: SignsOptions, command: Command) =>
      run(command, (context) => signs(context, stations, options)),
    );
}

async function signs(context: Context, named: readonly string[], options: SignsOptions): Promise<ExitCode> {
  const { loadStock, shippedStocksFolder } = await import('../../sheets/stock-files.js');
  const { printSigns } = await import('../../sheets/print-signs.js');
  const { parseOutput } = await import('../../sheets/output.js');
  const { stationsOfPlants } = await import('../../walk/stations-of-plants.js');
  const { console, ledgerFolder } = context;
  const stock = loadStock(options.stock, [shippedStocksFolder(), join(ledgerFolder, LAYOUTS_FOLDER)]);
  const output = parseOutput(options.out);
  return context.withLedger<ExitCode>(async (ledger) => {
    const known = options.station === undefined ? [] : await stationsOfPlants(ledger, options.station);
    const stations = [
      ...new Set([...named.map((name) => name.trim()).filter((name) => name !== ''), ...known]),
    ];
    if (stations.length === 0) throw noStations(options.station);
    const { files, pageCount, placed, ...drawn } = await printSigns(stations, {
      stock,
      output,
      firstCell: options.firstCell,
      ...(await calibrate(ledger, options.printer === undefined ? {} : { printer: options.printer })),
      ...(options.dpi === undefined ? {} : { dpi: options.dpi }),
      now: context.now(),
      onProgress: console.progress('drawing signs'),
    });
    console.document({
      stock: stock.name,
      files: files.map((file) => resolvePath(file)),
      pages: pageCount,
      signs: placed.map(({ label, page, cell, boxMm, symbols }) => ({
        station: label.station,
        text: label.text,
        page,
        cell,
        box_mm: boxMm,
        symbols: symbols.map(({ kind, moduleMm, quietMm, boxMm: box }) => ({
          kind,
          module_mm: moduleMm,
          quiet_mm: quietMm,
          box_mm: box,
        })),
      })),
      shortened: drawn.shortened,
      missing_glyphs: drawn.missingGlyphs,
    });
    console.print(
      `${bold(counted(placed.length, 'sign'))} on ${counted(pageCount, 'page')} of ${stock.name}: ${resolvePath(options.out)}`,
    );
    remark(context, drawn);
    return 0;
  });
}

function noStations(prefix: string | undefined): InputError {
  return prefix === undefined
    ? new InputError('no-stations', 'No station is named.', 'Name stations, or give --station "bench 2 /".')
    : new InputError(
        'no-stations',
        `No living plant stands at a station whose name begins with "${prefix}".`,
        'Look at the spelling with pottag show ID.',
      );
}
