/**
 * How words are compared, and how values and options are put into a sentence.
 */

const LONGEST_QUOTE = 60;

/** Lower case, without accents, words parted by one space: `Seed_parent (♀)` → `seed parent ♀`. */
export function fold(text: string): string {
  return text
    .normalize('NFKD')
    .replace(/\p{M}/gu, '')
    .toLowerCase()
    .replaceAll('ß', 'ss')
    .replace(/[^\p{L}\p{N}♀♂#]+/gu, ' ')
    .trim();
}

/** Printable ASCII with single spaces inside. */
const TIDY = /^(?:[!-~]+(?: [!-~]+)*)?$/;

/** Trimmed, in Unicode's composed form, each run of white space one space. */
export function tidy(text: string): string {
  return TIDY.test(text) ? text : text.trim().replace(/\s+/g, ' ').normalize('NFC');
}

/** A person's value in double quotes, on one line, shortened if long. */
export function quote(value: string): string {
  const characters = [...value.replace(/\s+/g, ' ')];
  const shown = characters.length > LONGEST_QUOTE ? [...characters.slice(0, LONGEST_QUOTE), '…'] : characters;
  return `"${shown.map((c) => (/\p{Cc}/u.test(c) ? escapeControl(c) : c)).join('')}"`;
}

/** A probability as a share that promises no more than it holds: rounded down. */
export const likelihoodInWords = (probability: number): string =>
  probability >= 0.9999 ? 'over 99.99 %' : `${Math.floor(100 * probability)} %`;

/** `--column key="Tag no"`, as it is to be typed. */
export function columnOption(field: string, heading: string): string {
  return `--column ${field}="${heading.replace(/["\\$`]/g, '\\$&')}"`;
}

/** The candidate that `word` is most likely a slip for, if any is near: at most a third of it wrong. */
export function nearest(word: string, candidates: readonly string[]): string | undefined {
  let best: { readonly candidate: string; readonly distance: number } | undefined;
  const folded = fold(word);
  for (const candidate of candidates) {
    const other = fold(candidate);
    const most = Math.max(word.length, candidate.length) / 3;
    if (Math.abs(folded.length - other.length) > most) continue; // Further apart than that, whatever they say.
    const distance = editDistance(folded, other);
    if (distance <= most && distance < (best?.distance ?? Infinity)) best = { candidate, distance };
  }
  return best?.candidate;
}

/**
 * The fewest characters to insert, delete, replace or exchange with their neighbour (optimal string
 * alignment).
 */
function editDistance(a: string, b: string): number {
  let twoBack: number[] = [];
  let oneBack = Array.from({ length: b.length + 1 }, (_, index) => index);
  for (let i = 1; i <= a.length; i++) {
    const row = [i];
    for (let j = 1; j <= b.length; j++) {
      const replaced = (oneBack[j - 1] as number) + (a[i - 1] === b[j - 1] ? 0 : 1);
      const exchanged =
        a[i - 1] === b[j - 2] && a[i - 2] === b[j - 1] ? (twoBack[j - 2] as number) + 1 : Infinity;
      row.push(Math.min(replaced, exchanged, (oneBack[j] as number) + 1, (row[j - 1] as number) + 1));
    }
    twoBack = oneBack;
    oneBack = row;
  }
  return oneBack[b.length] as number;
}

/** `1 plant`, `1,200 plants`. */
export function counted(count: number, one: string, many = `${one}s`): string {
  return `${grouped(count)} ${count === 1 ? one : many}`;
}

/** `1,200`. */
export function grouped(count: number): string {
  return count.toLocaleString('en-GB');
}

/** A share as counts are told: `56 %`, `4.2 %`. */
export function shareInPercent(share: number): string {
  const percent = share * 100;
  return `${percent === 0 || percent >= 10 ? percent.toFixed(0) : percent.toFixed(1)} %`;
}

/** The p of a test. */
export function pInWords(p: number): string {
  return p < 0.001 ? 'under 0.001' : p.toFixed(3);
}

/** `1 : 1 : 0 : 1`, of shares. */
export function ratioInWords(shares: readonly number[]): string {
  const least = Math.min(...shares.filter((value) => value > 0));
  return shares.map((value) => Math.round(value / least)).join(' : ');
}

function escapeControl(character: string): string {
  return `\\x${character.charCodeAt(0).toString(16).padStart(2, '0')}`;
}

/** An argument of a call, without the password if it is a database's address. */
export function withoutPassword(text: string): string {
  return text
    .replaceAll(/([?&]password=)[^&]*/gi, '$1…')
    .replace(/(postgres(?:ql)?:\/\/[^@:]*):.*@/is, '$1@'); // Up to the last @: a password may hold anything.
}
