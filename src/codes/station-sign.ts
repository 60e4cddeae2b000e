/**
 * The text of a station's sign: the word `station` and the station's name, as one would type it in a walk.
 * No tag text begins with that word and a space, and whoever reads a text looks for the word first.
 */

const SIGN = /^station[\s:=]+(\S.*)$/isu;

export function signText(station: string): string {
  return `station ${station}`;
}

/** The station that a text is the sign of; undefined if it is none. */
export function readSign(text: string): string | undefined {
  return SIGN.exec(text.trim())?.[1];
}
