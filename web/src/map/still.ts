// How the water itself is drawn: bands of depth, contours, shore, docks, ropes, posts and landmarks.
import type { FeatureLike } from 'ol/Feature';
import type { Coordinate } from 'ol/coordinate';
import Fill from 'ol/style/Fill';
import Stroke from 'ol/style/Stroke';
import Style, { type StyleFunction } from 'ol/style/Style';
import Text from 'ol/style/Text';
import type { Palette } from './palette';
import { drawPost } from './signs';
import { upright } from './upright';

const ORDER = ['water', 'band-deep', 'band-dive', 'band-wade', 'contour', 'shore', 'island'];

/** Ground lies under the search, names above it. */
export interface How {
  survey: boolean;
  /** A photo lies under it: the water lets it through. */
  photo: boolean;
  wade_m: number;
  /** Depths are written in feet. */
  feet: boolean;
}

export function stillStyle(colours: Palette, how: How, part: 'ground' | 'names'): StyleFunction {
  const whole = wholeStyle(colours, how);
  return (feature, resolution) => {
    const styles = whole(feature, resolution);
    const named = (style: Style) => style.getText() !== null || feature.get('kind') === 'thing-point';
    return [styles ?? []].flat().filter((style) => named(style) === (part === 'names'));
  };
}

/** How much of a photo the colours of the bands leave, so that their edges still read: two digits of hexadecimal. */
const OVER_PHOTO = '59';

function wholeStyle(colours: Palette, { survey, photo, wade_m, feet }: How): StyleFunction {
  const fill = (color: string) => new Fill({ color: photo ? `${color}${OVER_PHOTO}` : color });
  const halo = new Stroke({ color: colours.halo, width: 4 });
  const at = (kind: string) => ORDER.indexOf(kind);
  const plain: Record<string, Style> = {
    // Under the bands there is water once more: twice would hide the photo.
    water: new Style({ ...(photo ? {} : { fill: fill(colours.dive) }), zIndex: at('water') }),
    'band-wade': new Style({ fill: fill(colours.wade), zIndex: at('band-wade') }),
    'band-dive': new Style({ fill: fill(colours.dive), zIndex: at('band-dive') }),
    'band-deep': new Style({ fill: fill(colours.deep), zIndex: at('band-deep') }),
    shore: new Style({ stroke: new Stroke({ color: colours.shore, width: 3 }), zIndex: at('shore') }),
    island: new Style({ fill: new Fill({ color: photo ? `${colours.land}00` : colours.land }), stroke: new Stroke({ color: colours.shore, width: 3 }), zIndex: at('island') }),
  };
  return (feature, resolution) => {
    const kind = String(feature.get('kind'));
    if (plain[kind]) return plain[kind];
    if (kind === 'contour') return contour(feature, colours, { survey, wade_m, feet, resolution });
    return thing(feature, colours, halo, resolution, survey);
  };
}

function contour(feature: FeatureLike, colours: Palette, { survey, wade_m, feet, resolution }: { survey: boolean; wade_m: number; feet: boolean; resolution: number }): Style[] {
  const depth_m = Number(feature.get('depth_m'));
  // The chart comes to the centimetre.
  const key = Math.abs(depth_m - wade_m) < 0.006;
  const depth = feet ? depth_m / 0.3048 : depth_m;
  const whole = Math.abs(depth - Math.round(depth)) < (feet ? 0.02 : 1e-6);
  const styles = [
    new Style({
      stroke: new Stroke({ color: key ? colours.isoKey : colours.iso, width: key ? 1.8 : 1 }),
      zIndex: ORDER.indexOf('contour'),
    }),
  ];
  // Beside the wading limit's own number there is no room for its neighbours'.
  const beside = !key && Math.abs(depth_m - wade_m) < 0.4;
  if (key || (!beside && ((survey && whole) || (whole && resolution < 0.12)))) {
    styles.push(
      new Style({
        text: new Text({
          text: whole ? String(Math.round(depth)) : depth.toFixed(1),
          placement: 'line',
          repeat: 260,
          font: `600 12px ${colours.font}`,
          fill: new Fill({ color: colours.isoKey }),
          stroke: new Stroke({ color: colours.dive, width: 4 }),
        }),
        zIndex: 20,
      }),
    );
  }
  return styles;
}

function thing(feature: FeatureLike, colours: Palette, halo: Stroke, resolution: number, survey: boolean): Style[] {
  const of = String(feature.get('of'));
  const name = String(feature.get('name'));
  const shape = String(feature.get('kind'));
  const text = (offsetY: number, size = 14) =>
    new Style({
      zIndex: 40,
      text: new Text({
        text: name,
        font: `700 ${size}px ${colours.font}`,
        offsetY,
        fill: new Fill({ color: colours.ink }),
        stroke: halo,
        overflow: true,
      }),
    });
  if (shape === 'thing-area') return area(of, colours, text, resolution, survey);
  if (shape === 'thing-line') {
    const rope = of === 'rope';
    return [
      new Style({
        stroke: new Stroke({
          color: rope ? colours.shore : colours.isoKey,
          width: 2.4,
          lineDash: rope ? [0.5, 6] : [10, 4, 2, 4],
          lineCap: rope ? 'round' : 'butt',
        }),
        zIndex: 10,
      }),
    ];
  }
  if (of === 'post') return [post(colours), text(17)];
  if (['landmark', 'gate', 'kit_place', 'catch_point'].includes(of)) {
    // What orders do not run to gives way first when the map is small.
    const far = of === 'landmark' ? resolution > 0.45 : resolution > 0.16;
    return [new Style({ zIndex: 15, renderer: (at, state) => upright(state.context, state.rotation, at, (place) => square(state.context, state.pixelRatio, place, colours)) }), ...(far ? [] : [text(-13)])];
  }
  return [text(0, 13)];
}

function area(of: string, colours: Palette, text: (y: number, size?: number) => Style, resolution: number, survey: boolean): Style[] {
  if (['dock', 'raft', 'jetty', 'wall', 'bridge'].includes(of)) {
    return [
      new Style({ fill: new Fill({ color: colours.deck }), stroke: new Stroke({ color: colours.shore, width: 1.8 }), zIndex: 12 }),
      ...(of === 'raft' && resolution < 0.5 ? [text(-16)] : []),
    ];
  }
  if (of === 'no_go') {
    return [
      new Style({ stroke: new Stroke({ color: colours.ink, width: 2, lineDash: [2, 3] }), zIndex: 11 }),
      ...(resolution < 0.3 ? [text(16, 13)] : []),
    ];
  }
  if (of.startsWith('bottom')) {
    return survey
      ? [new Style({ stroke: new Stroke({ color: colours.isoKey, width: 1.4, lineDash: [7, 4] }), zIndex: 9 }), ...(resolution < 0.4 ? [text(0, 13)] : [])]
      : [];
  }
  return [];
}

function post(colours: Palette): Style {
  return new Style({
    zIndex: 30,
    renderer: (at, state) =>
      upright(state.context, state.rotation, at, (place) => drawPost({ context: state.context, ratio: state.pixelRatio, palette: colours }, place)),
  });
}

function square(context: CanvasRenderingContext2D, ratio: number, [x = 0, y = 0]: Coordinate, colours: Palette): void {
  context.fillStyle = colours.ink;
  context.fillRect(x - 3 * ratio, y - 3 * ratio, 6 * ratio, 6 * ratio);
}
