/** Requests that other pages, or names under a stranger's control, make a browser send. */
import { hostname } from 'node:os';
import { describe, expect, it } from 'vitest';
import { addressesFor, authority, localAddresses } from '../../src/web/addresses.js';
import { type Asked, ask, pair, serve } from './served.js';

describe('a request', () => {
  it('is answered by the server’s own names only (DNS rebinding)', async () => {
    const served = await serve();
    const cookie = await pair(served);
    const { port } = served.server;
    const status = async (host: string | null) =>
      (await ask(served, '/api/device', { headers: { Host: host, Cookie: cookie } })).status;
    expect(await status(`127.0.0.1:${port}`)).toBe(200);
    expect(await status(`LOCALHOST:${port}`)).toBe(200);
    for (const host of [
      'rebound.example',
      `rebound.example:${port}`,
      '127.0.0.1',
      `127.0.0.1:${port + 1}`,
      `127.0.0.1.rebound.example:${port}`,
      `localhost:${port}.`,
      '',
      'a b',
    ]) {
      expect(await status(host), host).toBeGreaterThanOrEqual(400);
    }
    expect(await status(null)).toBe(400); // Node refuses HTTP/1.1 without a Host.
  });

  it('that changes something has to come from the server’s own page', async () => {
    const served = await serve();
    const cookie = await pair(served);
    const { port } = served.server;
    const post = async (headers: Asked['headers']) => {
      const body = JSON.stringify({ entry: 'x' });
      return (await ask(served, '/api/withdrawals', { body, headers: { Cookie: cookie, ...headers } }))
        .status;
    };
    expect(await post({})).toBe(422); // It got through and was looked at.
    for (const Origin of [
      null,
      'null',
      'http://rebound.example',
      `https://127.0.0.1:${port}`,
      `http://127.0.0.1:${port + 1}`,
      `http://localhost:${port}`,
      `http://127.0.0.1:${port}.rebound.example`,
    ]) {
      expect(await post({ Origin }), String(Origin)).toBe(403);
    }
    for (const site of ['cross-site', 'same-site', 'none']) {
      expect(await post({ 'Sec-Fetch-Site': site }), site).toBe(403);
    }
    expect(await post({ 'Sec-Fetch-Site': 'same-origin' })).toBe(422);
  });

  it('of another page for what the ledger holds is refused', async () => {
    const served = await serve();
    const cookie = await pair(served);
    for (const site of ['cross-site', 'same-site']) {
      const headers = { Cookie: cookie, 'Sec-Fetch-Site': site };
      expect((await ask(served, '/api/device', { headers })).status, site).toBe(403);
    }
  });

  it('with another method is refused', async () => {
    const served = await serve();
    for (const method of ['PUT', 'DELETE', 'PATCH', 'OPTIONS']) {
      expect((await ask(served, '/api/observations', { method })).status, method).toBe(405);
    }
  });
});

describe('an answer', () => {
  it('lets nothing be guessed, framed, loaded or kept, whatever it is', async () => {
    const served = await serve();
    const cookie = await pair(served);
    for (const path of ['/api/device', '/api/nothing', '/nothing', '/api/photos/0123456789abcdef.jpg']) {
      const { headers } = await ask(served, path, { headers: { Cookie: cookie } });
      expect(headers['x-content-type-options'], path).toBe('nosniff');
      expect(headers['content-security-policy'], path).toMatch(/^default-src 'none'/);
      expect(headers['x-frame-options'], path).toBe('DENY');
      expect(headers['cache-control'], path).toBe('no-store');
      expect(headers['cross-origin-resource-policy'], path).toBe('same-origin');
      expect(headers['access-control-allow-origin'], path).toBeUndefined();
    }
  });
});

describe('addresses', () => {
  const ip = (address: string, internal = false) =>
    ({ address, internal, family: 'IPv4', netmask: '', mac: '', cidr: null }) as const;

  // RFC 1918: 10/8, 172.16/12, 192.168/16; RFC 3927: 169.254/16.
  it('are those of private networks, and never one of the open Internet', () => {
    const found = localAddresses({
      lo: [ip('127.0.0.1', true)],
      a: [ip('203.0.113.7'), ip('10.1.2.3'), ip('172.15.0.1'), ip('172.32.0.1'), ip('11.0.0.1')],
      b: [ip('172.16.0.1'), ip('172.31.255.254'), ip('192.168.178.20'), ip('169.254.9.9'), ip('192.169.0.1')],
    });
    expect(found).toEqual(['192.168.178.20', '10.1.2.3', '172.16.0.1', '172.31.255.254', '169.254.9.9']);
  });

  it('listened on are all local ones, or the one that was named', () => {
    expect(addressesFor(undefined, ['10.1.2.3']).listen).toEqual(['10.1.2.3', '127.0.0.1']);
    const { listen, names, aliases } = addressesFor('192.168.1.9', ['10.1.2.3']);
    expect(listen).toEqual(['192.168.1.9']);
    // Whether the machine's own name leads to this one of its addresses, nobody knows here.
    expect(names).toEqual(['192.168.1.9']);
    expect(aliases).toContain(hostname().toLowerCase());
    expect(addressesFor('127.0.0.1', ['10.1.2.3']).names).toEqual(['127.0.0.1', 'localhost']);
    expect(addressesFor('localhost', ['10.1.2.3']).names).toEqual(['localhost']);
    expect(addressesFor('0.0.0.0', ['10.1.2.3']).names).toEqual(
      expect.arrayContaining(['10.1.2.3', '127.0.0.1']),
    );
  });

  it('listened on are none for an empty name, which would stand for all', () => {
    for (const host of ['', ' ']) expect(() => addressesFor(host, ['10.1.2.3'])).toThrow(/is empty/);
  });

  it('listened on are none that the system would read as another, or that are for many', () => {
    // POSIX inet_addr: fewer than four parts, and hexadecimal ones. RFC 5771: 224/4. RFC 919: broadcast.
    const wrong = ['0', '1', '127.1', '0x7f.1', '0x7f000001', '999.1.1.1', '224.0.0.1', '255.255.255.255'];
    for (const host of [...wrong, '0.0.0.1', 'ff02::1', 'fe80::1%9']) {
      expect(() => addressesFor(host, ['10.1.2.3']), host).toThrow(/no address/);
    }
    for (const host of [
      '127.0.0.1',
      '10.1.2.3',
      '0.0.0.0',
      '::',
      '::1',
      'localhost',
      'cafe',
      'shed2.local',
    ]) {
      expect(addressesFor(host, ['10.1.2.3']).listen).toEqual([host]);
    }
  });

  // RFC 3986, 3.2.2: an IPv6 address in brackets; RFC 9110, 7.2: the default port may be left out.
  it('stand in a Host as browsers write them', () => {
    expect(authority('10.1.2.3', 7688, 'http')).toBe('10.1.2.3:7688');
    expect(authority('fe80::1', 7688, 'http')).toBe('[fe80::1]:7688');
    expect(authority('10.1.2.3', 80, 'http')).toBe('10.1.2.3');
    expect(authority('10.1.2.3', 443, 'https')).toBe('10.1.2.3');
    expect(authority('10.1.2.3', 443, 'http')).toBe('10.1.2.3:443');
  });
});
