/**
 * Request → response, for everything the server answers.
 */
import { getConnInfo } from '@hono/node-server/conninfo';
import { Hono } from 'hono';
import { bodyLimit } from 'hono/body-limit';
import { getCookie, setCookie } from 'hono/cookie';
import * as z from 'zod';
import { InputError, LedgerError } from '../errors.js';
import { type ApiOptions, apiRoutes, type Paired } from './api.js';
import { type Asset, serveAsset } from './assets.js';
import { findDevice, pairDevice } from './devices.js';
import { type GuardOptions, guard } from './guard.js';
import type { Attempt, PairingDesk } from './pairing.js';
import { NotNow } from './reader-thread.js';
import { ENTRY_TAKEN } from './recording.js';
import { refusal } from './refusal.js';

export interface AppOptions extends ApiOptions, GuardOptions {
  readonly assets: ReadonlyMap<string, Asset>;
  readonly desk: PairingDesk;
  readonly now: () => Date;
  readonly onPaired: (name: string) => void;
  /** A fault of ours, or a ledger that cannot be used: for the person at the computer. */
  readonly onTrouble: (error: unknown) => void;
}

const COOKIE = 'pottag_device';
/** 400 days, the longest that browsers keep a cookie (RFC 6265bis). */
const COOKIE_SECONDS = 400 * 24 * 3600;

const MOST_PAIRING_BYTES = 1024;
const pairingShape = z.strictObject({
  code: z.string().max(40),
  name: z
    .string()
    .trim()
    .normalize('NFC')
    .min(1)
    .max(40)
    .regex(/^\P{C}*$/u),
});

export function makeApp(options: AppOptions): Hono<Paired> {
  const { assets, desk, scheme, reading, now, onPaired, onTrouble } = options;
  const app = new Hono<Paired>();
  app.use(guard(options));

  app.post('/api/pair', bodyLimit({ maxSize: MOST_PAIRING_BYTES, onError: tooLarge }), async (c) => {
    const sent = pairingShape.safeParse(await c.req.json().catch(() => undefined));
    if (!sent.success) {
      return refusal(422, 'bad-name', 'A name has 1 to 40 characters.', 'Say who you are, e.g. Wren.');
    }
    const attempt = desk.attempt(sent.data.code, getConnInfo(c).remote.address ?? '');
    if (attempt !== 'paired') return PAIRING_REFUSALS[attempt]();
    const device = { name: sent.data.name, pairedAt: now().toISOString() };
    setCookie(c, COOKIE, pairDevice(reading.folder, device), {
      httpOnly: true,
      sameSite: 'Strict',
      secure: scheme === 'https',
      path: '/',
      maxAge: COOKIE_SECONDS,
    });
    onPaired(device.name);
    return c.json({ device: device.name, idLength: reading.idLength });
  });

  app.use('/api/*', async (c, next) => {
    const device = findDevice(reading.folder, getCookie(c, COOKIE) ?? '');
    if (device === undefined) {
      return refusal(
        401,
        'not-paired',
        'This device is not paired, or was forgotten.',
        'Pair it with a new code.',
      );
    }
    c.set('device', device);
    return next();
  });
  app.route('/api', apiRoutes(options));

  app.get('*', (c) => {
    const asset = assets.get(c.req.path);
    return asset === undefined ? notFound() : serveAsset(asset, c.req.raw);
  });

  app.notFound(notFound);
  app.onError((error) => {
    if (error instanceof InputError) {
      const status = error.code === ENTRY_TAKEN ? 409 : 422;
      return refusal(status, error.code, error.message, error.hint);
    }
    // A phone that goes out of reach while it sends: nobody's fault, and it sends again.
    if ((error as NodeJS.ErrnoException).code === 'ECONNRESET') {
      return refusal(400, 'cut-off', 'The sending was cut off.', 'Send it again.');
    }
    if (error instanceof NotNow) return refusal(503, error.code, error.message, error.hint);
    onTrouble(error);
    if (error instanceof LedgerError) return refusal(503, error.code, error.message, error.hint);
    return refusal(500, 'fault', 'A fault of Pottag itself.', 'What was recorded before is safe; try again.');
  });
  return app;
}

const PAIRING_REFUSALS: Readonly<Record<Exclude<Attempt, 'paired'>, () => Response>> = {
  wrong: () => refusal(403, 'wrong-code', 'That is not the code.', 'Look at the computer and type it again.'),
  'too-often': () =>
    refusal(429, 'too-often', 'Too many wrong codes.', 'Ask for a new code: press Enter at the computer.'),
  'no-code': () =>
    refusal(
      403,
      'no-code',
      'The code has expired or was used.',
      'Ask for a new one: press Enter at the computer.',
    ),
};

function notFound(): Response {
  return refusal(404, 'not-found', 'There is nothing here.', 'Open the address that the computer shows.');
}

function tooLarge(): Response {
  return refusal(413, 'too-large', 'Too much was sent.', 'Use the page.');
}
