/**
 * Requests to the server, with each way they can end told apart.
 */
import type { RefusalBody } from '../refusal.js';

/** The server said no, and would say so again. */
export class Refused extends Error {
  constructor(
    readonly status: number,
    readonly code: string,
    message: string,
    readonly hint: string,
  ) {
    super(message);
  }
}

/** No answer, or none that counts: it may be tried again. */
export class Unreachable extends Error {}

const PATIENCE_MS = 20_000;

/** Statuses after which the same request may yet succeed: time-outs, too many, trouble of the server. */
function isPassing(status: number): boolean {
  return status === 408 || status === 429 || status >= 500;
}

let tellNotPaired = () => {};

/** @param listener is told whenever the server does not know this phone (any more) */
export function onNotPaired(listener: () => void): void {
  tellNotPaired = listener;
}

/** @throws Refused or Unreachable */
export async function ask<T>(path: string, init: RequestInit = {}, patienceMs = PATIENCE_MS): Promise<T> {
  const giveUp = new AbortController();
  const timer = setTimeout(() => giveUp.abort(), patienceMs);
  try {
    const response = await fetch(path, { ...init, signal: giveUp.signal });
    const body: unknown = await response.json();
    if (response.ok) return body as T;
    const { code, message, hint } = (body as RefusalBody).error;
    if (isPassing(response.status) && code !== 'too-often') throw new Unreachable(message);
    if (response.status === 401) tellNotPaired();
    throw new Refused(response.status, code, message, hint);
  } catch (error) {
    if (error instanceof Refused || error instanceof Unreachable) throw error;
    throw new Unreachable('The computer cannot be reached.');
  } finally {
    clearTimeout(timer);
  }
}

export function send<T>(path: string, body: unknown): Promise<T> {
  const headers = { 'Content-Type': 'application/json' };
  return ask<T>(path, { method: 'POST', headers, body: JSON.stringify(body) });
}

export function sendPicture<T>(path: string, picture: Blob): Promise<T> {
  return ask<T>(
    path,
    { method: 'POST', headers: { 'Content-Type': picture.type }, body: picture },
    3 * PATIENCE_MS,
  );
}
