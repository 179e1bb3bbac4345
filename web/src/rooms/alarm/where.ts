// The choices of where and when. Buttons of the landmarks lie as the places lie, for someone who faces the water.
import type { Ago } from '../../generated/api';
import type { Chart, Place } from '../../link/wire';

export interface Choice {
  name: string;
  by: 'mark' | 'area';
}

/** Spans as told, the same that the desk's own commands read for these words; a round number is a quarter off either way. */
export const WHEN: { words: string; ago: Ago }[] = [
  { words: 'just now', ago: { from_s: 0, to_s: 30 } },
  { words: '1 min', ago: { from_s: 45, to_s: 75 } },
  { words: '2 min', ago: { from_s: 90, to_s: 150 } },
  { words: '5 min', ago: { from_s: 225, to_s: 375 } },
  { words: '10 min', ago: { from_s: 450, to_s: 750 } },
  { words: 'don’t know', ago: { from_s: 0, to_s: 1800 } },
];

const MOST = 9;
const MARKS = ['raft', 'dock', 'jetty', 'catch_point'];

/** Rows of choices, the far row first, each from left to right. */
export function rowsAsTheyLie(chart: Chart, most = MOST): Choice[][] {
  const turn = (chart.facing_deg * Math.PI) / 180;
  const placed = new Map<string, Choice & { right: number; away: number }>();
  const put = (name: string, by: Choice['by'], [east, north]: Place) => {
    if (!name || placed.has(name)) return;
    placed.set(name, {
      name,
      by,
      right: east * Math.cos(turn) - north * Math.sin(turn),
      away: east * Math.sin(turn) + north * Math.cos(turn),
    });
  };
  for (const { name, spot } of chart.landmarks) put(name, 'mark', [spot.east, spot.north]);
  for (const { name, spot } of chart.posts) put(name, 'mark', [spot.east, spot.north]);
  for (const one of chart.features) {
    const points = one.rings?.[0] ?? one.points ?? [];
    // A deck that a post stands on already has a name.
    const known = [...placed.keys()].some((name) => one.name.startsWith(name));
    if (MARKS.includes(one.kind) && points.length > 0 && !known) put(one.name, 'mark', middle(points));
  }
  for (const { name, rings } of chart.areas) if (rings[0]) put(name, 'area', middle(rings[0]));
  const all = [...placed.values()].sort((a, b) => b.away - a.away).slice(0, most);
  const rows: Choice[][] = [];
  const count = Math.max(1, Math.ceil(all.length / 3));
  for (let row = 0; row < count; row += 1) {
    const from = Math.round((row * all.length) / count);
    const to = Math.round(((row + 1) * all.length) / count);
    rows.push(
      all
        .slice(from, to)
        .sort((a, b) => a.right - b.right)
        .map(({ name, by }) => ({ name, by })),
    );
  }
  return rows;
}

function middle(points: Place[]): Place {
  const sum = points.reduce(([x, y], [u, v]) => [x + u, y + v] as Place, [0, 0] as Place);
  return [sum[0] / points.length, sum[1] / points.length];
}

/** Bearing and distance of a touch from a post, as told to the desk. */
export function sightLine(from: { east: number; north: number }, to: { east: number; north: number }) {
  const east = to.east - from.east;
  const north = to.north - from.north;
  return { bearing: ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360, range_m: Math.hypot(east, north) };
}
