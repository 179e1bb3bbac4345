import { describe, expect, it } from 'vitest';
import { ServerClock } from './clock';

describe('the server’s clock', () => {
  it('lies within half the shortest round trip', () => {
    const clock = new ServerClock();
    const truth = 93_000;
    for (const [out, back] of [
      [40, 400],
      [30, 20],
      [200, 10],
    ] as const) {
      const sent = 1_000_000;
      clock.asked(sent, sent + out + back, sent + out + truth);
    }
    expect(Math.abs(clock.offset_ms - truth)).toBeLessThanOrEqual(25);
  });

  it('never runs ahead because of a slow beat', () => {
    const clock = new ServerClock();
    clock.asked(0, 20, 5_010);
    clock.heard(1_000, 5_200);
    expect(clock.offset_ms).toBeGreaterThanOrEqual(4_990);
    expect(clock.offset_ms).toBeLessThanOrEqual(5_010);
  });

  it('follows when the phone’s own clock is put right', () => {
    const clock = new ServerClock();
    clock.asked(0, 10, 60_005);
    // An hour later the phone's clock jumps a minute forward.
    clock.asked(3_660_000, 3_660_010, 3_660_005);
    expect(Math.abs(clock.offset_ms)).toBeLessThanOrEqual(5);
  });

  it('goes on with what was known when nobody answers', () => {
    expect(new ServerClock(-700).offset_ms).toBe(-700);
  });
});
