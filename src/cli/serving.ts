/**
 * What `serve` does: the server with its pairing codes, until it is ended; the list of paired devices.
 */
import { createInterface } from 'node:readline';
import { qrModules } from '../codes/qr.js';
import { InputError, LedgerError } from '../errors.js';
import { tagsOf } from '../scan/reading/tags-since.js';
import { addressesFor, localAddresses } from '../web/addresses.js';
import { builtPageFolder, builtReader, loadAssets } from '../web/assets.js';
import { certificateFor } from '../web/certificate.js';
import { devicesOf, forgetDevices } from '../web/devices.js';
import { CODE_MINUTES, PairingDesk, spelled } from '../web/pairing.js';
import { ReaderThread } from '../web/reader-thread.js';
import { type RunningServer, startServer } from '../web/server.js';
import { counted } from '../wording.js';
import type { ServeOptions } from './commands/serve.js';
import { bold, columns, green } from './console.js';
import { type Context, type ExitCode, localDay } from './context.js';
import { reportFault, reportLedgerError } from './report-error.js';
import { qrInText } from './terminal-qr.js';

export async function serve(context: Context, options: ServeOptions): Promise<ExitCode> {
  return context.withLedger((writing) =>
    context.withLedger(async (reading): Promise<ExitCode> => {
      const { console, now, ledgerFolder, place } = context;
      const { listen, names, aliases } = addressesFor(options.host, localAddresses());
      const desk = new PairingDesk(now);
      const photos = new ReaderThread(builtReader(), tagsOf(reading), reading.idLength);
      const certificate = options.https
        ? await certificateFor(ledgerFolder, [...names, ...aliases], now())
        : null;
      const server = await startServer({
        listen,
        names,
        aliases,
        port: options.port,
        certificate,
        assets: loadAssets(builtPageFolder()),
        desk,
        reading,
        writing,
        photos,
        now,
        today: () => localDay(now()),
        onPaired(name) {
          console.print(`${green('paired')} ${bold(name)}. Press Enter for a new code for the next device.`);
        },
        onWalk(by, file) {
          console.print(`${green('walk')} by ${bold(by)}: pottag walk ${file}`);
        },
        onTrouble(error) {
          if (error instanceof LedgerError) reportLedgerError(error, false);
          else reportFault(error, ledgerFolder, ['serve'], false);
        },
      });
      // From here on it can be ended, whatever is still being printed.
      const ending = ended(() => {
        const next = desk.renew();
        console.further({ code: next, code_minutes: CODE_MINUTES });
        printCode(context, server, next);
      });
      const code = desk.renew();
      console.document({
        urls: server.urls,
        port: server.port,
        code,
        code_minutes: CODE_MINUTES,
        fingerprint: certificate?.fingerprint ?? null,
      });
      console.print(`Serving ${bold(place.name)} at`);
      for (const url of server.urls) console.print(`  ${url}`);
      if (certificate !== null) {
        console.print(`\nThe browser will warn that it does not know this certificate: it was made here.`);
        console.print('Go on only if the fingerprint (SHA-256) that the browser shows is');
        console.print(`  ${certificate.fingerprint}`);
      }
      printCode(context, server, code);
      await ending;
      await server.close();
      await photos.close();
      return 0;
    }),
  );
}

/** Resolves when the person or the system ends the server; until then Enter asks for another code. */
function ended(onEnter: () => void): Promise<void> {
  return new Promise((resolve) => {
    const lines = createInterface({ input: process.stdin });
    lines.on('line', onEnter);
    for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) {
      process.once(signal, () => {
        lines.close();
        process.stdin.destroy();
        resolve();
      });
    }
  });
}

function printCode({ console }: Context, { urls }: RunningServer, code: string): void {
  const [url = ''] = urls;
  console.print(`\nPair a phone with ${bold(spelled(code))} within ${CODE_MINUTES} minutes, or scan this:\n`);
  console.print(qrInText(qrModules(`${url}#pair=${code}`, 'L')));
  console.print('\nEnter: a new code. Ctrl-C: end.');
}

export function devices({ console, ledgerFolder, withLedger }: Context): Promise<ExitCode> {
  return withLedger<ExitCode>(async () => {
    const paired = devicesOf(ledgerFolder);
    console.document({ devices: paired.map(({ name, pairedAt }) => ({ name, paired_at: pairedAt })) });
    const rows = paired.map(({ name, pairedAt }) => [bold(name), `paired ${localDay(new Date(pairedAt))}`]);
    console.print(rows.length === 0 ? 'No device is paired.' : columns(rows));
    return 0;
  });
}

export function forget({ console, ledgerFolder, withLedger }: Context, name: string): Promise<ExitCode> {
  return withLedger<ExitCode>(async () => {
    const forgotten = forgetDevices(ledgerFolder, name);
    if (forgotten === 0) {
      const known = [...new Set(devicesOf(ledgerFolder).map((device) => device.name))].join(', ');
      throw new InputError(
        'no-such-device',
        `No device is called "${name}".`,
        known === '' ? 'No device is paired.' : `The paired devices are ${known}.`,
      );
    }
    console.document({ forgotten });
    console.print(`${counted(forgotten, 'device')} forgotten; what was recorded by ${bold(name)} stays.`);
    return 0;
  });
}
