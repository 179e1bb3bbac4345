// The canvas of a turned map is itself turned. Signs stand upright: their places are worked out first, then the turn is taken off.
import type { Coordinate } from 'ol/coordinate';

type Nested = Coordinate | Nested[];

function carried(at: Nested, turn: DOMMatrix): Nested {
  if (typeof at[0] === 'number') {
    const point = turn.transformPoint({ x: at[0], y: at[1] as number });
    return [point.x, point.y];
  }
  return (at as Nested[]).map((one) => carried(one, turn));
}

/** Draws with places in plain canvas pixels. */
export function upright(context: CanvasRenderingContext2D, at: unknown, draw: (at: Coordinate) => void): void {
  const places = carried(at as Nested, context.getTransform());
  context.save();
  context.resetTransform();
  draw(places as Coordinate);
  context.restore();
}
