/**
 * A cross as one writes it: seed parent × pollen parent, the seed parent first (botanical custom).
 */

/** `null`: not known. */
export interface Cross {
  readonly seedParent: string | null;
  readonly pollenParent: string | null;
}

const UNKNOWN = '?';

/**
 * × (and signs that look like it) between two names, with white space on both sides or on neither: `Ficus
 * ×hybrida` is one name. Only where there is none, a letter x or an asterisk with white space around it.
 */
const SIGN = /\s[×✕✖⨯]\s|(?<=\S)[×✕✖⨯](?=\S)/g;
const LETTER = /\s[xX*]\s/g;

/**
 * Reads `A × B`, `A x B`, `A X B` or `A * B`; a `?` is an unknown parent, and a parent that is itself a
 * cross stands in brackets. Undefined if the text does not have exactly two sides.
 */
export function parseCross(text: string): Cross | undefined {
  const [separator, ...more] = separatorsIn(text);
  if (!separator || more.length > 0) return undefined;
  const seedParent = text.slice(0, separator.index).trim();
  const pollenParent = text.slice(separator.index + separator[0].length).trim();
  if (seedParent === '' || pollenParent === '') return undefined;
  return { seedParent: parentName(seedParent), pollenParent: parentName(pollenParent) };
}

/** Undefined if neither parent is known. */
export function formatCross(seedParent: string | null, pollenParent: string | null): string | undefined {
  if (seedParent === null && pollenParent === null) return undefined;
  return `${sideText(seedParent)} × ${sideText(pollenParent)}`;
}

/** Those that stand outside brackets. */
function separatorsIn(text: string): RegExpExecArray[] {
  const signs = outsideBrackets(text, SIGN);
  return signs.length > 0 ? signs : outsideBrackets(text, LETTER);
}

function outsideBrackets(text: string, separator: RegExp): RegExpExecArray[] {
  const found: RegExpExecArray[] = [];
  let depth = 0;
  let from = 0;
  for (const match of text.matchAll(separator)) {
    for (; from < match.index; from++) {
      if (text[from] === '(') depth++;
      else if (text[from] === ')') depth--;
      if (depth < 0) return [];
    }
    if (depth === 0) found.push(match);
  }
  return found;
}

function parentName(side: string): string | null {
  if (side === UNKNOWN) return null;
  const inner = side.startsWith('(') && side.endsWith(')') ? side.slice(1, -1) : '';
  return separatorsIn(inner).length > 0 ? inner : side;
}

function sideText(parent: string | null): string {
  if (parent === null) return UNKNOWN;
  return outsideBrackets(parent, SIGN).length > 0 ? `(${parent})` : parent;
}
