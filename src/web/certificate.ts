/**
 * The certificate for --https, made here and kept in the ledger's folder. No authority vouches for it, so
 * browsers warn; whoever compares its fingerprint knows that it is this one.
 */
import { createPrivateKey, X509Certificate } from 'node:crypto';
import { existsSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { isIP } from 'node:net';
import { join } from 'node:path';
import selfsigned from 'selfsigned';

export interface Certificate {
  /** Certificate and private key. */
  readonly pem: string;
  /** SHA-256, as browsers show it. */
  readonly fingerprint: string;
}

const FILE = 'https.pem';

/** Some systems refuse certificates of servers that are valid for longer than 825 days. */
const VALID_DAYS = 800;
const DAY_MS = 24 * 3600 * 1000;
/** One that soon expires is made anew. */
const SPARE_DAYS = 14;

/** The kept certificate if it is good for these names, or a new one. */
export async function certificateFor(
  ledgerFolder: string,
  names: readonly string[],
  now: Date,
): Promise<Certificate> {
  const file = join(ledgerFolder, FILE);
  if (existsSync(file)) {
    const kept = readFileSync(file, 'utf8');
    const known = usable(kept, names, now);
    if (known !== undefined) return { pem: kept, fingerprint: known.fingerprint256 };
  }
  const altNames = names.map((name) =>
    isIP(name) ? { type: 7 as const, ip: name } : { type: 2 as const, value: name },
  );
  const made = await selfsigned.generate([{ name: 'commonName', value: 'Pottag' }], {
    keySize: 2048,
    algorithm: 'sha256',
    notBeforeDate: new Date(now.getTime() - DAY_MS),
    notAfterDate: new Date(now.getTime() + VALID_DAYS * DAY_MS),
    extensions: [
      { name: 'basicConstraints', cA: false, critical: true },
      { name: 'keyUsage', digitalSignature: true, keyEncipherment: true, critical: true },
      { name: 'extKeyUsage', serverAuth: true },
      { name: 'subjectAltName', altNames },
    ],
  });
  const pem = `${made.cert.trim()}\n${made.private.trim()}\n`;
  rmSync(file, { force: true }); // So that the new one gets the permissions below.
  writeFileSync(file, pem, { mode: 0o600, flag: 'wx', flush: true });
  return { pem, fingerprint: new X509Certificate(pem).fingerprint256 };
}

/** The certificate, if the key is its own, it has time left and holds every name. */
function usable(pem: string, names: readonly string[], now: Date): X509Certificate | undefined {
  try {
    const certificate = new X509Certificate(pem);
    const isGood =
      certificate.checkPrivateKey(createPrivateKey(pem)) &&
      Date.parse(certificate.validTo) > now.getTime() + SPARE_DAYS * DAY_MS &&
      names.every((name) => (isIP(name) ? certificate.checkIP(name) : certificate.checkHost(name)));
    return isGood ? certificate : undefined;
  } catch {
    return undefined; // Not what was written: damaged, or put there by somebody.
  }
}
