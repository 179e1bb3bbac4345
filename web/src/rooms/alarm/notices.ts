// What stands in the strip under the order: one line, the most pressing of all that may be said.
import type { LineStrip, Screen } from '../../generated/api';
import type { Outgoing } from '../../link/store';
import { span, timeOfDay } from '../../parts/format';
import { ui } from '../../parts/ui.svelte';
import { stillAsked, type Notice } from './words';

/** What is said of the morning's card in this alarm, and in no other. */
export function cardWords(screen: Screen): string {
  return `${screen.alarm_at_ms} ${screen.order_zero}`;
}

export function notices(
  screen: Screen,
  lines: LineStrip[],
  refused: Outgoing[],
  troubles: string[],
  now_ms: number,
  may: (what: string) => boolean,
): Notice[] {
  const all: Notice[] = [];
  for (const item of refused) {
    const why = item.refused;
    all.push({ kind: 'refused', words: `${item.words}: ${why?.what ?? 'refused'}`, act: 'See', loud: true });
  }
  for (const words of troubles) all.push({ kind: 'trouble', words, loud: true });
  for (const line of lines) {
    if (line.down_since_ms === null || !may('headcount')) continue;
    const under_s = (now_ms - line.down_since_ms) / 1000;
    const late = under_s > line.under_plan_s;
    all.push({
      kind: 'count',
      order: line.order,
      words: `${line.leader}: under ${Math.floor(under_s)} s${under_s > line.under_limit_s ? ', overdue' : ''}`,
      act: 'Count heads',
      loud: late,
    });
  }
  if (screen.care && screen.stage === 'searching') all.push({ kind: 'care', words: `${screen.care.of}: care`, act: 'Care', loud: false });
  if (screen.break_off) {
    const { order, words } = screen.break_off;
    all.push({ kind: 'break_off', order, words, act: 'Break off', loud: true });
  }
  // People may be running to the morning's card: everybody hears at once when the desk orders something else.
  if (screen.order_zero) {
    const loud = !screen.order_zero.startsWith('The first orders are') && ui.differsHeard !== cardWords(screen);
    all.push({ kind: 'card', words: screen.order_zero, loud, ...(loud ? { act: 'Heard' } : {}) });
  }
  if (screen.widen) all.push({ kind: 'widen', words: screen.widen, act: 'Widen', loud: true });
  const asked = stillAsked(screen);
  if (asked.kind && may('kind_told')) all.push({ kind: 'ask', words: 'Seen going under, count short, or cannot be found?', act: 'Say which', loud: false });
  else if (asked.who && may('missing_told')) all.push({ kind: 'ask', words: 'Who is missing?', act: 'Tell', loud: false });
  else if (asked.first.length > 0 && may('sighting')) all.push({ kind: 'ask', words: 'Who saw them, standing where?', act: 'Tell', loud: false });
  for (const words of screen.said) all.push({ kind: 'said', words, loud: false });
  for (const words of screen.cautions) all.push({ kind: 'caution', words, loud: false });
  if (screen.quiet_until_ms !== null && screen.quiet_until_ms > now_ms && screen.alarm_at_ms !== null && screen.map.lanes.length > 0) {
    all.push({
      kind: 'quiet',
      words: `After that, nothing to touch until ${span(screen.quiet_until_ms - screen.alarm_at_ms)} (${timeOfDay(screen.quiet_until_ms)}).`,
      loud: false,
    });
  }
  const rank = (one: Notice) => (one.loud ? 2 : one.kind === 'care' ? 1 : one.kind === 'card' ? -1 : 0);
  return all.sort((a, b) => rank(b) - rank(a));
}
