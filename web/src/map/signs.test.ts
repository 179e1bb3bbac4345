import { describe, expect, it } from 'vitest';
import type { Palette } from './palette';
import { drawGap } from './signs';

/** A canvas that only remembers what was asked of it. */
function drawn(radius: number) {
  const asked: { what: string; radius: number | undefined }[] = [];
  const context = new Proxy({} as Record<string, unknown>, {
    get: (_, what: string) => (...values: number[]) => void asked.push({ what, radius: what === 'arc' ? values[2] : undefined }),
    set: () => true,
  });
  drawGap({ context: context as unknown as CanvasRenderingContext2D, ratio: 2, palette: { ink: '#000', halo: '#fff' } as Palette }, [10, 10], radius);
  return asked;
}

describe('ground without a method', () => {
  it('is a mark of its place: never filled as searched ground is, never larger than a finger', () => {
    for (const radius of [0, 20, 400]) {
      const asked = drawn(radius);
      expect(asked.some((one) => /fill/i.test(one.what))).toBe(false);
      const rings = asked.filter((one) => one.what === 'arc').map((one) => one.radius ?? 0);
      expect(rings.length).toBeGreaterThan(0);
      for (const ring of rings) expect(ring >= 16 && ring <= 30, `${ring}`).toBe(true);
    }
  });
});
