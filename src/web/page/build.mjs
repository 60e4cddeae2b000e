/**
 * Builds the phone page: every file but the page itself, its service worker and its manifest is named after
 * its content, so that a browser keeps it for ever.
 */
import { createHash } from 'node:crypto';
import { readFileSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { build } from 'esbuild';

const SOURCES = import.meta.dirname;

/** @param {string} outdir made if need be */
export async function buildPage(outdir) {
  const common = {
    outdir,
    bundle: true,
    platform: 'browser',
    target: ['chrome100', 'firefox100', 'safari15.4'],
    format: 'esm',
    minify: true,
    jsx: 'automatic',
    jsxImportSource: 'preact',
    entryNames: '[name]-[hash]',
    assetNames: '[name]-[hash]',
    publicPath: '/',
    loader: { '.wasm': 'file', '.svg': 'file' },
    metafile: true,
    logLevel: 'warning',
  };
  const entry = (name) => join(SOURCES, name);
  const urls = ({ metafile }) => Object.keys(metafile.outputs).map((file) => `/${basename(file)}`);
  const find = (files, start) => files.find((url) => url.startsWith(`/${start}-`));

  const decoder = urls(await build({ ...common, entryPoints: [entry('decoder.ts')] }));
  const define = { DECODER_URL: JSON.stringify(find(decoder, 'decoder')) };
  const page = urls(await build({ ...common, define, entryPoints: [entry('main.tsx'), entry('page.css')] }));
  const icon = urls(await build({ ...common, entryPoints: [entry('icon.svg')], loader: { '.svg': 'copy' } }));

  const places = {
    SCRIPT_URL: find(page, 'main'),
    STYLE_URL: find(page, 'page'),
    ICON_URL: find(icon, 'icon'),
  };
  const filled = (name) =>
    Object.entries(places).reduce(
      (text, [place, url]) => text.replaceAll(place, url),
      readFileSync(entry(name), 'utf8'),
    );
  const html = filled('index.html');
  writeFileSync(join(outdir, 'index.html'), html);
  writeFileSync(join(outdir, 'page.webmanifest'), filled('page.webmanifest'));

  const files = ['/', '/page.webmanifest', ...decoder, ...page, ...icon];
  await build({
    ...common,
    entryNames: '[name]',
    entryPoints: [entry('service-worker.ts')],
    define: {
      PAGE_FILES: JSON.stringify(files),
      PAGE_VERSION: JSON.stringify(
        createHash('sha256')
          .update(files.join() + html)
          .digest('hex')
          .slice(0, 16),
      ),
    },
  });
}
