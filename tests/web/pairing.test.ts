/** Pairing codes: one device each, ten minutes, and not to be found by trying. */
import { existsSync, readdirSync, readFileSync, statSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { devicesOf, findDevice, forgetDevices } from '../../src/web/devices.js';
import { MOST_WRONG, MOST_WRONG_OF_ADDRESS, PairingDesk, spelled } from '../../src/web/pairing.js';
import { ask, codeOf, pair, serve } from './served.js';

const MINUTE_MS = 60_000;

function desk() {
  const clock = { nowMs: 0 };
  return { clock, desk: new PairingDesk(() => new Date(clock.nowMs)) };
}

describe('a pairing code', () => {
  it('pairs one device, typed in any case, with hyphens and look-alikes, and is used up', () => {
    const { desk: own } = desk();
    const code = own.renew();
    expect(code).toMatch(/^[0-9A-HJKMNP-TV-Z]{8}$/);
    const typed = ` ${spelled(code).toLowerCase().replaceAll('1', 'l').replaceAll('0', 'o')} `;
    expect(own.attempt(typed, 'a')).toBe('paired');
    expect(own.attempt(code, 'a')).toBe('no-code');
  });

  it('lives for ten minutes', () => {
    const { desk: own, clock } = desk();
    const code = own.renew();
    clock.nowMs = 10 * MINUTE_MS - 1;
    expect(own.attempt('00000000', 'a')).toBe('wrong');
    clock.nowMs = 10 * MINUTE_MS;
    expect(own.attempt(code, 'a')).toBe('no-code');
  });

  it('does not answer an address that has tried too often, and answers others', () => {
    const { desk: own } = desk();
    const code = own.renew();
    for (let tries = 0; tries < MOST_WRONG_OF_ADDRESS; tries++)
      expect(own.attempt('wrong', 'a')).toBe('wrong');
    expect(own.attempt(code, 'a')).toBe('too-often');
    expect(own.attempt(code, 'b')).toBe('paired');
  });

  it('is given up after so many wrong tries, from wherever they come', () => {
    const { desk: own } = desk();
    const code = own.renew();
    for (let tries = 0; tries < MOST_WRONG; tries++) own.attempt('wrong', `address ${tries}`);
    expect(own.attempt(code, 'another')).toBe('no-code');
    expect(own.attempt(own.renew(), 'address 1')).toBe('paired');
  });

  it('is another one each time', () => {
    const { desk: own } = desk();
    const codes = new Set(Array.from({ length: 1000 }, () => own.renew()));
    expect(codes.size).toBe(1000);
    expect(own.attempt([...codes][998] ?? '', 'a')).toBe('wrong');
  });
});

describe('a device', () => {
  it('that is not paired can ask nothing of the ledger', async () => {
    const served = await serve();
    for (const path of [
      '/api/device',
      '/api/scan?text=PXSV9',
      '/api/plants/PXSV9',
      '/api/garden',
      '/api/photos/x',
    ]) {
      expect((await ask(served, path)).status, path).toBe(401);
    }
    for (const path of ['/api/observations', '/api/withdrawals', '/api/photos', '/api/scan']) {
      expect((await ask(served, path, { body: '{}' })).status, path).toBe(401);
    }
  });

  it('that is paired holds a token of which only a hash is kept, for its owner alone', async () => {
    const served = await serve();
    const body = JSON.stringify({ code: served.desk.renew(), name: ' Wren’s phone ' });
    const { status, headers } = await ask(served, '/api/pair', { body });
    expect(status).toBe(200);
    const [cookie = ''] = headers['set-cookie'] ?? [];
    expect(cookie).toMatch(/; HttpOnly/);
    expect(cookie).toMatch(/; SameSite=Strict/);
    const token = /^pottag_device=([\w-]+)/.exec(cookie)?.[1] ?? '';
    expect(token.length).toBe(43); // 256 bits in base64url.
    const folder = join(served.ledger.folder, 'devices');
    const [file = ''] = readdirSync(folder);
    const kept = readFileSync(join(folder, file), 'utf8');
    expect(`${file} ${kept}`).not.toContain(token);
    expect(statSync(join(folder, file)).mode & 0o777).toBe(0o600);
    expect(statSync(folder).mode & 0o777).toBe(0o700);
    expect(devicesOf(served.ledger.folder)).toEqual([
      { name: 'Wren’s phone', pairedAt: '2026-09-14T12:00:00.000Z' },
    ]);
  });

  it('that is forgotten is refused from the next request on, and the others are not', async () => {
    const served = await serve();
    const [wren, tansy] = [await pair(served, 'Wren'), await pair(served, 'Tansy')];
    const device = (cookie: string) => ask(served, '/api/device', { headers: { Cookie: cookie } });
    expect((await device(wren)).text).toContain('Wren');
    expect(forgetDevices(served.ledger.folder, 'Wren')).toBe(1);
    expect((await device(wren)).status).toBe(401);
    expect((await device(tansy)).status).toBe(200);
  });

  it('that shows anything but its token is not paired', async () => {
    const served = await serve();
    const cookie = await pair(served);
    const wrong = [
      '',
      'x',
      '../../ledger.sqlite',
      `${cookie.slice(14)}x`,
      cookie.slice(14).toLowerCase(),
      '%00',
    ];
    for (const token of wrong) {
      const headers = { Cookie: `pottag_device=${token}` };
      expect((await ask(served, '/api/device', { headers })).status, token).toBe(401);
      expect(findDevice(served.ledger.folder, token)).toBeUndefined();
    }
  });

  it('is not paired by a wrong code, a name that is none, or too many tries', async () => {
    const served = await serve();
    const code = served.desk.renew();
    const attempt = (body: unknown) => ask(served, '/api/pair', { body: JSON.stringify(body) });
    for (const name of ['', ' ', 'x'.repeat(41), 'a\u0007b', 7]) {
      expect((await attempt({ code, name })).status, String(name)).toBe(422);
    }
    expect((await attempt({ code, name: 'Wren', more: 1 })).status).toBe(422);
    expect((await ask(served, '/api/pair', { body: 'code' })).status).toBe(422);
    expect(
      (await ask(served, '/api/pair', { body: JSON.stringify({ code: 'x'.repeat(2000) }) })).status,
    ).toBe(413);
    for (let tries = 0; tries < MOST_WRONG_OF_ADDRESS; tries++) {
      expect(codeOf(await attempt({ code: 'WRONG', name: 'Wren' }))).toBe('wrong-code');
    }
    const refused = await attempt({ code, name: 'Wren' });
    expect([refused.status, codeOf(refused)]).toEqual([429, 'too-often']);
    expect(existsSync(join(served.ledger.folder, 'devices'))).toBe(false);
  });
});
