/**
 * From a text or a photo to what it means: the server says, or, where it cannot be reached, the phone's copy
 * of the garden, by the same code.
 */
import { resolve } from '../../scan/resolve.js';
import { type GardenView, type ScanView, scanView } from '../views.js';
import { ask, sendPicture, Unreachable } from './ask.js';
import { jpegOf, photoToRead } from './pictures.js';
import { frameOf, startReader } from './reading.js';
import { tagBookOf } from './tag-book.js';

/** Longer than this nobody waits at the bench for what the phone may know itself. */
const PATIENCE_MS = 2500;
const FRAMES_PATIENCE_MS = 30_000;

export async function findByText(text: string, garden: GardenView | undefined): Promise<ScanView> {
  try {
    const patience = garden === undefined ? undefined : PATIENCE_MS;
    return await ask<ScanView>(`/api/scan?text=${encodeURIComponent(text)}`, {}, patience);
  } catch (error) {
    if (!(error instanceof Unreachable) || garden === undefined) throw error;
    return scanView(await resolve(tagBookOf(garden), text), garden.idLength);
  }
}

/**
 * Reads a photo on the phone; if nothing can be read there, the server tries, which has more means. Empty:
 * nothing was read by either.
 */
export async function findByPhoto(file: Blob, garden: GardenView | undefined): Promise<readonly ScanView[]> {
  const { canvas, texts } = await readPhoto(file);
  if (texts.length > 0) return Promise.all(texts.map((text) => findByText(text, garden)));
  return findByServer(canvas);
}

/** What pictures say, for whoever does not ask yet what it means. */
export interface Said {
  readonly texts: readonly string[];
  /** Damaged tags that only a person can tell; the texts of these are question marks. */
  readonly offered: readonly ScanView[];
}

/** As `findByPhoto`, for what the codes say and not what it means. */
export async function saidByPhoto(file: Blob): Promise<Said> {
  const { canvas, texts } = await readPhoto(file);
  return texts.length > 0 ? { texts, offered: [] } : saidBy(await findByServer(canvas));
}

export function saidBy(scans: readonly ScanView[]): Said {
  const isOffered = ({ status, how }: ScanView) => status === 'unreadable' && how?.by === 'ledger';
  const read = scans.filter((scan) => !isOffered(scan));
  return { texts: read.flatMap(({ text }) => text ?? []), offered: scans.filter(isOffered) };
}

async function readPhoto(file: Blob): Promise<{ canvas: HTMLCanvasElement; texts: readonly string[] }> {
  const canvas = await photoToRead(file);
  const read = await startReader();
  return { canvas, texts: [...new Set((await read(frameOf(canvas))).map(({ text }) => text))] };
}

/**
 * What the server reads in pictures of a live camera, all of them together; empty where it cannot be reached or
 * reads nothing, for nobody asked.
 */
export async function findByFrames(frames: readonly Blob[]): Promise<readonly ScanView[]> {
  const body = new FormData();
  for (const frame of frames) body.append('frame', frame, 'frame.jpg');
  try {
    const asked = { method: 'POST', body };
    return (await ask<{ scans: readonly ScanView[] }>('/api/frames', asked, FRAMES_PATIENCE_MS)).scans;
  } catch (error) {
    if (error instanceof Unreachable) return [];
    throw error;
  }
}

async function findByServer(canvas: HTMLCanvasElement): Promise<readonly ScanView[]> {
  const { scans } = await sendPicture<{ scans: readonly ScanView[] }>('/api/scan', await jpegOf(canvas));
  return scans;
}
