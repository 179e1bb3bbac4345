import { describe, expect, it } from 'vitest';
import type { Report, Screen } from '../generated/api';
import type { Outgoing } from './store';
import { linesNow, standingShouts, view } from './view';
import type { Chart, Zero } from './wire';

const waits = (...reports: Report[]): Outgoing[] =>
  reports.map((report, n) => ({ n, sent: { report_id: `p-${n}`, happened_at_ms: 1_000 + n, report }, words: '', touched_ms: 1_000 + n }));

const chart = { emergency: '112', landmarks: [{ name: 'Raft', spot: { east: -40, north: 0 } }], posts: [] } as unknown as Chart;
const cards = (line: string) => [{ over: '', lines: [line], under: '' }];
const zero: Zero = {
  made_at_ms: 0,
  zones: [{ name: 'Swim area', cards: cards('zone') }],
  cells: [
    { spot: { east: -38, north: 2 }, cards: cards('by the raft') },
    { spot: { east: 0, north: 0 }, cards: cards('by the shore') },
  ],
};

describe('what this device shows before the desk has answered', () => {
  it('an alarm raised without the desk runs its clock and asks', () => {
    const seen = view(null, waits({ what: 'swimmer_missing', practice: false }), chart, zero);
    expect([seen.stage, seen.alarm_ms, seen.where, seen.when]).toEqual(['asking', 1_000, false, false]);
    expect(standingShouts(chart).join(' ')).toContain('112');
  });

  it('with where and when told, the morning’s card of the nearest spot stands in', () => {
    const place = { by: 'mark', name: 'Raft' } as const;
    const seen = view(
      null,
      waits({ what: 'swimmer_missing', practice: false }, { what: 'sighting', number: 1, ago: { from_s: 0, to_s: 30 } }, { what: 'sighting', number: 1, place }),
      chart,
      zero,
    );
    expect(seen.cards[0]?.lines).toEqual(['by the raft']);
  });

  it('touches answer at once: said orders leave, faces are seen, heads are counted', () => {
    const screen = {
      stage: 'count_short',
      practice: true,
      alarm_at_ms: 5,
      sightings: [],
      say: [{ order: 1 }, { order: 2 }],
      short: { faces: [{ person: 3, name: 'Wren', seen: false }] },
      lines: [{ order: 4, down_since_ms: 900 }, { order: 5, down_since_ms: null }],
    } as unknown as Screen;
    const waiting = waits(
      { what: 'said_it', order: 1 },
      { what: 'face_seen', person: 3, seen: true },
      { what: 'headcount', order: 4, up: 3 },
      { what: 'they_are_down', order: 5 },
      { what: 'this_is_real' },
    );
    const seen = view(screen, waiting, chart, zero);
    expect(seen.say.map((say) => say.order)).toEqual([2]);
    expect(seen.faces[0]?.seen).toBe(true);
    expect(seen.practice).toBe(false);
    expect(linesNow(screen, waiting).map((line) => line.down_since_ms)).toEqual([null, 1_003]);
  });

  it('a running alarm is not begun anew by a second touch', () => {
    const screen = { stage: 'searching', practice: false, alarm_at_ms: 5, sightings: [], say: [], short: null, lines: [] } as unknown as Screen;
    expect(view(screen, waits({ what: 'swimmer_missing', practice: false }), chart, zero).alarm_ms).toBe(5);
  });
});
