import type { Command } from 'commander';
import type { Run } from '../context.js';
import { integerOption } from '../options.js';

export interface ServeOptions {
  readonly host?: string;
  readonly port: number;
  readonly https?: true;
  readonly devices?: true;
  readonly forget?: string;
}

/** The letters POTT on a telephone's keys. */
const DEFAULT_PORT = 7688;

const MORE_HELP = `
A phone on the same network opens the address, or scans the QR code, and is
paired with the code once. Press Enter for a new code for the next phone; Ctrl-C
ends. Walks made with a phone come in as CSV files in the ledger's folder walks,
for pottag walk.

Over plain HTTP a phone's browser gives no live camera and keeps no page: take
photos of the tags, or type their IDs, and keep the page open while there is no
reception. Anyone on the same network could read along, so use it in a network
of your own. With --https all is encrypted and the live camera works, but the
certificate is made here: the browser warns, once a phone, that it does not know
it. Compare the fingerprint before you go on.

Examples:
  pottag serve
  pottag serve --https
  pottag serve --forget "Wren's phone"

Fig latex burns skin in sunlight: wear gloves when you cut, and wash. Do not
taste fruit of a plant sprayed within the product's waiting period, nor of a
species whose seedlings may be poisonous.`;

export function addServe(program: Command, run: Run): void {
  program
    .command('serve')
    .description('Serve the phone page on the local network: scan, see the plant, log what was seen.')
    .option('--host <address>', 'listen on this address only (default: all of the local network)')
    .option('--port <n>', 'the port; 0 is any free one', integerOption(0, 65535), DEFAULT_PORT)
    .option('--https', 'encrypt, with a certificate made here and kept in the ledger')
    .option('--devices', 'list the paired devices')
    .option('--forget <name>', 'forget a paired device: it cannot read or write any more')
    .addHelpText('after', MORE_HELP)
    .action((options: ServeOptions, own: Command) =>
      run(own, async (context) => {
        const { devices, forget, serve } = await import('../serving.js');
        if (options.devices) return devices(context);
        if (options.forget !== undefined) return forget(context, options.forget);
        return serve(context, options);
      }),
    );
}
