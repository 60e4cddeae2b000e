/**
 * Bundles the command into dist/. Every command is a chunk of its own, loaded when it is called, so
 * that `scan` starts without the PDF and barcode code. Native and WebAssembly packages stay outside. The
 * phone page goes into dist/web.
 */
import { readFileSync, renameSync, rmSync } from 'node:fs';
import { build } from 'esbuild';
import { buildPage } from './src/web/page/build.mjs';

/**
 * fontkit unpacks a dictionary when it is loaded, which takes longer than to draw a thousand tags and
 * which only WOFF2 fonts need; ours are TrueType.
 */
const withoutFontDictionary = {
  name: 'without-font-dictionary',
  setup(bundler) {
    bundler.onLoad({ filter: /fontkit\.umd\.js$/ }, ({ path }) => {
      const [before, after, ...more] = readFileSync(path, 'utf8').split(
        'dictionary.init(BrotliDecompressBuffer);',
      );
      if (after === undefined || more.length > 0)
        throw new Error(`${path} no longer unpacks its dictionary once`);
      return { contents: before + after, loader: 'js' };
    });
  },
};

const common = {
  outdir: 'dist.new',
  bundle: true,
  platform: 'node',
  target: 'node20',
  format: 'esm',
  sourcemap: false,
  minifyWhitespace: true,
  minifySyntax: true,
  plugins: [withoutFontDictionary],
  external: ['libsql', 'sharp', 'zxing-wasm', '@undecaf/zbar-wasm', '@hyzyla/pdfium'],
  // Bundled CommonJS packages call `require`, which an ES module has to make for itself.
  banner: {
    js: "import { createRequire as makeRequire } from 'node:module'; const require = makeRequire(import.meta.url);",
  },
  define: { POTTAG_VERSION: JSON.stringify(JSON.parse(readFileSync('package.json', 'utf8')).version) },
  logLevel: 'warning',
};
await build({ ...common, entryPoints: { main: 'src/cli/main.ts' }, splitting: true });
// A thread of `serve`, whole in itself: shared chunks would part the commands' into more to load.
await build({ ...common, entryPoints: { 'reader-worker': 'src/web/reader-worker.ts' } });
await buildPage('dist.new/web');
// Built aside and then swapped, so that a failing build leaves the old bundle as it is.
rmSync('dist', { recursive: true, force: true });
renameSync('dist.new', 'dist');
