/**
 * A walk typed or scanned at the bench, line by line, with an answer to each.
 */
import type { WalkEvent, WalkProblem, WalkSession } from '../walk/session.js';
import { bold, type Console, yellow } from './console.js';

export interface TypedWalk {
  /** As the CSV it could have been written in. */
  readonly csv: string;
  readonly problems: readonly WalkProblem[];
}

export async function typeWalk(
  console: Console,
  lines: AsyncIterable<string>,
  session: WalkSession,
): Promise<TypedWalk> {
  if (process.stdin.isTTY) {
    console.talk("Scan a station's sign, then what stands there. Ctrl-D ends; help says more.");
  }
  for await (const line of lines) for (const event of session.line(line)) tell(console, event);
  for (const event of session.end()) tell(console, event);
  return { csv: session.csv(), problems: session.problems };
}

function tell(console: Console, event: WalkEvent): void {
  switch (event.kind) {
    case 'station':
      console.print(bold(event.station));
      return;
    case 'noted':
      console.print(`  ${event.what}`);
      return;
    case 'problem':
      console.print(`  ${yellow(`line ${event.line}`)}: ${event.problem}`);
      return;
  }
}
