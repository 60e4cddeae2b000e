/**
 * The command line: the one place that reads `argv`, and the one that ends the process.
 */
import { Command, CommanderError, Option } from 'commander';
import { InputError, LedgerError } from '../errors.js';
import { addBackup, addRestore } from './commands/backup.js';
import { addCheck } from './commands/check.js';
import { addCopy } from './commands/copy.js';
import { addCrosses } from './commands/crosses.js';
import { addDoubts } from './commands/doubts.js';
import { addEnrol } from './commands/enrol.js';
import { addExchange } from './commands/exchange.js';
import { addExport, addImport } from './commands/export.js';
import { addKeepers } from './commands/keepers.js';
import { addMerge } from './commands/merge.js';
import { addPicks } from './commands/picks.js';
import { addProof } from './commands/proof.js';
import { addReport } from './commands/report.js';
import { addRetag } from './commands/retag.js';
import { addScan } from './commands/scan.js';
import { addServe } from './commands/serve.js';
import { addShare } from './commands/share.js';
import { addShow } from './commands/show.js';
import { addSigns } from './commands/signs.js';
import { addStocks } from './commands/stocks.js';
import { addTags } from './commands/tags.js';
import { addUndo } from './commands/undo.js';
import { addWalk } from './commands/walk.js';
import type { Settings } from './console.js';
import { type Context, DEFAULT_LEDGER, type ExitCode, makeContext } from './context.js';
import { reportFault, reportInputError, reportLedgerError } from './report-error.js';

declare const POTTAG_VERSION: string;

const EXIT_CODES = `
Exit codes:
  0  done
  1  done, but something needs a person (an unresolved tag, a discrepancy)
  2  the call or its input was wrong; nothing was written
  3  the ledger cannot be used (in use too long, damaged, made by a newer
     Pottag, disk full)
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
      new Option('--ledger <folder>', 'the folder that holds everything, or postgres://USER@HOST/DATABASE')
        .env('POTTAG_LEDGER')
        .default(DEFAULT_LEDGER),
    )
    .option('--json', 'print one JSON document instead of text')
    .option('--quiet', 'no progress and no remarks on stderr')
    .configureHelp({ showGlobalOptions: true })
    .addHelpText('after', EXIT_CODES)
    .configureOutput({ outputError: () => {}, writeErr: () => {} }) // Errors are reported together, below.
    .exitOverride();
  addEnrol(program, run);
  addStocks(program, run);
  addTags(program, run);
  addSigns(program, run);
  addProof(program, run);
  addRetag(program, run);
  addScan(program, run);
  addShow(program, run);
  addServe(program, run);
  addWalk(program, run);
  addExchange(program, run);
  addUndo(program, run);
  addDoubts(program, run);
  addCrosses(program, run);
  addKeepers(program, run);
  addPicks(program, run);
  addReport(program, run);
  addCheck(program, run);
  addExport(program, run);
  addImport(program, run);
  addBackup(program, run);
  addRestore(program, run);
  addCopy(program, run);
  addMerge(program, run);
  addShare(program, run);
  return program;
}

async function main(argv: readonly string[]): Promise<number> {
  let exitCode: ExitCode = 0;
  const program = buildProgram(async (command, work) => {
    exitCode = await work(await makeContext(command.optsWithGlobals<Settings>()));
  });
  const isJson = argv.includes('--json');
  try {
    await program.parseAsync(argv, { from: 'user' });
    return exitCode;
  } catch (error) {
    if (error instanceof CommanderError) {
      return error.exitCode === 0 ? 0 : reportInputError(misuse(error, program, argv), isJson);
    }
    if (error instanceof InputError) return reportInputError(error, isJson);
    if (error instanceof LedgerError) return reportLedgerError(error, isJson);
    return reportFault(error, program.opts<Settings>().ledger, argv, isJson);
  }
}

/** The parser's error as one of ours: what was wrong, and where help is. */
function misuse(error: CommanderError, program: Command, argv: readonly string[]): InputError {
  const named = argv.find((word) => program.commands.some((known) => known.name() === word));
  const command = program.commands.find((known) => known.name() === named);
  const help = command === undefined ? 'pottag --help' : `pottag ${command.name()} --help`;
  const unknown = argv[0] === 'help' ? argv[1] : undefined;
  if (unknown !== undefined && command === undefined) {
    const known = program.commands.map((each) => each.name()).join(', ');
    return new InputError(
      'unknown-command',
      `There is no command "${unknown}".`,
      `The commands are ${known}.`,
    );
  }
  if (error.code === 'commander.help')
    return new InputError('no-command', 'No command was given.', `${help} lists them.`);
  const [what = '', ...more] = error.message.replace(/^error: /, '').split('\n');
  const message = `${what.charAt(0).toUpperCase()}${what.slice(1)}${/[.?!)]$/.test(what) ? '' : '.'}`;
  const near = more.join(' ').replace(/^\((.*)\)$/, '$1 ');
  const code = error.code.replace('commander.', '');
  return new InputError(
    code.replaceAll(/[A-Z]/g, (capital) => `-${capital.toLowerCase()}`),
    message,
    `${near}${help} shows how it is called.`,
  );
}

/**
 * A reader that stops early (`pottag show … | head`) is no error, and what a session still records goes
 * on without it. Anything else that stdout or stderr cannot take has to be said.
 */
let outputFailed = false;
for (const stream of [process.stdout, process.stderr]) {
  stream.on('error', ({ code }: NodeJS.ErrnoException) => {
    if (code === 'EPIPE' || outputFailed) return;
    outputFailed = true;
    const message = `The output could not be written (${code}).`;
    reportLedgerError(
      new LedgerError('full', message, 'What was recorded is safe; look whether the disk is full.'),
      false,
    );
    process.exitCode = 3;
  });
}

// What slips past every promise, such as a stream's error, is a fault too.
process.on('uncaughtException', (error) => {
  process.exit(reportFault(error, DEFAULT_LEDGER, process.argv.slice(2), process.argv.includes('--json')));
});

const exitCode = await main(process.argv.slice(2));
process.exitCode = outputFailed ? 3 : exitCode;
