// A turned map is drawn straight and its canvas turned afterwards. Signs must stand upright on the screen all the same:
// their places are turned beforehand, about the first of them, and the pen is turned back.
import type { Coordinate } from 'ol/coordinate';

type Nested = Coordinate | Nested[];

function first(at: Nested): Coordinate {
  return typeof at[0] === 'number' ? (at as Coordinate) : first(at[0] as Nested);
}

function turned(at: Nested, about: Coordinate, cos: number, sin: number): Nested {
  if (typeof at[0] === 'number') {
    const x = at[0] - (about[0] ?? 0);
    const y = (at[1] as number) - (about[1] ?? 0);
    return [x * cos - y * sin, x * sin + y * cos];
  }
  return (at as Nested[]).map((one) => turned(one, about, cos, sin));
}

/** Draws with places as they lie on the screen. */
export function upright(
  context: CanvasRenderingContext2D,
  rotation: number,
  at: unknown,
  draw: (at: Coordinate) => void,
): void {
  const about = first(at as Nested);
  const places = turned(at as Nested, about, Math.cos(rotation), Math.sin(rotation));
  context.save();
  context.translate(about[0] ?? 0, about[1] ?? 0);
  context.rotate(-rotation);
  try {
    draw(places as Coordinate);
  } finally {
    // Whatever goes wrong with one sign, the next ones must not stand crooked.
    context.restore();
  }
}
