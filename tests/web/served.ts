/**
 * A server of the phone page on loopback, over a real ledger in a fresh folder, and plain HTTP requests to
 * it in which every header can be chosen.
 */
import { request as httpRequest, type IncomingHttpHeaders } from 'node:http';
import { onTestFinished } from 'vitest';
import type { PlantId } from '../../src/ids/plant-id.js';
import type { Ledger } from '../../src/ledger/ledger.js';
import { openLedger } from '../../src/ledger/sqlite-ledger.js';
import { tagsOf } from '../../src/scan/reading/tags-since.js';
import type { PhotoDesk } from '../../src/web/api.js';
import { type Asset, builtReader } from '../../src/web/assets.js';
import type { Certificate } from '../../src/web/certificate.js';
import { PairingDesk } from '../../src/web/pairing.js';
import { ReaderThread } from '../../src/web/reader-thread.js';
import { type RunningServer, startServer } from '../../src/web/server.js';
import { ledgerWith, seedling } from '../support/ledger.js';

export const TODAY = '2026-09-14';

export interface Served {
  readonly server: RunningServer;
  readonly ledger: Ledger;
  readonly ids: readonly PlantId[];
  readonly desk: PairingDesk;
  /** What the server told the person at the computer. */
  readonly troubles: unknown[];
  /** Files of walks that came in. */
  readonly walks: string[];
  /** The clock of pairing codes. */
  readonly clock: { nowMs: number };
}

export interface ServeOptions {
  readonly assets?: ReadonlyMap<string, Asset>;
  readonly today?: () => string;
  readonly names?: readonly string[];
  readonly port?: number;
  readonly certificate?: Certificate | null;
  /** Instead of the thread that reads them. */
  readonly photos?: PhotoDesk;
}

export async function serve(
  plants = [seedling('a'), seedling('b')],
  options: ServeOptions = {},
): Promise<Served> {
  return serveLedger(await ledgerWith(plants), options);
}

export async function serveLedger(
  { ledger, ids }: Pick<Served, 'ledger' | 'ids'>,
  { assets = new Map(), today = () => TODAY, names = [], port = 0, certificate = null, photos }: ServeOptions,
): Promise<Served> {
  const clock = { nowMs: Date.parse('2026-09-14T12:00:00.000Z') };
  const now = () => new Date(clock.nowMs);
  const reading = openLedger(ledger.folder, now);
  const desk = new PairingDesk(now);
  const thread = new ReaderThread(builtReader(), tagsOf(reading), reading.idLength);
  const troubles: unknown[] = [];
  const walks: string[] = [];
  const server = await startServer({
    listen: ['127.0.0.1'],
    names: ['127.0.0.1', 'localhost', ...names],
    aliases: [],
    port,
    certificate,
    assets,
    desk,
    reading,
    writing: ledger,
    photos: photos ?? thread,
    now,
    today,
    onPaired: () => {},
    onWalk: (_by, file) => walks.push(file),
    onTrouble: (error) => troubles.push(error),
  });
  onTestFinished(async () => {
    await server.close();
    await thread.close();
    reading.close();
  });
  return { server, ledger, ids, desk, troubles, walks, clock };
}

export interface Answer {
  readonly status: number;
  readonly headers: IncomingHttpHeaders;
  readonly bytes: Buffer;
  readonly text: string;
}

export interface Asked {
  readonly method?: string;
  /** Added to Host and, on a POST, Origin; null leaves one out. */
  readonly headers?: Readonly<Record<string, string | null>>;
  readonly body?: string | Uint8Array;
}

export function ask({ server }: Pick<Served, 'server'>, path: string, asked: Asked = {}): Promise<Answer> {
  const own = `127.0.0.1:${server.port}`;
  const { method = asked.body === undefined ? 'GET' : 'POST', body } = asked;
  const usual = { Host: own, ...(method === 'GET' ? {} : { Origin: `http://${own}` }) };
  const headers = Object.fromEntries(
    Object.entries({ ...usual, ...asked.headers }).filter(
      (entry): entry is [string, string] => entry[1] !== null,
    ),
  );
  return new Promise((resolve, reject) => {
    const request = httpRequest(
      { host: '127.0.0.1', port: server.port, path, method, headers, setHost: false, agent: false },
      (response) => {
        const chunks: Buffer[] = [];
        response.on('data', (chunk: Buffer) => chunks.push(chunk));
        response.on('end', () => {
          const bytes = Buffer.concat(chunks);
          const { statusCode: status = 0 } = response;
          resolve({ status, headers: response.headers, bytes, text: bytes.toString() });
        });
        response.on('error', reject);
      },
    );
    request.on('error', reject);
    // A server that has refused does not read on: what is still being sent then breaks off.
    request.on('socket', (socket) => socket.on('error', () => {}));
    request.end(body);
  });
}

/** Pairs a device and returns the cookie that it shows from then on. */
export async function pair(served: Served, name = 'Wren'): Promise<string> {
  const body = JSON.stringify({ code: served.desk.renew(), name });
  const { status, headers, text } = await ask(served, '/api/pair', { body });
  const cookie = headers['set-cookie']?.[0]?.split(';')[0];
  if (status !== 200 || cookie === undefined) throw new Error(`not paired: ${status} ${text}`);
  return cookie;
}

export const codeOf = ({ text }: Answer): string =>
  (JSON.parse(text) as { error: { code: string } }).error.code;
