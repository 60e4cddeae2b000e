/**
 * The live camera, where the browser gives one (over https, or on the computer itself).
 */
import { frameOf, type ReadCode, type ReadFrame, startReader } from './reading.js';

export function hasCamera(): boolean {
  return navigator.mediaDevices !== undefined;
}

/** Time between two looks: quick enough for a hand, slow enough for the battery. */
const PAUSE_MS = 90;
/** Wider pictures take longer to read and show a tag at arm's length no better. */
const FRAME_WIDTH_PX = 1280;

export interface Camera {
  stop(): void;
}

/**
 * So long a tag has to be out of sight before it counts again. Otherwise the tag that was just scanned, still
 * before the camera, would open its plant again as soon as one comes back to scan the next.
 */
const OUT_OF_SIGHT_MS = 2500;

/** When each text was last seen; over all times the camera is on. */
const seenAtMs = new Map<string, number>();

/**
 * Shows the camera in `video` and calls `onText` with each text that comes into sight. A Code 128 counts once
 * two looks in a row agree; a QR code has error correction enough of its own.
 * @param onTrouble is called, and the looking ends, when what reads the pictures fails
 */
export async function startCamera(
  video: HTMLVideoElement,
  onText: (text: string) => void,
  onTrouble: (error: unknown) => void,
): Promise<Camera> {
  // One that was seen up to when the camera was stopped has not been out of sight since.
  const last = Math.max(0, ...seenAtMs.values());
  for (const [text, at] of seenAtMs) if (last - at < OUT_OF_SIGHT_MS) seenAtMs.set(text, Date.now());
  const wanted = { facingMode: 'environment', width: { ideal: FRAME_WIDTH_PX } };
  const stream = await navigator.mediaDevices.getUserMedia({ video: wanted, audio: false });
  const read = await startReader();
  let isOn = true;
  video.srcObject = stream;
  await video.play();
  look(video, read, onText, () => isOn).catch(onTrouble);
  return {
    stop() {
      isOn = false;
      for (const track of stream.getTracks()) track.stop();
      video.srcObject = null;
    },
  };
}

async function look(
  video: HTMLVideoElement,
  read: ReadFrame,
  onText: (text: string) => void,
  isOn: () => boolean,
): Promise<void> {
  const canvas = document.createElement('canvas');
  let before: readonly ReadCode[] = [];
  while (isOn()) {
    if (video.videoWidth > 0 && !document.hidden) {
      const scale = Math.min(1, FRAME_WIDTH_PX / video.videoWidth);
      canvas.width = Math.round(video.videoWidth * scale);
      canvas.height = Math.round(video.videoHeight * scale);
      canvas
        .getContext('2d', { willReadFrequently: true })
        ?.drawImage(video, 0, 0, canvas.width, canvas.height);
      const codes = await read(frameOf(canvas));
      for (const { text, isQr } of codes) {
        const isSure = isQr || before.some((code) => code.text === text);
        if (isOn() && isSure && comesIntoSight(text)) onText(text);
      }
      before = codes;
    }
    await new Promise((resume) => setTimeout(resume, PAUSE_MS));
  }
}

function comesIntoSight(text: string): boolean {
  const nowMs = Date.now();
  const isNew = nowMs - (seenAtMs.get(text) ?? 0) > OUT_OF_SIGHT_MS;
  seenAtMs.set(text, nowMs);
  return isNew;
}
