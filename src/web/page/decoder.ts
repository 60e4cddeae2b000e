/**
 * The decoder for browsers that have none of their own, as a worker: it alone compiles WebAssembly (its
 * answer allows it, the page's does not), and reading keeps nobody waiting.
 */
import { prepareZXingModule, readBarcodes } from 'zxing-wasm/reader';
import wasmUrl from 'zxing-wasm/reader/zxing_reader.wasm';
import type { Frame, ReadCode } from './reading.js';

// Left to itself the package fetches its WebAssembly from the net.
prepareZXingModule({ overrides: { locateFile: () => wasmUrl }, fireImmediately: true });

const worker = self as unknown as DedicatedWorkerGlobalScope;

worker.onmessage = ({ data }: MessageEvent<{ id: number; frame: Frame }>) => {
  readFrame(data.frame).then(
    (codes) => worker.postMessage({ id: data.id, codes }),
    () => worker.postMessage({ id: data.id, codes: null }),
  );
};

async function readFrame({ pixels, width, height }: Frame): Promise<ReadCode[]> {
  const results = await readBarcodes(new ImageData(pixels, width, height), {
    formats: ['QRCode', 'Code128'],
    tryHarder: true,
    tryRotate: true,
    tryInvert: false,
    tryDownscale: true,
    minLineCount: 2,
    maxNumberOfSymbols: 8,
    textMode: 'Plain',
  });
  return results
    .filter(({ isValid, text }) => isValid && text !== '')
    .map(({ text, format }) => ({ text, isQr: format.startsWith('QR') }));
}
