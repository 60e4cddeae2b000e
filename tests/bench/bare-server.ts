/**
 * The peer of `serve` under load: the web framework alone, writing the same rows at the same settings, with no
 * pairing, no checks and no chain of hashes. Called with a copy of the ledger's database; prints its port.
 */
import { randomBytes } from 'node:crypto';
import { createRequire } from 'node:module';
import { serve } from '@hono/node-server';
import { Hono } from 'hono';
import type Connection from 'libsql';

const SQLite = createRequire(import.meta.url)('libsql') as typeof Connection;
const database = new SQLite(process.argv[2] ?? '');
database.pragma('journal_mode = WAL');
database.pragma('synchronous = FULL');
const insertEntry = database.prepare(
  'INSERT INTO journal (id, at, by, kind, body, hash) VALUES (?, ?, ?, ?, ?, ?)',
);
const insertObservation = database.prepare(
  'INSERT INTO observation (seq, plant, date) SELECT last_insert_rowid(), number, ? FROM plant WHERE id = ?',
);
const hash = randomBytes(32);

const app = new Hono();
app.post('/api/observations', async (c) => {
  const { entry, ...body } = (await c.req.json()) as { entry: string; id: string; date: string };
  database.exec('BEGIN IMMEDIATE');
  const id = Buffer.from(entry.replaceAll('-', ''), 'hex');
  insertEntry.run(id, new Date().toISOString(), 'bench', 'observed', JSON.stringify(body), hash);
  insertObservation.run(body.date, body.id);
  database.exec('COMMIT');
  return c.json({ observation: { entry, ...body }, doubt: null });
});
serve({ fetch: app.fetch, port: 0, hostname: '127.0.0.1' }, ({ port }) =>
  console.log(JSON.stringify({ port })),
);
