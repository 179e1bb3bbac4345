// The only map object: one OpenLayers map in site metres, moved between places of the page, never rebuilt.
import OlMap from 'ol/Map';
import View from 'ol/View';
import Feature from 'ol/Feature';
import VectorSource from 'ol/source/Vector';
import VectorLayer from 'ol/layer/Vector';
import Projection from 'ol/proj/Projection';
import { defaults as defaultInteractions } from 'ol/interaction/defaults';
import { boundingExtent, buffer, createEmpty, extend, isEmpty, type Extent } from 'ol/extent';
import { LineString, MultiLineString, MultiPoint, Point, Polygon } from 'ol/geom';
import type { Geometry } from 'ol/geom';
import type { Lane, MapNow, Outline, Spot } from '../generated/api';
import type { Chart, Place } from '../link/wire';
import { places } from './places';
import { palette, type Palette } from './palette';
import { stillStyle } from './still';
import { movingStyle, type Moving } from './moving';
import { PhotoLayer, type PhotoLook } from './photo';

export type Ask = { kind: 'look' } | { kind: 'tap' } | { kind: 'bearing'; from: Spot };

export interface Look {
  chart: Chart;
  now: MapNow | null;
  people: Map<number, number>;
  /** Figures on the outlines, signs of the gaps: for the large map. */
  large: boolean;
  /** Picture is old: drawn grey. */
  stale: boolean;
  marked: { spot: Spot; error_m: number | null } | null;
  sight: { from: Spot; to: Spot } | null;
  /** Own place and its doubt. */
  self: { spot: Spot; error_m: number } | null;
  /** Depth whose contour is drawn stronger: as deep as lines wade. */
  wade_m: number;
  /** Depths are written in feet. */
  feet: boolean;
  /** Lies under everything, if it is to be shown. */
  photo: PhotoLook | null;
  /** Chart only: soundings' contours with their depths, no search. */
  survey: boolean;
  onspot: ((spot: Spot) => void) | null;
}

/** A place of the page that wants the map, and what it wants to show. */
interface Holder {
  target: HTMLElement;
  onturn: (rotation: number, metresPerPixel: number) => void;
  look: Look | null;
}

/** Drawn so far beyond the edge: what comes into sight while a finger moves the map is there already, and nothing is worked out anew meanwhile. */
const MARGIN_PX = 400;
const METRES = new Projection({ code: 'site-metres', units: 'm' });
const tell = <T extends Geometry>(geometry: T, kind: string, more: object = {}) =>
  new Feature({ geometry, kind, ...more });

class SiteMap {
  private readonly still = new VectorSource();
  private readonly moving = new VectorSource();
  private readonly stillLayer = new VectorLayer({ source: this.still, renderBuffer: MARGIN_PX });
  private readonly movingLayer = new VectorLayer({ source: this.moving, renderBuffer: MARGIN_PX });
  // Names and posts stand above the search: people find their way by them.
  private readonly namesLayer = new VectorLayer({ source: this.still, renderBuffer: MARGIN_PX });
  private readonly photoLayer = new PhotoLayer();
  private readonly map: OlMap;
  private look: Look | null = null;
  private colours: Palette;
  private touched = false;
  private drawn: Chart | null = null;
  private fitted = '';
  private styled = '';
  private holders: Holder[] = [];

  constructor() {
    this.colours = palette(false);
    this.map = new OlMap({
      layers: [this.photoLayer, this.stillLayer, this.movingLayer, this.namesLayer],
      view: new View({ projection: METRES, center: [0, 0], resolution: 0.3, minResolution: 0.03, maxResolution: 3, showFullExtent: true }),
      controls: [],
      interactions: defaultInteractions({ doubleClickZoom: false, altShiftDragRotate: true, pinchRotate: true, keyboard: true }),
      keyboardEventTarget: undefined as unknown as HTMLElement,
    });
    // At once: waiting whether a second touch follows would cost a quarter of a second of every alarm.
    this.map.on('click', (event) => this.tapped(event.coordinate as Place));
    this.map.on('pointerdrag', () => (this.touched = true));
    this.map.getView().on('propertychange', () => this.turned());
    this.map.on('change:size', () => this.fit());
  }

  /** Puts the map into a place of the page; whoever had it gets it back when that place is gone. */
  attach(target: HTMLElement, onturn: (rotation: number, metresPerPixel: number) => void): void {
    this.holders.push({ target, onturn, look: null });
    this.hand(target);
  }

  release(target: HTMLElement): void {
    const held = this.top?.target === target;
    this.holders = this.holders.filter((holder) => holder.target !== target);
    if (!held) return;
    const { top } = this;
    this.hand(top?.target);
    if (top?.look) this.draw(top.look);
    this.turned();
  }

  show(target: HTMLElement, look: Look): void {
    const holder = this.holders.find((one) => one.target === target);
    if (!holder) return;
    holder.look = look;
    if (holder === this.top) this.draw(look);
  }

  private get top(): Holder | undefined {
    return this.holders.at(-1);
  }

  private hand(target: HTMLElement | undefined): void {
    this.touched = false;
    this.fitted = '';
    this.map.setTarget(target);
  }

  /** Says anew how the map lies, for a window that has just been opened. */
  tellTurn(): void {
    this.turned();
  }

  private draw(look: Look): void {
    const turnedOver = this.look?.stale !== look.stale;
    this.look = look;
    if (turnedOver) this.recolour();
    if (this.drawn !== look.chart) this.drawStill(look.chart);
    this.photoLayer.put(look.photo);
    this.styleStill(look);
    this.drawMoving(look);
    this.fit();
  }

  recolour(): void {
    this.colours = palette(this.look?.stale ?? false);
    if (this.look) {
      this.styleStill(this.look);
      this.drawMoving(this.look);
    }
  }

  zoom(factor: number): void {
    this.touched = true;
    const view = this.map.getView();
    view.setResolution((view.getResolution() ?? 0.3) * factor);
  }

  /** Back to the water as one faces it. */
  home(): void {
    this.touched = false;
    this.fitted = '';
    this.fit();
  }

  move(east: number, north: number): void {
    this.touched = true;
    const view = this.map.getView();
    const step = 60 * (view.getResolution() ?? 0.3);
    const turn = view.getRotation();
    const [x = 0, y = 0] = view.getCenter() ?? [0, 0];
    view.setCenter([
      x + step * (east * Math.cos(turn) - north * Math.sin(turn)),
      y + step * (east * Math.sin(turn) + north * Math.cos(turn)),
    ]);
  }

  /** The place under the middle of the map, for choosing without a pointer. */
  middle(): Spot {
    const [east = 0, north = 0] = this.map.getView().getCenter() ?? [0, 0];
    return { east, north };
  }

  private styleStill(look: Look): void {
    const key = [look.survey, look.photo !== null, look.wade_m, look.feet, JSON.stringify(this.colours)].join();
    // The still part is styled anew only when something of it changed: not with every word from the desk.
    if (key === this.styled) return;
    this.styled = key;
    const how = { survey: look.survey, photo: look.photo !== null, wade_m: look.wade_m, feet: look.feet };
    this.stillLayer.setStyle(stillStyle(this.colours, how, 'ground'));
    this.namesLayer.setStyle(stillStyle(this.colours, how, 'names'));
  }

  private tapped([east, north]: Place): void {
    this.look?.onspot?.({ east, north });
  }

  private turned(): void {
    const view = this.map.getView();
    this.top?.onturn(view.getRotation(), view.getResolution() ?? 0.3);
  }

  private drawStill(chart: Chart): void {
    this.drawn = chart;
    this.fitted = '';
    this.still.clear();
    const features: Feature[] = [];
    chart.water.forEach((ring, k) => {
      // The first ring is the water itself, later ones are islands.
      features.push(tell(new Polygon([places(ring)]), k === 0 ? 'water' : 'island'));
    });
    for (const band of chart.bands) {
      for (const rings of polygons(band.rings.map(places))) features.push(tell(new Polygon(rings), `band-${band.band}`));
    }
    for (const contour of chart.contours) {
      features.push(tell(new MultiLineString(contour.lines.map(places)), 'contour', { depth_m: contour.depth_m }));
    }
    for (const ring of chart.water) features.push(tell(new Polygon([places(ring)]), 'shore'));
    for (const one of chart.features) {
      const more = { name: one.name, of: one.kind };
      if (one.shape === 'area') features.push(tell(new Polygon(one.rings.map(places)), 'thing-area', more));
      if (one.shape === 'line') features.push(tell(new LineString(places(one.points)), 'thing-line', more));
      const [point] = places(one.points);
      if (one.shape === 'point' && point) features.push(tell(new Point(point), 'thing-point', more));
    }
    this.still.addFeatures(features);
  }

  private drawMoving(look: Look): void {
    this.moving.clear();
    const features: Feature[] = [];
    const add = (geometry: Geometry, moving: Moving) => features.push(tell(geometry, moving.kind, { moving }));
    const { now } = look;
    if (now && !look.survey) {
      for (const outline of now.outlines) {
        for (const ring of outline.rings) {
          if (ring.length > 2) add(new Polygon([ring]), { kind: 'outline', share: outline.share });
        }
        const at = look.large ? labelled(outline, look.chart.facing_deg) : null;
        if (at) add(new Point(at), { kind: 'share', share: outline.share });
      }
      if (now.dots.length > 0) add(new MultiPoint(now.dots), { kind: 'dots' });
      now.gaps.forEach((gap) => {
        add(new Point([gap.spot.east, gap.spot.north]), { kind: 'gap', radius_m: Math.sqrt(gap.area_m2 / Math.PI) });
      });
      const order = { searched: 0, part: 1, planned: 2, running: 3 };
      // The most pressing number first: those under way, then the next.
      const pressing = [...now.lanes].sort((a, b) => order[b.state] - order[a.state] || a.order - b.order);
      const places = new Map(pressing.map((lane) => [lane.order, badgeAt(lane, now.lanes)]));
      for (const lane of [...now.lanes].sort((a, b) => order[a.state] - order[b.state])) {
        const at = places.get(lane.order) ?? [0, 0];
        const before = pressing.slice(0, pressing.indexOf(lane)).map((other) => places.get(other.order) ?? [0, 0]);
        const long = Math.hypot(lane.to.east - lane.from.east, lane.to.north - lane.from.north);
        if (long < 0.5) {
          add(new Point([lane.from.east, lane.from.north]), { kind: 'disc', radius_m: lane.width_m / 2, at, before, state: lane.state, label: laneNumber(lane.words, lane.order) });
          continue;
        }
        const searched = lane.state === 'searched' ? 1 : long > 0 ? Math.min(1, lane.done_m / long) : 0;
        // A line, since a ring would be turned round when it runs the other way.
        add(new LineString(corners(lane)), {
          kind: 'lane',
          at,
          before,
          look: {
            state: lane.state,
            done: searched,
            method: lane.method,
            label: laneNumber(lane.words, lane.order),
            people: look.people.get(lane.order) ?? 4,
            atEnd: covered(lane, now.lanes),
          },
        });
      }
      for (const seen of now.seen) {
        add(new Point([seen.spot.east, seen.spot.north]), {
          kind: 'seen',
          label: now.seen.length > 1 ? String(seen.number) : '',
        });
      }
    }
    if (look.sight) {
      const { from, to } = look.sight;
      add(new LineString([[from.east, from.north], [to.east, to.north]]), { kind: 'sight' });
    }
    if (look.marked) {
      const { spot, error_m } = look.marked;
      add(new Point([spot.east, spot.north]), { kind: 'marked', error_m });
    }
    if (look.self) {
      add(new Point([look.self.spot.east, look.self.spot.north]), { kind: 'self', error_m: look.self.error_m });
    }
    this.moving.addFeatures(features);
    this.movingLayer.setStyle(movingStyle(this.colours));
  }

  /** Shows what matters, unless a hand has moved the map. */
  private fit(): void {
    const look = this.look;
    const size = this.map.getSize();
    if (!look || this.touched || !size || size[0] === 0 || size[1] === 0) return;
    const extent = wanted(look, size[1] ?? 0);
    const key = `${extent.map((x) => Math.round(x / 4)).join()}/${size.join()}/${look.chart.name}`;
    if (key === this.fitted) return;
    this.fitted = key;
    const view = this.map.getView();
    view.setRotation((-look.chart.facing_deg * Math.PI) / 180);
    const edge = Math.min(34, (size[1] ?? 200) / 8);
    view.fit(extent, { padding: [edge, 22, edge, 22], minResolution: 0.05, nearest: false });
  }
}

/** Rings of one band as polygons: a ring within another is its hole, one within a hole is ground again. */
function polygons(rings: Place[][]): Place[][][] {
  const size = (ring: Place[]) =>
    Math.abs(ring.reduce((sum, [x, y], k) => {
      const [u, v] = ring[(k + 1) % ring.length] ?? [x, y];
      return sum + x * v - u * y;
    }, 0));
  const sorted = rings.filter((ring) => ring.length > 3).sort((a, b) => size(b) - size(a));
  const shapes = sorted.map((ring) => new Polygon([ring]));
  const all: { at: number; rings: Place[][] }[] = [];
  sorted.forEach((ring, k) => {
    const probe = ring[0] ?? [0, 0];
    const around = shapes.slice(0, k).map((shape, n) => ({ n, holds: shape.intersectsCoordinate(probe) })).filter((one) => one.holds);
    const nearest = around.at(-1);
    const holder = around.length % 2 === 1 ? all.find((one) => one.at === nearest?.n) : undefined;
    if (holder) holder.rings.push(ring);
    else all.push({ at: k, rings: [ring] });
  });
  return all.map((one) => one.rings);
}

/** Where an outline carries its figure: to the upper right for the wide ones, below for the narrow one; lanes are numbered at their ends. */
function labelled(outline: Outline, facing_deg: number): Place | null {
  const screen_deg = outline.share < 0.65 ? 165 : outline.share < 0.87 ? 40 : 15;
  const turn = ((facing_deg + screen_deg) * Math.PI) / 180;
  const [east, north] = [Math.sin(turn), Math.cos(turn)];
  let best: Place | null = null;
  for (const [x, y] of outline.rings.flat()) {
    if (!best || x * east + y * north > best[0] * east + best[1] * north) best = [x, y];
  }
  return best;
}

function corners(lane: { from: Spot; to: Spot; width_m: number }): Place[] {
  const east = lane.to.east - lane.from.east;
  const north = lane.to.north - lane.from.north;
  const long = Math.hypot(east, north) || 1;
  const [px, py] = [(-north / long) * (lane.width_m / 2), (east / long) * (lane.width_m / 2)];
  return [
    [lane.from.east + px, lane.from.north + py],
    [lane.from.east - px, lane.from.north - py],
    [lane.to.east - px, lane.to.north - py],
    [lane.to.east + px, lane.to.north + py],
  ];
}

/** The number that is spoken of: "lane 3, under way …" is 3. */
function laneNumber(words: string, order: number): string {
  return /\blane (\d+)/i.exec(words)?.[1] ?? String(order);
}

/** Whether the ground just before a lane's start belongs to another lane: then its number stands behind its end. */
function covered(lane: Lane, all: Lane[]): boolean {
  const long = Math.hypot(lane.to.east - lane.from.east, lane.to.north - lane.from.north) || 1;
  const before: Place = [
    lane.from.east - ((lane.to.east - lane.from.east) / long) * 2.5,
    lane.from.north - ((lane.to.north - lane.from.north) / long) * 2.5,
  ];
  return all.some((other) => other !== lane && new Polygon([corners(other)]).intersectsCoordinate(before));
}

/** Where a lane carries its number. */
function badgeAt(lane: Lane, all: Lane[]): Place {
  const end = Math.hypot(lane.to.east - lane.from.east, lane.to.north - lane.from.north) >= 0.5 && covered(lane, all);
  const { east, north } = end ? lane.to : lane.from;
  return [east, north];
}

/** A map no higher than this shows the lines at work and the next, not all that may come. */
const LOW_PX = 240;

/** What a small map is about: the lines at work, the next lanes, the last seen points. */
function pressingPart({ lanes, seen }: MapNow): Spot[] {
  const running = lanes.filter((lane) => lane.state === 'running');
  const next = lanes.filter((lane) => lane.state === 'planned').sort((a, b) => a.order - b.order);
  const shown = running.length > 0 ? running : next.slice(0, 3);
  return shown.length > 0 ? [...shown.flatMap((lane) => [lane.from, lane.to]), ...seen.map((one) => one.spot)] : [];
}

function wanted(look: Look, high_px: number): Extent {
  const around = createEmpty();
  const spots = (list: Spot[]) =>
    list.length > 0 && extend(around, boundingExtent(list.map(({ east, north }) => [east, north])));
  const pressing = look.now && !look.survey && high_px < LOW_PX ? pressingPart(look.now) : [];
  if (pressing.length > 0) {
    spots(pressing);
    return buffer(around, 7);
  }
  if (look.now && !look.survey) {
    for (const outline of look.now.outlines) {
      if (outline.share < 0.65) for (const ring of outline.rings) if (ring.length) extend(around, boundingExtent(ring));
    }
    spots(look.now.lanes.flatMap((lane) => [lane.from, lane.to]));
    spots(look.now.seen.map((seen) => seen.spot));
    // Something to know the place by, however small the probable ground is.
    if (!isEmpty(around)) extend(around, buffer(around, Math.max(0, 14 - Math.max(...[0, 1].map((k) => ((around[k + 2] ?? 0) - (around[k] ?? 0)) / 2)))));
  }
  if (isEmpty(around)) {
    const bathing = look.chart.features.filter((one) => one.kind === 'bathing_area');
    const areas = look.survey ? [] : bathing.flatMap((area) => area.rings.map(places));
    for (const ring of areas) if (ring.length) extend(around, boundingExtent(ring));
    if (isEmpty(around)) return look.chart.bounds;
    spots(look.chart.posts.map((post) => post.spot).filter((spot) => near(spot, around)));
  }
  return buffer(around, isEmpty(around) ? 0 : 3);
}

function near({ east, north }: Spot, [x0 = 0, y0 = 0, x1 = 0, y1 = 0]: Extent): boolean {
  return east > x0 - 12 && east < x1 + 12 && north > y0 - 12 && north < y1 + 12;
}

export const siteMap = new SiteMap();
