/**
 * Crockford's Base32 alphabet: 32 characters that survive being read aloud and typed with wet hands.
 * It leaves out I, L, O (look like 1, 1, 0) and U. Source: Douglas Crockford, "Base 32".
 */

export const ALPHABET = '0123456789ABCDEFGHJKMNPQRSTVWXYZ';

/** Stands for a character that nobody can read any more. */
export const ILLEGIBLE = '?';

const LOOK_ALIKES: Readonly<Record<string, string>> = { I: '1', L: '1', O: '0' };

const VALUES: ReadonlyMap<string, number> = new Map(
  [...ALPHABET].map((character, value) => [character, value]),
);

/** The value 0–31 of a canonical character, or undefined for any other. */
export function symbolValue(character: string): number | undefined {
  return VALUES.get(character);
}

/** The character of a value; throws on anything but a whole number 0–31. */
export function characterOf(value: number): string {
  const character = ALPHABET[value];
  if (character === undefined) throw new RangeError(`${value} is not the value of a character (0 to 31)`);
  return character;
}

/**
 * What a person typed, in canonical characters: full-width forms folded, capitals, look-alikes
 * replaced, spaces and hyphens dropped. Characters outside the alphabet stay, for the caller to see.
 */
export function canonical(text: string): string {
  const capitals = text.normalize('NFKC').toUpperCase();
  let result = '';
  for (const character of capitals) {
    if (/[\s\p{Pd}]/u.test(character)) continue;
    result += LOOK_ALIKES[character] ?? character;
  }
  return result;
}
