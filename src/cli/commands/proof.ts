import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import type { Command } from 'commander';
import { InputError } from '../../errors.js';
import { LAYOUTS_FOLDER } from '../../ledger/folders.js';
import type { Ledger } from '../../ledger/ledger.js';
import type { FileProof, InputFile, PrinterMeasure } from '../../sheets/proof/proof.js';
import { bold, green, yellow } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';

interface ProofOptions {
  readonly printer?: string;
}

const MORE_HELP = `
The sheet is known by the tags on it and held against the PDF the ledger kept
when it was printed. Done (exit 0) when every tag is read, in its cell and once,
and no tag is off its label by more than 0.5 mm; otherwise, or if --printer has
nothing good enough to remember, something needs a person (exit 1).

For a picture: print at 100 %, then scan at 300 dpi (600 for labels 10 mm high)
or take a sharp photo of the whole sheet. Lay something dark behind the paper
and leave a margin around it: scale and offset are measured from the paper's
edges, to about 0.2 mm. --nudge and --scale in the answer replace those of the
last print; they are not added to them.

Each tag gets a grade from A to F. From the picture are computed, with the
thresholds of the standards: for a QR code (ISO/IEC 15415) contrast, modulation,
unused error correction, axial and grid non-uniformity, fixed patterns with
quiet zone; for a Code 128 (ISO/IEC 15416), on ten lines across the bars,
decode, contrast, minimum reflectance, edge contrast, modulation, defects,
decodability. Not computed: calibrated reflectance (it is relative to the
paper), the standards' light, aperture and angles (they are the scanner's or
camera's), print growth. So a grade compares sheets, printers and settings; it
certifies nothing.

Examples:
  pottag proof tags.pdf
  pottag proof scan.png
  pottag proof scan.png --printer "laser, tray 2"    (print with the same)`;

export function addProof(program: Command, run: Run): void {
  program
    .command('proof')
    .description('Read a printed sheet back: is every tag there, in its place, readable?')
    .argument('<file...>', 'a PDF, or a flatbed scan or photo of the sheet (JPEG, PNG, WebP)')
    .option('--printer <name>', 'remember the correction under this name, if it was measured well')
    .addHelpText('after', MORE_HELP)
    .action((files: string[], options: ProofOptions, command: Command) =>
      run(command, (context) => proof(context, files, options)),
    );
}

async function proof(
  context: Context,
  names: readonly string[],
  { printer }: ProofOptions,
): Promise<ExitCode> {
  const { loadStock, shippedStocksFolder } = await import('../../sheets/stock-files.js');
  const { isAllSound, measurePrinter, proofFiles } = await import('../../sheets/proof/proof.js');
  const { proofJson } = await import('../proof-json.js');
  const { fileInWords } = await import('../proof-words.js');
  const { console, ledgerFolder } = context;
  if (printer?.trim() === '') {
    throw new InputError('no-printer-name', 'The name after --printer is empty.', 'Give the printer a name.');
  }
  const inputs = names.map(readInput);
  const folders = [shippedStocksFolder(), join(ledgerFolder, LAYOUTS_FOLDER)];
  return context.withLedger<ExitCode>(async (ledger) => {
    const stockOf = (name: string) => loadStock(name, folders);
    const files = await proofFiles(ledger, stockOf, inputs, console.progress('reading sheets'));
    const measure = measurePrinter(files);
    const remembered = await remember(ledger, context, files, measure, printer);
    console.document(proofJson(files, measure?.correction ?? null, remembered));
    const replaced = await replacedTags(ledger, files);
    for (const file of files)
      console.print(fileInWords(file, (tag) => !replaced.has(`${tag.id}.${tag.issue}`)));
    if (remembered !== null) {
      console.print(
        `${green('Remembered')} for ${bold(remembered.printer)}: print with --printer ${JSON.stringify(remembered.printer)}.`,
      );
    } else if (printer !== undefined) {
      console.warn(
        `${yellow('Not remembered')} for ${printer}: ${measure?.why ?? 'scale and offset were not measured'}.`,
      );
    }
    return isAllSound(files) && (printer === undefined || remembered !== null) ? 0 : 1;
  });
}

function readInput(file: string): InputFile {
  try {
    return { file, bytes: readFileSync(file) };
  } catch (cause) {
    throw new InputError('no-file', `"${file}" cannot be read.`, 'Check the path.', { file }, [], { cause });
  }
}

/** Of the tags that are missing or unreadable, those that a newer one has replaced since. */
async function replacedTags(ledger: Ledger, files: readonly FileProof[]): Promise<Set<string>> {
  const replaced = new Set<string>();
  for (const { missing, unreadable } of files.flatMap(({ pages }) => pages)) {
    for (const { tag } of [...missing, ...unreadable]) {
      const known = (await ledger.tags(tag.id)).find(({ issue }) => issue === tag.issue);
      if (known?.status !== 'current') replaced.add(`${tag.id}.${tag.issue}`);
    }
  }
  return replaced;
}

async function remember(
  ledger: Ledger,
  { by }: Context,
  files: readonly FileProof[],
  measure: PrinterMeasure | null,
  printer: string | undefined,
): Promise<{ readonly printer: string } | null> {
  if (printer === undefined) return null;
  if (files.every(({ kind }) => kind === 'pdf')) {
    throw new InputError(
      'no-picture',
      'A PDF says nothing of a printer, so --printer has nothing to remember.',
      'Print the PDF, scan the sheet, and give the scan.',
    );
  }
  if (!measure?.correction || measure.why !== null) return null;
  const { nudgeMm, scale } = measure.correction;
  await ledger.write(by, (writer) =>
    writer.append({ kind: 'printer-calibrated', body: { printer, nudgeMm, scale } }),
  );
  return { printer };
}
