/** A shared ledger when machines, the server or the way between them fail in the middle of recording. */
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { newEntryId } from '../../src/ledger/journal.js';
import { type CuttingProxy, startProxy } from '../support/cutting-proxy.js';
import { emptyDatabase, type PostgresServer, startPostgres } from '../support/postgres.js';
import { seededRandom } from '../support/random.js';
import { exitCode, Machine, printed, seedlings } from './machines.js';

let own: PostgresServer;
let proxy: CuttingProxy;
beforeAll(async () => {
  own = await startPostgres();
  proxy = await startProxy(Number(new URL(own.url).port));
});
afterAll(async () => {
  await proxy.close();
  await own.stop();
});

interface Shown {
  readonly observations: readonly { readonly note: string }[];
}

/** A garden of two plants, and the ID of the first. */
async function garden() {
  const ledger = await emptyDatabase(own.url);
  const house = new Machine(ledger, 'wren');
  const { plants } = house.json<{ plants: { id: string }[] }>(
    0,
    'enrol',
    house.write('p.csv', seedlings('a', 2)),
  );
  return { ledger, house, id: plants[0]?.id as string };
}

const notesOn = (machine: Machine, id: string) =>
  machine.json<Shown>(0, 'show', id).observations.map(({ note }) => note);

const throughProxy = (ledger: string) => ledger.replace(/:\d+\//, `:${proxy.port}/`);

describe('the connection is lost after the server was told to commit', () => {
  it('and comes back: what was recorded is said to be, and is there once', async () => {
    const { ledger, house, id } = await garden();
    const far = new Machine(throughProxy(ledger), 'finch');
    expect(await exitCode(far.start('scan', id))).toBe(0);
    proxy.cutAfterCommit(false);
    const run = far.start('scan', id, '--note', 'once');
    expect(await exitCode(run)).toBe(0);
    expect(notesOn(house, id)).toEqual(['once']);
    // Not `expect` of the machine: that stops this process, and with it the proxy.
    expect(await exitCode(far.start('check'))).toBe(0);
  });

  it('and does not come back: it is said that nobody knows', async () => {
    const { ledger, house, id } = await garden();
    const far = new Machine(throughProxy(ledger), 'finch');
    expect(await exitCode(far.start('scan', id))).toBe(0);
    proxy.cutAfterCommit(true);
    const run = far.start('scan', id, '--note', 'perhaps');
    let said = '';
    run.stderr.on('data', (data) => {
      said += data;
    });
    expect(await exitCode(run)).toBe(3);
    expect(said).toContain('whether it did is not known');
    proxy.mend();
    expect(notesOn(house, id)).toEqual(['perhaps']);
    expect(await exitCode(far.start('check'))).toBe(0);
  });
});

it('a ledger is shared once, though the connection is lost when it was, and marked a copy when that is seen', async () => {
  const ledger = await emptyDatabase(own.url);
  const home = new Machine('garden', 'wren');
  home.expect(0, 'enrol', home.write('p.csv', seedlings('a', 2)));
  proxy.cutAfterCommit(true);
  expect(await exitCode(home.start('share', throughProxy(ledger)))).toBe(3);
  proxy.mend();
  expect(home.expect(0, 'share', ledger)).toContain('was there already');
  expect(home.expect(3, 'enrol', 'p.csv')).toContain('is a copy of the ledger');
  expect(new Machine(ledger, 'finch').json(0, 'check')).toMatchObject({ ok: true, plants: 2 });
});

it('machines killed at any moment leave the ledger sound, with all that was acknowledged', async () => {
  const { ledger, house, id } = await garden();
  const random = seededRandom(20261125);
  const acknowledged: string[] = [];
  let killed = 0;
  for (let round = 0; round < 12; round++) {
    const machine = new Machine(ledger, `hand ${round}`);
    if (round % 2 === 0) machine.expect(0, 'scan', id); // Half of them have a copy already.
    const note = `note ${round}`;
    const run = machine.start('scan', id, '--note', note);
    const timer = setTimeout(() => run.kill('SIGKILL'), random.between(100, 900));
    if ((await exitCode(run)) === 0) acknowledged.push(note);
    else killed++;
    clearTimeout(timer);
    expect(machine.json(0, 'check')).toMatchObject({ ok: true, plants: 2 });
  }
  const there = notesOn(house, id);
  expect(there).toEqual([...new Set(there)]);
  expect(acknowledged.filter((note) => !there.includes(note))).toEqual([]);
  expect(killed).toBeGreaterThan(0);
}, 180_000);

it('the server killed at any moment keeps all that was acknowledged', async () => {
  const { ledger, house, id } = await garden();
  const far = new Machine(ledger, 'finch');
  far.expect(0, 'scan', id);
  const random = seededRandom(20261126);
  const acknowledged: string[] = [];
  for (let round = 0; round < 4; round++) {
    const runs = [house, far].map((machine) => {
      const note = `${machine.name} ${round}`;
      return exitCode(machine.start('scan', id, '--note', note)).then((code) => {
        if (code === 0) acknowledged.push(note);
        else expect(code).toBe(3);
      });
    });
    await new Promise((resolve) => setTimeout(resolve, random.between(150, 700)));
    await own.kill();
    await Promise.all(runs);
    await own.restart();
  }
  const there = notesOn(house, id);
  expect(there).toEqual([...new Set(there)]);
  expect(acknowledged.filter((note) => !there.includes(note))).toEqual([]);
  for (const machine of [house, far]) expect(machine.json(0, 'check')).toMatchObject({ ok: true });
}, 180_000);

it('a phone page that is served goes on when the server is back, and what phones sent again is there once', async () => {
  const { house, id } = await garden();
  const run = house.start('serve', '--json', '--host', '127.0.0.1', '--port', '0');
  let warned = '';
  run.stderr.on('data', (data) => {
    warned += data;
  });
  const { port, code } = JSON.parse(await printed(run.stdout, '\n}\n')) as { port: number; code: string };
  const origin = `http://127.0.0.1:${port}`;
  const post = (path: string, body: object, cookie = '') =>
    fetch(`${origin}/api/${path}`, {
      method: 'POST',
      headers: { origin, cookie, 'Content-Type': 'application/json' },
      body: JSON.stringify(body),
    });
  const paired = await post('pair', { code, name: 'Siskin' });
  const cookie = paired.headers.get('set-cookie')?.split(';')[0] ?? '';
  const seen = ['one', 'two', 'three'].map((note) => {
    return { entry: newEntryId(), id, issue: null, date: '2024-09-14', values: { note }, photo: null };
  });
  const statuses = async () => {
    const plant = fetch(`${origin}/api/plants/${id}`, { headers: { cookie } });
    const all = await Promise.all([plant, ...seen.map((each) => post('observations', each, cookie))]);
    return all.map(({ status }) => status);
  };
  expect(await statuses()).toEqual([200, 200, 200, 200]);
  await own.kill();
  expect(await statuses()).toEqual([503, 503, 503, 503]);
  await own.restart();
  expect(await statuses()).toEqual([200, 200, 200, 200]);
  run.kill('SIGINT');
  expect(await exitCode(run)).toBe(0);
  expect(notesOn(house, id).toSorted()).toEqual(['one', 'three', 'two']);
  expect(warned).not.toContain('Warning');
});

it('a session of scans says at once that the server is gone, and hands back what was not recorded', async () => {
  const { house, id } = await garden();
  const run = house.start('scan');
  run.stdin.write(`${id}\n`);
  await printed(run.stdout, id);
  await own.kill();
  const told = printed(run.stderr, 'Nothing more is');
  run.stdin.write(`note lost\n${id}\n`);
  await told;
  const handedBack = printed(run.stderr, 'note lost');
  run.stdin.end('brix 12\n');
  expect(await exitCode(run)).toBe(3);
  await handedBack;
  await own.restart();
});
