/**
 * Everything that is recorded goes through here: first it is kept on the phone, then it is sent, one after
 * the other in the order it was made. It leaves the phone when the server has said that it is recorded.
 * What arrives twice, its answer having been lost, the server knows by the ID that was made here.
 */
import { v7 as timeOrderedUuid } from 'uuid';
import type { Photo } from '../../ledger/model.js';
import type { PlantView, RecordedView, SentObservation, SentWalk } from '../views.js';
import { Refused, send, sendPicture, Unreachable } from './ask.js';
import { blobOf } from './pictures.js';
import type { Found } from './screens.js';
import type { Kept, Store } from './store.js';

/** Why the server would not have it; a person decides. */
export interface Refusal {
  readonly code: string;
  readonly message: string;
  readonly hint: string;
}

export interface WaitingObservation {
  readonly kind: 'observation';
  readonly sent: Omit<SentObservation, 'photo'>;
  /** Kept apart: what waits is listed often. */
  readonly hasPhoto: boolean;
  readonly plant: PlantView;
  readonly refusal: Refusal | null;
}

export interface WaitingWithdrawal {
  readonly kind: 'withdrawal';
  readonly entry: string;
  /** The ID of the plant it was seen on. */
  readonly id: string;
  /** What is taken back. */
  readonly words: string;
  readonly refusal: Refusal | null;
}

/** A walk along the benches, for `pottag walk`. */
export interface WaitingWalk {
  readonly kind: 'walk';
  readonly sent: SentWalk;
  readonly refusal: Refusal | null;
}

export type Waiting = WaitingObservation | WaitingWithdrawal | WaitingWalk;

/**
 * - `idle`: nothing to send, or all that could be sent is
 * - `sending`
 * - `no-reception`: will be tried again by itself
 * - `not-paired`: the server does not know this phone (any more)
 */
export type QueueState = 'idle' | 'sending' | 'no-reception' | 'not-paired';

export interface QueueView {
  readonly state: QueueState;
  readonly waiting: readonly Kept<Waiting>[];
  /** What the server said when it could be reached and was in trouble; or null. */
  readonly trouble: string | null;
}

const FIRST_RETRY_MS = 2000;
const LAST_RETRY_MS = 30_000;

export class Queue {
  view: QueueView = { state: 'idle', waiting: [], trouble: null };
  #listeners = new Set<() => void>();
  #doubts = new Map<string, string>();
  #retryMs = FIRST_RETRY_MS;
  #timer: ReturnType<typeof setTimeout> | undefined;
  #sending: Promise<void> | undefined;
  #isWanted = false;

  constructor(private readonly store: Store<Waiting>) {}

  /** @returns a function that ends it */
  listen(listener: () => void): () => void {
    this.#listeners.add(listener);
    return () => this.#listeners.delete(listener);
  }

  /**
   * Keeps an observation and begins to send. Resolves, with its entry, when it would survive a reload.
   * @param photo as a data URL
   */
  async observe(
    { plant, issue }: Found,
    values: Record<string, string>,
    photo: string | null,
  ): Promise<string> {
    const entry = timeOrderedUuid();
    const sent = { entry, id: plant.id, issue, date: today(), values };
    if (photo !== null) await this.store.write(photoOf(entry), photo);
    await this.store.add({ kind: 'observation', sent, hasPhoto: photo !== null, plant, refusal: null });
    await this.#refresh({});
    void this.flush();
    return entry;
  }

  /** Keeps a walk and begins to send it. */
  async walk(lines: readonly string[]): Promise<void> {
    await this.store.add({
      kind: 'walk',
      sent: { walk: timeOrderedUuid(), date: today(), lines },
      refusal: null,
    });
    await this.#refresh({});
    void this.flush();
  }

  /** Takes an observation back: one that was refused is dropped, any other is withdrawn after it. */
  async withdraw(entry: string, id: string, words: string): Promise<void> {
    const refused = this.view.waiting.find(
      ({ item }) => item.kind === 'observation' && item.sent.entry === entry && item.refusal !== null,
    );
    if (refused !== undefined) await this.#forget(refused);
    else await this.store.add({ kind: 'withdrawal', entry, id, words, refusal: null });
    await this.#refresh({});
    void this.flush();
  }

  /** Sends a refused one again, changed by the person who looked at it. */
  async retry(
    { key, item }: Kept<Waiting>,
    change: Partial<Omit<SentObservation, 'photo'>> = {},
  ): Promise<void> {
    const again = item.kind === 'observation' ? { ...item, sent: { ...item.sent, ...change } } : item;
    await this.store.replace(key, { ...again, refusal: null });
    await this.#refresh({});
    void this.flush();
  }

  /** Sends one under a new name: under its old one something else is recorded. */
  async recordAnew({ key, item }: Kept<Waiting>): Promise<void> {
    if (item.kind !== 'observation') return;
    const entry = timeOrderedUuid();
    if (item.hasPhoto)
      await this.store.write(photoOf(entry), await this.store.read(photoOf(item.sent.entry)));
    await this.store.replace(key, { ...item, sent: { ...item.sent, entry }, refusal: null });
    if (item.hasPhoto) await this.store.erase(photoOf(item.sent.entry));
    await this.#refresh({});
    void this.flush();
  }

  async drop(kept: Kept<Waiting>): Promise<void> {
    await this.#forget(kept);
    await this.#refresh({});
  }

  /** What the server found doubtful about an observation, once it is recorded. */
  doubtAbout(entry: string): string | undefined {
    return this.#doubts.get(entry);
  }

  /** Sends what waits, until all is sent or the server does not answer. */
  flush(): Promise<void> {
    this.#isWanted = true;
    this.#sending ??= this.#send();
    return this.#sending;
  }

  /** Goes on while it was asked for again: something may have been added just after the last look. */
  async #send(): Promise<void> {
    try {
      while (this.#isWanted) {
        this.#isWanted = false;
        await this.#sendAll();
      }
    } finally {
      this.#sending = undefined;
    }
  }

  async #sendAll(): Promise<void> {
    clearTimeout(this.#timer);
    for (;;) {
      await this.#refresh({});
      const next = this.view.waiting.find(({ item }) => item.refusal === null);
      if (next === undefined) return this.#refresh({ state: 'idle', trouble: null });
      await this.#refresh({ state: 'sending' });
      try {
        await this.#sendOne(next.item);
        await this.#forget(next);
        this.#retryMs = FIRST_RETRY_MS;
      } catch (error) {
        if (error instanceof Refused && error.status !== 401) {
          const { code, message, hint } = error;
          await this.store.replace(next.key, { ...next.item, refusal: { code, message, hint } });
        } else {
          return this.#pause(error);
        }
      }
    }
  }

  async #sendOne(item: Waiting): Promise<void> {
    if (item.kind === 'walk') {
      await send('/api/walks', item.sent);
      return;
    }
    if (item.kind === 'withdrawal') {
      await send('/api/withdrawals', { entry: item.entry });
      return;
    }
    const kept = item.hasPhoto ? await this.store.read<string>(photoOf(item.sent.entry)) : undefined;
    const photo = kept === undefined ? null : await sendPicture<Photo>('/api/photos', blobOf(kept));
    const { doubt } = await send<RecordedView>('/api/observations', { ...item.sent, photo });
    if (doubt !== null) this.#doubts.set(item.sent.entry, doubt);
  }

  async #forget({ key, item }: Kept<Waiting>): Promise<void> {
    await this.store.remove(key);
    if (item.kind === 'observation' && item.hasPhoto) await this.store.erase(photoOf(item.sent.entry));
  }

  async #pause(error: unknown): Promise<void> {
    if (error instanceof Refused) return this.#refresh({ state: 'not-paired', trouble: null });
    if (!(error instanceof Unreachable)) throw error;
    await this.#refresh({ state: 'no-reception', trouble: error.message });
    this.#timer = setTimeout(() => void this.flush(), this.#retryMs);
    this.#retryMs = Math.min(2 * this.#retryMs, LAST_RETRY_MS);
  }

  async #refresh(change: Partial<QueueView>): Promise<void> {
    this.view = { ...this.view, ...change, waiting: await this.store.list() };
    for (const listener of this.#listeners) listener();
  }
}

function photoOf(entry: string): string {
  return `photo ${entry}`;
}

/** The phone's calendar day. */
export function today(): string {
  const now = new Date();
  const two = (part: number) => String(part).padStart(2, '0');
  return `${now.getFullYear()}-${two(now.getMonth() + 1)}-${two(now.getDate())}`;
}
