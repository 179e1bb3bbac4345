// What the device keeps through a reload: the outbox, the last picture, the chart, the morning's cards.
// Where the browser refuses its database the same calls work in memory: the page goes on, a reload forgets.
import type { Sent } from '../generated/api';

export interface Outgoing {
  /** Place in the order of sending; given by the store. */
  n: number;
  sent: Sent;
  /** The report in words, for the waiting list. */
  words: string;
  touched_ms: number;
  refused?: { what: string; remedy: string };
}

export interface Store {
  get<T>(key: string): Promise<T | undefined>;
  put(key: string, value: unknown): Promise<void>;
  outbox(): Promise<Outgoing[]>;
  push(item: Omit<Outgoing, 'n'>): Promise<number>;
  change(item: Outgoing): Promise<void>;
  drop(n: number): Promise<void>;
}

function done<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((resolve, reject) => {
    request.onsuccess = () => resolve(request.result);
    request.onerror = () => reject(request.error ?? new Error('the browser refuses its database'));
  });
}

/** Waits for the write itself, not only for the request: an item counts as kept when the transaction is complete. */
function written(transaction: IDBTransaction): Promise<void> {
  return new Promise((resolve, reject) => {
    transaction.oncomplete = () => resolve();
    transaction.onabort = () => reject(transaction.error ?? new Error('the browser refuses to write'));
    transaction.onerror = () => reject(transaction.error ?? new Error('the browser refuses to write'));
  });
}

class Kept implements Store {
  constructor(private readonly base: IDBDatabase) {}

  get<T>(key: string): Promise<T | undefined> {
    return done(this.base.transaction('kept').objectStore('kept').get(key) as IDBRequest<T | undefined>);
  }

  async put(key: string, value: unknown): Promise<void> {
    const transaction = this.base.transaction('kept', 'readwrite');
    transaction.objectStore('kept').put(value, key);
    await written(transaction);
  }

  outbox(): Promise<Outgoing[]> {
    return done(this.base.transaction('outbox').objectStore('outbox').getAll() as IDBRequest<Outgoing[]>);
  }

  async push(item: Omit<Outgoing, 'n'>): Promise<number> {
    const transaction = this.base.transaction('outbox', 'readwrite');
    const key = done(transaction.objectStore('outbox').add(item));
    await written(transaction);
    return Number(await key);
  }

  async change(item: Outgoing): Promise<void> {
    const transaction = this.base.transaction('outbox', 'readwrite');
    transaction.objectStore('outbox').put(item);
    await written(transaction);
  }

  async drop(n: number): Promise<void> {
    const transaction = this.base.transaction('outbox', 'readwrite');
    transaction.objectStore('outbox').delete(n);
    await written(transaction);
  }
}

/** The same in memory. */
export class Fleeting implements Store {
  private readonly kept = new Map<string, unknown>();
  private items: Outgoing[] = [];
  private next = 1;

  async get<T>(key: string): Promise<T | undefined> {
    return this.kept.get(key) as T | undefined;
  }
  async put(key: string, value: unknown): Promise<void> {
    this.kept.set(key, value);
  }
  async outbox(): Promise<Outgoing[]> {
    return [...this.items];
  }
  async push(item: Omit<Outgoing, 'n'>): Promise<number> {
    this.items.push({ ...item, n: this.next });
    return this.next++;
  }
  async change(item: Outgoing): Promise<void> {
    this.items = this.items.map((old) => (old.n === item.n ? item : old));
  }
  async drop(n: number): Promise<void> {
    this.items = this.items.filter((item) => item.n !== n);
  }
}

/** Opens the device's database, or a stand-in where there is none. */
export async function openStore(name = 'fathomline'): Promise<Store> {
  try {
    const request = indexedDB.open(name, 1);
    request.onupgradeneeded = () => {
      request.result.createObjectStore('kept');
      request.result.createObjectStore('outbox', { keyPath: 'n', autoIncrement: true });
    };
    return new Kept(await done(request));
  } catch {
    return new Fleeting();
  }
}
