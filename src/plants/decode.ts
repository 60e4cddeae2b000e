/**
 * The bytes of a grower's CSV → text, in whichever encoding a spreadsheet or a text editor left them.
 *
 * A byte-order mark decides; without one, the NULs of Latin letters and delimiters betray UTF-16, text
 * that is sound UTF-8 is UTF-8, and the rest is Windows-1252, which gives every byte a meaning.
 */
import { InputError } from '../errors.js';

export type Encoding = 'UTF-8' | 'UTF-16 LE' | 'UTF-16 BE' | 'Windows-1252';

export interface DecodedText {
  /** Without the byte-order mark; holds no NUL. */
  readonly text: string;
  readonly encoding: Encoding;
}

/** First bytes of files that people give instead of a CSV. */
const OTHER_FILES: readonly (readonly [signature: readonly number[], what: string])[] = [
  [[0x50, 0x4b, 0x03, 0x04], "a spreadsheet program's own file, or a zip archive"],
  [[0x50, 0x4b, 0x05, 0x06], 'an empty zip archive'],
  [[0xd0, 0xcf, 0x11, 0xe0], "an older spreadsheet program's own file"],
  [[0x25, 0x50, 0x44, 0x46], 'a PDF'],
  [[0x1f, 0x8b], 'a compressed file'],
  [[0x89, 0x50, 0x4e, 0x47], 'a picture'],
  [[0xff, 0xd8, 0xff], 'a picture'],
];

/**
 * The characters of bytes 0x80 to 0x9F (WHATWG Encoding Standard, index windows-1252); all other bytes
 * are the code points of the same number. Not `TextDecoder`: Node 20.18.3 to 20.20 and several later
 * lines read these 32 bytes as control characters (nodejs/node issue 60888).
 */
const WINDOWS_1252_80_TO_9F = '€\x81‚ƒ„…†‡ˆ‰Š‹Œ\x8dŽ\x8f\x90‘’“”•–—˜™š›œ\x9džŸ';

/** How much of a file is looked at for the NULs of UTF-16. */
const SAMPLE_BYTES = 65_536;

/** Least of the UTF-16 units that are ASCII in any CSV, by share and number: delimiters, digits, line ends. */
const LEAST_ASCII_SHARE = 0.1;
const LEAST_ASCII = 4;

/** @throws InputError if the file is empty, of another kind, or damaged */
export function decodeText(bytes: Uint8Array, file: string): DecodedText {
  const other = OTHER_FILES.find(([signature]) => startsWith(bytes, signature));
  if (other) throw notCsv(`${file} is ${other[1]}, not a CSV.`, file);
  const decoded = decodeAs(findEncoding(bytes), bytes, file);
  if (decoded.text.trim() === '') throw notCsv(`${file} is empty.`, file);
  const nul = decoded.text.indexOf('\0');
  if (nul !== -1) {
    const line = lineAt(decoded.text, nul);
    throw notCsv(`${file} holds a NUL character in line ${line}, which no text file does.`, file, line);
  }
  return decoded;
}

/** Counts from 1; CRLF, LF and a lone CR each end a line. */
export function lineAt(text: string, index: number): number {
  return 1 + countLineEnds(text.slice(0, index));
}

export function countLineEnds(text: string): number {
  let count = 0;
  for (let at = text.indexOf('\n'); at !== -1; at = text.indexOf('\n', at + 1)) count++;
  for (let at = text.indexOf('\r'); at !== -1; at = text.indexOf('\r', at + 1)) {
    if (text[at + 1] !== '\n') count++;
  }
  return count;
}

type Guess = Exclude<Encoding, 'Windows-1252'> | 'UTF-8 or Windows-1252';

function findEncoding(bytes: Uint8Array): Guess {
  if (startsWith(bytes, [0xef, 0xbb, 0xbf])) return 'UTF-8';
  if (startsWith(bytes, [0xff, 0xfe])) return 'UTF-16 LE';
  if (startsWith(bytes, [0xfe, 0xff])) return 'UTF-16 BE';
  let evenNuls = 0;
  let oddNuls = 0;
  const end = Math.min(bytes.length, SAMPLE_BYTES);
  for (let index = 0; index < end; index++) {
    if (bytes[index] !== 0) continue;
    if (index % 2 === 0) evenNuls++;
    else oddNuls++;
  }
  // An ASCII character is a NUL after its byte in little endian, before it in big endian. The other side
  // has few: letters such as Ā (U+0100).
  const least = Math.max(LEAST_ASCII, (end / 2) * LEAST_ASCII_SHARE);
  if (oddNuls >= least && oddNuls > 4 * evenNuls) return 'UTF-16 LE';
  if (evenNuls >= least && evenNuls > 4 * oddNuls) return 'UTF-16 BE';
  return 'UTF-8 or Windows-1252';
}

function decodeAs(guess: Guess, bytes: Uint8Array, file: string): DecodedText {
  const encoding = guess === 'UTF-8 or Windows-1252' ? 'UTF-8' : guess;
  const label = encoding.toLowerCase().replace(' ', '');
  try {
    return { text: new TextDecoder(label, { fatal: true }).decode(bytes), encoding };
  } catch (cause) {
    const lenient = new TextDecoder(label).decode(bytes);
    if (guess === 'UTF-8 or Windows-1252' && !isMostlySound(lenient)) {
      return { text: decodeWindows1252(bytes), encoding: 'Windows-1252' };
    }
    const line = lineAt(lenient, lenient.indexOf('\uFFFD'));
    throw new InputError(
      'damaged-text',
      `${file} is ${encoding} text, but from line ${line} on some of it is cut off or damaged.`,
      'Copy the file again, or open it in a spreadsheet, look at that line, and save as CSV (UTF-8).',
      { file, line },
      [],
      { cause },
    );
  }
}

/**
 * Whether text that failed to decode as UTF-8 is UTF-8 all the same, with a few bad bytes: then more of
 * its non-ASCII characters came out whole than broken. In Windows-1252 text hardly any come out whole.
 */
function isMostlySound(lenient: string): boolean {
  const broken = lenient.match(/\uFFFD/g)?.length ?? 0;
  const whole = lenient.match(/(?!\uFFFD)\P{ASCII}/gu)?.length ?? 0;
  return whole > broken;
}

function decodeWindows1252(bytes: Uint8Array): string {
  const latin1 = Buffer.from(bytes.buffer, bytes.byteOffset, bytes.length).toString('latin1');
  return latin1.replace(/[\x80-\x9f]/g, (byte) => WINDOWS_1252_80_TO_9F[byte.charCodeAt(0) - 0x80] ?? byte);
}

function startsWith(bytes: Uint8Array, signature: readonly number[]): boolean {
  return signature.every((byte, index) => bytes[index] === byte);
}

function notCsv(message: string, file: string, line?: number): InputError {
  return new InputError(
    'not-csv',
    message,
    'Open it in a spreadsheet and save (or export) the sheet as CSV, UTF-8 if it asks.',
    line === undefined ? { file } : { file, line },
  );
}
