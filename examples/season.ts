/**
 * The demo: a season at the garden of `examples/`, with the real command, real PDFs and pictures of
 * its tags as a phone would take them. Leaves everything in demo-out/ to look at.
 */
import { spawnSync } from 'node:child_process';
import { mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join, relative } from 'node:path';
import { type Damage, encodePhoto, NO_DAMAGE, type PlacedTag, photograph } from '../tests/support/camera.js';
import { cutOut, type RasterPage, rasterisePdf } from '../tests/support/rasterise.js';

const ROOT = join(import.meta.dirname, '..');
const OUT = join(ROOT, 'demo-out');
const LEDGER = 'demo-out/ledger';
/** Enough for the camera, which takes at most 12 pixels a millimetre here. */
const RASTER_DPI = 400;
/** The best of the seedlings in examples/fruit-notes.txt. */
const KEEPER = 'XDPKN';

interface TagsDocument {
  readonly stock: string;
  readonly tags: readonly {
    readonly id: string;
    readonly text: string;
    readonly page: number;
    readonly box_mm: {
      readonly x: number;
      readonly y: number;
      readonly width: number;
      readonly height: number;
    };
  }[];
}

function heading(text: string): void {
  console.log(`\n── ${text} ${'─'.repeat(Math.max(0, 74 - text.length))}\n`);
}

/** Runs a command as a person would, and shows it with its output. */
function pottag(args: readonly string[], allowed: readonly number[] = [0]): void {
  console.log(`$ pottag ${args.map(quoted).join(' ')}`);
  console.log(call(args, allowed).stdout);
}

/** The same for lines that are typed or scanned, which the command repeats; shows the first of what it says. */
function typed(
  args: readonly string[],
  input: string,
  { from = '', first = Number.POSITIVE_INFINITY, last = 0 } = {},
): void {
  console.log(`$ pottag ${args.map(quoted).join(' ')}${from}`);
  const lines = call(args, [0], input).stdout.trimEnd().split('\n');
  const left = lines.length - first - last;
  console.log(lines.slice(0, first).join('\n'));
  if (left > 0) {
    console.log(`… ${left.toLocaleString('en-GB')} lines more`);
    console.log(lines.slice(lines.length - last).join('\n'));
  }
  console.log();
}

/** The same without a word, for what the demo itself needs to know. */
function ask<T>(args: readonly string[]): T {
  return JSON.parse(call([...args, '--json', '--quiet'], [0]).stdout) as T;
}

function call(args: readonly string[], allowed: readonly number[], input?: string): { stdout: string } {
  const { status, stdout, stderr } = spawnSync(process.execPath, [join(ROOT, 'bin/pottag.js'), ...args], {
    cwd: ROOT,
    encoding: 'utf8',
    input: input ?? '',
    env: { ...process.env, POTTAG_LEDGER: LEDGER, POTTAG_BY: 'Isolde' },
    maxBuffer: 1 << 28,
  });
  if (status === null || !allowed.includes(status)) {
    throw new Error(`pottag ${args.join(' ')} ended with ${status}:\n${stdout}${stderr}`);
  }
  if (stderr !== '' && !args.includes('--quiet')) console.log(stderr.trimEnd());
  return { stdout };
}

function quoted(argument: string): string {
  return /^[\w./:=,-]+$/.test(argument) ? argument : `"${argument}"`;
}

/** Prints tags for `ids` and returns a picture of each, cut out of the rasterised page. */
async function printAndCut(
  name: string,
  args: readonly string[],
): Promise<{ id: string; text: string; face: RasterPage }[]> {
  const out = `demo-out/${name}`;
  const document = ask<TagsDocument>(['tags', ...args, '--out', out]);
  console.log(`$ pottag tags ${args.map(quoted).join(' ')} --out ${out}`);
  console.log(`${document.tags.length} tags on ${document.stock}\n`);
  const pages = await rasterisePdf(readFileSync(join(ROOT, out)), RASTER_DPI);
  return document.tags.map(({ id, text, page, box_mm }) => {
    const raster = pages[page - 1];
    if (raster === undefined) throw new Error(`${out} has no page ${page}`);
    return { id, text, face: cutOut(raster, box_mm) };
  });
}

function lying(face: RasterPage, xMm = 0, yMm = 0, turnDeg = 0): PlacedTag {
  return { face, facePxPerMm: face.pxPerMmX, xMm, yMm, turnDeg };
}

async function takePhoto(
  name: string,
  tags: readonly PlacedTag[],
  damage: Partial<Damage>,
  seed: number,
): Promise<string> {
  const photo = photograph(tags, { ...NO_DAMAGE, ...damage }, seed);
  const file = join(OUT, 'photos', name);
  writeFileSync(file, await encodePhoto(photo, name.endsWith('.png') ? 'png' : 'jpeg'));
  return relative(ROOT, file);
}

function readExample(name: string): string {
  return readFileSync(join(ROOT, 'examples', name), 'utf8');
}

/** The lines that a hand scanner types along a row, each sign and the tag there, and what is seen on some. */
function scannedRow(row: string, seen: Readonly<Record<string, string>>): string {
  return readExample('walk-after.csv')
    .split('\n')
    .filter((line) => line.startsWith(row))
    .map((line) => line.split(','))
    .map(([station, scanned = '']) => `station ${station}\n${scanned}\n${seen[scanned] ?? ''}\n`)
    .join('');
}

/** Fruit that set on bench 4 so many days ago. */
const SET_DAYS_AGO: Readonly<Record<string, number>> = {
  RSWR5: 96,
  '0JPEA': 71,
  R4SEB: 90,
  '8B8VG': 38,
  '9VQFA': 104,
};

function hanging(): string {
  return Object.entries(SET_DAYS_AGO)
    .map(([id, days]) => `${id}\ndate ${daysFromToday(-days)}\n`)
    .join('');
}

/** A local calendar day in ISO 8601. */
function daysFromToday(days: number): string {
  const day = new Date();
  day.setDate(day.getDate() + days);
  return day.toLocaleDateString('sv-SE');
}

async function main(): Promise<void> {
  rmSync(OUT, { recursive: true, force: true });
  mkdirSync(join(OUT, 'photos'), { recursive: true });

  console.log(
    `A season at Ferrow Hollow, an invented garden. Here "pottag" stands for "node bin/pottag.js", and
POTTAG_LEDGER names the ledger, ${LEDGER}.`,
  );

  heading('Winter: what was sown becomes plants with IDs');
  pottag(['enrol', 'examples/parents.csv']);
  pottag(['enrol', 'examples/seedlings-2023.csv', '--out', 'demo-out/seedlings-2023-with-ids.csv']);
  pottag(['enrol', 'examples/seedlings-2024.csv', '--dates', 'dmy']);
  pottag(['enrol', 'examples/cuttings.csv']);
  console.log('A file with mistakes is refused whole, with every mistake in its place:\n');
  pottag(['enrol', 'examples/with-problems.csv'], [2]);

  heading('Spring: tags for all of them');
  const seedlings = await printAndCut('seedlings.pdf', [
    '--untagged',
    '--kind',
    'seedling',
    '--stock',
    'a4-24-64x34',
  ]);
  await printAndCut('parents.pdf', [
    '--untagged',
    '--kind',
    'parent',
    '--stock',
    'a4-14-99x38',
    '--symbol',
    'both',
  ]);
  const stakes = await printAndCut('cuttings.pdf', [
    '--untagged',
    '--kind',
    'cutting',
    '--stock',
    'stake-a4-16x127',
  ]);

  heading('Spring: signs for the stations, and a first walk along two benches');
  pottag(['signs', '--station', 'bench 1 /', '--stock', 'a4-24-64x34', '--out', 'demo-out/signs.pdf']);
  pottag(['walk', 'examples/walk-spring.csv', '--date', '2026-04-20', '--apply']);

  heading('Late summer: the first fruit, seen on the right plant');
  const [first, second, third, fourth, fifth] = seedlings;
  const [stake] = stakes;
  if (!first || !second || !third || !fourth || !fifth || !stake)
    throw new Error('the examples have too few plants');
  const onPot = { pxPerMm: 10, wrapDeg: 70, tiltDeg: 18, rotationDeg: 7, shade: 0.35, noise: 0.02 };
  const bent = await takePhoto('bent-round-a-pot.jpg', [lying(first.face)], onPot, 3);
  const dim = await takePhoto(
    'faded-at-dusk.jpg',
    [lying(second.face)],
    { pxPerMm: 9, inkLeft: 0.45, light: 0.4, noise: 0.03, tiltDeg: 12, rotationDeg: -20 },
    5,
  );
  const dirty = await takePhoto(
    'dirty-stake.jpg',
    [lying(stake.face)],
    { pxPerMm: 11, splashShare: 0.02, tiltDeg: 10, rotationDeg: 15, ground: 'soil' },
    11,
  );
  const several = await takePhoto(
    'three-on-the-bench.jpg',
    [lying(third.face, 0, 0, -6), lying(fourth.face, 72, 6, 8), lying(fifth.face, 20, 48, 170)],
    { pxPerMm: 8, tiltDeg: 14, shade: 0.25 },
    7,
  );
  const ripe = [
    '--date',
    '2026-09-14',
    '--fruit',
    'ripe',
    '--wood',
    'new',
    '--pollination',
    'none',
    '--inside',
    'pulp',
  ];
  pottag([
    'scan',
    '--photo',
    bent,
    ...ripe,
    '--brix',
    '18.5',
    '--liking',
    '8',
    '--flavour',
    'honey, raspberry',
    '--photo-keep',
  ]);
  pottag(['scan', '--photo', dim, '--date', '2026-09-14', '--fruit', 'dropped', '--wood', 'new']);
  pottag(['scan', '--photo', dirty, '--date', '2026-09-15', '--height', '62']);
  pottag(['scan', '--photo', several]);

  heading('At the bench with a hand scanner, which types a line a scan');
  typed(
    ['scan', '--date', '2026-09-20'],
    `${third.text}\nfruit ripe\nbrix 21,5\nweight 48\nliking 9\nnote skin splits in rain\n${fourth.text}\nfruit dropped\n`,
  );

  heading('A tag that a smear has taken two characters of');
  const smeared = [...first.id].with(1, '?').with(3, '?').join('');
  pottag(['scan', smeared], [1]);

  heading('The morning after the storm: fruit in a hurry, then the walk');
  pottag(['scan', 'G0V38.1', '--date', '2026-09-25', '--fruit', 'ripe', '--inside', 'pulp', '--brix', '19']);
  const storm = ['walk', 'examples/walk-storm.csv', '--date', '2026-09-25'];
  pottag(storm, [1]);

  heading('Isolde looks at the pots in question, and says yes to three');
  console.log(`The pot at bench 2 / row 2 / 11 measures 69 cm: not the likelier plant, but WT701.\n`);
  pottag(
    [
      ...storm,
      '--apply',
      ...['--accept', 'bench 1 / row 3 / 6=1MS2E'],
      ...['--accept', 'bench 1 / row 4 / 11=FD7GN'],
      ...['--accept', 'bench 2 / row 2 / 11=WT701'],
    ],
    [1],
  );

  heading('Zoé hangs two tags back, and what was seen by them goes where it belongs');
  console.log(`The child found them on the evening before. By G0V38's tag a fruit was noted since.\n`);
  pottag(['exchange', 'G0V38', '2VXQK', '--since', '2026-09-24', '--hung-back', '2026-09-26']);
  pottag(['show', '2VXQK']);

  heading('New tags are hung, three plants written off, and the benches walked again');
  pottag(['tags', '--queued', '--stock', 'a4-24-64x34', '--first-cell', 'next', '--out', 'demo-out/new.pdf']);
  pottag(['scan', '4HV97', '6VHTP', 'CHMF6', '--alive', 'no', '--date', '2026-10-01']);
  pottag(['walk', 'examples/walk-after.csv', '--date', '2026-10-02'], [1]);
  console.log('Of the two pots left nothing tells, until they fruit. Does anything else look exchanged?\n');
  pottag(['doubts']);
  pottag(['undo']);

  heading('October: it rains, and the notebook of three autumns is typed in');
  typed(['scan', '--wood', 'new', '--pollination', 'none'], readExample('fruit-notes.txt'), {
    from: ' < examples/fruit-notes.txt',
    first: 8,
    last: 4,
  });

  heading('The two pots left bear fruit again, and that tells');
  console.log(
    'By their tags they bear what they bore before: the pots moved. She accepts each where it stands.\n',
  );
  typed(
    [
      ...['walk', '--date', '2026-10-06'],
      ...['--accept', 'bench 1 / row 4 / 3=9ZV7A', '--accept', 'bench 1 / row 4 / 4=M0YNZ'],
    ],
    scannedRow('bench 1 / row 4 /', { '9ZV7A.1': 'inside pulp', 'M0YNZ.1': 'inside stamens' }),
    { first: 10, last: 6 },
  );

  heading('Which of them feeds a garden without wasps?');
  pottag(['show', KEEPER]);

  heading('One is named, and its cuttings get tags that say what they are');
  pottag(['scan', KEEPER, '--keep', 'yes', '--name', 'Ferrow Lantern', '--date', '2026-10-20']);
  pottag(['keepers', '--top', '8']);
  pottag(['enrol', 'examples/keeper-cuttings.csv']);
  await printAndCut('keeper.pdf', ['--untagged', '--kind', 'cutting', '--stock', 'a4-24-64x34']);

  heading('Which cross is worth more seed?');
  pottag(['crosses']);

  heading('A frost is forecast for tomorrow night: what to pick, bench by bench');
  console.log('A frost is always still to come, so these days are counted from today.\n');
  typed(['scan', '--fruit', 'set', '--wood', 'new'], hanging(), { first: 6 });
  pottag(['picks', '--frost', daysFromToday(1)]);

  heading('A page for the kitchen wall, a copy for the drawer, tables for others');
  pottag(['report', '--out', 'demo-out/report']);
  pottag(['backup', 'demo-out/ledger.tar.gz']);
  pottag(['export', '--to', 'demo-out/tables']);
  pottag(['check']);

  heading('To look at, and to try next');
  console.log(`demo-out/seedlings.pdf, parents.pdf, cuttings.pdf   the sheets
demo-out/signs.pdf, new.pdf, keeper.pdf              signs of the stations, the new tags, the cuttings' tags
demo-out/photos/                                     what the phone saw
demo-out/seedlings-2023-with-ids.csv                 the list with its IDs
demo-out/report/index.html                           crosses, keepers, benches and ripening, as a page
demo-out/ledger.tar.gz                               the whole ledger in one file: pottag restore puts it back
demo-out/tables/                                     the whole ledger as CSV, each column described

node bin/pottag.js show ${third.id} --ledger ${LEDGER}
node bin/pottag.js scan ${fifth.text} --fruit ripe --brix 19 --liking 7 --ledger ${LEDGER}
node bin/pottag.js tags ${first.id} --stock roll-203-57x32 --out demo-out/replacement.pdf --ledger ${LEDGER}
node bin/pottag.js proof demo-out/parents.pdf --ledger ${LEDGER}
node bin/pottag.js stocks loop-a4-200x25 --out demo-out/overlay.pdf
node bin/pottag.js scan --help`);
}

await main();
