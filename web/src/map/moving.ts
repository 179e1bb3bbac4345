// How the search is drawn: dots, outlines, lanes, gaps, last seen points, the place being pointed out.
import type { Coordinate } from 'ol/coordinate';
import Fill from 'ol/style/Fill';
import Stroke from 'ol/style/Stroke';
import Style, { type StyleFunction } from 'ol/style/Style';
import { metres } from '../parts/format';
import { ui } from '../parts/ui.svelte';
import type { Palette } from './palette';
import { upright } from './upright';
import { drawDisc, drawDots, drawGap, drawLane, drawSeen, drawSelf, haloText, type LaneLook } from './signs';

export type Moving =
  | { kind: 'outline'; share: number }
  | { kind: 'share'; share: number }
  | { kind: 'dots' }
  | { kind: 'gap'; radius_m: number }
  | { kind: 'lane'; look: LaneLook; at: Coordinate; before: Coordinate[] }
  | { kind: 'disc'; radius_m: number; state: LaneLook['state']; label: string; at: Coordinate; before: Coordinate[] }
  | { kind: 'seen'; label: string }
  | { kind: 'sight' }
  | { kind: 'marked'; error_m: number | null }
  | { kind: 'self'; error_m: number };

/** Numbers nearer than this to a more pressing one are left out until somebody looks closer \[pixels\]. */
const APART_PX = 23;

/** The number of a lane, or none where a more pressing one stands. */
function numbered({ at, before, label, state }: { at: Coordinate; before: Coordinate[]; label: string; state: LaneLook['state'] }, resolution: number): string {
  const [x = 0, y = 0] = at;
  const crowded = before.some(([u = 0, v = 0]) => Math.hypot(u - x, v - y) < APART_PX * resolution);
  return crowded && state !== 'running' ? '' : label;
}

export function movingStyle(colours: Palette): StyleFunction {
  return (feature, resolution) => {
    const moving = feature.get('moving') as Moving;
    const drawn = (zIndex: number, draw: (at: Coordinate, ratio: number, context: CanvasRenderingContext2D, perMetre: number) => void) =>
      new Style({
        zIndex,
        renderer: (at, state) =>
          upright(state.context, state.rotation, at, (places) => draw(places, state.pixelRatio, state.context, state.pixelRatio / state.resolution)),
      });
    const pen = (context: CanvasRenderingContext2D, ratio: number) => ({ context, ratio, palette: colours });
    switch (moving.kind) {
      case 'outline':
        return outline(moving.share, colours);
      case 'share':
        return drawn(16, (at, ratio, context) => haloText(pen(context, ratio), `${Math.round(moving.share * 100)} %`, at[0] ?? 0, at[1] ?? 0, 14, 800, colours.belief));
      case 'dots':
        return drawn(5, (at, ratio, context) => drawDots(pen(context, ratio), at as unknown as Coordinate[]));
      case 'gap':
        return drawn(6, (at, ratio, context, perMetre) => drawGap(pen(context, ratio), at, moving.radius_m * perMetre));
      case 'lane':
        return drawn(moving.look.state === 'running' ? 9 : 8, (at, ratio, context) =>
          drawLane(pen(context, ratio), (at as unknown as Coordinate[]).slice(0, 4), { ...moving.look, label: numbered({ ...moving.look, ...moving }, resolution) }),
        );
      case 'disc':
        return drawn(9, (at, ratio, context, perMetre) => drawDisc(pen(context, ratio), at, moving.radius_m * perMetre, { state: moving.state, label: numbered(moving, resolution) }));
      case 'seen':
        return drawn(12, (at, ratio, context) => drawSeen(pen(context, ratio), at, moving.label));
      case 'sight':
        return [
          new Style({ stroke: new Stroke({ color: colours.halo, width: 7 }), zIndex: 13 }),
          new Style({ stroke: new Stroke({ color: colours.ink, width: 3 }), zIndex: 13 }),
        ];
      case 'marked':
        return drawn(14, (at, ratio, context, perMetre) => {
          const radius = Math.max((moving.error_m ?? 0) * perMetre, 22 * ratio);
          context.save();
          context.beginPath();
          context.arc(at[0] ?? 0, at[1] ?? 0, radius, 0, 7);
          context.globalAlpha = 0.75;
          context.fillStyle = colours.belief50;
          context.fill();
          context.globalAlpha = 1;
          context.setLineDash([6 * ratio, 4 * ratio]);
          context.strokeStyle = colours.belief;
          context.lineWidth = 3 * ratio;
          context.stroke();
          context.restore();
          drawSeen(pen(context, ratio), at, '');
          if (moving.error_m !== null) haloText(pen(context, ratio), `± ${metres(Math.round(moving.error_m), ui.inFeet ? 'feet' : 'metres')}`, (at[0] ?? 0) + radius + 26 * ratio, at[1] ?? 0, 15, 800, colours.belief);
        });
      case 'self':
        return drawn(15, (at, ratio, context, perMetre) => drawSelf(pen(context, ratio), at, moving.error_m * perMetre));
    }
  };
}

/** 50 % solid, 80 % dashed, 95 % dotted. */
function outline(share: number, colours: Palette): Style[] {
  const half = share < 0.65;
  const most = share > 0.87;
  const line = half
    ? { width: 3.2 }
    : most
      ? { width: 1.8, lineDash: [2, 4] }
      : { width: 2.2, lineDash: [9, 4] };
  const tint = half ? `${colours.belief50}bb` : most ? null : `${colours.belief80}88`;
  return [
    new Style({
      stroke: new Stroke({ color: colours.belief, ...line }),
      ...(tint ? { fill: new Fill({ color: tint }) } : {}),
      zIndex: half ? 3 : most ? 1 : 2,
    }),
  ];
}
