/**
 * Photos made on the phone: made smaller and turned into JPEG before they are kept, so that many fit and
 * none takes the bench's reception for minutes. Drawing them anew also leaves behind where they were taken.
 */

/** Enough to see the fruit. */
const KEPT_SIDE_PX = 1600;
/** Enough to read a tag that fills a tenth of the picture's width. */
const READ_SIDE_PX = 3000;
const QUALITY = 0.85;

/** @throws if the file is no picture that this browser opens */
export async function canvasOf(file: Blob, mostPx: number): Promise<HTMLCanvasElement> {
  const url = URL.createObjectURL(file);
  try {
    const image = new Image();
    image.src = url;
    await image.decode();
    return scaledTo(image, image.naturalWidth, image.naturalHeight, mostPx);
  } finally {
    URL.revokeObjectURL(url);
  }
}

/** A photo to keep with an observation, as a data URL. */
export async function photoToKeep(file: Blob): Promise<string> {
  return (await canvasOf(file, KEPT_SIDE_PX)).toDataURL('image/jpeg', QUALITY);
}

export function photoToRead(file: Blob): Promise<HTMLCanvasElement> {
  return canvasOf(file, READ_SIDE_PX);
}

/** @param mostPx of its longer side; as large as it is without it */
export function jpegOf(canvas: HTMLCanvasElement, mostPx = Number.POSITIVE_INFINITY): Promise<Blob> {
  const drawn = scaledTo(canvas, canvas.width, canvas.height, mostPx);
  return new Promise((resolve, reject) => {
    const take = (blob: Blob | null) => (blob === null ? reject(new Error('no picture')) : resolve(blob));
    drawn.toBlob(take, 'image/jpeg', QUALITY);
  });
}

function scaledTo(
  image: CanvasImageSource,
  width: number,
  height: number,
  mostPx: number,
): HTMLCanvasElement {
  const scale = Math.min(1, mostPx / Math.max(width, height));
  const canvas = document.createElement('canvas');
  canvas.width = Math.round(width * scale);
  canvas.height = Math.round(height * scale);
  canvas.getContext('2d')?.drawImage(image, 0, 0, canvas.width, canvas.height);
  return canvas;
}

export function blobOf(dataUrl: string): Blob {
  const [head = '', base64 = ''] = dataUrl.split(',');
  const bytes = Uint8Array.from(atob(base64), (character) => character.charCodeAt(0));
  return new Blob([bytes], { type: /^data:([^;]+)/.exec(head)?.[1] ?? 'image/jpeg' });
}
