import 'fake-indexeddb/auto';
import { beforeEach, describe, expect, it } from 'vitest';
import type { Sent } from '../generated/api';
import { Outbox, type Delivery } from './outbox';
import { Fleeting, openStore, type Store } from './store';

const recorded = (reports: Sent[]): Delivery => ({
  kind: 'answers',
  answers: reports.map((sent, k) => ({ report_id: sent.report_id, answer: 'recorded' as const, seq: k, recorded_at_ms: k })),
});

let base = 0;
let store: Store;
let name: string;
beforeEach(async () => {
  name = `test-${base++}`;
  store = await openStore(name);
});

/** A desk that takes everything, or nothing while it is down. */
function desk() {
  const taken: Sent[] = [];
  const state = { down: false, calls: 0 };
  const carry = async (reports: Sent[]): Promise<Delivery> => {
    state.calls += 1;
    if (state.down) return { kind: 'later' };
    taken.push(...reports);
    return recorded(reports);
  };
  return { taken, state, carry };
}

describe('outbox', () => {
  it('sends at once and forgets what was answered', async () => {
    const { taken, carry } = desk();
    const box = new Outbox(store, carry, 'phone');
    await box.open();
    await box.add({ what: 'surface_looked' }, 'Surface looked over', 1_000);
    expect(await box.flush()).toBe(true);
    expect(taken.map((sent) => [sent.report.what, sent.happened_at_ms])).toEqual([['surface_looked', 1_000]]);
    expect(box.items).toEqual([]);
    expect(await store.outbox()).toEqual([]);
  });

  it('keeps reports through a reload and delivers them once, in order', async () => {
    const first = desk();
    first.state.down = true;
    const box = new Outbox(store, first.carry, 'phone');
    await box.open();
    for (const order of [1, 2, 3]) await box.add({ what: 'said_it', order }, `said ${order}`, order);
    await box.flush();
    expect(box.waiting).toHaveLength(3);

    const second = desk();
    const reloaded = new Outbox(await openStore(name), second.carry, 'phone');
    await reloaded.open();
    expect(reloaded.waiting.map((item) => item.words)).toEqual(['said 1', 'said 2', 'said 3']);
    await Promise.all([reloaded.flush(), reloaded.flush(), reloaded.flush()]);
    expect(second.taken.map((sent) => sent.happened_at_ms)).toEqual([1, 2, 3]);
    expect(second.state.calls).toBe(1);
    expect(new Set(second.taken.map((sent) => sent.report_id)).size).toBe(3);
  });

  it('sends the same name again after a lost answer', async () => {
    const names: string[] = [];
    let lost = true;
    const box = new Outbox(
      store,
      async (reports) => {
        names.push(...reports.map((sent) => sent.report_id));
        if (lost) return { kind: 'later' };
        return { kind: 'answers', answers: reports.map((sent) => ({ report_id: sent.report_id, answer: 'repeated' as const, seq: 1 })) };
      },
      'phone',
    );
    await box.open();
    await box.add({ what: 'widen' }, 'Widen', 5);
    await box.flush();
    lost = false;
    expect(await box.flush()).toBe(true);
    expect(new Set(names).size).toBe(1);
  });

  it('keeps a refused report with its reason, and sends what comes after it', async () => {
    const taken: string[] = [];
    const box = new Outbox(
      store,
      async (reports) => ({
        kind: 'answers',
        answers: reports.map((sent) => {
          if (sent.report.what === 'headcount') {
            return { report_id: sent.report_id, answer: 'refused' as const, code: 'H1', what: '40 heads are more than anybody here', remedy: 'count again' };
          }
          taken.push(sent.report.what);
          return { report_id: sent.report_id, answer: 'recorded' as const, seq: 1, recorded_at_ms: 1 };
        }),
      }),
      'phone',
    );
    await box.open();
    await box.add({ what: 'headcount', order: 1, up: 40 }, '40 up', 1);
    await box.add({ what: 'widen' }, 'Widen', 2);
    await box.flush();
    expect(taken).toEqual(['widen']);
    expect(box.refused.map((item) => item.refused?.what)).toEqual(['40 heads are more than anybody here']);
    const again = new Outbox(await openStore(name), desk().carry, 'phone');
    await again.open();
    expect(again.refused).toHaveLength(1);
    expect(again.waiting).toHaveLength(0);
  });

  it('finds the one report that spoils a batch', async () => {
    const taken: number[] = [];
    const box = new Outbox(
      store,
      async (reports) => {
        if (reports.some((sent) => sent.report.what === 'note')) return { kind: 'wrong', what: 'not understood' };
        taken.push(...reports.map((sent) => sent.happened_at_ms ?? 0));
        return recorded(reports);
      },
      'phone',
    );
    await box.open();
    let hold = true;
    const kept = box['carry'];
    (box as unknown as { carry: typeof kept }).carry = async (reports) => (hold ? { kind: 'later' } : kept(reports));
    await box.add({ what: 'widen' }, 'a', 1);
    await box.add({ what: 'note', words: 'x' }, 'b', 2);
    await box.add({ what: 'widen' }, 'c', 3);
    hold = false;
    await box.flush();
    expect(taken).toEqual([1, 3]);
    expect(box.refused.map((item) => item.words)).toEqual(['b']);
  });

  it('says what a full disk says, and goes on waiting', async () => {
    const box = new Outbox(store, async () => ({ kind: 'later', trouble: 'the disk is full; free some space' }), 'phone');
    await box.open();
    await box.add({ what: 'widen' }, 'Widen', 1);
    await box.flush();
    expect(box.trouble).toBe('the disk is full; free some space');
    expect(box.waiting).toHaveLength(1);
  });

  it('works from memory where the browser keeps nothing', async () => {
    class Refusing extends Fleeting {
      override push(): Promise<number> {
        return Promise.reject(new Error('quota'));
      }
    }
    const { taken, carry } = desk();
    const box = new Outbox(new Refusing(), carry, 'phone');
    await box.open();
    await box.add({ what: 'widen' }, 'Widen', 1);
    expect(await box.flush()).toBe(true);
    expect(taken).toHaveLength(1);
  });

  it('names are short enough and never used twice', async () => {
    const { taken, carry } = desk();
    const box = new Outbox(store, carry, 'abcdefghijklmnopqrstuvwxyz');
    await box.open();
    for (let k = 0; k < 120; k += 1) await box.add({ what: 'widen' }, 'Widen', k);
    await box.flush();
    expect(taken).toHaveLength(120);
    expect(new Set(taken.map((sent) => sent.report_id)).size).toBe(120);
    expect(taken.every((sent) => /^[A-Za-z0-9-]{1,64}$/.test(sent.report_id))).toBe(true);
    expect(taken.map((sent) => sent.happened_at_ms)).toEqual([...Array(120).keys()]);
  });
});
