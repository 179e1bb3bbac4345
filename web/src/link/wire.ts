// What the server answers besides screens, and two words of our own for it.
export type { Answer, Beat, Chart, Figure, Hello, Still, Zero } from '../generated/api';

/** East and north in site metres, as the map library takes them. */
export type Place = [number, number];

/** Number of a person in the incident's list. */
export type Person = number;
