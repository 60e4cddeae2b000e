/** Real files, spoilt: bytes changed, cut out, doubled, moved, and bits of what upsets readers put in. */
import fc from 'fast-check';

/** Of texts, tables, JSON, pictures. */
const UPSETTING = [
  '"',
  '""',
  "'",
  ',',
  ';',
  '\t',
  '\n',
  '\r',
  '\r\n\r\n',
  '\0',
  '\ufeff',
  '\ufffe',
  '\uffff',
  '\u202e',
  '=1+1',
  '__proto__',
  '{',
  '}',
  '[',
  ']',
  '-1',
  '1e309',
  '99999999999999999999',
  '0',
  'null',
  'é',
  '無',
  '\ud83c\udf31',
  ' ',
  '\x1b[2J',
  '../../x',
  '<script>',
  '%s',
  'IHDR',
  'IDAT',
].map((text) => Buffer.from(text));
const BYTES = [
  [0xff],
  [0xff, 0xff, 0xff, 0xff],
  [0x00, 0x00, 0x00, 0x00],
  [0x80],
  [0xc3],
  [0xed, 0xa0, 0x80],
  [0x7f, 0xff, 0xff, 0xff],
].map((bytes) => Buffer.from(bytes));

/** Places are shares of the length, so that one edit means something in every file. */
const edit = fc.record({
  kind: fc.constantFrom('replace', 'insert', 'delete', 'double', 'move', 'cut'),
  at: fc.double({ min: 0, max: 1, noNaN: true }),
  to: fc.double({ min: 0, max: 1, noNaN: true }),
  length: fc.constantFrom(1, 1, 2, 4, 16, 200),
  bytes: fc.oneof(
    fc.constantFrom(...UPSETTING),
    fc.constantFrom(...BYTES),
    fc.uint8Array({ minLength: 1, maxLength: 4 }),
  ),
});

export function mutated(...files: readonly Uint8Array[]): fc.Arbitrary<Buffer> {
  const edits = fc.array(edit, { minLength: 1, maxLength: 6 });
  return fc.tuple(fc.constantFrom(...files), edits).map(([file, all]) => {
    let bytes = Buffer.from(file);
    for (const { kind, at, to, length, bytes: put } of all) {
      const start = Math.floor(at * bytes.length);
      const end = Math.min(start + length, bytes.length);
      const [before, piece, after] = [
        bytes.subarray(0, start),
        bytes.subarray(start, end),
        bytes.subarray(end),
      ];
      switch (kind) {
        case 'replace':
          bytes = Buffer.concat([before, put, bytes.subarray(Math.min(start + put.length, bytes.length))]);
          break;
        case 'insert':
          bytes = Buffer.concat([before, put, piece, after]);
          break;
        case 'delete':
          bytes = Buffer.concat([before, after]);
          break;
        case 'double':
          bytes = Buffer.concat([before, piece, piece, after]);
          break;
        case 'move': {
          const rest = Buffer.concat([before, after]);
          const target = Math.floor(to * rest.length);
          bytes = Buffer.concat([rest.subarray(0, target), piece, rest.subarray(target)]);
          break;
        }
        case 'cut':
          if (at > 0.5) bytes = Buffer.from(before);
          break;
      }
    }
    return bytes;
  });
}
