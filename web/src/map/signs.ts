// The signs of the map, drawn on its canvas: states are told apart by shape and line, never by colour alone.
import type { Coordinate } from 'ol/coordinate';
import type { Palette } from './palette';

/** Patterns are made once: a map that moves draws many. */
const hatches = new Map<string, CanvasPattern | null>();

/** The hatched pattern of searched ground, and of nothing else. */
export function hatch(ink: string, gap: number, width: number, ratio: number): CanvasPattern | null {
  const key = [ink, gap, width, ratio].join();
  if (!hatches.has(key)) hatches.set(key, newHatch(ink, gap, width, ratio));
  return hatches.get(key) ?? null;
}

function newHatch(ink: string, gap: number, width: number, ratio: number): CanvasPattern | null {
  const tile = document.createElement('canvas');
  const size = Math.max(4, Math.round(gap * ratio));
  tile.width = size;
  tile.height = size;
  const pen = tile.getContext('2d');
  if (!pen) return null;
  pen.strokeStyle = ink;
  pen.lineWidth = width * ratio;
  pen.beginPath();
  for (const shift of [-size, 0, size]) {
    pen.moveTo(shift - 2, size + 2);
    pen.lineTo(shift + size + 2, -2);
  }
  pen.stroke();
  return pen.createPattern(tile, 'repeat');
}

export interface Pen {
  context: CanvasRenderingContext2D;
  ratio: number;
  palette: Palette;
}

function path({ context }: Pen, points: Coordinate[], close: boolean): void {
  context.beginPath();
  points.forEach(([x = 0, y = 0], k) => (k === 0 ? context.moveTo(x, y) : context.lineTo(x, y)));
  if (close) context.closePath();
}

function between(a: Coordinate, b: Coordinate, share: number): Coordinate {
  return [(a[0] ?? 0) + ((b[0] ?? 0) - (a[0] ?? 0)) * share, (a[1] ?? 0) + ((b[1] ?? 0) - (a[1] ?? 0)) * share];
}

export interface LaneLook {
  state: 'planned' | 'running' | 'searched' | 'part';
  done: number;
  method: string;
  label: string;
  people: number;
  /** The number stands behind the end, since another lane lies before the start. */
  atEnd: boolean;
}

/** A lane: corners are start left, start right, end right, end left, in pixels. */
export function drawLane(pen: Pen, corners: Coordinate[], look: LaneLook): void {
  const { context, ratio, palette } = pen;
  const [sl, sr, er, el] = corners as [Coordinate, Coordinate, Coordinate, Coordinate];
  const dl = between(sl, el, look.done);
  const dr = between(sr, er, look.done);
  context.save();
  context.lineJoin = 'miter';
  if (look.done > 0 && look.state !== 'planned') {
    path(pen, [sl, sr, dr, dl], true);
    const fill = hatch(palette.lane, 7, 1.6, ratio);
    if (fill) context.fillStyle = fill;
    context.fill();
  }
  path(pen, corners, true);
  context.strokeStyle = palette.lane;
  context.lineWidth = (look.state === 'running' ? 4 : 1.6) * ratio;
  context.setLineDash(look.state === 'planned' || look.state === 'part' ? [5 * ratio, 3 * ratio] : []);
  context.stroke();
  context.setLineDash([]);
  if (look.state === 'part') {
    path(pen, [sl, sr, dr, dl], true);
    context.stroke();
  }
  if (look.state === 'running') {
    drawAhead(pen, corners, look);
    drawPeople(pen, dl, dr, look);
  }
  context.restore();
  drawBadge(pen, corners, look);
}

/** Chevrons on the ground ahead of the line. */
function drawAhead(pen: Pen, corners: Coordinate[], look: LaneLook): void {
  const { context, ratio, palette } = pen;
  const [sl, sr, er, el] = corners as [Coordinate, Coordinate, Coordinate, Coordinate];
  const from = between(between(sl, el, look.done), between(sr, er, look.done), 0.5);
  const to = between(el, er, 0.5);
  const dx = (to[0] ?? 0) - (from[0] ?? 0);
  const dy = (to[1] ?? 0) - (from[1] ?? 0);
  const long = Math.hypot(dx, dy);
  if (long < 30 * ratio) return;
  const turn = Math.atan2(dy, dx);
  context.save();
  context.translate((from[0] ?? 0) + (dx / long) * 16 * ratio, (from[1] ?? 0) + (dy / long) * 16 * ratio);
  context.rotate(turn);
  context.strokeStyle = palette.lane;
  context.lineWidth = 3.4 * ratio;
  for (const at of [0, 10, 20]) {
    context.beginPath();
    context.moveTo(at * ratio, -6 * ratio);
    context.lineTo((at + 6) * ratio, 0);
    context.lineTo(at * ratio, 6 * ratio);
    context.stroke();
  }
  context.restore();
}

/** The line of people across the lane: ▽ dives, ● wades. */
function drawPeople(pen: Pen, left: Coordinate, right: Coordinate, look: LaneLook): void {
  const { context, ratio, palette } = pen;
  const count = Math.max(1, Math.min(look.people, 12));
  for (let k = 0; k < count; k += 1) {
    const [x = 0, y = 0] = between(left, right, (k + 0.5) / count);
    context.beginPath();
    const r = 3.6 * ratio;
    if (look.method === 'dive') {
      context.moveTo(x - r, y - r * 0.8);
      context.lineTo(x + r, y - r * 0.8);
      context.lineTo(x, y + r);
      context.closePath();
    } else if (look.method === 'look') {
      context.moveTo(x, y - r);
      context.lineTo(x + r, y);
      context.lineTo(x, y + r);
      context.lineTo(x - r, y);
      context.closePath();
    } else {
      context.arc(x, y, r, 0, 7);
    }
    context.fillStyle = palette.people;
    context.fill();
    context.strokeStyle = palette.halo;
    context.lineWidth = ratio;
    context.stroke();
  }
}

/** The number before the start of the lane: ring planned, black square under way, ticked box searched. */
function drawBadge(pen: Pen, corners: Coordinate[], look: LaneLook): void {
  if (look.label === '') return;
  const { context, ratio, palette } = pen;
  const [sl, sr, er, el] = corners as [Coordinate, Coordinate, Coordinate, Coordinate];
  const [start, end] = look.atEnd ? [between(el, er, 0.5), between(sl, sr, 0.5)] : [between(sl, sr, 0.5), between(el, er, 0.5)];
  const away = Math.atan2((start[1] ?? 0) - (end[1] ?? 0), (start[0] ?? 0) - (end[0] ?? 0));
  const x = (start[0] ?? 0) + Math.cos(away) * 15 * ratio;
  const y = (start[1] ?? 0) + Math.sin(away) * 15 * ratio;
  const box = 10 * ratio;
  context.save();
  context.translate(x, y);
  context.lineWidth = 2 * ratio;
  context.strokeStyle = palette.lane;
  context.fillStyle = look.state === 'running' ? palette.lane : palette.halo;
  context.beginPath();
  if (look.state === 'planned') context.arc(0, 0, box, 0, 7);
  else context.rect(-box, -box, 2 * box, 2 * box);
  context.fill();
  context.stroke();
  context.font = `800 ${15 * ratio}px ${palette.font}`;
  context.textAlign = 'center';
  context.textBaseline = 'middle';
  context.fillStyle = look.state === 'running' ? palette.halo : palette.lane;
  if (look.state === 'searched' || look.state === 'part') {
    context.beginPath();
    context.moveTo(-5 * ratio, 0);
    context.lineTo(-1.5 * ratio, 4 * ratio);
    if (look.state === 'searched') context.lineTo(6 * ratio, -5 * ratio);
    context.lineWidth = 3.2 * ratio;
    context.stroke();
    haloText(pen, look.label, -19 * ratio, ratio, 15, 800, palette.lane);
  } else {
    context.fillText(look.label, 0, ratio);
  }
  context.restore();
}

export function haloText(
  { context, ratio, palette }: Pen,
  text: string,
  x: number,
  y: number,
  size: number,
  weight: number,
  ink: string,
): void {
  context.font = `${weight} ${size * ratio}px ${palette.font}`;
  context.textAlign = 'center';
  context.textBaseline = 'middle';
  context.lineJoin = 'round';
  context.lineWidth = 4.5 * ratio;
  context.strokeStyle = palette.halo;
  context.strokeText(text, x, y);
  context.fillStyle = ink;
  context.fillText(text, x, y);
}

/** Last seen point: ring with four ticks. */
export function drawSeen(pen: Pen, [x = 0, y = 0]: Coordinate, label: string): void {
  const { context, ratio, palette } = pen;
  context.save();
  context.translate(x, y);
  for (const [ink, width] of [
    [palette.halo, 6.5],
    [palette.ink, 3.4],
  ] as const) {
    context.strokeStyle = ink;
    context.lineWidth = width * ratio;
    context.beginPath();
    context.arc(0, 0, 9 * ratio, 0, 7);
    for (const turn of [0, 1, 2, 3]) {
      const [cos, sin] = [Math.cos((turn * Math.PI) / 2), Math.sin((turn * Math.PI) / 2)];
      context.moveTo(cos * 5 * ratio, sin * 5 * ratio);
      context.lineTo(cos * 15 * ratio, sin * 15 * ratio);
    }
    context.stroke();
  }
  context.restore();
  if (label) haloText(pen, label, x + 20 * ratio, y - 12 * ratio, 13, 800, palette.ink);
}

/** A post: open triangle. */
export function drawPost({ context, ratio, palette }: Pen, [x = 0, y = 0]: Coordinate): void {
  context.save();
  context.beginPath();
  context.moveTo(x - 6 * ratio, y + 6 * ratio);
  context.lineTo(x, y - 7 * ratio);
  context.lineTo(x + 6 * ratio, y + 6 * ratio);
  context.closePath();
  context.fillStyle = palette.halo;
  context.fill();
  context.strokeStyle = palette.ink;
  context.lineWidth = 2.6 * ratio;
  context.stroke();
  context.restore();
}

/** Ground round one place, searched by somebody alone: a ring in the line of its state, its number above it. */
export function drawDisc(pen: Pen, [x = 0, y = 0]: Coordinate, radius: number, look: { state: LaneLook['state']; label: string }): void {
  const { context, ratio, palette } = pen;
  const r = Math.max(radius, 12 * ratio);
  context.save();
  context.beginPath();
  context.arc(x, y, r, 0, 7);
  if (look.state === 'searched' || look.state === 'part') {
    const fill = hatch(palette.lane, 7, 1.6, ratio);
    if (fill) context.fillStyle = fill;
    context.fill();
  }
  context.strokeStyle = palette.lane;
  context.lineWidth = (look.state === 'running' ? 4 : 1.6) * ratio;
  context.setLineDash(look.state === 'planned' || look.state === 'part' ? [5 * ratio, 3 * ratio] : []);
  context.stroke();
  context.restore();
  // Its number stands above it: lanes carry theirs at their ends.
  const flat: Coordinate = [x, y - r];
  const along: Coordinate = [x, y + r];
  drawBadge(pen, [flat, flat, along, along], { ...look, done: 0, method: 'alone', people: 1, atEnd: false });
}

/** Ground without a method: reverse hatching within a dotted edge, its size kept readable on the screen. */
export function drawGap(pen: Pen, [x = 0, y = 0]: Coordinate, radius: number): void {
  const { context, ratio, palette } = pen;
  context.save();
  // Its true shape is not known here, only place and area: a mark, and never ground that looks searched.
  context.setLineDash([2 * ratio, 3.5 * ratio]);
  context.lineCap = 'round';
  for (const [colour, width] of [[palette.halo, 5], [palette.ink, 2.4]] as const) {
    context.beginPath();
    context.arc(x, y, Math.min(Math.max(radius, 8 * ratio), 15 * ratio), 0, 7);
    context.strokeStyle = colour;
    context.lineWidth = width * ratio;
    context.stroke();
  }
  context.restore();
}

/** Possible places: a cloud of dots. */
export function drawDots({ context, ratio, palette }: Pen, points: Coordinate[]): void {
  context.save();
  context.fillStyle = palette.belief;
  const size = 2.3 * ratio;
  for (const [x = 0, y = 0] of points) context.fillRect(x - size / 2, y - size / 2, size, size);
  context.restore();
}

/** This device: a ring with a cross of light, and how far off the fix may be. */
export function drawSelf({ context, ratio, palette }: Pen, [x = 0, y = 0]: Coordinate, radius: number): void {
  context.save();
  context.strokeStyle = palette.focus;
  context.lineWidth = 2 * ratio;
  context.setLineDash([3 * ratio, 3 * ratio]);
  context.beginPath();
  context.arc(x, y, Math.max(radius, 12 * ratio), 0, 7);
  context.stroke();
  context.setLineDash([]);
  context.fillStyle = palette.focus;
  context.strokeStyle = palette.halo;
  context.lineWidth = 2.5 * ratio;
  context.beginPath();
  context.arc(x, y, 6 * ratio, 0, 7);
  context.fill();
  context.stroke();
  context.restore();
}
