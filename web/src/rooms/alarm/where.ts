// The choices of where and when. Buttons of the landmarks lie as the places lie, for someone who faces the water.
import type { Ago, Spot } from '../../generated/api';
import type { Chart } from '../../link/wire';

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
/** What may be named, the likeliest to be said first. */
const KINDS = ['landmark', 'raft', 'post', 'dock', 'bathing_area', 'rope'];

/** Rows of choices, the far row first, each from left to right. */
export function rowsAsTheyLie(chart: Chart, most = MOST): Choice[][] {
  const turn = (chart.facing_deg * Math.PI) / 180;
  const placed = new Map<string, Choice & { right: number; away: number }>();
  for (const kind of KINDS) {
    for (const one of chart.features) {
      const spots = one.rings[0] ?? one.points;
      // A deck that a post stands on has a name already.
      const known = kind === 'dock' && [...placed.keys()].some((name) => one.name.startsWith(name));
      if (one.kind !== kind || one.name === '' || known || spots.length === 0 || placed.size >= most) continue;
      const { east, north } = middle(spots);
      placed.set(one.name, {
        name: one.name,
        by: kind === 'bathing_area' ? 'area' : 'mark',
        right: east * Math.cos(turn) - north * Math.sin(turn),
        away: east * Math.sin(turn) + north * Math.cos(turn),
      });
    }
  }
  const all = [...placed.values()].sort((a, b) => b.away - a.away);
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

function middle(spots: Spot[]): Spot {
  const sum = spots.reduce((all, one) => ({ east: all.east + one.east, north: all.north + one.north }));
  return { east: sum.east / spots.length, north: sum.north / spots.length };
}

/** Bearing and distance of a touch from a post, as told to the desk. */
export function sightLine(from: { east: number; north: number }, to: { east: number; north: number }) {
  const east = to.east - from.east;
  const north = to.north - from.north;
  return { bearing: ((Math.atan2(east, north) * 180) / Math.PI + 360) % 360, range_m: Math.hypot(east, north) };
}
