/** The thread that reads photos for the server: one at a time, as `ReaderThread` sends them. */
import { parentPort, workerData } from 'node:worker_threads';
import { InputError } from '../errors.js';
import { jpegOf, loadPicture } from '../scan/picture.js';
import type { TagsSince } from '../scan/reading/tags-since.js';
import { TagReader, type TagsRead } from '../scan/tag-reader.js';
import type { FromReader, ReaderData, Task, ToReader } from './reader-messages.js';

if (parentPort === null) throw new Error('this is for a thread of its own');
const port = parentPort;
const tell = (message: FromReader) => port.postMessage(message);

type Tags = Awaited<ReturnType<TagsSince>>;
let takeTags: (tags: Tags | null) => void = () => {};

const tagsSince: TagsSince = async (entry) => {
  const answer = new Promise<Tags | null>((resolve) => {
    takeTags = resolve;
  });
  tell({ kind: 'tags-since', entry });
  const tags = await answer;
  if (tags === null) throw new Error('the ledger did not tell its tags');
  return tags;
};

const reader = new TagReader(tagsSince, (workerData as ReaderData).idLength, true);

/** On a phone's screen, and over its network. */
const SHOWN_WIDTH_PX = 640;

async function forThePhone({ texts, damaged }: TagsRead): Promise<TagsRead> {
  const small = damaged.map(async ({ shown, ...tag }) => ({
    ...tag,
    shown: shown && { ...shown, picture: await jpegOf(shown.picture, SHOWN_WIDTH_PX) },
  }));
  return { texts, damaged: await Promise.all(small) };
}

async function done(task: Task, photos: readonly Uint8Array[]): Promise<TagsRead | null> {
  if (task === 'read-frames') return forThePhone(await reader.readFrames(photos));
  const [photo] = photos;
  if (photo === undefined) throw new Error('no photo');
  if (task === 'read') return forThePhone(await reader.read(photo));
  await loadPicture(photo);
  return null;
}

port.on('message', (message: ToReader) => {
  if (message.kind === 'tags') return takeTags(message);
  if (message.kind === 'no-tags') return takeTags(null);
  done(message.task, message.photos).then(
    (result) => tell({ kind: 'done', result }),
    (error: unknown) => {
      if (error instanceof InputError) {
        const { code, message: what, hint, problems } = error;
        tell({ kind: 'refused', code, message: what, hint, problems });
      } else {
        tell({ kind: 'failed', error: error instanceof Error ? error : new Error(String(error)) });
      }
    },
  );
});
