import { describe, expect, it } from 'vitest';
import type { Screen } from '../generated/api';
import { laid } from './change';

const before = { seq: 7, at_ms: 1, short: { order: 2 }, say: ['a'], map: { dots: [[1, 2]], sentence: 'near the raft' } } as unknown as Screen;

describe('a change', () => {
  it('replaces what it brings and leaves the rest as it was', () => {
    const now = laid(before, { seq: 8, at_ms: 2, short: null, map: { sentence: 'near the jetty' } });
    expect(now).toEqual({ seq: 8, at_ms: 2, short: null, say: ['a'], map: { dots: [[1, 2]], sentence: 'near the jetty' } });
    expect(now.say).toBe(before.say);
    expect(now.map.dots).toBe(before.map.dots);
    expect(before.seq).toBe(7);
    expect(before.map.sentence).toBe('near the raft');
  });

  it('without the map leaves the same map, so that nothing is drawn anew', () => {
    expect(laid(before, { seq: 9 }).map).toBe(before.map);
  });
});
