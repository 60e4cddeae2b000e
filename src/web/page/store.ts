/**
 * What the phone keeps over a reload: things waiting to be sent, in order, and a few named values. In
 * IndexedDB; where a browser has none (some private windows), in its local storage.
 */

export interface Kept<T> {
  readonly key: number;
  readonly item: T;
}

export interface Store<T> {
  /** Resolves when it would survive a reload. */
  add(item: T): Promise<void>;
  /** In the order they were added. */
  list(): Promise<Kept<T>[]>;
  replace(key: number, item: T): Promise<void>;
  remove(key: number): Promise<void>;
  read<V>(name: string): Promise<V | undefined>;
  write(name: string, value: unknown): Promise<void>;
  erase(name: string): Promise<void>;
}

export async function openStore<T>(): Promise<Store<T>> {
  try {
    return new IndexedStore<T>(await openDatabase());
  } catch {
    return new PlainStore<T>();
  }
}

const WAITING = 'waiting';
const VALUES = 'values';

function openDatabase(): Promise<IDBDatabase> {
  return new Promise((resolve, reject) => {
    const opening = indexedDB.open('pottag', 1);
    opening.onupgradeneeded = () => {
      opening.result.createObjectStore(WAITING, { autoIncrement: true });
      opening.result.createObjectStore(VALUES);
    };
    opening.onsuccess = () => resolve(opening.result);
    opening.onerror = () => reject(opening.error);
    opening.onblocked = () => reject(new Error('in use'));
  });
}

class IndexedStore<T> implements Store<T> {
  constructor(private readonly database: IDBDatabase) {}

  async add(item: T): Promise<void> {
    await this.#write(WAITING, (store) => store.add(item));
  }

  async list(): Promise<Kept<T>[]> {
    const transaction = this.database.transaction(WAITING);
    const store = transaction.objectStore(WAITING);
    const [keys, items] = await Promise.all([result(store.getAllKeys()), result(store.getAll())]);
    return keys.map((key, index) => ({ key: key as number, item: items[index] as T }));
  }

  async replace(key: number, item: T): Promise<void> {
    await this.#write(WAITING, (store) => store.put(item, key));
  }

  async remove(key: number): Promise<void> {
    await this.#write(WAITING, (store) => store.delete(key));
  }

  async read<V>(name: string): Promise<V | undefined> {
    return (await result(this.database.transaction(VALUES).objectStore(VALUES).get(name))) as V | undefined;
  }

  async write(name: string, value: unknown): Promise<void> {
    await this.#write(VALUES, (store) => store.put(value, name));
  }

  async erase(name: string): Promise<void> {
    await this.#write(VALUES, (store) => store.delete(name));
  }

  /** `strict`: on the disk, not only on its way there. */
  #write(name: string, work: (store: IDBObjectStore) => void): Promise<void> {
    return new Promise((resolve, reject) => {
      const transaction = this.database.transaction(name, 'readwrite', { durability: 'strict' });
      transaction.oncomplete = () => resolve();
      transaction.onabort = () => reject(transaction.error);
      work(transaction.objectStore(name));
    });
  }
}

function result<V>(request: IDBRequest<V>): Promise<V> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error);
  });
}

/** Items under `pottag waiting 7`, values under `pottag value NAME`. */
class PlainStore<T> implements Store<T> {
  async add(item: T): Promise<void> {
    const last = (await this.list()).at(-1)?.key ?? 0;
    localStorage.setItem(`pottag waiting ${last + 1}`, JSON.stringify(item));
  }

  async list(): Promise<Kept<T>[]> {
    return Object.keys(localStorage)
      .flatMap((name) => /^pottag waiting (\d+)$/.exec(name)?.[1] ?? [])
      .map(Number)
      .sort((a, b) => a - b)
      .map((key) => ({ key, item: JSON.parse(localStorage.getItem(`pottag waiting ${key}`) ?? '') as T }));
  }

  async replace(key: number, item: T): Promise<void> {
    localStorage.setItem(`pottag waiting ${key}`, JSON.stringify(item));
  }

  async remove(key: number): Promise<void> {
    localStorage.removeItem(`pottag waiting ${key}`);
  }

  async read<V>(name: string): Promise<V | undefined> {
    const text = localStorage.getItem(`pottag value ${name}`);
    return text === null ? undefined : (JSON.parse(text) as V);
  }

  async write(name: string, value: unknown): Promise<void> {
    localStorage.setItem(`pottag value ${name}`, JSON.stringify(value));
  }

  async erase(name: string): Promise<void> {
    localStorage.removeItem(`pottag value ${name}`);
  }
}
