// The wire: what a device sends and what a screen shows. Mirrors crates/incident/src/{report,screen}.rs; see there for what each field means.

export type Person = number;
export type OrderNumber = number;

export interface Spot {
  east: number;
  north: number;
}

export type AlarmKind = 'seen_going_under' | 'count_short' | 'cannot_be_found';
export type WitnessClass = 'companion' | 'guard' | 'distant';
export type Role = 'lead' | 'deputy' | 'line_leader' | 'recorder' | 'gate' | 'viewer';
export type CareStep =
  | 'surfaced'
  | 'out_of_water'
  | 'identified'
  | 'first_breath'
  | 'compressions'
  | 'aed'
  | 'handed_over';
export type WhyLeft = 'left' | 'tired' | 'unwell';
export type WhyOut = 'thunder' | 'cold' | 'unsafe';

export type Where =
  | { by: 'point'; spot: Spot; error_m?: number | null }
  | { by: 'mark'; name: string }
  | { by: 'bearing'; from: string; bearing: number; range_m?: number | null }
  | { by: 'area'; name: string }
  | { by: 'nowhere' };

export interface Ago {
  from_s: number;
  to_s: number;
}

export interface Comer {
  name: string;
  height_m?: number | null;
  wade?: boolean;
  dive_m?: number | null;
  lookout?: boolean;
  tag?: number | null;
  at?: string | null;
}

export type Report =
  | { what: 'swimmer_missing'; practice: boolean }
  | {
      what: 'sighting';
      number: number;
      place?: Where | null;
      ago?: Ago | null;
      class?: WitnessClass | null;
      stood?: string | null;
      went_under?: boolean | null;
      talked_with?: number[] | null;
      missing?: number | null;
    }
  | { what: 'kind_told'; kind: AlarmKind }
  | {
      what: 'missing_told';
      missing: number;
      height_m?: number | null;
      swimmer?: boolean | null;
      words?: string | null;
    }
  | { what: 'said_it'; order: OrderNumber }
  | { what: 'not_now'; order: OrderNumber }
  | { what: 'they_are_down'; order: OrderNumber }
  | { what: 'headcount'; order: OrderNumber; up?: number | null }
  | { what: 'metres_walked'; order: OrderNumber; metres: number }
  | { what: 'lane_walked'; order: OrderNumber }
  | { what: 'stopped_here'; order: OrderNumber; metres?: number | null }
  | { what: 'contact'; order?: OrderNumber | null; note?: string }
  | { what: 'shore_checked'; place?: string | null }
  | { what: 'surface_looked' }
  | { what: 'people_came'; people: Comer[] }
  | { what: 'people_left'; people: Person[]; why: WhyLeft }
  | { what: 'current_measured'; from: Spot; to: Spot; seconds: number }
  | { what: 'all_out'; why: WhyOut }
  | { what: 'back_in' }
  | { what: 'break_off'; order: OrderNumber }
  | { what: 'face_seen'; person: Person; seen: boolean }
  | { what: 'short_lifted'; order: OrderNumber }
  | { what: 'widen' }
  | { what: 'found'; missing?: number | null }
  | { what: 'not_them' }
  | { what: 'care'; step: CareStep; done: boolean }
  | { what: 'counted_out'; people: Person[] }
  | { what: 'found_ashore'; missing: number; place?: string | null }
  | { what: 'stood_down'; reason: string }
  | { what: 'command_passed'; to: string }
  | { what: 'services'; here: boolean }
  | { what: 'this_is_real' }
  | { what: 'role_taken'; role: Role; person?: Person | null }
  | { what: 'note'; words: string };

export interface Sent {
  report_id: string;
  happened_at_ms?: number | null;
  report: Report;
}

export type Stage =
  | 'quiet'
  | 'asking'
  | 'searching'
  | 'all_out'
  | 'count_short'
  | 'found'
  | 'ended'
  | 'command_passed';

export interface Screen {
  seq: number;
  at_ms: number;
  stage: Stage;
  practice: boolean;
  alarm_at_ms: number | null;
  ended_at_ms: number | null;
  you: You;
  first_words: Words;
  shouts: string[];
  say: Say[];
  quiet_until_ms: number | null;
  lines: LineStrip[];
  map: MapNow;
  shares: Share[];
  found_by: FoundBy[];
  short: Short | null;
  break_off: BreakOff | null;
  care: Care | null;
  ashore: AshorePlace[];
  kind: AlarmKind | null;
  missing: MissingWords[];
  sightings: SightingWords[];
  people: PersonNow[];
  cautions: string[];
  said: string[];
  log: LogLine[];
  head_code: string;
  order_zero: string | null;
  widen: string | null;
  figures: Figure[];
}

export interface You {
  role: Role;
  person: Person | null;
  name: string | null;
  order: OrderNumber | null;
  may: string[];
}

export interface Words {
  over: string;
  lines: string[];
  under: string;
}

export interface Say {
  order: OrderNumber;
  words: Words;
  due_ms: number;
  brief: string;
  why: string;
  put_off: boolean;
}

export interface LineStrip {
  order: OrderNumber;
  leader: string;
  method: string;
  words: string;
  done: number;
  of: number;
  progress: string;
  length_m: number;
  done_m: number;
  people: string[];
  lookout: string | null;
  down_since_ms: number | null;
  under_plan_s: number;
  under_limit_s: number;
  due_ms: number;
  card: Words;
  facts: [string, string][];
  standing_by: boolean;
}

export interface MapNow {
  dots: [number, number][];
  outlines: Outline[];
  lanes: Lane[];
  gaps: Gap[];
  seen: SeenMark[];
  current: [number, number] | null;
  sentence: string;
}

export interface Outline {
  share: number;
  rings: [number, number][][];
}

export type LaneState = 'planned' | 'running' | 'searched' | 'part';

export interface Lane {
  order: OrderNumber;
  state: LaneState;
  from: Spot;
  to: Spot;
  width_m: number;
  done_m: number;
  method: string;
  holds: number;
  words: string;
}

export interface Gap {
  spot: Spot;
  area_m2: number;
  holds: number;
  words: string;
}

export interface SeenMark {
  spot: Spot;
  error_m: number;
  number: number;
}

export interface Share {
  place: string;
  words: string;
  share: number;
}

export interface FoundBy {
  minutes: number;
  chance: number;
}

export interface Short {
  order: OrderNumber;
  since_ms: number;
  words: Words;
  place: string;
  faces: Face[];
  lifted_by: string;
  orders: Words[];
}

export interface Face {
  person: Person;
  name: string;
  seen: boolean;
}

export interface BreakOff {
  order: OrderNumber;
  words: string;
}

export interface Care {
  found_at_ms: number;
  steps: CareLine[];
  still_in: [Person, string][];
  searchers: number;
  of: string;
}

export interface CareLine {
  step: CareStep;
  title: string;
  note: string;
  at_ms: number | null;
}

export interface AshorePlace {
  name: string;
  looked_ms: number | null;
}

export interface MissingWords {
  missing: number;
  words: string;
  found_ms: number | null;
}

export interface SightingWords {
  number: number;
  words: string;
  ask: string[];
}

export interface PersonNow {
  person: Person;
  name: string;
  words: string;
  in_water: boolean;
}

export interface LogLine {
  seq: number;
  happened_ms: number;
  recorded_ms: number | null;
  words: string;
}

export interface Figure {
  name: string;
  value: string;
  words: string;
  inputs: [string, string, string][];
  model: string;
}
