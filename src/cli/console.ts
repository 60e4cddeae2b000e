/**
 * Where a command's words go: results to stdout, talk to stderr.
 */
import { stripVTControlCharacters } from 'node:util';
import { createColors } from 'picocolors';

export interface Settings {
  readonly ledger: string;
  readonly json?: true;
  readonly quiet?: true;
}

export class Console {
  constructor(private readonly settings: Settings) {}

  /** A result for people; nothing with --json. */
  print(text: string): void {
    if (!this.settings.json) process.stdout.write(`${harmless(text)}\n`);
  }

  /** The result with --json: one document. */
  document(value: unknown): void {
    if (this.settings.json) process.stdout.write(`${JSON.stringify(value, null, 2)}\n`);
  }

  /** With --json, what comes after the document of a command that goes on: a document a line. */
  further(value: unknown): void {
    if (this.settings.json) process.stdout.write(`${JSON.stringify(value)}\n`);
  }

  /** What helps but is no result; nothing with --quiet. */
  talk(text: string): void {
    if (!this.settings.quiet) process.stderr.write(`${harmless(text)}\n`);
  }

  /** What a person must read, with --quiet too; nothing with --json, which has it in the document. */
  warn(text: string): void {
    if (!this.settings.json) process.stderr.write(`${harmless(text)}\n`);
  }

  /** A progress line on a terminal, redrawn in place; `done` of `of` pieces of `what`. */
  progress(what: string): (done: number, of: number) => void {
    if (this.settings.quiet || !process.stderr.isTTY) return () => {};
    let shownAtMs = 0;
    let isShown = false;
    return (done, of) => {
      const isLast = done >= of;
      const nowMs = Date.now();
      if (!isLast && nowMs - shownAtMs < PROGRESS_EVERY_MS) return;
      if (isLast && !isShown) return; // Done before there was anything to wait for.
      shownAtMs = nowMs;
      isShown = true;
      process.stderr.write(isLast ? '\r\x1b[K' : `\r\x1b[K${progressLine(what, done, of)}`);
    };
  }
}

const PROGRESS_EVERY_MS = 100;
const PROGRESS_BAR_WIDTH = 30;

function progressLine(what: string, done: number, of: number): string {
  const share = of === 0 ? 1 : done / of;
  const full = Math.round(share * PROGRESS_BAR_WIDTH);
  const bar = '█'.repeat(full) + '░'.repeat(PROGRESS_BAR_WIDTH - full);
  return `${what} ${bar} ${Math.floor(share * 100)} %`;
}

/** Colours on a terminal only, and as NO_COLOR (no-color.org) and FORCE_COLOR ask. */
const isTerminal =
  process.stdout.isTTY === true && process.stderr.isTTY === true && process.env.TERM !== 'dumb';
const hasColours = !process.env.NO_COLOR && (Boolean(process.env.FORCE_COLOR) || isTerminal);

export const { bold, dim, green, red, yellow } = createColors(hasColours);

/** The few styles used here, which can hide nothing; or any control character. */
const OURS_OR_CONTROL = new RegExp(`${String.fromCharCode(27)}\\[(?:1|2|22|31|32|33|39)m|\\p{Cc}`, 'gu');

/**
 * Text as a terminal may be given it: a symbol on a stranger's label can hold anything, and control
 * characters are obeyed. Our own styles, line ends and tabs stay.
 */
export function harmless(text: string): string {
  return text.replaceAll(OURS_OR_CONTROL, (found) =>
    found.length > 1 || found === '\n' || found === '\t' ? found : '�',
  );
}

/** Rows in aligned columns, two spaces between them; the last column is left as long as it is. */
export function columns(rows: readonly (readonly string[])[], indent = ''): string {
  const widths: number[] = [];
  for (const row of rows) {
    row.forEach((cell, index) => {
      widths[index] = Math.max(widths[index] ?? 0, width(cell));
    });
  }
  const lines = rows.map((row) => {
    const cells = row.map((cell, index) => cell + ' '.repeat((widths[index] ?? 0) - width(cell)));
    return `${indent}${cells.join('  ')}`.trimEnd();
  });
  return lines.join('\n');
}

/** Letters that terminals show one column wide, each one code point. */
const NARROW = /^[\x20-\u02ff\u2010-\u203a]*$/;
/** East Asian wide and full-width letters (UAX #11, the main blocks), and emoji: two columns. */
const WIDE =
  /\p{Emoji_Presentation}|[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6\u{20000}-\u{3fffd}]/u;

/** In columns of a terminal. */
function width(cell: string): number {
  const text = stripVTControlCharacters(cell);
  if (NARROW.test(text)) return text.length;
  const letters = [...new Intl.Segmenter().segment(text)];
  return letters.reduce((sum, { segment }) => sum + (WIDE.test(segment) ? 2 : 1), 0);
}
