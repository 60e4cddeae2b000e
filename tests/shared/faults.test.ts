/** A shared ledger when machines, the server or the way between them fail in the middle of recording. */
import { readFileSync } from 'node:fs';
import { afterAll, afterEach, beforeAll, describe, expect, it } from 'vitest';
import { newEntryId } from '../../src/ledger/journal.js';
import { STEPS } from '../faults/rounds.js';
import { type CuttingProxy, startProxy } from '../support/cutting-proxy.js';
import { emptyDatabase, onServer, type PostgresServer, startPostgres } from '../support/postgres.js';
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

describe('sharing that is killed', () => {
  /** A ledger in a folder, of two plants. */
  function homeGarden() {
    const home = new Machine('garden', 'wren');
    home.expect(0, 'enrol', home.write('p.csv', seedlings('a', 2)));
    return home;
  }

  it('between the commit on the server and the mark in the folder: nothing is written there until it is finished', async () => {
    const ledger = await emptyDatabase(own.url);
    const home = homeGarden();
    const committed = proxy.holdAfterCommit();
    const run = home.start('share', throughProxy(ledger));
    await committed;
    run.kill('SIGKILL');
    await exitCode(run);
    expect(home.expect(3, 'scan', 'PXSV9', '--note', 'late')).toContain(
      'Finish it: pottag share postgres://',
    );
    expect(home.expect(0, 'share', ledger)).toContain('was there already');
    expect(home.expect(3, 'scan', 'PXSV9', '--note', 'late')).toContain('is a copy of the ledger');
    expect(new Machine(ledger, 'finch').json(0, 'check')).toMatchObject({ ok: true, plants: 2 });
  });

  it('before a step by which it changes the folder: what can still be written there gets to the server', async () => {
    const ledger = await emptyDatabase(own.url);
    const withSteps = (given: NodeJS.ProcessEnv) => ({ NODE_OPTIONS: `--import ${STEPS}`, ...given });
    const counted = homeGarden();
    const countTo = counted.file('steps');
    expect(await exitCode(counted.startWith(withSteps({ STEPS_COUNT_TO: countTo }), 'share', ledger))).toBe(
      0,
    );
    const steps = Number(readFileSync(countTo, 'utf8'));
    const outcomes = new Set<number | null>();
    // The two marks are the last things written.
    for (let step = steps; step > steps - 18; step -= 3) {
      await onServer(own.url, ledger.split('/').at(-1) as string, 'DROP SCHEMA IF EXISTS pottag CASCADE');
      const home = homeGarden();
      await exitCode(home.startWith(withSteps({ STEPS_KILL_BEFORE: `${step}` }), 'share', ledger));
      const outcome = await exitCode(home.start('scan', 'PXSV9', '--note', 'late'));
      outcomes.add(outcome);
      home.expect(0, 'share', ledger);
      const observations = outcome === 0 ? 1 : 0;
      const checked = new Machine(ledger, 'finch').json(0, 'check');
      expect(checked, `step ${step}`).toMatchObject({ ok: true, plants: 2, observations });
    }
    expect([...outcomes].toSorted()).toEqual([0, 3]);
  }, 120_000);
});

describe('the way to the server falls silent', () => {
  afterEach(() => proxy.mend());

  it('while a command waits for an answer, or for a connection: it ends, and says why', async () => {
    const { ledger, id } = await garden();
    const far = new Machine(throughProxy(ledger), 'finch');
    const session = far.start('scan');
    session.stdin.write(`${id}\n`);
    await printed(session.stdout, id);
    proxy.fallSilent();
    const unconnected = far.start('show', id);
    const codes = Promise.all([session, unconnected].map(exitCode));
    const said = [
      printed(session.stderr, 'cannot be reached (no answer for 15 seconds)'),
      printed(unconnected.stderr, 'cannot be reached (no answer)'),
    ];
    session.stdin.end('note lost\n');
    await Promise.all(said);
    expect(await codes).toEqual([3, 3]);
  }, 60_000);

  it('under a phone page that is served: phones are told, however many wait, and are heard when it is back', async () => {
    const { ledger, house, id } = await garden();
    const page = await servedPage(new Machine(throughProxy(ledger), 'finch'));
    const notes = Array.from({ length: 8 }, (_, index) => `note ${index}`);
    const seen = notes.map((note) => observation(id, note));
    const statuses = () => Promise.all([page.plant(id), ...seen.map(page.record)]);
    proxy.fallSilent();
    expect(await statuses()).toEqual([503, ...notes.map(() => 503)]);
    proxy.mend();
    expect(await statuses()).toEqual([200, ...notes.map(() => 200)]);
    expect(await page.stop()).toBe(0);
    expect(notesOn(house, id).toSorted()).toEqual(notes);
  }, 90_000);
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
  const page = await servedPage(house);
  const seen = ['one', 'two', 'three'].map((note) => observation(id, note));
  const statuses = () => Promise.all([page.plant(id), ...seen.map(page.record)]);
  expect(await statuses()).toEqual([200, 200, 200, 200]);
  await own.kill();
  expect(await statuses()).toEqual([503, 503, 503, 503]);
  await own.restart();
  expect(await statuses()).toEqual([200, 200, 200, 200]);
  expect(await page.stop()).toBe(0);
  expect(notesOn(house, id).toSorted()).toEqual(['one', 'three', 'two']);
  expect(page.warned()).not.toContain('Warning');
});

/** As a phone sends it. */
function observation(id: string, note: string) {
  return { entry: newEntryId(), id, issue: null, date: '2024-09-14', values: { note }, photo: null };
}

/** `serve` on a machine, and a phone that is paired with it. */
async function servedPage(machine: Machine) {
  const run = machine.start('serve', '--json', '--host', '127.0.0.1', '--port', '0');
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
      signal: AbortSignal.timeout(50_000),
    });
  const paired = await post('pair', { code, name: 'Siskin' });
  const cookie = paired.headers.get('set-cookie')?.split(';')[0] ?? '';
  return {
    plant: async (id: string) => (await fetch(`${origin}/api/plants/${id}`, { headers: { cookie } })).status,
    record: async (seen: object) => (await post('observations', seen, cookie)).status,
    warned: () => warned,
    stop() {
      run.kill('SIGINT');
      return exitCode(run);
    },
  };
}

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
