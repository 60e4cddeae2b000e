/** `pottag serve`, killed while a phone sends observations and photos, started again, and sent all once more. */
import assert from 'node:assert/strict';
import { type ChildProcess, spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { v7 as timeOrderedUuid } from 'uuid';
import { checkLedger } from '../../src/ledger/check.js';
import { pairDevice } from '../../src/web/devices.js';
import { type Garden, LEDGER } from './garden.js';
import { entriesIn, inCopy, LAUNCHER, type Moment, STEPS } from './rounds.js';

const OBSERVATIONS = 12;
const PLANT = 'PXSV9';

/** About how many steps it takes to start and to write all that is sent. */
export const SERVING_STEPS = 70;

interface Server {
  readonly child: ChildProcess;
  /** Undefined if it was killed before it said where it is. */
  readonly port: number | undefined;
}

export async function serveKilledAt(garden: Garden, moment: Moment): Promise<void> {
  await inCopy(garden, async (folder) => {
    const ledger = join(folder, LEDGER);
    const where = `serve, killed ${JSON.stringify(moment)}`;
    const token = pairDevice(ledger, { name: 'Wren', pairedAt: '2026-09-14T12:00:00.000Z' });
    const photo = readFileSync(join(folder, 'photo.png'));
    const sent = Array.from({ length: OBSERVATIONS }, () => timeOrderedUuid());
    const acknowledged: string[] = [];
    const send = async (port: number, entry: string) => {
      const kept = await post(port, token, '/api/photos', photo);
      const values = { note: entry };
      const body = { entry, id: PLANT, issue: null, date: '2026-09-14', values, photo: await kept.json() };
      const answer = await post(port, token, '/api/observations', JSON.stringify(body));
      assert.equal(answer.status, 200, `${where}: ${await answer.text()}`);
      acknowledged.push(entry);
    };

    const killed = await start(folder, moment);
    if (killed.port !== undefined) {
      for (const entry of sent) {
        const isThere = await send(killed.port, entry).then(
          () => true,
          (error: unknown) => {
            if (error instanceof assert.AssertionError) throw error;
            return false;
          },
        );
        if (!isThere) break;
      }
      await stop(killed.child, 'SIGKILL');
    }
    assert.deepEqual(checkLedger(ledger, () => {}).findings, [], where);
    const there = entriesIn(ledger).map(({ id }) => id);
    for (const entry of acknowledged) assert(there.includes(entry), `${where}: ${entry} was acknowledged`);

    const again = await start(folder);
    assert(again.port !== undefined, `${where}: it does not start again`);
    for (const entry of sent) await send(again.port, entry);
    await stop(again.child, 'SIGTERM');
    assert.deepEqual(checkLedger(ledger, () => {}).findings, [], where);
    const kept = entriesIn(ledger).filter(
      ({ kind, body }) => kind === 'observed' && /"note":"[0-9a-f]{8}-/.test(body),
    );
    assert.deepEqual(kept.map(({ id }) => id).sort(), [...sent].sort(), `${where}: each is there once`);
  });
}

async function start(folder: string, moment?: Moment): Promise<Server> {
  const killing =
    moment !== undefined && 'beforeStep' in moment ? { STEPS_KILL_BEFORE: `${moment.beforeStep}` } : {};
  const args = ['serve', '--host', '127.0.0.1', '--port', '0', '--json'];
  const child = spawn(process.execPath, ['--import', STEPS, LAUNCHER, ...args], {
    cwd: folder,
    env: { ...process.env, ...killing, POTTAG_LEDGER: join(folder, LEDGER) },
    stdio: ['pipe', 'pipe', 'ignore'],
  });
  if (moment !== undefined && 'afterMs' in moment)
    setTimeout(() => child.kill('SIGKILL'), moment.afterMs).unref();
  let printed = '';
  const port = await new Promise<number | undefined>((resolve) => {
    child.stdout.on('data', (text) => {
      printed += text;
      if (/\n}\n/.test(printed)) resolve((JSON.parse(printed) as { port: number }).port);
    });
    child.once('close', () => resolve(undefined));
  });
  return { child, port };
}

function stop(child: ChildProcess, signal: NodeJS.Signals): Promise<void> {
  if (child.exitCode !== null || child.signalCode !== null) return Promise.resolve();
  const gone = new Promise<void>((resolve) => child.once('close', () => resolve()));
  child.kill(signal);
  return gone;
}

function post(port: number, token: string, path: string, body: string | Uint8Array): Promise<Response> {
  const own = `http://127.0.0.1:${port}`;
  const type = typeof body === 'string' ? 'application/json' : 'image/png';
  const headers = { Origin: own, 'Content-Type': type, Cookie: `pottag_device=${token}` };
  return fetch(`${own}${path}`, { method: 'POST', headers, body: body as NonNullable<RequestInit['body']> });
}
