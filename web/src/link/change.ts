// What the desk sends after a stream's first screen: the fields that are new, and of the map only what is new in it.
import type { Screen } from '../generated/api';

export type Change = Partial<Omit<Screen, 'map'>> & { map?: Partial<Screen['map']> };

/** The screen with a change laid over it; the one before stays as it was, and what did not change is the same object. */
export function laid(before: Screen, change: Change): Screen {
  const { map, ...rest } = change;
  return { ...before, ...rest, map: map ? { ...before.map, ...map } : before.map };
}
