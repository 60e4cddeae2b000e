/**
 * Reading back with one decoder at a time, apart from the product's own reader: the test suite's witness.
 * Each is called with the package's own defaults, restricted to the two kinds of symbol tags bear.
 */
import { readFileSync } from 'node:fs';
import { createRequire } from 'node:module';
import { ZBarConfigType, ZBarImage, ZBarScanner, ZBarSymbolType } from '@undecaf/zbar-wasm';
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader';
import type { GrayImage } from './rasterise.js';

export interface Witnessed {
  readonly text: string;
  readonly kind: 'qr' | 'code128';
  /** Upright bounding box in pixels. */
  readonly box: { readonly x: number; readonly y: number; readonly width: number; readonly height: number };
}

const wasmPath = createRequire(import.meta.url).resolve('zxing-wasm/reader/zxing_reader.wasm');
const wasmBinary = new Uint8Array(readFileSync(wasmPath)).buffer;
const zxingReady = prepareZXingModule({ overrides: { wasmBinary }, fireImmediately: true });

export async function readWithZxing({ data, width, height }: GrayImage): Promise<Witnessed[]> {
  await zxingReady;
  const rgba = new Uint8ClampedArray(data.length * 4);
  data.forEach((value, pixel) => {
    rgba.fill(value, 4 * pixel, 4 * pixel + 3);
    rgba[4 * pixel + 3] = 255;
  });
  const results = await readBarcodes({ data: rgba, width, height } as Parameters<typeof readBarcodes>[0], {
    formats: ['QRCode', 'Code128'],
  });
  return results
    .filter((result) => result.isValid)
    .map(({ text, symbology, position }) => ({
      text,
      kind: symbology === 'QRCode' ? 'qr' : 'code128',
      box: boundingBox([position.topLeft, position.topRight, position.bottomLeft, position.bottomRight]),
    }));
}

let scanner: Promise<ZBarScanner> | undefined;

async function startScanner(): Promise<ZBarScanner> {
  const started = await ZBarScanner.create();
  started.setConfig(ZBarSymbolType.ZBAR_NONE, ZBarConfigType.ZBAR_CFG_ENABLE, 0);
  started.setConfig(ZBarSymbolType.ZBAR_QRCODE, ZBarConfigType.ZBAR_CFG_ENABLE, 1);
  started.setConfig(ZBarSymbolType.ZBAR_CODE128, ZBarConfigType.ZBAR_CFG_ENABLE, 1);
  return started;
}

export async function readWithZbar({ data, width, height }: GrayImage): Promise<Witnessed[]> {
  scanner ??= startScanner();
  const image = await ZBarImage.createFromGrayBuffer(width, height, new Uint8Array(data).buffer);
  (await scanner).scan(image);
  const symbols = image.getSymbols();
  image.destroy();
  return symbols.map((symbol) => ({
    text: symbol.decode('utf-8'),
    kind: symbol.type === ZBarSymbolType.ZBAR_QRCODE ? 'qr' : 'code128',
    box: boundingBox(symbol.points),
  }));
}

function boundingBox(points: readonly { readonly x: number; readonly y: number }[]): Witnessed['box'] {
  const xs = points.map((point) => point.x);
  const ys = points.map((point) => point.y);
  const [x, y] = [Math.min(...xs), Math.min(...ys)];
  return { x, y, width: Math.max(...xs) - x, height: Math.max(...ys) - y };
}
