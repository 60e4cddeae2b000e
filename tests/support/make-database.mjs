/** Makes a database with nothing in it and prints its address: for callers that cannot wait for a promise. */
import { randomBytes } from 'node:crypto';
import pg from 'pg';

const [, , url] = process.argv;
const name = `garden_${randomBytes(6).toString('hex')}`;
const client = new pg.Client({ connectionString: `${url}/postgres` });
await client.connect();
await client.query(`CREATE DATABASE ${name}`);
await client.end();
console.log(`${url}/${name}`);
