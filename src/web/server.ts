/**
 * The server itself: listens on its addresses, answers through the app, ends in order.
 */
import { createServer, type Server } from 'node:http';
import { createServer as createSecureServer } from 'node:https';
import { getRequestListener } from '@hono/node-server';
import { InputError } from '../errors.js';
import { authority } from './addresses.js';
import { type AppOptions, makeApp } from './app.js';
import type { Certificate } from './certificate.js';

export interface ServerOptions extends Omit<AppOptions, 'scheme' | 'isOwnHost'> {
  readonly listen: readonly string[];
  /** Under which it may be asked for, the best for a phone first. */
  readonly names: readonly string[];
  /** Under which it may be asked for too. */
  readonly aliases: readonly string[];
  /** 0: any that is free. */
  readonly port: number;
  /** Null: plain HTTP. */
  readonly certificate: Certificate | null;
}

export interface RunningServer {
  readonly port: number;
  /** One for each name, in their order. */
  readonly urls: readonly string[];
  close(): Promise<void>;
}

/** Requests under way may end within this time when the server closes. */
const GRACE_MS = 2000;

/** @throws InputError if an address or the port cannot be had */
export async function startServer(options: ServerOptions): Promise<RunningServer> {
  const { listen, names, aliases, certificate } = options;
  const scheme = certificate === null ? 'http' : 'https';
  const hosts = new Set<string>();
  const app = makeApp({ ...options, scheme, isOwnHost: (host) => hosts.has(host) });
  const answer = getRequestListener(app.fetch);
  const servers: Server[] = [];
  let port = options.port;
  try {
    for (const address of listen) {
      const server =
        certificate === null
          ? createServer(answer)
          : createSecureServer({ key: certificate.pem, cert: certificate.pem }, answer);
      servers.push(server);
      await listening(server, address, port);
      const bound = server.address();
      if (typeof bound === 'object' && bound !== null) port = bound.port; // The same on every address.
    }
  } catch (error) {
    for (const server of servers) server.close();
    throw error;
  }
  for (const name of [...names, ...aliases]) hosts.add(authority(name, port, scheme));
  return {
    port,
    urls: names.map((name) => `${scheme}://${authority(name, port, scheme)}/`),
    async close() {
      await Promise.all(servers.map(closed));
    },
  };
}

function listening(server: Server, address: string, port: number): Promise<void> {
  return new Promise((resolve, reject) => {
    server.once('error', (error) => reject(explain(error, address, port)));
    server.listen(port, address, resolve);
  });
}

function closed(server: Server): Promise<void> {
  return new Promise((resolve) => {
    const cut = setTimeout(() => server.closeAllConnections(), GRACE_MS);
    server.close(() => {
      clearTimeout(cut);
      resolve();
    });
    server.closeIdleConnections();
  });
}

function explain(error: NodeJS.ErrnoException, address: string, port: number): Error {
  const refuse = (code: string, message: string, hint: string) =>
    new InputError(code, message, hint, {}, [], { cause: error });
  switch (error.code) {
    case 'EADDRINUSE':
      return refuse(
        'port-in-use',
        `Port ${port} of ${address} is in use; perhaps Pottag is being served already.`,
        'End the other one, or choose another port, e.g. --port 7689.',
      );
    case 'EACCES':
      return refuse(
        'port-not-allowed',
        `Port ${port} is not yours to use.`,
        'Choose one from 1024 up, e.g. --port 7688.',
      );
    case 'EADDRNOTAVAIL':
    case 'ENOTFOUND':
    case 'EAI_AGAIN':
      return refuse(
        'no-such-address',
        `${address} is no address of this machine.`,
        'Leave --host away to use the addresses of the local network.',
      );
    default:
      return error;
  }
}
