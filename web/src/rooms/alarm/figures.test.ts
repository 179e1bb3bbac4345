import { describe, expect, it } from 'vitest';
import type { Screen } from '../../generated/api';
import type { Still } from '../../link/wire';
import { figureOf } from './figures';

const screen = {
  at_ms: 0,
  figures: [{ name: 'bottom', value: '61 %', words: '', inputs: [], model: 'belief' }],
  sightings: [{ number: 1, words: 'at Raft', ask: [] }],
  map: {
    lanes: [{ order: 3, state: 'running', from: { east: 0, north: 0 }, to: { east: 3, north: 4 }, width_m: 3, done_m: 1, method: 'dive', holds: 0.08, words: 'lane 3, under way' }],
    gaps: [{ spot: { east: 0, north: 0 }, area_m2: 40.4, holds: 0.02, words: 'under the raft: too deep' }],
    seen: [{ spot: { east: 0, north: 0 }, error_m: 5, number: 1 }],
    current: [90, 0.11],
  },
} as unknown as Screen;
const still = { photo: null, figures: [], pointing: [{ by: 'point', error: 5, figure: { name: 'pointing_point', value: '± 5 m', words: '', inputs: [['a place', '5 m', 'assumed']], model: 'sightings' } }] } as unknown as Still;

describe('every number has its card', () => {
  it('from the desk, or by what the map shows', () => {
    expect(figureOf('bottom', screen, still)?.value).toBe('61 %');
    expect(figureOf('pointing_point', null, still)?.inputs[0]?.[2]).toBe('assumed');
    expect(figureOf('lane:3', screen, still)?.value).toBe('8 %');
    expect(figureOf('lane:3', screen, still)?.inputs[0]).toEqual(['length', '5 m', 'planned']);
    expect(figureOf('gap:0', screen, still)?.words).toContain('under the raft: too deep');
    expect(figureOf('seen:1', screen, still)?.value).toBe('± 5 m');
    expect(figureOf('current', screen, still)?.words).toContain('090°');
    for (const gone of ['lane:9', 'gap:7', 'seen:2', 'nothing', '']) expect(figureOf(gone, screen, still), gone).toBeNull();
  });
});
