/** What the server and the thread that reads photos tell each other. */
import type { Problem } from '../errors.js';
import type { IdLength } from '../ids/plant-id.js';
import type { TagsRead } from '../scan/tag-reader.js';

export interface ReaderData {
  readonly idLength: IdLength;
}

/**
 * - `read`: the tags in a photo
 * - `read-frames`: the tags in pictures of one thing, taken one after the other
 * - `check`: whether it is a sound picture through and through
 */
export type Task = 'read' | 'read-frames' | 'check';

export type ToReader =
  | { readonly kind: 'task'; readonly task: Task; readonly photos: readonly Uint8Array[] }
  /** The answer to `tags-since`. */
  | { readonly kind: 'tags'; readonly texts: readonly string[]; readonly entry: number }
  | { readonly kind: 'no-tags' };

export type FromReader =
  | { readonly kind: 'done'; readonly result: TagsRead | null }
  /** An `InputError`. */
  | {
      readonly kind: 'refused';
      readonly code: string;
      readonly message: string;
      readonly hint: string;
      readonly problems: readonly Problem[];
    }
  /** Any other error. */
  | { readonly kind: 'failed'; readonly error: Error }
  /** Asks for the tags issued since, in the middle of a task. */
  | { readonly kind: 'tags-since'; readonly entry: number };
