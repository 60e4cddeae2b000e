/**
 * The command line: the one place that reads `argv`, and the one that ends the process.
 */
import { Command, CommanderError, Option } from 'commander';
import { InputError, LedgerError } from '../errors.js';
import { addCheck } from './commands/check.js';
import { addEnrol } from './commands/enrol.js';
import { addRetag } from './commands/retag.js';
import { addScan } from './commands/scan.js';
import { addShow } from './commands/show.js';
import { addStocks } from './commands/stocks.js';
import { addTags } from './commands/tags.js';
import type { Settings } from './console.js';
import { type Context, type ExitCode, makeContext } from './context.js';
import { reportFault, reportInputError, reportLedgerError } from './report-error.js';

declare const POTTAG_VERSION: string;

const DEFAULT_LEDGER = './pottag-ledger';

const EXIT_CODES = `
Exit codes:
  0  done
  1  done, but something needs a person (an unresolved tag, a discrepancy)
  2  the call or its input was wrong; nothing was written
  3  the ledger cannot be used (in use too long, damaged, made by a newer Pottag, disk full)
  70 a fault of Pottag itself`;

function buildProgram(
  run: (command: Command, work: (context: Context) => Promise<ExitCode>) => Promise<void>,
): Command {
  const program = new Command('pottag')
    .description('Keeps seedlings and what was seen on them together, from the pot tag to the keepers.')
    .version(POTTAG_VERSION, '-V, --version', 'print the version')
    .helpOption('-h, --help', 'show help')
    .helpCommand('help [command]', 'show the help of a command')
    .addOption(
      new Option('--ledger <folder>', 'the folder that holds everything')
        .env('POTTAG_LEDGER')
        .default(DEFAULT_LEDGER),
    )
    .option('--json', 'print one JSON document instead of text')
    .option('--quiet', 'no progress and no remarks on stderr')
    .configureHelp({ showGlobalOptions: true })
    .addHelpText('after', EXIT_CODES)
    .exitOverride();
  addEnrol(program, run);
  addStocks(program, run);
  addTags(program, run);
  addRetag(program, run);
  addScan(program, run);
  addShow(program, run);
  addCheck(program, run);
  return program;
}

async function main(argv: readonly string[]): Promise<number> {
  let exitCode: ExitCode = 0;
  const program = buildProgram(async (command, work) => {
    exitCode = await work(makeContext(command.optsWithGlobals<Settings>()));
  });
  const isJson = argv.includes('--json');
  try {
    await program.parseAsync(argv, { from: 'user' });
    return exitCode;
  } catch (error) {
    if (error instanceof CommanderError) return error.exitCode === 0 ? 0 : 2;
    if (error instanceof InputError) return reportInputError(error, isJson);
    if (error instanceof LedgerError) return reportLedgerError(error, isJson);
    return reportFault(error, program.opts<Settings>().ledger, argv);
  }
}

// A reader that stops early (`pottag show … | head`) is a quiet end.
process.stdout.on('error', (error: NodeJS.ErrnoException) => {
  if (error.code === 'EPIPE') process.exit(0);
  throw error;
});

process.exitCode = await main(process.argv.slice(2));
