/** Runs a test project against a ledger on a server: see `vitest.config.ts`. */
import type { TestProject } from 'vitest/node';
import { startPostgres } from './postgres.js';

declare module 'vitest' {
  export interface ProvidedContext {
    /** The address of a PostgreSQL server, where ledgers are to be made on one. */
    readonly postgres: string | undefined;
  }
}

export default async function setup(project: TestProject): Promise<() => Promise<void>> {
  const server = await startPostgres();
  project.provide('postgres', server.url);
  return () => server.stop();
}
