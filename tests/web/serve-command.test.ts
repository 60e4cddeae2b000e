/** `pottag serve` as a process: what it prints, how it ends, what survives it. */
import type { ChildProcess } from 'node:child_process';
import { X509Certificate } from 'node:crypto';
import { mkdirSync, readdirSync, readFileSync, statSync, writeFileSync } from 'node:fs';
import { request as httpsRequest } from 'node:https';
import { createServer } from 'node:net';
import { v7 as timeOrderedUuid } from 'uuid';
import { describe, expect, it, onTestFinished } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { printTags } from '../bench/weather-tags.js';
import { encodePhoto, lone, NO_DAMAGE, photograph } from '../support/camera.js';
import { NOON } from '../support/ledger.js';
import { type Bench, makeBench } from '../support/pottag.js';
import { ask } from './served.js';

interface Started {
  readonly child: ChildProcess;
  readonly urls: readonly string[];
  readonly port: number;
  readonly code: string;
  readonly fingerprint: string | null;
  /** All that was printed, so far. */
  printed(): string;
  ended(): Promise<{ status: number | null; signal: string | null }>;
}

function garden(): Bench {
  const bench = makeBench();
  bench.write('plants.csv', 'key\na\nb\n');
  bench.expect(0, ['enrol', 'plants.csv']);
  return bench;
}

/** Starts `serve` and waits until it says where it is. */
async function start(bench: Bench, args: readonly string[] = []): Promise<Started> {
  const child = bench.start(['serve', '--host', '127.0.0.1', '--port', '0', '--json', ...args]);
  onTestFinished(() => void child.kill('SIGKILL'));
  let text = '';
  const ended = new Promise<{ status: number | null; signal: string | null }>((resolve) =>
    child.once('close', (status, signal) => resolve({ status, signal })),
  );
  child.stderr?.on('data', (chunk) => {
    text += chunk;
  });
  await new Promise<void>((resolve, reject) => {
    child.stdout?.on('data', (chunk) => {
      text += chunk;
      if (/\n}\n/.test(text)) resolve();
    });
    void ended.then(() => reject(new Error(text)));
  });
  const document = JSON.parse(text) as Pick<Started, 'urls' | 'port' | 'code' | 'fingerprint'>;
  return { child, ...document, printed: () => text, ended: () => ended };
}

async function pairWith({ port, code }: Pick<Started, 'port' | 'code'>, name = 'Wren'): Promise<string> {
  const answer = await ask({ server: { port } as never }, '/api/pair', {
    body: JSON.stringify({ code, name }),
  });
  const cookie = answer.headers['set-cookie']?.[0]?.split(';')[0];
  if (cookie === undefined) throw new Error(answer.text);
  return cookie;
}

const observation = (note: string) =>
  JSON.stringify({
    entry: timeOrderedUuid(),
    id: 'PXSV9',
    issue: null,
    date: '2026-09-14',
    values: { note },
    photo: null,
  });

describe('serve', () => {
  for (const signal of ['SIGINT', 'SIGTERM'] as const) {
    it(`on ${signal} ends with 0`, async () => {
      const { child, ended, printed } = await start(garden());
      child.kill(signal);
      expect(await ended(), printed()).toEqual({ status: 0, signal: null });
    });
  }

  it('ends with 0 also after a photo was read, and while one is', async () => {
    const bench = garden();
    const [tag] = await printTags('a4-65-38x21', 1);
    if (tag === undefined) throw new Error('one tag');
    const damage = { ...NO_DAMAGE, pxPerMm: 20, mudShare: 0.5, dirtBox: tag.symbolMm };
    const body = await encodePhoto(photograph(lone(tag.face, tag.facePxPerMm), damage, 3), 'jpeg');
    const started = await start(bench);
    const headers = { Cookie: await pairWith(started) };
    const server = { server: started as never };
    const photo = () => ask(server, '/api/scan', { headers, body });
    expect((await photo()).status).toBe(200);
    const cut = [photo(), photo(), photo()].map((answer) => answer.catch(() => undefined));
    expect((await ask(server, '/api/device', { headers })).status).toBe(200);
    started.child.kill('SIGTERM');
    expect(await started.ended(), started.printed()).toEqual({ status: 0, signal: null });
    // Whatever it could still answer was no fault of its own.
    for (const answer of cut) expect([200, 503, undefined]).toContain((await answer)?.status);
    expect(readdirSync(bench.file('pottag-ledger')).filter((file) => /fault/.test(file))).toEqual([]);
  });

  it('prints the address, the code and a QR code of both', async () => {
    const bench = garden();
    const child = bench.start(['serve', '--host', '127.0.0.1', '--port', '0']);
    let text = '';
    child.stdout?.on('data', (chunk) => {
      text += chunk;
    });
    const until = async (sign: RegExp) => {
      while (!sign.test(text)) await new Promise((resolve) => setTimeout(resolve, 20));
    };
    await until(/Ctrl-C/);
    expect(text).toMatch(/http:\/\/127\.0\.0\.1:\d+\/\n/);
    expect(text).toMatch(/with [0-9A-Z]{4}-[0-9A-Z]{4} within 10 minutes/);
    expect(text).toMatch(/█{20}/);
    // Enter: another code.
    child.stdin?.write('\n');
    await until(/Ctrl-C[\s\S]*Ctrl-C/);
    const codes = [...text.matchAll(/with (\S{9}) within/g)].map(([, code]) => code);
    expect(new Set(codes).size).toBe(2);
    child.kill('SIGTERM');
    await new Promise((resolve) => child.once('close', resolve));
  });

  it('with --json prints each further code that is asked for as a line', async () => {
    const { child, code, port, printed } = await start(garden());
    child.stdin?.write('\n\n');
    const lines = () => printed().match(/^\{"code".*\}$/gm) ?? [];
    while (lines().length < 2) await new Promise((resolve) => setTimeout(resolve, 20));
    const further = lines().map((line) => JSON.parse(line) as { code: string; code_minutes: number });
    expect(further.map(({ code_minutes }) => code_minutes)).toEqual([10, 10]);
    expect(new Set([code, ...further.map((one) => one.code)]).size).toBe(3);
    expect(await pairWith({ port, code: further[1]?.code ?? '' })).toMatch(/pottag/);
  });

  it('when the port is in use, ends with 2 and says which other to take', async () => {
    const bench = garden();
    const other = createServer();
    await new Promise<void>((resolve) => other.listen(0, '127.0.0.1', resolve));
    onTestFinished(() => void other.close());
    const address = other.address();
    const port = typeof address === 'object' ? String(address?.port) : '';
    const { stderr, stdout } = bench.expect(2, ['serve', '--host', '127.0.0.1', '--port', port]);
    expect(stdout).toBe('');
    expect(stderr).toMatch(new RegExp(`${port}.*in use[\\s\\S]*--port`));
  });

  it('when the address is not one of this machine, ends with 2', () => {
    // 192.0.2.0/24 is set aside for documentation (RFC 5737).
    expect(garden().expect(2, ['serve', '--host', '192.0.2.7']).stderr).toMatch(
      /192\.0\.2\.7.*address[\s\S]*--host/,
    );
    expect(garden().expect(2, ['serve', '--port', '65536']).stderr).toMatch(/0 to 65,535/);
  });

  it('without a ledger ends with 3', () => {
    const bench = makeBench();
    for (const args of [['serve'], ['serve', '--devices'], ['serve', '--forget', 'Wren']]) {
      expect(bench.expect(3, args).stderr).toMatch(/no ledger/);
    }
  });

  it('lists and forgets devices, also while another one serves', async () => {
    const bench = garden();
    expect(bench.expect(0, ['serve', '--devices']).stdout).toMatch(/No device/);
    const started = await start(bench);
    const cookie = await pairWith(started, 'Wren');
    const status = async () =>
      (await ask({ server: started as never }, '/api/device', { headers: { Cookie: cookie } })).status;
    expect(await status()).toBe(200);
    expect(bench.json<{ devices: object[] }>(0, ['serve', '--devices']).devices).toMatchObject([
      { name: 'Wren' },
    ]);
    expect(bench.expect(2, ['serve', '--forget', 'Tansy']).stderr).toMatch(/Tansy[\s\S]*Wren/);
    expect(bench.json<{ forgotten: number }>(0, ['serve', '--forget', 'Wren']).forgotten).toBe(1);
    expect(await status()).toBe(401);
  });

  it('serves the page, whole and by its parts, and no other file', async () => {
    const started = await start(garden());
    const get = (path: string) => ask({ server: started as never }, path);
    const page = await get('/');
    expect(page.headers['content-type']).toMatch(/^text\/html/);
    expect(page.headers['cache-control']).toBe('no-cache');
    const policy = page.headers['content-security-policy'];
    expect(policy).toMatch(/^default-src 'none'; script-src 'self'; style-src 'self';/);
    expect(policy).not.toMatch(/unsafe|\*|http/);
    const parts = [...page.text.matchAll(/(?:src|href)="(\/[^"]+)"/g)].map(([, path]) => path ?? '');
    expect(parts.length).toBeGreaterThanOrEqual(3);
    for (const path of parts) {
      const part = await get(path);
      expect(part.status, path).toBe(200);
      if (path.includes('-')) expect(part.headers['cache-control'], path).toMatch(/immutable/);
      const again = await ask({ server: started as never }, path, {
        headers: { 'If-None-Match': part.headers.etag ?? '' },
      });
      expect([again.status, again.bytes.length], path).toEqual([304, 0]);
    }
    for (const path of [
      '/index.html',
      '/main.js',
      '/../package.json',
      '/%2e%2e/main.js',
      '/web/',
      '/main.tsx',
    ]) {
      expect((await get(path)).status, path).toBe(404);
    }
  });
});

describe('when the server is killed at any moment', () => {
  it('everything that it said is recorded is in the ledger, once, also when it is sent again', async () => {
    const bench = garden();
    const acknowledged = new Set<string>();
    const unanswered: { note: string; body: string }[] = [];
    let cookie = '';
    for (let round = 0; round < 4; round++) {
      const started = await start(bench);
      const server = { server: started as never };
      cookie ||= await pairWith(started);
      const headers = { Cookie: cookie };
      // What had no answer is sent once more, as the phone does.
      for (const { note, body } of unanswered.splice(0)) {
        expect((await ask(server, '/api/observations', { headers, body })).status).toBe(200);
        acknowledged.add(note);
      }
      setTimeout(() => started.child.kill('SIGKILL'), 60 + 40 * round);
      for (let index = 0; ; index++) {
        const note = `${round} ${index}`;
        const body = observation(note);
        const answer = await ask(server, '/api/observations', { headers, body }).catch(() => undefined);
        if (answer?.status !== 200) {
          unanswered.push({ note, body });
          break;
        }
        acknowledged.add(note);
      }
      await started.ended();
    }
    expect(acknowledged.size).toBeGreaterThan(10);
    const folder = bench.file('pottag-ledger');
    const ledger = openLedger(folder, NOON);
    const notes = (await ledger.observations('PXSV9' as never)).map(({ values }) => String(values.note));
    ledger.close();
    expect(new Set(notes).size).toBe(notes.length);
    for (const note of acknowledged) expect(notes).toContain(note);
    expect(checkLedger(folder, () => {}).findings).toEqual([]);
  });
});

describe('serve --https', () => {
  const get = (port: number, ca: string) =>
    new Promise<number | undefined>((resolve, reject) => {
      const request = httpsRequest(
        { host: '127.0.0.1', port, path: '/', ca, headers: { Host: `127.0.0.1:${port}` } },
        (response) => {
          response.resume();
          resolve(response.statusCode);
        },
      );
      request.on('error', reject);
      request.end();
    });

  it('serves with a certificate of its own that holds the address, kept for its owner alone', async () => {
    const bench = garden();
    const started = await start(bench, ['--https']);
    const file = bench.file('pottag-ledger/https.pem');
    const pem = readFileSync(file, 'utf8');
    expect(statSync(file).mode & 0o777).toBe(0o600);
    expect(started.urls[0]).toMatch(/^https:\/\/127\.0\.0\.1:/);
    const certificate = new X509Certificate(pem);
    expect(certificate.fingerprint256).toBe(started.fingerprint);
    expect(certificate.checkIP('127.0.0.1')).toBe('127.0.0.1');
    expect(certificate.checkHost('localhost')).toBe('localhost');
    expect(await get(started.port, pem)).toBe(200);
    await expect(get(started.port, '')).rejects.toThrow(/self-signed/);
    started.child.kill('SIGTERM');
    await started.ended();
    // The next time it is the same one, so that no phone is warned again.
    expect((await start(bench, ['--https'])).fingerprint).toBe(started.fingerprint);
  });

  it('makes another one where the kept one is damaged', async () => {
    const bench = garden();
    mkdirSync(bench.file('pottag-ledger'), { recursive: true });
    writeFileSync(bench.file('pottag-ledger/https.pem'), 'not a certificate');
    const started = await start(bench, ['--https']);
    expect(await get(started.port, readFileSync(bench.file('pottag-ledger/https.pem'), 'utf8'))).toBe(200);
  });
});
