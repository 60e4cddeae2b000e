/**
 * The devices that were paired: a file each in the ledger's `devices` folder, named by the hash of the
 * token that the device holds. So the tokens themselves are nowhere but on the devices, pairing and
 * forgetting never meet in one file, and forgetting is to remove it. They are no part of the journal,
 * which is for ever.
 */
import { createHash, randomBytes } from 'node:crypto';
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import * as z from 'zod';
import { LedgerError } from '../errors.js';

const DEVICES_FOLDER = 'devices';

const deviceShape = z.strictObject({ name: z.string(), pairedAt: z.string() });

export type Device = Readonly<z.infer<typeof deviceShape>>;

/** 256 random bits: nobody finds one by trying. */
const TOKEN_BYTES = 32;
const TOKEN = /^[A-Za-z0-9_-]{43}$/;

/** Keeps a new device and returns the token that it has to show from now on. */
export function pairDevice(ledgerFolder: string, device: Device): string {
  const token = randomBytes(TOKEN_BYTES).toString('base64url');
  const folder = join(ledgerFolder, DEVICES_FOLDER);
  try {
    mkdirSync(folder, { recursive: true, mode: 0o700 });
    writeFileSync(join(folder, fileOf(token)), `${JSON.stringify(device)}\n`, {
      mode: 0o600,
      flag: 'wx',
      flush: true,
    });
  } catch (error) {
    throw new LedgerError(
      'unwritable',
      `The folder ${folder} cannot be written (${(error as NodeJS.ErrnoException).code}).`,
      'Look whether the disk is full, and whether you can write there.',
      { cause: error },
    );
  }
  return token;
}

/** Finds the device by the token it shows; undefined if it was never paired or has been forgotten. */
export function findDevice(ledgerFolder: string, token: string): Device | undefined {
  return TOKEN.test(token) ? readDevice(join(ledgerFolder, DEVICES_FOLDER, fileOf(token))) : undefined;
}

/** The paired devices, the first paired first. */
export function devicesOf(ledgerFolder: string): Device[] {
  return deviceFiles(ledgerFolder)
    .flatMap((file) => readDevice(file) ?? [])
    .sort((a, b) => a.pairedAt.localeCompare(b.pairedAt));
}

/** Forgets every device of that name and returns how many there were. */
export function forgetDevices(ledgerFolder: string, name: string): number {
  const files = deviceFiles(ledgerFolder).filter((file) => readDevice(file)?.name === name);
  for (const file of files) rmSync(file);
  return files.length;
}

function fileOf(token: string): string {
  return `${createHash('sha256').update(token).digest('hex')}.json`;
}

function deviceFiles(ledgerFolder: string): string[] {
  const folder = join(ledgerFolder, DEVICES_FOLDER);
  if (!existsSync(folder)) return [];
  return readdirSync(folder)
    .filter((name) => /^[0-9a-f]{64}\.json$/.test(name))
    .map((name) => join(folder, name));
}

/** Undefined for a file that is not there, or is not what was written. */
function readDevice(file: string): Device | undefined {
  try {
    return deviceShape.safeParse(JSON.parse(readFileSync(file, 'utf8'))).data;
  } catch {
    return undefined;
  }
}
