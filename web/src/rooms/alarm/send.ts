// Every touch of the Alarm room as a report, with its words for the list of what waits.
import type { Report, Screen } from '../../generated/api';
import { link } from '../../link/link.svelte';
import { shake } from '../../parts/signal';

export function send(report: Report, words: string, happened_ms?: number | null): void {
  shake([30]);
  link.report(report, words, happened_ms ?? undefined);
}

/** Whether this device may send a report of this kind now. Without a screen only an alarm can be raised. */
export function may(screen: Screen | null, what: Report['what']): boolean {
  return screen ? screen.you.may.includes(what) : what === 'swimmer_missing';
}

/** First touch; the clock counts from the moment the finger went down. */
export function swimmerMissing(down_ms: number, practice: boolean): void {
  const late = Date.now() - down_ms;
  shake([200, 80, 200]);
  link.report({ what: 'swimmer_missing', practice }, 'Swimmer missing', link.moment() - late);
}
