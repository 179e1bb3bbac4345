// The screen with what was touched here but not yet recorded laid over it: a button answers at once, also without a link.
// It only repeats what was touched; it works nothing out about the water.
import type { Face, Say, Screen, Stage, Words } from '../generated/api';
import type { Outgoing } from './store';
import type { Chart, Zero } from './wire';

export interface View {
  stage: Stage;
  alarm_ms: number | null;
  practice: boolean;
  say: Say[];
  faces: Face[];
  /** Sighting 1 has a place, a time. */
  where: boolean;
  when: boolean;
  /** Cards of the morning that stand in while the desk is silent. */
  cards: Words[];
}

/** Shouts that hold everywhere, until the desk's own come. */
export function standingShouts(chart: Chart | null): string[] {
  const number = chart?.emergency ? `Gate: call ${chart.emergency}.` : 'Gate: call the emergency number.';
  return ['Everyone out of the water.', number, 'Nearest guard: to the spot.', 'Nobody enters alone.'];
}

export function view(screen: Screen | null, waiting: Outgoing[], chart: Chart | null, zero: Zero | null): View {
  const seen: View = {
    stage: screen?.stage ?? 'quiet',
    alarm_ms: screen?.alarm_at_ms ?? null,
    practice: screen?.practice ?? false,
    say: screen?.say ?? [],
    faces: screen?.short?.faces ?? [],
    where: false,
    when: false,
    cards: [],
  };
  const first = screen?.sightings.find((sighting) => sighting.number === 1);
  if (first) {
    seen.where = !first.ask.includes('place');
    seen.when = !first.ask.includes('time');
  }
  for (const item of waiting) lay(seen, item);
  const silent = seen.where && seen.when && (seen.stage === 'asking' || seen.stage === 'searching');
  if (silent && seen.say.length === 0 && seen.stage === 'asking') {
    seen.cards = nearestCards(waiting, chart, zero);
  }
  return seen;
}

function lay(seen: View, item: Outgoing): void {
  const report = item.sent.report;
  switch (report.what) {
    case 'swimmer_missing':
      if (['quiet', 'ended', 'command_passed'].includes(seen.stage)) {
        seen.stage = 'asking';
        seen.alarm_ms = item.sent.happened_at_ms ?? item.touched_ms;
        seen.practice = report.practice;
        seen.where = false;
        seen.when = false;
        seen.say = [];
      }
      break;
    case 'sighting':
      if (report.number === 1) {
        seen.where ||= Boolean(report.place);
        seen.when ||= Boolean(report.ago);
      }
      break;
    case 'said_it':
      seen.say = seen.say.filter((say) => say.order !== report.order);
      break;
    case 'not_now': {
      const [front] = seen.say;
      if (front?.order === report.order) seen.say = [...seen.say.slice(1), { ...front, put_off: true }];
      break;
    }
    case 'face_seen':
      seen.faces = seen.faces.map((face) =>
        face.person === report.person ? { ...face, seen: report.seen } : face,
      );
      break;
    case 'this_is_real':
      seen.practice = false;
      break;
    default:
  }
}

/** The morning's card for the place that was told here: the nearest spot's, else the zone's, else the first. */
function nearestCards(waiting: Outgoing[], chart: Chart | null, zero: Zero | null): Words[] {
  if (!zero) return [];
  let cards = zero.zones[0]?.cards ?? [];
  for (const { sent } of waiting) {
    const report = sent.report;
    if (report.what !== 'sighting' || report.number !== 1 || !report.place) continue;
    const place = report.place;
    if (place.by === 'area') {
      cards = zero.zones.find((zone) => zone.name === place.name)?.cards ?? cards;
      continue;
    }
    const mark = (name: string) => [...(chart?.landmarks ?? []), ...(chart?.posts ?? [])].find((one) => one.name === name)?.spot;
    let spot = place.by === 'point' ? place.spot : place.by === 'mark' ? mark(place.name) : undefined;
    if (place.by === 'bearing' && typeof place.range_m === 'number') {
      const stood = mark(place.from);
      const way = (place.bearing * Math.PI) / 180;
      if (stood) spot = { east: stood.east + place.range_m * Math.sin(way), north: stood.north + place.range_m * Math.cos(way) };
    }
    if (!spot) continue;
    const far = (cell: Zero['cells'][number]) => Math.hypot(cell.spot.east - spot.east, cell.spot.north - spot.north);
    const near = [...zero.cells].sort((a, b) => far(a) - far(b))[0];
    cards = near?.cards ?? cards;
  }
  return cards;
}

/** Lines with what was just touched: under water at once, counted at once. */
export function linesNow(screen: Screen | null, waiting: Outgoing[]): Screen['lines'] {
  let lines = screen?.lines ?? [];
  for (const { sent, touched_ms } of waiting) {
    const report = sent.report;
    if (report.what === 'they_are_down') {
      lines = lines.map((line) => (line.order === report.order ? { ...line, down_since_ms: line.down_since_ms ?? touched_ms } : line));
    } else if (report.what === 'headcount') {
      lines = lines.map((line) => (line.order === report.order ? { ...line, down_since_ms: null } : line));
    }
  }
  return lines;
}
