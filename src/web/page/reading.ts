/**
 * Codes in a picture: by the browser's own Barcode Detection API where it has one for QR and Code 128, else
 * by the decoder in a worker.
 */

import { Unreachable } from './ask.js';

export interface Frame {
  readonly pixels: Uint8ClampedArray<ArrayBuffer>;
  readonly width: number;
  readonly height: number;
}

export interface ReadCode {
  readonly text: string;
  readonly isQr: boolean;
}

export type ReadFrame = (frame: Frame) => Promise<readonly ReadCode[]>;

/** The part of the Barcode Detection API (WICG Shape Detection) that is used here. */
interface Detector {
  detect(image: ImageData): Promise<readonly { readonly rawValue: string; readonly format: string }[]>;
}
interface DetectorClass {
  new (options: { formats: readonly string[] }): Detector;
  getSupportedFormats(): Promise<readonly string[]>;
}

const FORMATS = ['qr_code', 'code_128'] as const;

let reader: Promise<ReadFrame> | undefined;

/** Starts whatever reads codes here; once. */
export function startReader(): Promise<ReadFrame> {
  reader ??= ownReader().then((own) => own ?? workerReader());
  return reader;
}

async function ownReader(): Promise<ReadFrame | undefined> {
  const own = (globalThis as { BarcodeDetector?: DetectorClass }).BarcodeDetector;
  if (own === undefined) return undefined;
  try {
    const supported = await own.getSupportedFormats();
    if (!FORMATS.every((format) => supported.includes(format))) return undefined;
    const detector = new own({ formats: FORMATS });
    return async ({ pixels, width, height }) => {
      const found = await detector.detect(new ImageData(pixels, width, height));
      return found.map(({ rawValue, format }) => ({ text: rawValue, isQr: format === 'qr_code' }));
    };
  } catch {
    return undefined; // It is there in name only, as on some systems.
  }
}

function workerReader(): ReadFrame {
  const worker = new Worker(DECODER_URL, { type: 'module' });
  type Answer = (codes: readonly ReadCode[] | null) => void;
  const asked = new Map<number, Answer>();
  let lastId = 0;
  worker.onmessage = ({ data }: MessageEvent<{ id: number; codes: readonly ReadCode[] | null }>) => {
    asked.get(data.id)?.(data.codes);
    asked.delete(data.id);
  };
  // It could not be loaded; the next who asks begins anew.
  worker.onerror = () => {
    reader = undefined;
    for (const answer of asked.values()) answer(null);
  };
  return (frame) =>
    new Promise((resolve, reject) => {
      lastId++;
      asked.set(lastId, (codes) =>
        codes === null ? reject(new Unreachable('The decoder could not be loaded.')) : resolve(codes),
      );
      worker.postMessage({ id: lastId, frame }, [frame.pixels.buffer]);
    });
}

export function frameOf(canvas: HTMLCanvasElement): Frame {
  const { width, height } = canvas;
  const context = canvas.getContext('2d', { willReadFrequently: true });
  if (context === null) throw new Error('no canvas');
  return { pixels: context.getImageData(0, 0, width, height).data as Frame['pixels'], width, height };
}
