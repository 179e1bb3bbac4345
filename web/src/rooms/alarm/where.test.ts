import { describe, expect, it } from 'vitest';
import type { Chart } from '../../link/wire';
import { WHEN, rowsAsTheyLie, sightLine } from './where';

const mark = (name: string, east: number, north: number) => ({ kind: 'landmark', name, shape: 'point', points: [{ east, north }], rings: [] });

const chart = (facing_deg: number): Chart =>
  ({
    facing_deg,
    features: [
      mark('near left', -5, -10),
      mark('near right', -5, 10),
      mark('far', -50, 0),
      { ...mark('near left deck', -6, -10), kind: 'dock' },
      { ...mark('weed', -30, 0), kind: 'bottom_weed' },
    ],
  }) as unknown as Chart;

describe('where', () => {
  it('buttons lie as the places lie for someone who faces west', () => {
    const rows = rowsAsTheyLie(chart(270));
    expect(rows.flat().map((one) => one.name)).toEqual(['near left', 'far', 'near right']);
    const two = rowsAsTheyLie({ ...chart(270), features: [...chart(270).features, mark('far right', -52, 30)] } as Chart);
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
