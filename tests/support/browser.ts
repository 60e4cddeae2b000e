/**
 * A real browser for tests. It comes with `npm ci` (a Chromium built to run with nothing but the C library
 * beside it), so that a bare machine needs nothing else; POTTAG_BROWSER names another one, for systems that
 * this build is not for.
 */
import {
  createReadStream,
  createWriteStream,
  existsSync,
  mkdtempSync,
  renameSync,
  rmSync,
  writeFileSync,
} from 'node:fs';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { pipeline } from 'node:stream/promises';
import { createBrotliDecompress } from 'node:zlib';
import { chromium, type LaunchOptions } from 'playwright-core';
import { extract } from 'tar';

const PACKED = '@sparticuz/chromium';

/** For `chromium.launch` and `launchPersistentContext`. */
export async function browserOptions(args: readonly string[] = []): Promise<LaunchOptions> {
  const common = { chromiumSandbox: false, args: [...args] };
  const named = process.env.POTTAG_BROWSER;
  if (named) return { ...common, executablePath: named };
  const folder = await unpacked();
  const env = {
    ...process.env,
    LD_LIBRARY_PATH: join(folder, 'lib'),
    FONTCONFIG_FILE: join(folder, 'its-fonts.conf'),
  } as Record<string, string>;
  return { ...common, executablePath: join(folder, 'chromium'), env };
}

export { chromium };

/** The folder of the unpacked browser; unpacked once a machine, by whichever test comes first. */
async function unpacked(): Promise<string> {
  const bin = join(dirname(createRequire(import.meta.url).resolve(PACKED)), '../../bin');
  const { version } = createRequire(import.meta.url)(join(bin, '../package.json')) as { version: string };
  const folder = join(tmpdir(), `pottag-browser-${version}`);
  if (existsSync(folder)) return folder;
  const beside = mkdtempSync(`${folder}-`);
  const open = (name: string) => createReadStream(join(bin, name)).pipe(createBrotliDecompress());
  await pipeline(open('chromium.br'), createWriteStream(join(beside, 'chromium'), { mode: 0o755 }));
  for (const name of ['al2023.tar.br', 'fonts.tar.br']) await pipeline(open(name), extract({ cwd: beside }));
  // Its own names places of another machine.
  const fonts = `<fontconfig><dir>${folder}/fonts</dir><cachedir>${folder}/cache</cachedir></fontconfig>`;
  writeFileSync(join(beside, 'its-fonts.conf'), fonts);
  try {
    renameSync(beside, folder);
  } catch {
    rmSync(beside, { recursive: true }); // Another test was quicker.
  }
  return folder;
}
