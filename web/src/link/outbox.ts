// Reports wait here until the server says that they are recorded: kept first, sent in order, one batch at a time.
import type { Report, Sent } from '../generated/api';
import type { Outgoing, Store } from './store';
import type { Answer } from './wire';

/** At most so many reports in one request. */
const BATCH = 50;

/** What sending came to. */
export type Delivery =
  | { kind: 'answers'; answers: Answer[] }
  /** No way through now: try again later. */
  | { kind: 'later'; trouble?: string }
  /** The whole request is wrong, and would be wrong again. */
  | { kind: 'wrong'; what: string };

export type Carrier = (reports: Sent[]) => Promise<Delivery>;

export class Outbox {
  items: Outgoing[] = [];
  /** Why nothing was taken, in the server's words. */
  trouble = '';
  private sending: Promise<boolean> | null = null;
  private writing: Promise<unknown> = Promise.resolve();
  private asked = false;
  private count = 0;

  constructor(
    private readonly store: Store,
    private readonly carry: Carrier,
    private readonly device: string,
    private readonly changed: () => void = () => {},
  ) {}

  /** Reads what an earlier page left. */
  async open(): Promise<void> {
    this.items = (await this.store.outbox()).sort((a, b) => a.n - b.n);
    this.changed();
  }

  /** Takes a report, keeps it, then tries to send. Resolves when it is kept. */
  add(report: Report, words: string, happened_ms: number): Promise<void> {
    const sent: Sent = { report_id: this.name(), happened_at_ms: Math.round(happened_ms), report };
    const item: Outgoing = { n: Number.MAX_SAFE_INTEGER, sent, words, touched_ms: happened_ms };
    this.items = [...this.items, item];
    this.changed();
    // One write after the other, so that the kept order is the order of the touches.
    const kept = this.writing.then(async () => {
      const { n: _, ...rest } = item;
      try {
        item.n = await this.store.push(rest);
      } catch {
        // A full or refused database must not hold up an alarm: the report goes from memory.
        item.n = -1;
      }
    });
    this.writing = kept;
    return kept.then(() => void this.flush());
  }

  /** Waiting reports, oldest first. */
  get waiting(): Outgoing[] {
    return this.items.filter((item) => !item.refused);
  }

  get refused(): Outgoing[] {
    return this.items.filter((item) => item.refused);
  }

  /** Takes a refused report off the list. */
  async forget(item: Outgoing): Promise<void> {
    await this.remove(item);
    this.changed();
  }

  /** Sends what waits; true when nothing is left. Calls while one runs share one more try after it. */
  flush(): Promise<boolean> {
    if (this.sending) {
      this.asked = true;
      return this.sending;
    }
    this.sending = this.tries().finally(() => {
      this.sending = null;
    });
    return this.sending;
  }

  /** A try that failed just before the link came back must not cost the next three seconds. */
  private async tries(): Promise<boolean> {
    let empty: boolean;
    do {
      this.asked = false;
      empty = await this.run();
    } while (!empty && this.asked);
    return empty;
  }

  private async run(): Promise<boolean> {
    await this.writing;
    let size = BATCH;
    for (;;) {
      const batch = this.waiting.filter((item) => item.n !== Number.MAX_SAFE_INTEGER).slice(0, size);
      if (batch.length === 0) {
        this.tell('');
        return this.waiting.length === 0;
      }
      const delivery = await this.carry(batch.map((item) => item.sent));
      if (delivery.kind === 'later') {
        this.tell(delivery.trouble ?? '');
        return false;
      }
      if (delivery.kind === 'wrong') {
        if (batch.length > 1) {
          // One bad report must not hold back the others: find it by sending one at a time.
          size = 1;
          continue;
        }
        await this.refuse(batch[0], delivery.what, 'say it by voice and have it written down');
        continue;
      }
      if ((await this.settle(batch, delivery.answers)) === 0) {
        return false;
      }
    }
  }

  /** Takes answered reports off; gives how many were answered. */
  private async settle(batch: Outgoing[], answers: Answer[]): Promise<number> {
    let settled = 0;
    for (const item of batch) {
      const answer = answers.find((one) => one.report_id === item.sent.report_id);
      if (!answer) continue;
      settled += 1;
      if (answer.answer === 'refused') {
        await this.refuse(item, answer.what ?? 'refused', answer.remedy ?? '');
      } else {
        await this.remove(item);
      }
    }
    this.tell('');
    return settled;
  }

  private async refuse(item: Outgoing | undefined, what: string, remedy: string): Promise<void> {
    if (!item) return;
    item.refused = { what, remedy };
    this.items = [...this.items];
    if (item.n > 0) await this.store.change(item).catch(() => {});
    this.changed();
  }

  private async remove(item: Outgoing): Promise<void> {
    this.items = this.items.filter((other) => other !== item);
    if (item.n > 0) await this.store.drop(item.n).catch(() => {});
  }

  private tell(trouble: string): void {
    this.trouble = trouble;
    this.changed();
  }

  private name(): string {
    this.count += 1;
    const chance = new Uint32Array(2);
    crypto.getRandomValues(chance);
    return `${this.device}-${this.count}-${[...chance].map((part) => part.toString(36)).join('')}`.slice(0, 64);
  }
}
