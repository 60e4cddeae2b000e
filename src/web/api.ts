/**
 * What a paired device can ask and send. Every answer is JSON but a photo's.
 */
import { existsSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { join } from 'node:path';
import { Hono } from 'hono';
import { bodyLimit } from 'hono/body-limit';
import { compress } from 'hono/compress';
import * as z from 'zod';
import { InputError } from '../errors.js';
import { PHOTOS_FOLDER } from '../ledger/folders.js';
import { keepFile } from '../ledger/kept-files.js';
import type { Ledger } from '../ledger/ledger.js';
import type { Photo, Plant } from '../ledger/model.js';
import { pictureKind } from '../scan/picture.js';
import { resolve } from '../scan/resolve.js';
import { resolvePhoto, resolveRead } from '../scan/scans.js';
import type { PhotoReader, TagsRead } from '../scan/tag-reader.js';
import type { Device } from './devices.js';
import { gardenOf } from './garden.js';
import { recordOf, typeOf } from './record.js';
import { recordSent, withdrawSent } from './recording.js';
import { refusal } from './refusal.js';
import { type DeviceView, type GardenView, type ScanView, scanView } from './views.js';
import { keepWalk } from './walks.js';

/** @see ReaderThread */
export interface PhotoDesk extends PhotoReader {
  readFrames(frames: readonly Uint8Array[]): Promise<TagsRead>;
  check(photo: Uint8Array): Promise<void>;
}

export interface ApiOptions {
  /** For what is asked. */
  readonly reading: Ledger;
  /** For what is recorded: a connection of its own, so that nobody reads what is not yet written. */
  readonly writing: Ledger;
  /** Reads what is sent as a photo. */
  readonly photos: PhotoDesk;
  /** The local calendar day. */
  readonly today: () => string;
  /** A walk came in. */
  readonly onWalk: (by: string, file: string) => void;
}

/** What the routes know of a request: the device that sent it. */
export interface Paired {
  Variables: { device: Device };
}

const MOST_JSON_BYTES = 64 * 1024;
/** Some ten thousand stations. */
const MOST_WALK_BYTES = 1024 * 1024;
/** A phone's picture as it comes from the camera; the page sends smaller ones. */
export const MOST_PHOTO_BYTES = 20 * 1024 * 1024;

/** Pictures of a live camera, and all of them together. */
const MOST_FRAMES = 5;
const MOST_FRAMES_BYTES = 4 * 1024 * 1024;

const PHOTO_TYPES = { jpg: 'image/jpeg', png: 'image/png', webp: 'image/webp' } as const;
const PHOTO_NAME = /^[0-9a-f]{16}\.(jpg|png|webp)$/;

/** Version 7, as RFC 9562 lays it out, in lower case. */
const uuid = z.string().regex(/^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);

const observationShape = z.strictObject({
  entry: uuid,
  id: z.string().max(7),
  issue: z.int().min(1).max(9999).nullable(),
  date: z.string().max(10),
  values: z.record(z.string().max(20), z.string().max(2000)),
  photo: z
    .strictObject({ file: z.string().regex(PHOTO_NAME), sha256: z.string().regex(/^[0-9a-f]{64}$/) })
    .nullable(),
});

const walkShape = z.strictObject({
  walk: uuid,
  date: z.string().max(10),
  lines: z.array(z.string().max(300)).max(20_000),
});

const withdrawalShape = z.strictObject({ entry: uuid });

export function apiRoutes({ reading, writing, photos, today, onWalk }: ApiOptions): Hono<Paired> {
  const { idLength, folder } = reading;
  const photosFolder = join(folder, PHOTOS_FOLDER);
  const api = new Hono<Paired>();

  api.get('/device', (c) => c.json<DeviceView>({ device: c.get('device').name, idLength }));

  api.get('/scan', async (c) => {
    const text = c.req.query('text') ?? '';
    return c.json<ScanView>(scanView(await resolve(reading, text), idLength));
  });

  const plantRoute = (path: string, answer: (plant: Plant) => Promise<object>) =>
    api.get(path, async (c) => {
      const { plant } = await resolve(reading, c.req.param('id') ?? '');
      if (plant !== null) return c.json(await answer(plant));
      return refusal(404, 'no-such-plant', 'No plant has this ID.', 'Scan the tag again.');
    });
  plantRoute('/plants/:id', (plant) => recordOf(reading, plant));
  plantRoute('/plants/:id/type', (plant) => typeOf(reading, plant));

  api.get('/garden', compress(), async (c) => {
    const garden = await gardenOf(reading);
    const { version } = garden;
    return c.req.query('known') === version ? c.json({ version, same: true }) : c.json<GardenView>(garden);
  });

  api.post('/scan', limited(MOST_PHOTO_BYTES), async (c) => {
    const bytes = new Uint8Array(await c.req.arrayBuffer());
    const resolutions = await resolvePhoto(reading, photos, bytes);
    return c.json<{ scans: ScanView[] }>({ scans: resolutions.map((each) => scanView(each, idLength)) });
  });

  // What a live camera sees and no decoder reads.
  api.post('/frames', limited(MOST_FRAMES_BYTES), async (c) => {
    const sent = (await c.req.formData().catch(() => undefined))?.getAll('frame') ?? [];
    const frames = sent.flatMap((frame) => (typeof frame === 'string' ? [] : [frame]));
    if (frames.length === 0 || frames.length > MOST_FRAMES || frames.length < sent.length) {
      throw new InputError(
        'bad-request',
        'These are not the pictures that the page sends.',
        'Reload the page.',
      );
    }
    const bytes = await Promise.all(frames.map(async (frame) => new Uint8Array(await frame.arrayBuffer())));
    const resolutions = await resolveRead(reading, await photos.readFrames(bytes));
    return c.json<{ scans: ScanView[] }>({ scans: resolutions.map((each) => scanView(each, idLength)) });
  });

  api.post('/photos', limited(MOST_PHOTO_BYTES), async (c) => {
    const bytes = new Uint8Array(await c.req.arrayBuffer());
    await photos.check(bytes); // Only what is a picture through and through comes to lie in the folder.
    return c.json<Photo>(keepFile(folder, PHOTOS_FOLDER, bytes, pictureKind(bytes)));
  });

  api.get('/photos/:name', async (c) => {
    const name = c.req.param('name');
    const kind = PHOTO_NAME.exec(name)?.[1] as keyof typeof PHOTO_TYPES | undefined;
    const file = join(photosFolder, name);
    if (kind === undefined || !existsSync(file)) {
      return refusal(404, 'no-such-photo', 'There is no such photo.', 'It may lie in a copy of the ledger.');
    }
    return c.body(new Uint8Array(await readFile(file)), 200, {
      'Content-Type': PHOTO_TYPES[kind],
      // Nothing of the ledger stays on a phone that was forgotten.
      'Cache-Control': 'private, no-store',
    });
  });

  api.post('/observations', limited(MOST_JSON_BYTES), async (c) => {
    const sent = parsed(observationShape, await c.req.text());
    const { photo } = sent;
    const isKept =
      photo === null ||
      (photo.file.startsWith(photo.sha256.slice(0, 16)) && existsSync(join(photosFolder, photo.file)));
    if (!isKept) throw new InputError('no-such-photo', 'Its photo is not here.', 'Send the photo first.');
    return c.json(await recordSent(writing, c.get('device').name, today(), sent));
  });

  api.post('/withdrawals', limited(MOST_JSON_BYTES), async (c) => {
    const { entry } = parsed(withdrawalShape, await c.req.text());
    await withdrawSent(reading, writing, c.get('device').name, entry);
    return c.json({ withdrawn: entry });
  });

  api.post('/walks', limited(MOST_WALK_BYTES), async (c) => {
    const file = await keepWalk(reading, today(), parsed(walkShape, await c.req.text()));
    onWalk(c.get('device').name, file);
    return c.json({ kept: true });
  });

  return api;
}

function limited(maxSize: number) {
  const onError = () =>
    refusal(
      413,
      'too-large',
      `More than ${maxSize / 1024} kB were sent.`,
      'Send a smaller picture or a shorter note.',
    );
  return bodyLimit({ maxSize, onError });
}

/** @throws InputError if the text is not JSON of that shape */
function parsed<T>(shape: z.ZodType<T>, text: string): T {
  const result = shape.safeParse(jsonOf(text));
  if (result.success) return result.data;
  const [issue] = result.error.issues;
  const where = issue?.path.join('.') || 'the body';
  throw new InputError(
    'bad-request',
    `This is not what the page sends (${where}).`,
    'Reload the page and try again.',
  );
}

function jsonOf(text: string): unknown {
  try {
    return JSON.parse(text);
  } catch {
    return undefined;
  }
}
