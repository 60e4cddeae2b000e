/**
 * From the bytes of a photo file to an upright grey picture, and the preparations a picture is given
 * when nothing is read in it as it is. The only file of the scan folder that speaks to the image library.
 */
import type { Sharp } from 'sharp';
import { InputError } from '../errors.js';
import type { Point } from './point.js';

/** One byte a pixel, row by row from the top, 0 black to 255 white. */
export interface GrayPicture {
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
}

/**
 * Phones that say 50 megapixels make 8192 × 6144, and A4 at 600 dots an inch has 35; such a picture takes some
 * 4 s and half a gigabyte. A small file that claims more is a trap or a mistake.
 */
const MOST_PIXELS = 52e6;

const KINDS = 'JPEG, PNG and WebP pictures are read';

/**
 * Decodes a JPEG, PNG or WebP file: turned upright as its EXIF orientation says, transparency laid on
 * white, the first frame of an animation, any depth and colour model.
 *
 * Throws `InputError` with code `not-a-picture`, `picture-kind`, `picture-damaged` or `picture-too-large`.
 */
export async function loadPicture(bytes: Uint8Array): Promise<GrayPicture> {
  return grayOf(await loadColours(bytes));
}

/** Three bytes a pixel, red, green and blue, row by row from the top; alike in a picture without colours. */
export interface ColourPicture {
  readonly data: Uint8Array;
  readonly width: number;
  readonly height: number;
}

/** By the weights of ITU-R BT.601, which both decoders use: what they see is what they would have made. */
export function grayOf({ data, width, height }: ColourPicture): GrayPicture {
  const gray = new Uint8Array(width * height);
  for (let pixel = 0, at = 0; pixel < gray.length; pixel++, at += 3) {
    const [red = 0, green = 0, blue = 0] = [data[at], data[at + 1], data[at + 2]];
    gray[pixel] = (306 * red + 601 * green + 117 * blue + 512) >> 10;
  }
  return { data: gray, width, height };
}

/** As `loadPicture`, with its colours. */
export async function loadColours(bytes: Uint8Array): Promise<ColourPicture> {
  pictureKind(bytes);
  const { default: sharp } = await import('sharp');
  const options = { failOn: 'error', limitInputPixels: MOST_PIXELS, autoOrient: true, pages: 1 } as const;
  const { data, info } = await sharp(bytes, options)
    .flatten({ background: '#ffffff' })
    .toColourspace('srgb')
    .raw({ depth: 'uchar' })
    .toBuffer({ resolveWithObject: true })
    .catch((cause: Error) => {
      throw refusal(cause);
    });
  return { data, width: info.width, height: info.height };
}

/** A PNG file of red, green and blue bytes. */
export async function pngOf(data: Uint8Array, width: number, height: number): Promise<Uint8Array> {
  const { default: sharp } = await import('sharp');
  return new Uint8Array(
    await sharp(data, { raw: { width, height, channels: 3 } })
      .png()
      .toBuffer(),
  );
}

/** Of a PNG file a JPEG file of that width. */
export async function jpegOf(png: Uint8Array, width: number): Promise<Uint8Array> {
  const { default: sharp } = await import('sharp');
  return new Uint8Array(await sharp(png).resize({ width }).jpeg({ quality: 80 }).toBuffer());
}

/** The kind of a picture file, told by its first bytes. @throws InputError `not-a-picture` or `picture-kind` */
export function pictureKind(bytes: Uint8Array): 'jpg' | 'png' | 'webp' {
  const head = Buffer.from(bytes.subarray(0, 16)).toString('latin1');
  if (head.startsWith('\xff\xd8\xff')) return 'jpg';
  if (head.startsWith('\x89PNG\r\n\x1a\n')) return 'png';
  if (head.startsWith('RIFF') && head.startsWith('WEBP', 8)) return 'webp';
  if (head.startsWith('ftyp', 4)) {
    throw new InputError(
      'picture-kind',
      `This is a HEIC, AVIF or video file; ${KINDS}.`,
      'Send or export the picture as JPEG; on the phone, set the camera to its most compatible format.',
    );
  }
  throw new InputError(
    'not-a-picture',
    bytes.length === 0 ? 'The file is empty.' : `The file is of another kind; ${KINDS}.`,
    'Give a photo of the tag, or save the picture as JPEG and give that.',
  );
}

function refusal(cause: Error): InputError {
  if (/pixel limit/.test(cause.message)) {
    return new InputError(
      'picture-too-large',
      `The picture has more than ${MOST_PIXELS / 1e6} million pixels.`,
      'Crop it to the tag, or save it smaller, and read that.',
      {},
      [],
      { cause },
    );
  }
  return new InputError(
    'picture-damaged',
    `The picture is cut short or damaged (${cause.message.split('\n')[0]}).`,
    'Copy it from the phone again, or take the photo again.',
    {},
    [],
    { cause },
  );
}

/** Gaussian blur: melts sensor noise and the grain of mud, at the price of fine modules. */
export async function blurred(picture: GrayPicture, sigmaPx: number): Promise<GrayPicture> {
  return finished(picture, (image) => image.blur(sigmaPx));
}

/** `scale` times as wide and high. Each pixel of a smaller picture is the mean of those it covers. */
export async function resized(picture: GrayPicture, scale: number): Promise<GrayPicture> {
  const width = Math.max(1, Math.round(picture.width * scale));
  const height = Math.max(1, Math.round(picture.height * scale));
  return finished(picture, (image) => image.resize(width, height, { fit: 'fill', kernel: 'cubic' }));
}

/** Turned clockwise about its centre; the picture grows to hold itself, the new corners are grey. */
export async function turned(
  picture: GrayPicture,
  degrees: number,
): Promise<{
  picture: GrayPicture;
  toUpright: (point: Point) => Point;
}> {
  const result = await finished(picture, (image) => image.rotate(degrees, { background: '#808080' }));
  const [cos, sin] = [Math.cos((degrees * Math.PI) / 180), Math.sin((degrees * Math.PI) / 180)];
  const toUpright = ({ x, y }: Point): Point => {
    const [dx, dy] = [x - result.width / 2, y - result.height / 2];
    return { x: picture.width / 2 + cos * dx + sin * dy, y: picture.height / 2 + cos * dy - sin * dx };
  };
  return { picture: result, toUpright };
}

/** Unsharp mask: every pixel is moved `gain` times its difference from the blurred picture away from it. */
export async function sharpened(picture: GrayPicture, sigmaPx: number, gain: number): Promise<GrayPicture> {
  const { data: soft } = await blurred(picture, sigmaPx);
  const data = new Uint8ClampedArray(picture.data.length);
  for (let at = 0; at < data.length; at++) {
    const value = picture.data[at] ?? 0;
    data[at] = value + gain * (value - (soft[at] ?? 0));
  }
  return { ...picture, data: new Uint8Array(data.buffer) };
}

async function finished(picture: GrayPicture, process: (image: Sharp) => Sharp): Promise<GrayPicture> {
  const { default: sharp } = await import('sharp');
  const { width, height } = picture;
  const { data, info } = await process(sharp(picture.data, { raw: { width, height, channels: 1 } }))
    .toColourspace('b-w')
    .raw()
    .toBuffer({ resolveWithObject: true });
  return {
    data: new Uint8Array(data.buffer, data.byteOffset, data.length),
    width: info.width,
    height: info.height,
  };
}

/** Below this spread (grey levels) a neighbourhood is taken as flat, so that plain paper stays plain. */
const FLAT_SPREAD = 3;

/**
 * Local mean and variance normalisation: every neighbourhood of `2 radiusPx + 1` pixels square gets mean
 * 128 and standard deviation 50, so that faded print in deep shade looks as good as fresh print in the sun.
 */
export function evened(picture: GrayPicture, radiusPx: number): GrayPicture {
  const { data, width, height } = picture;
  const evenedData = new Uint8ClampedArray(data.length);
  // Sums over the window's rows for each column, slid downward; then slid along the row.
  const columnSum = new Float64Array(width);
  const columnSquares = new Float64Array(width);
  const addRow = (y: number, sign: 1 | -1): void => {
    for (let x = 0, at = y * width; x < width; x++, at++) {
      const value = data[at] ?? 0;
      columnSum[x] = (columnSum[x] ?? 0) + sign * value;
      columnSquares[x] = (columnSquares[x] ?? 0) + sign * value * value;
    }
  };
  for (let y = 0; y < Math.min(radiusPx, height); y++) addRow(y, 1);
  for (let y = 0; y < height; y++) {
    if (y + radiusPx < height) addRow(y + radiusPx, 1);
    if (y - radiusPx > 0) addRow(y - radiusPx - 1, -1);
    const rows = Math.min(height - 1, y + radiusPx) - Math.max(0, y - radiusPx) + 1;
    let sum = 0;
    let squares = 0;
    const addColumn = (x: number, sign: 1 | -1): void => {
      sum += sign * (columnSum[x] ?? 0);
      squares += sign * (columnSquares[x] ?? 0);
    };
    for (let x = 0; x < Math.min(radiusPx, width); x++) addColumn(x, 1);
    for (let x = 0; x < width; x++) {
      if (x + radiusPx < width) addColumn(x + radiusPx, 1);
      if (x - radiusPx > 0) addColumn(x - radiusPx - 1, -1);
      const count = rows * (Math.min(width - 1, x + radiusPx) - Math.max(0, x - radiusPx) + 1);
      const mean = sum / count;
      const spread = Math.sqrt(Math.max(0, squares / count - mean * mean));
      const value = data[y * width + x] ?? 0;
      evenedData[y * width + x] = 128 + (50 * (value - mean)) / Math.max(FLAT_SPREAD, spread);
    }
  }
  return { ...picture, data: new Uint8Array(evenedData.buffer) };
}
