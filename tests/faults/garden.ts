/**
 * A small garden in a folder, with something for every command that writes to do, and those commands.
 */
import { cpSync, existsSync, mkdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import sharp from 'sharp';
import { backUp } from '../../src/archive/backup.js';
import { encodeScan, PLAIN_SCAN, scanSheet, TRUE_PRINT } from '../support/flatbed.js';
import { Bench } from '../support/pottag.js';
import { rasterisePdf } from '../support/rasterise.js';

export const LEDGER = 'pottag-ledger';
const FIELD = 'stick';
/** Ten large labels, which a coarse scan resolves. */
const STOCK = ['--stock', 'letter-10-102x51'];
const PLANTS = 10;
const DAY = ['--date', '2026-10-17'];

export interface Writing {
  readonly name: string;
  readonly args: readonly string[];
  readonly input?: string;
  /** Where its ledger is, from the garden's folder. */
  readonly ledger: string;
  /** Files and folders that it makes. */
  readonly makes: readonly string[];
  /** Its exit code when it is not ended, and when all of it was done before. */
  readonly status: number;
  readonly statusAgain: number;
  /** Whether its parts are acknowledged one by one, each a whole: then any of them may be the last. */
  readonly isInParts?: true;
  /** How many further entries what it printed promises; by default all, once it printed anything. */
  readonly promised?: (stdout: string) => number;
}

export interface Garden {
  readonly bench: Bench;
  readonly writings: readonly Writing[];
}

/** Made once, to be copied for every round. */
export async function makeGarden(): Promise<Garden> {
  const bench = new Bench();
  const row = (index: number) => `P${index},Amber Tollhouse,Moth Captain,bench 1 / row 1 / ${index}`;
  const rows = Array.from({ length: PLANTS }, (_, index) => row(index + 1));
  const heading = 'key,seed_parent,pollen_parent,station';
  bench.write('plants.csv', [heading, ...rows].join('\n'));
  bench.write(
    'more.csv',
    `key,note\n${Array.from({ length: 20 }, (_, index) => `N${index},new`).join('\n')}\n`,
  );
  bench.write(
    'amended.csv',
    `key,note\n${Array.from({ length: 8 }, (_, index) => `P${index + 1},better`).join('\n')}\n`,
  );
  const { plants } = bench.json<{ plants: { id: string }[] }>(0, ['enrol', 'plants.csv']);
  const ids = plants.map(({ id }) => id);
  const [a = '', b = '', c = ''] = ids;
  bench.expect(0, ['tags', '--all', ...STOCK, '--out', 'tags.pdf']);
  const seen = bench.expect(0, ['scan', a, '--brix', '18', '--date', '2026-08-30']).stdout;
  bench.expect(0, ['scan', b, '--brix', '12', '--date', '2026-08-30']);
  // Two pots have changed places, one tag is lost.
  const places = [b, a, 'none', ...ids.slice(3)].map((id) => (id === 'none' ? id : `${id}.1`));
  const walk = places.map((text, index) => `bench 1 / row 1 / ${index + 1},${text}`);
  bench.write('walk.csv', ['station,scanned', ...walk].join('\n'));
  bench.write('photo.png', await photo());
  bench.write('sheet.png', await scanOf(bench, 'tags.pdf'));
  await backUp(bench.file(LEDGER), bench.file('copy.tar.gz'));
  bench.expect(0, ['export', '--to', 'csv']);
  bench.expect(0, ['copy', '--for', 'laptop', '--to', FIELD]);
  const inField = [...DAY, '--ledger', FIELD];
  bench.expect(0, ['scan', a, '--photo', 'photo.png', '--photo-keep', '--fruit', 'set', ...inField]);
  bench.expect(0, ['scan', b, '--brix', '14', ...inField]);
  const undone = /pottag undo (\d+)/.exec(seen)?.[1] as string;
  const own = { ledger: LEDGER, makes: [], status: 0, statusAgain: 0 };
  const session = ids.map((id, index) => `${id}\nnote s${index}\n`).join('');
  return {
    bench,
    writings: [
      {
        ...own,
        name: 'enrol, a new ledger',
        args: ['enrol', 'more.csv', '--ledger', 'new'],
        ledger: 'new',
        makes: ['new'],
      },
      { ...own, name: 'enrol', args: ['enrol', 'more.csv', '--out', 'out.csv'], makes: ['out.csv'] },
      { ...own, name: 'enrol --amend', args: ['enrol', 'amended.csv', '--amend'] },
      {
        ...own,
        name: 'tags',
        args: ['tags', '--all', ...STOCK, '--out', 'new.pdf', '--printer', 'laser', '--nudge', '1,0'],
        makes: ['new.pdf'],
      },
      {
        ...own,
        name: 'tags --reprint',
        args: ['tags', a, b, ...STOCK, '--reprint', '--out', 'new.pdf'],
        makes: ['new.pdf'],
      },
      { ...own, name: 'retag', args: ['retag', c, '--why', 'lost'], statusAgain: 2 },
      { ...own, name: 'scan', args: ['scan', a, '--photo', 'photo.png', '--photo-keep', '--fruit', 'ripe'] },
      {
        ...own,
        name: 'scan, a session',
        args: ['scan'],
        input: session,
        isInParts: true,
        promised: (stdout) => [...stdout.matchAll(/recorded .*: note s\d+ .*\n/g)].length,
      },
      {
        ...own,
        name: 'walk --apply',
        args: ['walk', 'walk.csv', '--apply', ...DAY],
        status: 1,
        statusAgain: 1,
      },
      { ...own, name: 'exchange', args: ['exchange', a, b, '--since', '2026-09-01'], statusAgain: 2 },
      { ...own, name: 'undo', args: ['undo', undone], statusAgain: 2 },
      {
        ...own,
        name: 'proof --printer',
        args: ['proof', 'sheet.png', '--printer', 'tray 2'],
        status: 1,
        statusAgain: 1,
      },
      { ...own, name: 'backup', args: ['backup', 'new.tar.gz'], makes: ['new.tar.gz'] },
      { ...own, name: 'backup over another', args: ['backup', 'copy.tar.gz'], makes: ['copy.tar.gz'] },
      { ...own, name: 'export', args: ['export', '--to', 'out'], makes: ['out'], statusAgain: 2 },
      {
        ...own,
        name: 'restore',
        args: ['restore', 'copy.tar.gz', '--ledger', 'again'],
        ledger: 'again',
        makes: ['again'],
        statusAgain: 2,
      },
      {
        ...own,
        name: 'import',
        args: ['import', 'csv', '--ledger', 'again'],
        ledger: 'again',
        makes: ['again'],
        statusAgain: 2,
      },
      {
        ...own,
        name: 'copy',
        args: ['copy', '--for', 'tablet', '--to', 'again'],
        makes: ['again'],
        statusAgain: 2,
      },
      { ...own, name: 'merge', args: ['merge', FIELD] },
      {
        ...own,
        name: 'check --rebuild',
        args: ['check', '--rebuild', 'again'],
        makes: ['again'],
        statusAgain: 2,
      },
    ],
  };
}

/** Nothing to be read in it. */
function photo(): Promise<Buffer> {
  const pixels = Buffer.from(Array.from({ length: 64 * 64 }, (_, index) => (index * 37) % 256));
  return sharp(pixels, { raw: { width: 64, height: 64, channels: 1 } })
    .png()
    .toBuffer();
}

async function scanOf(bench: Bench, pdf: string): Promise<Uint8Array> {
  const [page] = await rasterisePdf(new Uint8Array(readFileSync(bench.file(pdf))), 300);
  if (page === undefined) throw new Error('no page');
  const dpi = 120;
  return encodeScan(
    scanSheet(page, { ...TRUE_PRINT, offsetMm: { x: 1.5, y: -1 } }, { ...PLAIN_SCAN, dpi }, 1),
    'png',
    dpi,
  );
}

/** A copy of the garden to be spoilt. */
export function copyOf({ bench }: Garden, folder: string): string {
  mkdirSync(folder, { recursive: true });
  cpSync(bench.folder, folder, { recursive: true });
  return folder;
}

/** For what a killed command must leave whole if it leaves it at all. */
export function fileIn(folder: string, name: string): Buffer | undefined {
  const file = join(folder, name);
  return existsSync(file) ? readFileSync(file) : undefined;
}
