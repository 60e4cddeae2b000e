/** What Pottag is made of: pinned, explained, under licences that fit; and that it asks nobody for anything. */
import { spawnSync } from 'node:child_process';
import { existsSync, readFileSync, rmSync } from 'node:fs';
import { createServer } from 'node:http';
import { join } from 'node:path';
import { pathToFileURL } from 'node:url';
import { afterAll, beforeAll, describe, expect, it, onTestFinished } from 'vitest';
import { type Garden, makeGarden } from './faults/garden.js';
import { inCopy, run } from './faults/rounds.js';

const ROOT = join(import.meta.dirname, '..');
const json = <T>(file: string) => JSON.parse(readFileSync(join(ROOT, file), 'utf8')) as T;

interface Manifest {
  readonly dependencies: Record<string, string>;
  readonly devDependencies: Record<string, string>;
}

interface Locked {
  readonly version?: string;
  readonly integrity?: string;
  readonly dev?: boolean;
  readonly optional?: boolean;
}

const { dependencies, devDependencies } = json<Manifest>('package.json');
const direct = Object.entries({ ...dependencies, ...devDependencies });
/** Every package that is installed to run Pottag, by its place in node_modules. */
const production = Object.entries(
  json<{ packages: Record<string, Locked> }>('package-lock.json').packages,
).filter(([place, { dev }]) => place !== '' && dev !== true);

describe('packages', () => {
  it.each(direct)('%s is pinned to one version', (_name, version) =>
    expect(version).toMatch(/^\d+\.\d+\.\d+(?:-[\w.]+)?$/),
  );

  it('are each named in DEVELOPERS.md, with a reason', () => {
    const table = readFileSync(join(ROOT, 'DEVELOPERS.md'), 'utf8').split('## Why each dependency')[1] ?? '';
    const named = [...table.matchAll(/^\| ([^|]+) \| ([^|]+) \|$/gm)].flatMap(([, names = '', why = '']) =>
      why.trim() === ''
        ? []
        : names
            .replace('(dev)', '')
            .split(', ')
            .map((name) => name.trim().split(' ')[0]),
    );
    expect(direct.map(([name]) => name).filter((name) => !named.includes(name))).toEqual([]);
  });

  it('are locked by the hash of their content', () => {
    expect(production.length).toBeGreaterThan(50);
    expect(
      production.filter(([, { integrity }]) => !/^sha512-/.test(integrity ?? '')).map(([place]) => place),
    ).toEqual([]);
  });

  /**
   * Licences (SPDX) under which a program of the MIT licence may be given away together with them. The LGPL's
   * libraries are packages of their own, used unchanged, that anybody can replace.
   */
  const FITTING = new Set([
    '0BSD',
    'Apache-2.0',
    'BSD-2-Clause',
    'BSD-3-Clause',
    'BlueOak-1.0.0',
    'CC0-1.0',
    'ISC',
    'MIT',
    'OFL-1.1',
    'Unlicense',
    'Zlib',
  ]);
  const OWN_PACKAGES_OF_LGPL = /^(?:@img\/sharp-|@undecaf\/zbar-wasm$)/;
  /** Bitstream Vera's and Arev's own terms, read in its LICENSE: use, change and sale with other software are free. */
  const READ_BY_US = ['dejavu-fonts-ttf'];

  it('have licences that fit, whichever are installed here', () => {
    const strange: string[] = [];
    for (const [place, { optional }] of production) {
      const file = join(place, 'package.json');
      if (!existsSync(join(ROOT, file))) {
        if (optional !== true) strange.push(`${place} is not installed`);
        continue; // Of another platform.
      }
      const { name = '', license = 'none' } = json<{ name?: string; license?: string }>(file);
      const parts = license.replaceAll(/[()]/g, '').split(/ AND | OR /);
      const fits = parts.every(
        (part) => FITTING.has(part) || (/^LGPL-/.test(part) && OWN_PACKAGES_OF_LGPL.test(name)),
      );
      if (!fits && !READ_BY_US.includes(name)) strange.push(`${name}: ${license}`);
    }
    expect(strange).toEqual([]);
  });
});

describe('no network is used', () => {
  const NO_NETWORK = pathToFileURL(join(import.meta.dirname, 'faults/no-network.mjs')).href;
  const env = { NODE_OPTIONS: `--import ${NO_NETWORK}` };

  let garden: Garden;
  beforeAll(async () => {
    garden = await makeGarden();
  });
  afterAll(() => rmSync(garden.bench.folder, { recursive: true, force: true }));

  it('by any command', async () => {
    const reading = [
      ['show', 'PXSV9'],
      ['stocks'],
      ['crosses'],
      ['keepers'],
      ['doubts'],
      ['check'],
      ['picks', '--frost', '2026-11-30'],
      ['report', '--out', 'page'],
    ];
    await inCopy(garden, async (folder) => {
      const calls = [...garden.writings, ...reading.map((args) => ({ args }))];
      for (const call of calls) {
        const { status, stderr } = await run(folder, call, undefined, { env });
        expect(stderr, call.args.join(' ')).not.toMatch(/NETWORK/);
        expect([0, 1, 2], `${call.args.join(' ')}: ${stderr}`).toContain(status);
      }
    });
  });

  it('by serve, which listens only', async () => {
    await inCopy(garden, async (folder) => {
      const serve = { args: ['serve', '--host', '127.0.0.1', '--port', '0', '--json'] };
      const { stdout, stderr } = await run(folder, serve, { afterMs: 3000 }, { env });
      expect(stdout).toMatch(/http:\/\/127\.0\.0\.1:\d+/);
      expect(stderr).not.toMatch(/NETWORK/);
    });
  });

  it('and this would show it', async () => {
    const server = createServer((_request, response) => response.end('reached'));
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    onTestFinished(() => void server.close());
    const { port } = server.address() as { port: number };
    const script = `require('node:http').get('http://127.0.0.1:${port}/')`;
    const { stderr, status } = spawnSync(process.execPath, ['-e', script], {
      env: { ...process.env, ...env },
      encoding: 'utf8',
    });
    expect(status).not.toBe(0);
    expect(stderr).toMatch(/NETWORK: connect/);
  });
});
