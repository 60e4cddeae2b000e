/** Loaded into a command before anything else: whatever would reach out over a network fails. Listening does not. */
import dgram from 'node:dgram';
import dns from 'node:dns';
import { syncBuiltinESMExports } from 'node:module';
import net from 'node:net';

function refuse(what) {
  return () => {
    throw new Error(`NETWORK: ${what}`);
  };
}

net.Socket.prototype.connect = refuse('connect');
dgram.createSocket = refuse('datagram');
for (const name of ['resolve', 'resolve4', 'resolve6']) {
  dns[name] = refuse(name);
  dns.promises[name] = refuse(name);
}
dns.promises.lookup = refuse('lookup');
const { lookup } = dns;
// To listen, Node looks up the address itself, which asks nobody.
dns.lookup = (host, ...more) => (net.isIP(host) === 0 ? refuse('lookup')() : lookup(host, ...more));
globalThis.fetch = refuse('fetch');
syncBuiltinESMExports();
