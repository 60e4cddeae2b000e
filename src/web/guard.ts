/**
 * What every request has to pass before anything looks at it, and the headers of every answer.
 *
 * Any page in the phone's or the computer's browser can send requests to a server on the local network,
 * and a name under a stranger's control can be made to point to it (DNS rebinding). So a request counts
 * only if it was addressed to this server by a name of its own, and one that changes something only if
 * the server's own page sent it.
 */
import type { MiddlewareHandler } from 'hono';
import { refusal } from './refusal.js';

export interface GuardOptions {
  readonly scheme: 'http' | 'https';
  /** `Host` values under which this server is asked for. */
  readonly isOwnHost: (host: string) => boolean;
}

const HEADERS: Readonly<Record<string, string>> = {
  'X-Content-Type-Options': 'nosniff',
  'X-Frame-Options': 'DENY',
  'Referrer-Policy': 'no-referrer',
  'Cross-Origin-Resource-Policy': 'same-origin',
  'Cross-Origin-Opener-Policy': 'same-origin',
  'Permissions-Policy': 'camera=(self), microphone=(), geolocation=()',
};

/** For answers that are no page: nothing in them is loaded or run. */
const NOTHING_ALLOWED =
  "default-src 'none'; frame-ancestors 'none'; base-uri 'none'; form-action 'none'; sandbox";

export function guard({ scheme, isOwnHost }: GuardOptions): MiddlewareHandler {
  return async (c, next) => {
    const header = (name: string) => c.req.header(name);
    const host = header('host')?.toLowerCase() ?? '';
    const site = header('sec-fetch-site');
    const isReading = c.req.method === 'GET' || c.req.method === 'HEAD';
    if (!isOwnHost(host)) {
      c.res = refusal(
        421,
        'wrong-host',
        `This server is not ${host || 'asked by a name'}.`,
        'Use the address it printed.',
      );
    } else if (!isReading && c.req.method !== 'POST') {
      c.res = refusal(405, 'wrong-method', 'Only GET and POST are answered.', 'Use the page.');
    } else if (!isReading && header('origin') !== `${scheme}://${host}`) {
      c.res = refusal(403, 'foreign-origin', 'Another page sent this.', 'Use the page of this server.');
    } else if (
      site !== undefined &&
      site !== 'same-origin' &&
      (!isReading || isForPaired(c.req.path, site))
    ) {
      c.res = refusal(403, 'foreign-site', 'Another page asked for this.', 'Use the page of this server.');
    } else {
      await next();
    }
    for (const [name, value] of Object.entries(HEADERS)) c.res.headers.set(name, value);
    if (!c.res.headers.has('Content-Security-Policy'))
      c.res.headers.set('Content-Security-Policy', NOTHING_ALLOWED);
    if (!c.res.headers.has('Cache-Control')) c.res.headers.set('Cache-Control', 'no-store');
  };
}

/** A person may open the page from a link or the address line; what the ledger holds, only from the latter. */
function isForPaired(path: string, site: string): boolean {
  return path.startsWith('/api/') && site !== 'none';
}
