/**
 * Which folder of src/ may call which: the map of DEVELOPERS.md, held to.
 */
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { describe, expect, it } from 'vitest';

const SRC = join(import.meta.dirname, '../src');

/** Folder → folders it may import from. Files directly in src/ (errors, files, wording) are for all. */
const MAY_CALL: Readonly<Record<string, readonly string[]>> = {
  ids: [],
  codes: ['ids'],
  ledger: ['ids'],
  observe: ['ledger', 'ids'],
  scan: ['observe', 'ledger', 'codes', 'ids'],
  plants: ['scan', 'ledger', 'ids'],
  sheets: ['plants', 'scan', 'ledger', 'codes', 'ids'],
  walk: ['plants', 'scan', 'observe', 'ledger', 'codes', 'ids'],
  breeding: ['plants', 'scan', 'observe', 'ledger', 'ids'],
  report: ['breeding', 'walk', 'plants', 'observe', 'ledger', 'ids'],
  archive: ['observe', 'ledger', 'ids'],
  web: ['breeding', 'walk', 'plants', 'scan', 'observe', 'ledger', 'codes', 'ids'],
  cli: [
    'web',
    'report',
    'archive',
    'breeding',
    'walk',
    'sheets',
    'plants',
    'scan',
    'observe',
    'ledger',
    'codes',
    'ids',
  ],
};

/** Package → the only folder that may import it, or two that need it on different machines. */
const AT_HOME: Readonly<Record<string, string | readonly string[]>> = {
  libsql: 'ledger',
  pg: 'ledger',
  'bwip-js': 'codes',
  'pdf-lib': 'sheets',
  '@pdf-lib/fontkit': 'sheets',
  '@hyzyla/pdfium': 'sheets',
  'zxing-wasm': ['scan', 'web'],
  '@undecaf/zbar-wasm': 'scan',
  'csv-parse': ['plants', 'archive'],
  cephes: 'breeding',
  '@observablehq/plot': 'report',
  linkedom: 'report',
  tar: 'archive',
  'csv-stringify': 'archive',
  hono: 'web',
  '@hono/node-server': 'web',
  preact: 'web',
  selfsigned: 'web',
  commander: 'cli',
  picocolors: 'cli',
};

interface Import {
  readonly from: string;
  readonly what: string;
}

function importsOf(folder: string): Import[] {
  return readdirSync(join(SRC, folder), { recursive: true, encoding: 'utf8' })
    .filter((name) => /\.tsx?$/.test(name))
    .flatMap((name) => {
      const file = join(SRC, folder, name);
      const found = readFileSync(file, 'utf8').matchAll(/\b(?:from|import)\s*\(?\s*'([^']+)'/g);
      return [...found].map(([, what = '']) => ({
        from: `${folder}/${name}`,
        what: what.startsWith('.') ? relative(SRC, join(dirname(file), what)) : what,
      }));
    });
}

describe.each(Object.keys(MAY_CALL))('src/%s', (folder) => {
  const imports = importsOf(folder);

  it('calls only the folders below it', () => {
    expect(imports.length).toBeGreaterThan(0);
    const allowed = [folder, ...(MAY_CALL[folder] ?? [])];
    const wrong = imports.filter(({ what }) => {
      const other = what.split('/')[0] ?? '';
      return other in MAY_CALL && !allowed.includes(other);
    });
    expect(wrong).toEqual([]);
  });

  it('leaves each package to its own folder', () => {
    const wrong = imports.filter(({ what }) =>
      Object.entries(AT_HOME).some(
        ([name, homes]) => ![homes].flat().includes(folder) && (what === name || what.startsWith(`${name}/`)),
      ),
    );
    expect(wrong).toEqual([]);
  });
});

it('every folder of src/ is on the map', () => {
  const folders = readdirSync(SRC, { withFileTypes: true }).filter((entry) => entry.isDirectory());
  expect(folders.map(({ name }) => name).sort()).toEqual(Object.keys(MAY_CALL).sort());
});
