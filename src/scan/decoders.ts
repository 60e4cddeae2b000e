/**
 * The two decoders, ZXing-C++ and ZBar, each as a function from a grey picture to what it reads there.
 *
 * They fail on different pictures: ZBar finds damaged finder patterns, ZXing bears noise, curvature and
 * few pixels a module. Both are WebAssembly, start on the first call, and fetch nothing.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import type { ZBarScanner, ZBarSymbol } from '@undecaf/zbar-wasm';
import type { ReadResult } from 'zxing-wasm/reader';
import type { GrayPicture } from './picture.js';
import type { Corners } from './point.js';

export type CodeKind = 'qr' | 'code128';

export interface DecoderRead {
  readonly text: string;
  readonly kind: CodeKind;
  /**
   * In pixels from the picture's top left. Exact for a QR code but for the corner without a finder pattern, which
   * version 1 only reckons; for Code 128 they bound the lines that were read, which may be a part of it.
   */
  readonly corners: Corners;
  /** Code 128: on how many lines across the bars this text was read. 1 for a QR code. */
  readonly lineCount: number;
}

type ReadBarcodes = typeof import('zxing-wasm/reader')['readBarcodes'];

let zxing: Promise<ReadBarcodes> | undefined;

async function startZxing(): Promise<ReadBarcodes> {
  const { prepareZXingModule, readBarcodes } = await import('zxing-wasm/reader');
  // Handed over as bytes: left to itself the package fetches its WebAssembly from the net.
  const wasmPath = createRequire(import.meta.url).resolve('zxing-wasm/reader/zxing_reader.wasm');
  const wasm = readFileSync(wasmPath);
  const wasmBinary = wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength);
  await prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true });
  return readBarcodes;
}

/**
 * Every symbol with text that ZXing-C++ reads, QR and Code 128 only.
 * @param condition `sharp` leaves out what helps with photos only, and takes half the time
 */
export async function decodeWithZxing(
  picture: GrayPicture,
  condition: 'sharp' | 'any' = 'any',
): Promise<DecoderRead[]> {
  const triesAll = condition === 'any';
  zxing ??= startZxing();
  const readBarcodes = await zxing;
  const results = await readBarcodes(asPgm(picture), {
    formats: ['QRCode', 'Code128'],
    tryHarder: true,
    tryRotate: true,
    tryInvert: triesAll,
    tryDownscale: triesAll,
    tryDenoise: triesAll,
    minLineCount: 2,
    maxNumberOfSymbols: 255,
    textMode: 'Plain',
  });
  return results.filter((result) => result.isValid && result.text !== '').flatMap(fromZxing);
}

/** A PGM file (portable graymap, "P5"): a quarter of the memory of the RGBA the package takes otherwise. */
function asPgm({ data, width, height }: GrayPicture): Uint8Array {
  const header = Buffer.from(`P5\n${width} ${height}\n255\n`, 'latin1');
  const file = new Uint8Array(header.length + data.length);
  file.set(header);
  file.set(data, header.length);
  return file;
}

function fromZxing({ format, text, position, lineCount }: ReadResult): DecoderRead[] {
  // "QRCode" asked for also yields Micro QR, a kind no tag bears and a source of false reads.
  const kind =
    format === 'QRCode' || format === 'QRCodeModel2' ? 'qr' : format === 'Code128' ? 'code128' : null;
  if (kind === null) return [];
  const { topLeft, topRight, bottomRight, bottomLeft } = position;
  const corners: Corners = [topLeft, topRight, bottomRight, bottomLeft];
  return [{ text, kind, corners, lineCount: kind === 'qr' ? 1 : lineCount }];
}

type Zbar = typeof import('@undecaf/zbar-wasm') & { readonly scanner: ZBarScanner };

let zbar: Promise<Zbar> | undefined;

async function startZbar(): Promise<Zbar> {
  const library = await import('@undecaf/zbar-wasm');
  const { ZBarScanner, ZBarSymbolType: symbology, ZBarConfigType: config } = library;
  const scanner = await ZBarScanner.create();
  // All off, then two on: with its other kinds enabled it reads them out of mud.
  scanner.setConfig(symbology.ZBAR_NONE, config.ZBAR_CFG_ENABLE, 0);
  for (const kind of [symbology.ZBAR_QRCODE, symbology.ZBAR_CODE128]) {
    scanner.setConfig(kind, config.ZBAR_CFG_ENABLE, 1);
  }
  return { ...library, scanner };
}

/** Every symbol with text that ZBar reads, QR and Code 128 only. Text that is not UTF-8 is taken as Latin-1. */
export async function decodeWithZbar(picture: GrayPicture): Promise<DecoderRead[]> {
  zbar ??= startZbar();
  const { ZBarImage, ZBarSymbolType, scanner } = await zbar;
  const { data, width, height } = picture;
  const pixels = data.buffer.slice(data.byteOffset, data.byteOffset + data.byteLength) as ArrayBuffer;
  const image = await ZBarImage.createFromGrayBuffer(width, height, pixels);
  try {
    if (scanner.scan(image) <= 0) return [];
    return image.getSymbols().flatMap((symbol) => {
      if (symbol.data.length === 0) return [];
      if (symbol.type === ZBarSymbolType.ZBAR_QRCODE) return fromZbarQr(symbol);
      return symbol.type === ZBarSymbolType.ZBAR_CODE128 ? fromZbarCode128(symbol) : [];
    });
  } finally {
    image.destroy();
  }
}

function fromZbarQr(symbol: ZBarSymbol): DecoderRead[] {
  // Its order is anticlockwise: top left, bottom left, bottom right, top right.
  const [topLeft, bottomLeft, bottomRight, topRight] = symbol.points;
  if (!topLeft || !bottomLeft || !bottomRight || !topRight) return [];
  return [
    {
      text: zbarText(symbol),
      kind: 'qr',
      corners: [topLeft, topRight, bottomRight, bottomLeft],
      lineCount: 1,
    },
  ];
}

/** ZBar gives the end of every line it read, by turns at the left and at the right end of the bars. */
function fromZbarCode128(symbol: ZBarSymbol): DecoderRead[] {
  const xs = symbol.points.map((point) => point.x);
  const ys = symbol.points.map((point) => point.y);
  const [left, right, top, bottom] = [least(xs), most(xs), least(ys), most(ys)];
  const corners: Corners = [
    { x: left, y: top },
    { x: right, y: top },
    { x: right, y: bottom },
    { x: left, y: bottom },
  ];
  return [{ text: zbarText(symbol), kind: 'code128', corners, lineCount: symbol.quality }];
}

const least = (values: readonly number[]): number =>
  values.reduce((a, b) => Math.min(a, b), Number.MAX_VALUE);
const most = (values: readonly number[]): number =>
  values.reduce((a, b) => Math.max(a, b), -Number.MAX_VALUE);

function zbarText({ data }: ZBarSymbol): string {
  const bytes = Buffer.from(data.buffer, data.byteOffset, data.byteLength);
  const text = bytes.toString('utf8');
  return text.includes('\ufffd') ? bytes.toString('latin1') : text;
}
