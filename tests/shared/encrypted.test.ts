/** The words of PostgreSQL's own programs for an encrypted connection (postgresql.org/docs, libpq, "SSL Support"). */
import { X509Certificate } from 'node:crypto';
import { chmodSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, expect, it } from 'vitest';
import { certificateFor } from '../../src/web/certificate.js';
import { emptyDatabase, onServer, type PostgresServer, startPostgres } from '../support/postgres.js';
import { exitCode, Machine, printed, seedlings } from './machines.js';

let own: PostgresServer;
let certificate: string;
beforeAll(async () => {
  const folder = mkdtempSync(join(tmpdir(), 'pottag-certificate-'));
  const { pem } = await certificateFor(folder, ['127.0.0.1'], new Date());
  certificate = new X509Certificate(pem).toString();
  own = await startPostgres(pem);
});
afterAll(() => own.stop());

/** A ledger of one plant. */
async function garden() {
  const ledger = await emptyDatabase(own.url);
  const house = new Machine(ledger, 'wren');
  house.expect(0, 'enrol', house.write('p.csv', seedlings('a', 1)));
  return ledger;
}

/** What a command prints beside its output, and whether its connection is encrypted. */
async function session(machine: Machine, ledger: string) {
  const run = machine.start('scan');
  let warned = '';
  run.stderr.on('data', (data) => {
    warned += data;
  });
  run.stdin.write('PXSV9\n');
  await printed(run.stdout, 'PXSV9');
  const { rows } = await onServer(
    own.url,
    ledger.split('/').at(-1) as string,
    `SELECT ssl FROM pg_stat_ssl JOIN pg_stat_activity USING (pid)
     WHERE application_name = 'pottag' AND datname = current_database()`,
  );
  run.stdin.end();
  expect(await exitCode(run)).toBe(0);
  return { warned, encrypted: rows.map(({ ssl }: { ssl: boolean }) => ssl) };
}

it('is not encrypted unless the address says so', async () => {
  const ledger = await garden();
  for (const mode of ['', '?sslmode=disable']) {
    const machine = new Machine(`${ledger}${mode}`, 'finch');
    expect(await session(machine, ledger)).toEqual({ warned: '', encrypted: [false] });
  }
});

it('is encrypted by sslmode=require, whoever the server is, without a warning', async () => {
  const ledger = await garden();
  const machine = new Machine(`${ledger}?sslmode=require`, 'finch');
  expect(await session(machine, ledger)).toEqual({ warned: '', encrypted: [true] });
});

it('is made only with a server that the certificate names by sslmode=verify-full', async () => {
  const ledger = await garden();
  const unknown = new Machine(`${ledger}?sslmode=verify-full`, 'finch');
  expect(unknown.expect(3, 'show', 'PXSV9')).toContain('self-signed certificate');
  const known = new Machine(`${ledger}?sslmode=verify-full&sslrootcert=server.pem`, 'siskin');
  known.write('server.pem', certificate);
  expect(await session(known, ledger)).toEqual({ warned: '', encrypted: [true] });
  const elsewhere = known.ledger.replace('127.0.0.1', 'localhost');
  expect(known.expect(3, 'show', 'PXSV9', '--ledger', elsewhere)).toContain('does not match');
  const anyName = elsewhere.replace('verify-full', 'verify-ca');
  known.expect(0, 'show', 'PXSV9', '--ledger', anyName);
});

it('is not made by words that leave it open how it is encrypted', async () => {
  const ledger = await garden();
  for (const mode of ['prefer', 'allow', 'verify-ca', 'sometimes']) {
    const machine = new Machine(`${ledger}?sslmode=${mode}`, 'finch');
    expect(machine.expect(2, 'show', 'PXSV9')).toContain(`sslmode=${mode}`);
  }
});

it('takes the password from the file for passwords, without a warning', async () => {
  const ledger = await garden();
  const { port, password } = new URL(own.url);
  const machine = new Machine(ledger.replace(`:${password}@`, '@'), 'finch');
  machine.write('passwords', `127.0.0.1:${port}:*:keeper:${password}\n`);
  chmodSync(machine.file('passwords'), 0o600);
  const run = machine.startWith({ PGPASSFILE: machine.file('passwords') }, 'show', 'PXSV9');
  let warned = '';
  run.stderr.on('data', (data) => {
    warned += data;
  });
  expect(await exitCode(run)).toBe(0);
  expect(warned).toBe('');
  const without = new Machine(machine.ledger, 'siskin');
  const nowhere = { PGPASSFILE: without.file('none'), PGPASSWORD: '' };
  const refused = without.startWith(nowhere, 'show', 'PXSV9');
  await printed(refused.stderr, 'a password is best kept in the file ~/.pgpass');
});
