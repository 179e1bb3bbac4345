// The card of every number that can be touched: the desk's own cards, and for what the map shows a card that says what the number is.
// Nothing is worked out here: values are those of the screen.
import type { Figure, Still } from '../../link/wire';
import type { Screen } from '../../generated/api';
import { bearingText, metres, percent, timeOfDay } from '../../parts/format';

type Input = [string, string, string];

const card = (name: string, value: string, words: string, model: string, inputs: Input[] = []): Figure => ({ name, value, words, inputs, model });

/** The card called `name`: one of the desk's, or of the thing on the map that it names (`lane:3`, `gap:0`, `seen:1`, `current`). */
export function figureOf(name: string, screen: Screen | null, still: Still | null): Figure | null {
  const desk = [...(screen?.figures ?? []), ...(still?.figures ?? []), ...(still?.pointing ?? []).map((one) => one.figure)];
  const known = desk.find((one) => one.name === name);
  if (known || !screen) return known ?? null;
  const [kind, which = ''] = name.split(':');
  const number = Number(which);
  const map = screen.map;
  if (kind === 'lane') {
    const lane = map.lanes.find((one) => one.order === number);
    if (!lane) return null;
    const long_m = Math.hypot(lane.to.east - lane.from.east, lane.to.north - lane.from.north);
    return card(name, percent(lane.holds), `${lane.words}. It holds so much of the belief now: the chance that they lie inside it, by what was told and searched.`, 'belief', [
      ['length', metres(long_m, 'metres'), 'planned'],
      ['width', metres(lane.width_m, 'metres'), 'planned'],
      ['searched', metres(lane.done_m, 'metres'), 'as reported'],
    ]);
  }
  if (kind === 'line') {
    const line = screen.lines.find((one) => one.order === number);
    if (!line) return null;
    const inputs: Input[] = line.facts.map(([fact, value]) => [fact, value, 'of the chart, the day and the crew']);
    return card(name, line.progress, `${line.words}. Done of what the order asks for, as reported; below, what the line is planned by.`, 'lines', [
      ...inputs,
      ['seconds under, planned', `${Math.round(line.under_plan_s)} s`, 'by the register'],
      ['count is overdue after', `${Math.round(line.under_limit_s)} s`, 'by the register'],
    ]);
  }
  if (kind === 'gap') {
    const gap = map.gaps[number];
    if (!gap) return null;
    return card(name, percent(gap.holds), `${gap.words}. The chance that they lie there, on ground that no order covers.`, 'plan', [['area', `${Math.round(gap.area_m2)} m²`, 'of the chart']]);
  }
  if (kind === 'seen') {
    const seen = map.seen.find((one) => one.number === number);
    if (!seen) return null;
    const told = screen.sightings.find((one) => one.number === number)?.words ?? '';
    const inputs = still?.pointing.find((one) => one.by === 'point')?.figure.inputs ?? [];
    return card(name, `± ${metres(seen.error_m, 'metres')}`, `Last seen point ${number}${told ? `: ${told}` : ''}. How far off it may be, one standard error each way.`, 'sightings', inputs);
  }
  if (kind === 'current' && map.current) {
    return card(name, `${map.current[1].toFixed(2)} m/s`, `Current at the last seen point, towards ${bearingText(map.current[0])}: by the floats that were timed.`, 'current', [['float runs of the day, and those timed since', 'by their time and distance', 'measured here']]);
  }
  if (name === 'region') {
    return card(name, '50, 80, 95 %', 'Each outline is the least ground that holds so much of the belief about the bottom. Each dot is one possible place; all weigh the same.', 'belief', [['picture made', timeOfDay(screen.at_ms), 'by the desk']]);
  }
  return null;
}
