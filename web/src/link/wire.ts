// What the server answers besides screens: greeting, joining, the still chart, the morning's cards.
import type { Spot, Words } from '../generated/api';

/** Number of a person in the incident's list. */
export type Person = number;

export interface Hello {
  site: string;
  version: string;
  now_ms: number;
  joined: boolean;
  practice: boolean;
  device?: string | null;
  csrf?: string | null;
}

export interface Beat {
  now_ms: number;
  seq: number;
  phones: number;
  live: number;
  head_code: string;
  trouble?: string[];
  zero_made_at_ms?: number | null;
}

export type Place = [number, number];

export interface Feature {
  kind: string;
  name: string;
  shape: 'point' | 'line' | 'area';
  points: Spot[];
  rings: Spot[][];
}

export interface Chart {
  name: string;
  origin: Place;
  bounds: [number, number, number, number];
  facing_deg: number;
  water: Spot[][];
  features: Feature[];
  contours: { depth_m: number; lines: Spot[][] }[];
  bands: { band: 'wade' | 'dive' | 'deep'; rings: Spot[][] }[];
  units: string;
  emergency: string;
  posts: { name: string; spot: Spot }[];
  landmarks: { name: string; spot: Spot }[];
  areas: { name: string; rings: Spot[][] }[];
  plan?: string;
  sounded_on?: string;
  conditions?: Words;
}

export interface Zero {
  made_at_ms: number | null;
  zones: { name: string; cards: Words[] }[];
  cells: { spot: Spot; cards: Words[] }[];
}

export interface Answer {
  report_id: string;
  answer: 'recorded' | 'repeated' | 'refused';
  seq?: number;
  code?: string;
  what?: string;
  remedy?: string;
}
