import { describe, expect, it } from 'vitest';
import { placed } from './photo';

const spot = (east: number, north: number) => ({ east, north });

describe('the photo under the map', () => {
  it('lies where its corners lie on the screen', () => {
    // Two pixels a metre, north up, the origin at pixel 100, 50.
    const state = { coordinateToPixelTransform: [2, 0, 0, -2, 100, 50] };
    const photo = { url: '', width_px: 40, height_px: 30, corners: [spot(0, 15), spot(20, 15), spot(20, 0), spot(0, 0)] };
    expect(placed(photo, state)).toBe('matrix(1.000000,0.000000,0.000000,1.000000,100.000000,20.000000)');
  });

  it('and turns with it', () => {
    const state = { coordinateToPixelTransform: [0, 1, 1, 0, 0, 0] };
    const photo = { url: '', width_px: 10, height_px: 10, corners: [spot(0, 10), spot(10, 10), spot(10, 0), spot(0, 0)] };
    expect(placed(photo, state)).toBe('matrix(0.000000,1.000000,-1.000000,0.000000,10.000000,0.000000)');
  });
});
