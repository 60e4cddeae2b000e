/**
 * The text of a station's sign: the word `station` and the station's name, as one would type it in a walk.
 * No tag text begins with that word and a space, and whoever reads a text looks for the word first.
 *
 * Characters beyond ASCII are percent-encoded (RFC 3986, 2.1): decoders take UTF-8 in a QR code for other
 * encodings now and then, and a scanner that types has no keys for them.
 */

const SIGN = /^station[\s:=]+(\S.*)$/isu;

export function signText(station: string): string {
  const whole = station.replace(/\p{Surrogate}/gu, '\ufffd');
  return `station ${whole.replace(/[^ -~]|%/gu, (character) => encodeURIComponent(character))}`;
}

/** The station that a text is the sign of, scanned or typed; undefined if it is none. */
export function readSign(text: string): string | undefined {
  const name = SIGN.exec(text.trim())?.[1];
  if (name === undefined || !name.includes('%')) return name;
  try {
    return decodeURIComponent(name);
  } catch {
    return name; // Typed by a person: `50 % shade`.
  }
}
