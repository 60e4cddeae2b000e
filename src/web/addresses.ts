/**
 * Where the page is served: the addresses of this machine on the local network, and the names under
 * which a browser may ask for it.
 */
import { isIP } from 'node:net';
import { hostname, type NetworkInterfaceInfo, networkInterfaces } from 'node:os';
import { InputError } from '../errors.js';

type Interfaces = Readonly<Record<string, readonly NetworkInterfaceInfo[] | undefined>>;

/**
 * Addresses set aside for private networks (RFC 1918) and link-local ones (RFC 3927), the kind that a home
 * gives out first. An address that the whole Internet can reach is not among them.
 */
const PRIVATE = [/^192\.168\./, /^10\./, /^172\.(1[6-9]|2\d|3[01])\./, /^169\.254\./];

/** The machine's IPv4 addresses on local networks. */
export function localAddresses(interfaces: Interfaces = networkInterfaces()): string[] {
  const addresses = Object.values(interfaces)
    .flatMap((each) => each ?? [])
    .filter(({ family, internal }) => family === 'IPv4' && !internal)
    .map(({ address }) => address);
  return PRIVATE.flatMap((pattern) => addresses.filter((address) => pattern.test(address)));
}

const LOOPBACK = '127.0.0.1';
/** What `localhost` stands for (RFC 6761, 6.3). */
const LOOPBACKS = [LOOPBACK, '::1', 'localhost'];
const EVERY_ADDRESS = ['0.0.0.0', '::'];

export interface Addresses {
  /** To listen on. */
  readonly listen: readonly string[];
  /** Names and addresses that stand for them in a browser's address line, the best for a phone first. */
  readonly names: readonly string[];
  /** Names that may stand for them too, but need not lead there: answered to, not told to people. */
  readonly aliases: readonly string[];
}

/**
 * What the system would take for an address although nobody reaches it there, or would read otherwise than a
 * browser: `0` and `127.1` (inet_aton), addresses for many (RFC 5771 and 8190; RFC 4291, 2.7), zones.
 */
const NO_HOST = /(^|\.)(\d+|0x[\da-f]*)\.?$/i;
const FOR_MANY = [/^(22[4-9]|2[3-5]\d)\./, /^0\.(?!0\.0\.0$)/, /^ff[\da-f]{2}:/i, /%/];

function isHost(host: string): boolean {
  return isIP(host) === 0 ? !NO_HOST.test(host) : !FOR_MANY.some((pattern) => pattern.test(host));
}

/**
 * @param host the one address or name to listen on; undefined: all local ones
 * @throws InputError if it is empty, for the system would listen on every address, the open Internet's too; or
 *   if it is none that a browser could reach
 */
export function addressesFor(host: string | undefined, local: readonly string[]): Addresses {
  const own = hostname().toLowerCase();
  const ownNames = own.includes('.') ? [own] : [own, `${own}.local`];
  const all = { names: [...local, LOOPBACK, 'localhost', ...ownNames], aliases: [] };
  if (host === undefined) return { listen: [...local, LOOPBACK], ...all };
  if (host.trim() === '') {
    throw new InputError(
      'no-such-address',
      'The address to listen on is empty.',
      'Name one of this machine, or leave --host away to use the addresses of the local network.',
    );
  }
  if (!isHost(host)) {
    throw new InputError(
      'no-such-address',
      `"${host}" is no address that a phone could open.`,
      'Write an address of this machine in full, e.g. 127.0.0.1, or leave --host away to use those of the local network.',
    );
  }
  if (EVERY_ADDRESS.includes(host)) return { listen: [host], ...all };
  const name = host.toLowerCase();
  const names = LOOPBACKS.includes(name) ? [...new Set([name, 'localhost'])] : [name];
  const aliases = ['localhost', ...ownNames].filter((other) => !names.includes(other));
  return { listen: [host], names, aliases };
}

/** `192.168.1.20:7688`, as it stands in a URL and in a request's `Host`. */
export function authority(name: string, port: number, scheme: 'http' | 'https'): string {
  const host = name.includes(':') ? `[${name}]` : name;
  return port === (scheme === 'https' ? 443 : 80) ? host : `${host}:${port}`;
}
