import { describe, expect, it } from 'vitest';
import type { Chart } from '../../link/wire';
import { WHEN, rowsAsTheyLie, sightLine } from './where';

const chart = (facing_deg: number): Chart =>
  ({
    facing_deg,
    landmarks: [
      { name: 'near left', spot: { east: -5, north: -10 } },
      { name: 'near right', spot: { east: -5, north: 10 } },
      { name: 'far', spot: { east: -50, north: 0 } },
    ],
    posts: [],
    features: [],
    areas: [],
  }) as unknown as Chart;

describe('where', () => {
  it('buttons lie as the places lie for someone who faces west', () => {
    const rows = rowsAsTheyLie(chart(270), 3);
    expect(rows.flat().map((one) => one.name)).toEqual(['near left', 'far', 'near right']);
    const two = rowsAsTheyLie({ ...chart(270), landmarks: [...chart(270).landmarks, { name: 'far right', spot: { east: -52, north: 30 } }] });
    expect(two.map((row) => row.map((one) => one.name))).toEqual([
      ['far', 'far right'],
      ['near left', 'near right'],
    ]);
  });

  it('and turn round for someone who faces east', () => {
    const rows = rowsAsTheyLie(chart(90), 2);
    expect(rows.flat().map((one) => one.name)).toEqual(['near right', 'near left']);
  });

  it('bearings are true, clockwise from north', () => {
    const at = { east: 0, north: 0 };
    expect(sightLine(at, { east: 0, north: 10 })).toEqual({ bearing: 0, range_m: 10 });
    expect(sightLine(at, { east: -10, north: 0 }).bearing).toBe(270);
  });

  it('spans of the six buttons do not run backwards', () => {
    expect(WHEN.every(({ ago }) => ago.from_s <= ago.to_s && ago.from_s >= 0)).toBe(true);
  });
});
