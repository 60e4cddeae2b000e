/**
 * A grey picture as a PNG of one bit a pixel (PNG specification, third edition, W3C), as label printers
 * take it: every pixel a dot, printed or not.
 */
import { deflateSync } from 'node:zlib';
import { MM_PER_INCH } from '../codes/module-fit.js';

const SIGNATURE = Buffer.from([0x89, 0x50, 0x4e, 0x47, 0x0d, 0x0a, 0x1a, 0x0a]);

/** Below it a dot is printed. */
const THRESHOLD = 128;

const MM_PER_METRE = 1000;

export interface GreyPicture {
  /** A byte a pixel, row by row from the top, 0 black to 255 white. */
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
}

export function oneBitPng({ data, width, height }: GreyPicture, dpi: number): Uint8Array {
  const rowBytes = 1 + Math.ceil(width / 8);
  // Each row begins with its filter: 0, none. A set bit is white (section 11.2.1, greyscale).
  const rows = new Uint8Array(rowBytes * height);
  for (let y = 0; y < height; y++) {
    for (let x = 0; x < width; x++) {
      if ((data[y * width + x] ?? 0) < THRESHOLD) continue;
      const at = y * rowBytes + 1 + (x >> 3);
      rows[at] = (rows[at] ?? 0) | (0x80 >> (x & 7));
    }
  }
  const header = Buffer.alloc(13);
  header.writeUInt32BE(width, 0);
  header.writeUInt32BE(height, 4);
  header[8] = 1; // Bit depth; the colour type, compression, filter and interlace methods are 0.
  const density = Buffer.alloc(9);
  const dotsPerMetre = Math.round((dpi * MM_PER_METRE) / MM_PER_INCH);
  density.writeUInt32BE(dotsPerMetre, 0);
  density.writeUInt32BE(dotsPerMetre, 4);
  density[8] = 1; // The unit is the metre.
  return Buffer.concat([
    SIGNATURE,
    chunk('IHDR', header),
    chunk('pHYs', density),
    chunk('IDAT', deflateSync(rows)),
    chunk('IEND', Buffer.alloc(0)),
  ]);
}

function chunk(type: string, content: Uint8Array): Buffer {
  const whole = Buffer.alloc(12 + content.length);
  whole.writeUInt32BE(content.length, 0);
  whole.write(type, 4, 'latin1');
  whole.set(content, 8);
  whole.writeUInt32BE(crc32(whole.subarray(4, 8 + content.length)), 8 + content.length);
  return whole;
}

/** Annex D of the specification. Node's own is missing from the earlier releases of version 20. */
function crc32(bytes: Uint8Array): number {
  let crc = 0xffffffff;
  for (const byte of bytes) crc = (CRC_TABLE[(crc ^ byte) & 0xff] ?? 0) ^ (crc >>> 8);
  return ~crc >>> 0;
}

const CRC_TABLE = Uint32Array.from({ length: 256 }, (_, byte) => {
  let crc = byte;
  for (let bit = 0; bit < 8; bit++) crc = crc & 1 ? 0xedb88320 ^ (crc >>> 1) : crc >>> 1;
  return crc >>> 0;
});
