/**
 * Twenty phones logging at once on loopback: how many observations a second, how long the slowest hundredth
 * waits, whether one is lost; beside the bare web framework writing the same rows.
 */
import { type ChildProcess, spawn } from 'node:child_process';
import { copyFileSync, mkdirSync, rmSync } from 'node:fs';
import { Agent, request } from 'node:http';
import { join } from 'node:path';
import { v7 as timeOrderedUuid } from 'uuid';
import { idOfNumber } from '../../src/ids/allocation.js';
import { databaseFile, openLedger } from '../../src/ledger/sqlite-ledger.js';
import { pairDevice } from '../../src/web/devices.js';
import { makeBigLedger } from './big-ledger.js';
import { type BenchRow, LAUNCHER, ROOT } from './measure.js';

const PHONES = 20;
const EACH = 100;
const ROUNDS = 5;
const PLANTS = 3000;

/** Of the bare framework's throughput, and of how long its slowest hundredth waits. */
const LEAST_RATIO = 0.5;
const MOST_P99_RATIO = 3;

interface Load {
  readonly perSecond: number;
  readonly p99Ms: number;
}

interface Target {
  readonly port: number;
  readonly cookies: readonly string[];
}

export async function benchServe(folder: string): Promise<BenchRow[]> {
  const home = join(folder, 'serve');
  rmSync(home, { recursive: true, force: true });
  mkdirSync(home, { recursive: true });
  const ledgerFolder = join(home, 'ledger');
  await makeBigLedger(ledgerFolder, { plants: PLANTS, observationsEach: 5 });
  const before = await observationsIn(ledgerFolder);
  const copy = join(home, 'bare.sqlite');
  copyFileSync(databaseFile(ledgerFolder), copy);
  const ours = await started([
    LAUNCHER,
    'serve',
    '--ledger',
    ledgerFolder,
    '--host',
    '127.0.0.1',
    '--port',
    '0',
    '--json',
  ]);
  const bare = await started(['--import', 'tsx', join(ROOT, 'tests/bench/bare-server.ts'), copy]);
  const loads: { ours: Load; bare: Load }[] = [];
  try {
    const paired = { port: ours.port, cookies: pairAll(ledgerFolder) };
    const open = { port: bare.port, cookies: paired.cookies };
    for (let round = -1; round < ROUNDS; round++) {
      const load = { ours: await loadOn(paired), bare: await loadOn(open) };
      if (round >= 0) loads.push(load);
    }
  } finally {
    ours.child.kill();
    bare.child.kill();
  }
  const sent = (ROUNDS + 1) * PHONES * EACH;
  const lost = sent - ((await observationsIn(ledgerFolder)) - before);
  const middle = (values: number[]) =>
    values.sort((a, b) => a - b)[Math.floor(values.length / 2)] ?? Number.NaN;
  const [rate, bareRate] = [
    middle(loads.map((load) => load.ours.perSecond)),
    middle(loads.map((load) => load.bare.perSecond)),
  ];
  const [p99, bareP99] = [
    middle(loads.map((load) => load.ours.p99Ms)),
    middle(loads.map((load) => load.bare.p99Ms)),
  ];
  return [
    {
      what: `${PHONES} phones logging at once, observations a second`,
      measured: `${(rate / bareRate).toFixed(2)} × the bare framework (${rate.toFixed(0)} : ${bareRate.toFixed(0)})`,
      bar: `≥ ${LEAST_RATIO} ×`,
      holds: rate >= LEAST_RATIO * bareRate,
    },
    {
      what: '  the slowest hundredth waits',
      measured: `${(p99 / bareP99).toFixed(2)} × the bare framework (${p99.toFixed(0)} ms : ${bareP99.toFixed(0)} ms)`,
      bar: `≤ ${MOST_P99_RATIO} ×`,
      holds: p99 <= MOST_P99_RATIO * bareP99,
    },
    { what: '  lost or double', measured: `${lost} of ${sent}`, bar: 'none', holds: lost === 0 },
  ];
}

async function started(args: readonly string[]): Promise<{ child: ChildProcess; port: number }> {
  const child = spawn(process.execPath, args, { cwd: ROOT, stdio: ['pipe', 'pipe', 'inherit'] });
  const text = await new Promise<string>((resolve, reject) => {
    let printed = '';
    child.stdout.on('data', (chunk) => {
      printed += chunk;
      if (/}\n$/.test(printed)) resolve(printed);
    });
    child.once('close', () => reject(new Error(`node ${args.join(' ')} ended: ${printed}`)));
  });
  const { port } = JSON.parse(text) as { port: number };
  return { child, port };
}

function pairAll(ledgerFolder: string): string[] {
  return Array.from({ length: PHONES }, (_, index) => {
    const token = pairDevice(ledgerFolder, { name: `phone ${index}`, pairedAt: new Date().toISOString() });
    return `pottag_device=${token}`;
  });
}

/** Every phone sends its observations one after the other, all phones at once. */
async function loadOn({ port, cookies }: Target): Promise<Load> {
  const agent = new Agent({ keepAlive: true, maxSockets: PHONES });
  const waitedMs: number[] = [];
  const started = performance.now();
  await Promise.all(
    cookies.map(async (cookie, phone) => {
      for (let index = 0; index < EACH; index++) {
        const sentAt = performance.now();
        await send(agent, port, cookie, idOfNumber(1 + ((phone * EACH + index) % PLANTS), 6));
        waitedMs.push(performance.now() - sentAt);
      }
    }),
  );
  const seconds = (performance.now() - started) / 1000;
  agent.destroy();
  waitedMs.sort((a, b) => a - b);
  return {
    perSecond: waitedMs.length / seconds,
    p99Ms: waitedMs[Math.floor(0.99 * waitedMs.length)] ?? Number.NaN,
  };
}

function send(agent: Agent, port: number, cookie: string, id: string): Promise<void> {
  const values = { fruit: 'ripe', brix: '18.5' };
  const entry = timeOrderedUuid();
  const body = JSON.stringify({ entry, id, issue: null, date: '2026-08-09', values, photo: null });
  const headers = {
    'Content-Type': 'application/json',
    'Content-Length': Buffer.byteLength(body),
    Origin: `http://127.0.0.1:${port}`,
    Cookie: cookie,
  };
  return new Promise((resolve, reject) => {
    const asked = request(
      { agent, host: '127.0.0.1', port, path: '/api/observations', method: 'POST', headers },
      (response) => {
        response.resume();
        response.on('end', () =>
          response.statusCode === 200 ? resolve() : reject(new Error(`status ${response.statusCode}`)),
        );
      },
    );
    asked.on('error', reject);
    asked.end(body);
  });
}

async function observationsIn(ledgerFolder: string): Promise<number> {
  const ledger = openLedger(ledgerFolder, () => new Date());
  let count = 0;
  for await (const { observations } of ledger.histories({})) count += observations.length;
  ledger.close();
  return count;
}
