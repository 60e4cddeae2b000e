/**
 * Reads photos in a thread of its own, so that the server answers everyone meanwhile. One photo at a time, a
 * few may wait; the thread starts with the first, and anew after a fault.
 */
import { Worker } from 'node:worker_threads';
import { InputError } from '../errors.js';
import type { IdLength } from '../ids/plant-id.js';
import type { TagsSince } from '../scan/reading/tags-since.js';
import type { PhotoReader, TagsRead } from '../scan/tag-reader.js';
import { oneByOne } from './one-by-one.js';
import type { FromReader, ReaderData, Task, ToReader } from './reader-messages.js';

/** It cannot be done now; the same may succeed later. */
export class NotNow extends Error {
  constructor(
    readonly code: 'busy' | 'closing',
    message: string,
    readonly hint: string,
  ) {
    super(message);
  }
}

/** Each may hold 20 MB, and takes seconds. */
const MOST_WAITING = 8;

export class ReaderThread implements PhotoReader {
  #worker: Worker | undefined;
  #isClosed = false;
  /** Ends the task under way with an error. */
  #giveUp: (error: Error) => void = () => {};
  readonly #inTurn = oneByOne(MOST_WAITING);

  /** @param file the built `reader-worker.ts` */
  constructor(
    private readonly file: string,
    private readonly tagsSince: TagsSince,
    private readonly idLength: IdLength,
  ) {}

  async read(photo: Uint8Array): Promise<TagsRead> {
    return resultOf(await this.#do('read', [photo]));
  }

  async readFrames(frames: readonly Uint8Array[]): Promise<TagsRead> {
    return resultOf(await this.#do('read-frames', frames));
  }

  /** @throws InputError if the bytes are not a sound picture through and through */
  async check(photo: Uint8Array): Promise<void> {
    await this.#do('check', [photo]);
  }

  /** What is being read, or waits, is answered with `NotNow`. */
  async close(): Promise<void> {
    this.#isClosed = true;
    this.#giveUp(closing());
    await this.#worker?.terminate();
  }

  #do(task: Task, photos: readonly Uint8Array[]): Promise<TagsRead | null> {
    return this.#inTurn(
      () => this.#run(task, photos),
      () => new NotNow('busy', 'Too many photos are waiting to be read.', 'Try again in a moment.'),
    );
  }

  #run(task: Task, photos: readonly Uint8Array[]): Promise<TagsRead | null> {
    if (this.#isClosed) return Promise.reject(closing());
    const worker = this.#started();
    return new Promise((resolve, reject) => {
      this.#giveUp = reject;
      const tell = (message: ToReader) => worker.postMessage(message);
      let ledgersError: Error | undefined;
      worker.removeAllListeners('message');
      worker.on('message', (message: FromReader) => {
        switch (message.kind) {
          case 'done':
            return resolve(message.result);
          case 'refused':
            return reject(new InputError(message.code, message.message, message.hint, {}, message.problems));
          case 'failed':
            return reject(ledgersError ?? message.error);
          case 'tags-since':
            this.tagsSince(message.entry).then(
              (tags) => tell({ kind: 'tags', ...tags }),
              (error: Error) => {
                ledgersError = error;
                tell({ kind: 'no-tags' });
              },
            );
        }
      });
      tell({ kind: 'task', task, photos });
    });
  }

  #started(): Worker {
    if (this.#worker !== undefined) return this.#worker;
    const workerData: ReaderData = { idLength: this.idLength };
    const worker = new Worker(this.file, { workerData });
    worker.unref(); // The server alone keeps the process going.
    const gone = (error: Error) => {
      if (this.#worker !== worker) return; // It was told already, and another has begun.
      this.#worker = undefined;
      this.#giveUp(error);
    };
    worker.on('error', gone);
    worker.on('exit', () => gone(new Error('the thread that reads photos ended')));
    this.#worker = worker;
    return worker;
  }
}

function resultOf(result: TagsRead | null): TagsRead {
  if (result === null) throw new Error('photos were read without a result');
  return result;
}

function closing(): NotNow {
  return new NotNow('closing', 'The server is ending.', 'Try again when it runs again.');
}
