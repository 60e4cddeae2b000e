/** Whatever a paired phone sends: an answer of the contract, no fault of the server, and nothing strange in the ledger. */
import { request } from 'node:http';
import fc from 'fast-check';
import sharp from 'sharp';
import { v7 as timeOrderedUuid } from 'uuid';
import { expect, it } from 'vitest';
import { checkLedger } from '../../src/ledger/check.js';
import { ask, pair, type Served, serve } from '../web/served.js';
import { mutated } from './mutate.js';

const PATHS = [
  '/api/observations',
  '/api/withdrawals',
  '/api/walks',
  '/api/photos',
  '/api/scan',
  '/api/pair',
];
const SEED = { seed: 20261125 };

const sound = (id: string) => ({
  entry: timeOrderedUuid(),
  id,
  issue: null,
  date: '2026-09-14',
  values: { brix: '18.5', note: 'x' },
  photo: null,
});

async function isWell(served: Served, cookie: string): Promise<void> {
  expect(served.troubles).toEqual([]);
  const answer = await ask(served, '/api/garden', { headers: { Cookie: cookie } });
  expect(answer.status).toBe(200);
  expect(checkLedger(served.ledger.folder, () => {}).findings).toEqual([]);
}

it('bodies that are spoilt, strange or deep are refused with a document, and the server stays well', async () => {
  const served = await serve();
  const cookie = await pair(served);
  const [id = ''] = served.ids;
  const png = await sharp({ create: { width: 20, height: 20, channels: 3, background: '#999' } })
    .png()
    .toBuffer();
  const bodies = [
    JSON.stringify(sound(id)),
    JSON.stringify({ entry: timeOrderedUuid() }),
    '{"lines":["station a","none"]}',
  ];
  const deep = fc.constantFrom(
    '['.repeat(30_000),
    `${'{"a":'.repeat(9_000)}1${'}'.repeat(9_000)}`,
    '{"__proto__":{"entry":1}}',
  );
  const body = fc.oneof(
    { weight: 4, arbitrary: mutated(...bodies.map((text) => Buffer.from(text)), png) },
    { weight: 2, arbitrary: fc.json().map((text) => Buffer.from(text)) },
    {
      weight: 2,
      arbitrary: fc
        .record(
          {
            values: fc.dictionary(fc.string(), fc.oneof(fc.string(), fc.double())),
            date: fc.string(),
            id: fc.string(),
            issue: fc.anything(),
          },
          { requiredKeys: [] },
        )
        .map((changes) => Buffer.from(JSON.stringify({ ...sound(id), ...changes }) ?? '')),
    },
    { weight: 1, arbitrary: deep.map((text) => Buffer.from(text)) },
  );
  await fc.assert(
    fc.asyncProperty(
      fc.constantFrom(...PATHS),
      body,
      fc.constantFrom('application/json', 'text/plain', ''),
      async (path, bytes, type) => {
        const headers = { Cookie: cookie, ...(type === '' ? {} : { 'Content-Type': type }) };
        const { status, text } = await ask(served, path, { body: bytes, headers });
        expect(status, `${path}: ${text}`).toBeLessThan(500);
        expect(() => JSON.parse(text), `${path}: ${text}`).not.toThrow();
      },
    ),
    { ...SEED, numRuns: 300 },
  );
  await isWell(served, cookie);
});

it('addresses and headers of any kind are answered, and a request that is cut off harms nobody', async () => {
  const served = await serve();
  const cookie = await pair(served);
  const word = fc.string({ unit: 'grapheme-ascii', maxLength: 40 });
  await fc.assert(
    fc.asyncProperty(word, word, fc.constantFrom('plants', 'photos', 'x'), async (first, second, folder) => {
      const path = `/api/${folder}/${encodeURIComponent(first)}${encodeURI(second).replaceAll(/[\s#]/g, '')}`;
      const { status } = await ask(served, path, {
        headers: { Cookie: cookie, 'X-Anything': encodeURIComponent(second) },
      });
      expect(status, path).toBeLessThan(500);
    }),
    { ...SEED, numRuns: 150 },
  );
  for (let index = 0; index < 10; index++) {
    await new Promise<void>((resolve) => {
      const own = `127.0.0.1:${served.server.port}`;
      const headers = { Host: own, Origin: `http://${own}`, Cookie: cookie, 'Content-Length': '5000' };
      const cut = request({
        host: '127.0.0.1',
        port: served.server.port,
        path: '/api/photos',
        method: 'POST',
        headers,
      });
      cut.on('error', () => {});
      cut.on('close', () => resolve());
      cut.write('{"half":', () => cut.destroy());
    });
  }
  await isWell(served, cookie);
});
