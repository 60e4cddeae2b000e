import { existsSync, realpathSync } from 'node:fs';
import type { Command } from 'commander';
import { InputError, LedgerError } from '../../errors.js';
import { writeWhole } from '../../files.js';
import type { IdLength } from '../../ids/plant-id.js';
import type { Ledger } from '../../ledger/ledger.js';
import type { Observation } from '../../ledger/model.js';
import { parseDay, parseValues, seenInWords } from '../../observe/observation.js';
import { allowedValues, TRAITS } from '../../observe/vocabulary.js';
import { readerOf, type Scan, scanPhotos, scanTexts, type ToRecord } from '../../scan/scans.js';
import { ScanSession, type SessionEvent, type SessionScan } from '../../scan/session.js';
import type { PhotoReader } from '../../scan/tag-reader.js';
import { whatToDo } from '../../scan/unresolved.js';
import { likelihoodInWords } from '../../wording.js';
import { bold, type Console, dim, green, yellow } from '../console.js';
import type { Context, ExitCode, Run } from '../context.js';
import { crossOf, observationJson, plantJson } from '../json.js';
import { plantInWords } from '../words.js';

interface ScanOptions extends Readonly<Record<string, unknown>> {
  readonly photo?: readonly string[];
  readonly photoKeep?: true;
  readonly explain?: string;
  readonly date?: string;
  readonly by?: string;
}

const MORE_HELP = `
With neither texts nor photos, lines are read until the end of input: a scanned
tag opens the plant, the lines after it are what was seen on it, until the next
tag:

  K7FY5.1
  fruit ripe
  brix 18.5

The words are those of the options above, and date, yes, help, end.

An ID that cannot be read whole is typed with ? (K?F?5). It is offered, never
taken: type the whole ID, or "yes" in such a session, when the plant in front of
you is the one.

Examples:
  pottag scan K7FY5 --fruit ripe --brix 18.5 --liking 8
  pottag scan --photo IMG_0412.jpg --inside pulp
  pottag scan K7FY5 --photo cut-fruit.jpg --photo-keep
  pottag scan --photo muddy.jpg --explain why.png

A damaged tag in a photo is held against all tags ever issued: it is read where
it is as good as certain, offered where it is likely.

Before you taste: not a fruit of a plant sprayed within the product's waiting
period, nor of a species whose seedlings may be poisonous. Fig latex burns skin
in sunlight: wear gloves, wash.`;

export function addScan(program: Command, run: Run): void {
  const command = program
    .command('scan')
    .description('Find the plant that a tag or ID names, and record what was seen on it.')
    .argument('[text...]', 'what the tag says, e.g. K7FY5.2, or an ID, e.g. K7FY5')
    .option('--photo <file...>', 'read the tags in photos (JPEG, PNG, WebP)')
    .option(
      '--explain <file>',
      'with one photo: draw what was seen of the damaged tag, and the tag it was read as (PNG)',
    )
    .option('--photo-keep', 'keep the photo with the observation')
    .option('--date <day>', 'the day it was seen, e.g. 2026-09-14 (default: today)');
  for (const trait of TRAITS) {
    command.option(`--${trait.name} <value>`, `${trait.meaning} (${allowedValues(trait)})`);
  }
  command
    .option('--by <name>', 'who saw it (default: POTTAG_BY or your user name)')
    .addHelpText('after', MORE_HELP)
    .action((texts: string[], options: ScanOptions, own: Command) =>
      run(own, (context) => scan(context, texts, options, traitsTyped(own, options))),
    );
}

/** The parser keeps `--pulp-colour` as `pulpColour`: what was typed, by the names of the vocabulary. */
function traitsTyped({ options }: Command, typed: ScanOptions): Record<string, string | undefined> {
  const names = new Map(options.map((option) => [option.attributeName(), option.name()]));
  return Object.fromEntries(
    Object.entries(typed).map(([key, value]) => [names.get(key) ?? key, value as string | undefined]),
  );
}

async function scan(
  context: Context,
  texts: readonly string[],
  options: ScanOptions,
  traits: Readonly<Record<string, string | undefined>>,
): Promise<ExitCode> {
  const values = parseValues(traits);
  const date = options.date === undefined ? context.today : parseDay(options.date, context.today);
  const toRecord = {
    by: options.by?.trim() || context.by,
    date,
    values,
    keepPhoto: options.photoKeep ?? false,
  };
  const photos = options.photo ?? [];
  if (toRecord.keepPhoto && photos.length === 0) {
    throw new InputError(
      'no-photo',
      '--photo-keep keeps a photo, but none is named.',
      'Name it with --photo FILE.',
    );
  }
  if (texts.length > 0 && photos.length > 0 && !(toRecord.keepPhoto && photos.length === 1)) {
    throw new InputError(
      'text-and-photo',
      'Both a text and photos to read were given.',
      'Give one or the other; or one photo to keep with the typed plant (--photo FILE --photo-keep).',
    );
  }
  const { explain } = options;
  if (explain !== undefined && (photos.length !== 1 || texts.length > 0)) {
    throw new InputError(
      'one-photo',
      '--explain shows how one photo was read.',
      'Name one photo with --photo FILE, and no text.',
    );
  }
  if (explain !== undefined && isSameFile(explain, photos[0] ?? '')) {
    throw new InputError(
      'explain-over-photo',
      `--explain would write over the photo itself, ${explain}.`,
      'Name another file for the picture.',
    );
  }
  if (texts.length === 0 && photos.length === 0) return session(context, toRecord);
  return context.withLedger(async (ledger) => {
    const reader = explain === undefined ? undefined : await explaining(context.console, ledger, explain);
    const scans =
      texts.length > 0
        ? await scanTexts(ledger, texts, toRecord, photos[0] ?? null)
        : await scanPhotos(ledger, photos, toRecord, reader);
    context.console.document({ scans: scans.map(scanJson) });
    for (const one of scans) await printScan(context.console, one, ledger.idLength);
    return scans.every(
      ({ status, notRecorded, doubt }) => status === 'current' && notRecorded === null && doubt === null,
    )
      ? 0
      : 1;
  });
}

/**
 * Reads a photo, and writes why its damaged tag was read as it was: before anything is recorded, so that a file
 * that cannot be written leaves nothing half done.
 */
async function explaining(console: Console, ledger: Ledger, file: string): Promise<PhotoReader> {
  const reader = await readerOf(ledger, true);
  return {
    async read(photo) {
      const read = await reader.read(photo);
      // What is most in doubt needs it most.
      const why = read.damaged.findLast(({ shown }) => shown !== null)?.shown ?? null;
      if (why === null) console.warn('The photo shows no damaged tag: nothing to explain.');
      else {
        writeWhole(file, why.picture);
        console.talk(`${file}: ${why.caption}`);
      }
      return read;
    },
  };
}

/** The picture of why would replace the photo that it explains. */
function isSameFile(one: string, other: string): boolean {
  return existsSync(one) && existsSync(other) && realpathSync(one) === realpathSync(other);
}

function scanJson(scan: Omit<SessionScan, 'text'> & Partial<Scan>) {
  return {
    text: scan.text ?? null,
    id: scan.id,
    issue: scan.issue,
    status: scan.status,
    plant: scan.plant === null ? null : plantJson(scan.plant),
    voided_because: scan.voidedBecause,
    candidates: scan.candidates.map(({ plant, because, probability }) => ({
      id: plant.id,
      because,
      probability,
      cross: crossOf(plant),
      station: plant.station,
      plant: plantJson(plant),
    })),
    observation: scan.observation === null ? null : observationJson(scan.observation),
    photo: scan.photo ?? null,
    not_recorded: scan.notRecorded ?? null,
    doubt: scan.doubt ?? null,
    read_by: scan.how?.by ?? null,
    read_from: scan.how?.by === 'ledger' ? scan.how.part : null,
    probability: scan.how?.by === 'ledger' ? scan.how.probability : null,
  };
}

async function printScan(console: Console, scan: Scan, idLength: IdLength): Promise<void> {
  const from = scan.photo === null ? '' : `${scan.photo}: `;
  if (scan.text === null) {
    console.print(`${from}${yellow('no code could be read')}`);
    console.print('  Take it again: closer, sharper, without glare; or type the ID that stands on the tag.');
  } else {
    const status = scan.status === 'current' ? green(scan.status) : yellow(scan.status);
    const plant = scan.plant === null ? '' : `  ${plantInWords(scan.plant)}`;
    console.print(`${from}${bold(scan.text)}  ${status}${plant}`);
    if (scan.how?.by === 'ledger' && scan.plant !== null) {
      const sure = likelihoodInWords(scan.how.probability);
      console.print(
        `  The code is damaged; of all tags of the ledger this one fits what is left of it: ${sure} sure.`,
      );
    }
    for (const { plant, because } of scan.candidates) {
      console.print(`  Is it ${bold(plant.id)}? (${because})  ${plantInWords(plant)}`);
    }
    const todo = whatToDo(scan, idLength);
    if (todo !== null) console.print(`  ${todo}`);
  }
  if (scan.observation !== null) {
    printRecorded(console, scan.observation);
  }
  if (scan.doubt !== null) console.print(`  ${yellow('doubtful')}: ${scan.doubt}`);
  if (scan.notRecorded !== null) console.print(`  ${yellow('not recorded')}: ${scan.notRecorded}.`);
}

function printRecorded(console: Console, observation: Observation): void {
  const taken = dim(`(to take it back: pottag undo ${observation.number})`);
  console.print(`  ${green('recorded')} ${observation.date}: ${seenInWords(observation)}  ${taken}`);
}

/** Reads a session from stdin. */
async function session(context: Context, { by, date, values }: ToRecord): Promise<ExitCode> {
  const { typedLines } = await import('../typed-lines.js');
  const lines = typedLines('name photos with --photo');
  const { console } = context;
  return context.withLedger(async (ledger) => {
    if (process.stdin.isTTY) console.talk('Scan a tag, then type what you see (brix 18.5). Ctrl-D ends.');
    const scanning = new ScanSession(ledger, { by, today: context.today, date, values });
    let failure: unknown;
    const lost: string[] = [];
    const tell = async (happening: Promise<readonly SessionEvent[]>) => {
      for (const event of await happening) await printEvent(console, event, ledger.idLength);
    };
    for await (const line of lines) {
      if (failure !== undefined) lost.push(line);
      else {
        await tell(scanning.line(line)).catch((error: unknown) => {
          failure = error;
          tellFailure(console, error);
          lost.push(...scanning.unsaved(), line);
        });
      }
    }
    if (failure === undefined) {
      await tell(scanning.end()).catch((error: unknown) => {
        failure = error;
        tellFailure(console, error);
        lost.push(...scanning.unsaved());
      });
    }
    const { scans, problems } = scanning;
    console.document({
      scans: scans.map(scanJson),
      problems: problems.map(({ line, problem }) => ({ line, column: null, problem })),
      ...(failure === undefined ? {} : { not_recorded: lost }),
    });
    if (failure !== undefined) return sessionFailed(console, failure, lost);
    const isIdle = scans.length === 0 && Object.keys(values).length > 0;
    if (isIdle) console.warn('No tag was scanned, so nothing was recorded.');
    return !isIdle && problems.length === 0 && scans.every(({ status }) => status === 'current') ? 0 : 1;
  });
}

/** The ledger gave out in the middle, which is said at once: whoever scans on must not think that it is recorded. */
function tellFailure(console: Console, failure: unknown): void {
  if (!(failure instanceof LedgerError)) return;
  console.warn(`${failure.message} ${failure.hint}`);
  console.warn('What was recorded above is safe. Nothing more is from here on: end the session.');
}

/** What is not in the ledger goes back to the person, to be typed again. */
function sessionFailed(console: Console, failure: unknown, lost: readonly string[]): ExitCode {
  if (!(failure instanceof LedgerError)) throw failure;
  console.warn('These lines were not recorded; keep them, and give them to "pottag scan" later:');
  for (const line of lost) console.warn(`  ${line}`);
  return 3;
}

async function printEvent(console: Console, event: SessionEvent, idLength: IdLength): Promise<void> {
  switch (event.kind) {
    case 'scanned':
      await printScan(
        console,
        { ...event.scan, photo: null, notRecorded: null, doubt: null, how: null },
        idLength,
      );
      return;
    case 'noted':
      console.print(`  ${event.what}`);
      return;
    case 'saved':
      printRecorded(console, event.observation);
      return;
    case 'problem':
      console.print(`  ${yellow(`line ${event.line}`)}: ${event.problem}`);
      return;
  }
}
