/**
 * The peer of `serve` under load: the web framework alone, writing the same rows at the same settings, with no
 * pairing, no checks and no chain of hashes. Called with the folder of its database; prints its port.
 */
import { randomBytes } from 'node:crypto';
import { createRequire } from 'node:module';
import { join } from 'node:path';
import { serve } from '@hono/node-server';
import { Hono } from 'hono';
import type Connection from 'libsql';
import { DERIVED_SCHEMA, JOURNAL_SCHEMA } from '../../src/ledger/schema.js';

const SQLite = createRequire(import.meta.url)('libsql') as typeof Connection;
const database = new SQLite(join(process.argv[2] ?? '.', 'bare.sqlite'));
database.pragma('journal_mode = WAL');
database.pragma('synchronous = FULL');
database.exec(JOURNAL_SCHEMA);
database.exec(DERIVED_SCHEMA);
const insertEntry = database.prepare(
  'INSERT INTO journal (id, at, by, kind, body, hash) VALUES (?, ?, ?, ?, ?, ?)',
);
const insertObservation = database.prepare('INSERT INTO observation (plant, date) VALUES (?, ?)');
const hash = randomBytes(32);

const app = new Hono();
app.post('/api/observations', async (c) => {
  const { entry, ...body } = (await c.req.json()) as { entry: string; date: string };
  database.exec('BEGIN IMMEDIATE');
  const id = Buffer.from(entry.replaceAll('-', ''), 'hex');
  insertEntry.run(id, new Date().toISOString(), 'bench', 'observed', JSON.stringify(body), hash);
  insertObservation.run(1, body.date);
  database.exec('COMMIT');
  return c.json({ observation: { entry, ...body }, doubt: null });
});
serve({ fetch: app.fetch, port: 0, hostname: '127.0.0.1' }, ({ port }) =>
  console.log(JSON.stringify({ port })),
);
