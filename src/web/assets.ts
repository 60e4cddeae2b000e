/**
 * The page's own files, as they were built. All are read when the server starts and found by their whole
 * path, so that no path can lead anywhere else.
 */
import { createHash } from 'node:crypto';
import { existsSync, readdirSync, readFileSync } from 'node:fs';
import { dirname, extname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { gzipSync } from 'node:zlib';

const TYPES: Readonly<Record<string, string>> = {
  '.html': 'text/html; charset=utf-8',
  '.js': 'text/javascript; charset=utf-8',
  '.css': 'text/css; charset=utf-8',
  '.svg': 'image/svg+xml',
  '.wasm': 'application/wasm',
  '.webmanifest': 'application/manifest+json',
};

/** The page: its own scripts, styles and pictures, its own server, photos it made itself; nothing else. */
const PAGE_POLICY = [
  "default-src 'none'",
  "script-src 'self'",
  "style-src 'self'",
  "img-src 'self' blob: data:",
  "connect-src 'self'",
  "worker-src 'self'",
  "manifest-src 'self'",
  "base-uri 'none'",
  "form-action 'none'",
  "frame-ancestors 'none'",
].join('; ');

/** The decoder's worker alone compiles WebAssembly. */
const DECODER_POLICY = "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; connect-src 'self'";

/** Named after their content, so that they can be kept for ever. */
const HASHED = /-[0-9A-Z]{8}\.\w+$/;

export interface Asset {
  readonly bytes: Uint8Array;
  readonly gzipped: Uint8Array;
  readonly headers: Readonly<Record<string, string>>;
}

/** What was built, from the sources and from the bundle alike: the page, and the thread that reads photos. */
export function builtPageFolder(): string {
  return join(builtFolder(), 'web');
}

export function builtReader(): string {
  return join(builtFolder(), 'reader-worker.js');
}

function builtFolder(): string {
  let folder = dirname(fileURLToPath(import.meta.url));
  while (!existsSync(join(folder, 'package.json'))) folder = dirname(folder);
  return join(folder, 'dist');
}

/** Path in the URL → file. */
export function loadAssets(folder: string): ReadonlyMap<string, Asset> {
  const assets = new Map<string, Asset>();
  for (const name of readdirSync(folder)) {
    const bytes = readFileSync(join(folder, name));
    const type = TYPES[extname(name)];
    if (type === undefined) throw new Error(`${name} is of no kind that the page has`);
    const headers = {
      'Content-Type': type,
      'Content-Security-Policy': name.startsWith('decoder-') ? DECODER_POLICY : PAGE_POLICY,
      'Cache-Control': HASHED.test(name) ? 'public, max-age=31536000, immutable' : 'no-cache',
      ETag: `"${createHash('sha256').update(bytes).digest('base64url').slice(0, 22)}"`,
      Vary: 'Accept-Encoding',
    };
    assets.set(name === 'index.html' ? '/' : `/${name}`, {
      bytes,
      gzipped: gzipSync(bytes, { level: 9 }),
      headers,
    });
  }
  return assets;
}

export function serveAsset(asset: Asset, request: Request): Response {
  const { headers, bytes, gzipped } = asset;
  if (request.headers.get('if-none-match') === headers.ETag)
    return new Response(null, { status: 304, headers });
  const takesGzip = /\bgzip\b/.test(request.headers.get('accept-encoding') ?? '');
  if (!takesGzip) return new Response(new Uint8Array(bytes), { headers });
  return new Response(new Uint8Array(gzipped), { headers: { ...headers, 'Content-Encoding': 'gzip' } });
}
