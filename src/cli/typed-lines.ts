/**
 * Lines from stdin, as a hand scanner or a person types them. Being broken off is an end of input, so that
 * nothing typed is lost.
 */
import { fstatSync } from 'node:fs';
import { InputError } from '../errors.js';

/** Up to the end of input, or a line that says `end`. @param instead what else the command could be given */
export function typedLines(instead: string): AsyncIterable<string> {
  if (fstatSync(process.stdin.fd).isDirectory()) {
    throw new InputError('cannot-read-input', 'The input is a folder.', `Type or pipe lines, or ${instead}.`);
  }
  return linesOfInput();
}

async function* linesOfInput(): AsyncGenerator<string> {
  const { createInterface } = await import('node:readline');
  const lines = createInterface({ input: process.stdin, crlfDelay: Number.POSITIVE_INFINITY });
  for (const signal of ['SIGINT', 'SIGTERM', 'SIGHUP'] as const) process.once(signal, () => lines.close());
  for await (const line of lines) {
    if (/^\s*(end|exit|quit)\s*$/i.test(line)) break;
    yield line;
  }
}
