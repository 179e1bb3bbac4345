// Words of roles, care, reasons: one place, so that every screen says the same.
import type { CareStep, Role, Screen, WhyOut } from '../../generated/api';

export const ROLE_WORDS: Record<Role, string> = {
  lead: 'in charge',
  deputy: 'deputy',
  line_leader: 'line leader',
  recorder: 'recorder',
  gate: 'gate and phone',
  viewer: 'looks on',
};

export const CARE_ACT: Record<CareStep, string> = {
  surfaced: 'at the surface',
  out_of_water: 'out',
  identified: 'it is them',
  first_breath: 'first breath',
  compressions: 'begun',
  aed: 'attached',
  handed_over: 'handed over',
};

export const OUT_WORDS: Record<WhyOut, string> = { thunder: 'Thunder', cold: 'Cold', unsafe: 'Not safe' };

/** What the lead should see besides the order, the most pressing first. */
export interface Notice {
  words: string;
  act?: string;
  kind: 'break_off' | 'refused' | 'trouble' | 'widen' | 'ask' | 'said' | 'count' | 'caution' | 'quiet' | 'care' | 'card';
  order?: number;
  loud: boolean;
}

export function stillAsked(screen: Screen): { kind: boolean; who: boolean; first: string[] } {
  const first = screen.sightings.find((sighting) => sighting.number === 1)?.ask ?? [];
  return {
    kind: screen.kind === null,
    who: screen.missing.every((one) => one.words.trim() === ''),
    first: first.filter((part) => part === 'class' || part === 'stood'),
  };
}
