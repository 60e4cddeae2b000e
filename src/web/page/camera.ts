/**
 * The live camera, where the browser gives one (over https, or on the computer itself).
 */
import { jpegOf } from './pictures.js';
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

/** Where nothing is read for so long, a few pictures are taken for the server to read. */
const STUCK_MS = 4000;
const FRAMES = 4;
/** Between two of them: the hand moves, and with it the glare. */
const FRAMES_PAUSE_MS = 300;
/** Enough for a tag that fills a quarter of the picture's width. */
const SENT_SIDE_PX = 960;
/** Then it is tried again after this, and each time later: there may be no tag before the camera at all. */
const AGAIN_MS = 6000;
const LAST_AGAIN_MS = 60_000;

export interface CameraListener {
  /** A text came into sight. */
  onText(text: string): void;
  /** Nothing was read for a while; these pictures were taken one after the other. */
  onStuck(frames: readonly Blob[]): Promise<void>;
  /** What reads the pictures failed: the looking has ended. */
  onTrouble(error: unknown): void;
}

/**
 * Shows the camera in `video` and tells of each text that comes into sight. A Code 128 counts once two looks in
 * a row agree; a QR code has error correction enough of its own.
 */
export async function startCamera(video: HTMLVideoElement, listener: CameraListener): Promise<Camera> {
  // One that was seen up to when the camera was stopped has not been out of sight since.
  const last = Math.max(0, ...seenAtMs.values());
  for (const [text, at] of seenAtMs) if (last - at < OUT_OF_SIGHT_MS) seenAtMs.set(text, Date.now());
  const wanted = { facingMode: 'environment', width: { ideal: FRAME_WIDTH_PX } };
  const stream = await navigator.mediaDevices.getUserMedia({ video: wanted, audio: false });
  const read = await startReader();
  let isOn = true;
  video.srcObject = stream;
  await video.play();
  look(video, read, listener, () => isOn).catch((error) => listener.onTrouble(error));
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
  { onText, onStuck }: CameraListener,
  isOn: () => boolean,
): Promise<void> {
  const canvas = document.createElement('canvas');
  let before: readonly ReadCode[] = [];
  let stuckAtMs = Date.now() + STUCK_MS;
  let againMs = AGAIN_MS;
  let frames: Blob[] = [];
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
      if (codes.length > 0) {
        [stuckAtMs, againMs, frames] = [Date.now() + STUCK_MS, AGAIN_MS, []];
      } else if (isOn() && Date.now() >= stuckAtMs) {
        frames.push(await jpegOf(canvas, SENT_SIDE_PX));
        stuckAtMs = Date.now() + FRAMES_PAUSE_MS;
        if (frames.length === FRAMES) {
          stuckAtMs = Number.POSITIVE_INFINITY; // Until they are answered; codes are read meanwhile.
          const waitMs = againMs;
          void onStuck(frames).finally(() => {
            stuckAtMs = Date.now() + waitMs;
          });
          [frames, againMs] = [[], Math.min(2 * againMs, LAST_AGAIN_MS)];
        }
      }
    }
    await new Promise((resume) => setTimeout(resume, PAUSE_MS));
  }
}

/** As a tag that no decoder reads comes into sight: it is looked at so much more seldom. */
export function comesIntoSightOfServer(text: string): boolean {
  return comesIntoSight(text, LAST_AGAIN_MS);
}

function comesIntoSight(text: string, outOfSightMs = OUT_OF_SIGHT_MS): boolean {
  const nowMs = Date.now();
  const isNew = nowMs - (seenAtMs.get(text) ?? 0) > outOfSightMs;
  seenAtMs.set(text, nowMs);
  return isNew;
}
