// Made by `cargo xtask types` from the program's own types; not to be changed by hand.

/** How long before the alarm, or before it is told. */
export type Ago = {
  /** At least so long ago [s]. */
  from_s: number;
  /** At most so long ago [s]. */
  to_s: number;
};

/** How the alarm came about; sets the prior share ashore (models B1). */
export type AlarmKind = "seen_going_under" | "count_short" | "cannot_be_found";

/** Answer to one report. */
export type Answer = {
  answer: "recorded";
  /** The device's number of the report. */
  report_id: string;
  /** Its first entry. */
  seq: number;
  /** When it was recorded. */
  recorded_at_ms: number;
} | {
  answer: "repeated";
  /** The device's number of the report. */
  report_id: string;
  /** Its first entry. */
  seq: number;
} | {
  answer: "refused";
  /** The device's number of the report. */
  report_id: string;
  /** Code, explained in docs/problems.md. */
  code: string;
  /** What is wrong. */
  what: string;
  /** The way out. */
  remedy: string;
};

/** Answer to `POST /api/report`: one for each report, in their order. All of it is on disk. */
export type Answers = {
  /** In the order of the reports. */
  answers: Answer[];
};

/** A place ashore. */
export type AshorePlace = {
  /** Name. */
  name: string;
  /** When looked at, last. */
  looked_ms: number | null;
};

/** A direction in degrees true, clockwise from north, always in [0, 360). */
export type Bearing = number;

/** Server-sent event `beat`, every 3 s. */
export type Beat = {
  /** Server's time. */
  now_ms: number;
  /** Last entry of the log. */
  seq: number;
  /** Devices that have joined. */
  phones: number;
  /** Devices that listen now. */
  live: number;
  /** Head code of the log. */
  head_code: string;
  /** What every screen must say: a disk that takes nothing, a picture that is late. */
  trouble: string[];
  /** When the morning's cards were made: a phone that has others fetches them. */
  zero_made_at_ms: number | null;
};

/** An offer to break off. */
export type BreakOff = {
  /** Running order. */
  order: number;
  /** Gain and what instead, in words. */
  words: string;
};

/** Care after a find. */
export type Care = {
  /** Found at. */
  found_at_ms: number;
  /** Steps in order of the trade. */
  steps: CareLine[];
  /** Searchers not yet counted out. */
  still_in: ([number, string])[];
  /** Searchers in all. */
  searchers: number;
  /** "1 of 1 missing found". */
  of: string;
};

/** One step of care. */
export type CareLine = {
  /** Step. */
  step: CareStep;
  /** Title. */
  title: string;
  /** One line. */
  note: string;
  /** Stamped at. */
  at_ms: number | null;
};

/** A step after somebody was brought up, in the order of the trade. */
export type CareStep = "surfaced" | "out_of_water" | "identified" | "first_breath" | "compressions" | "aed" | "handed_over";

/** Cards of a place. */
export type CellCards = {
  /** Its middle. */
  spot: Spot;
  /** In the order to be said. */
  cards: Words[];
};

/** The map of a site on a day, in site metres. */
export type Chart = {
  /** Name of the site. */
  name: string;
  /** Longitude and latitude of the origin of the site metres. */
  origin: [number, number];
  /** West, south, east, north [m]. */
  bounds: [number, number, number, number];
  /** Bearing that is up on the screen of whoever stands on the shore and faces the water [degrees]. */
  facing_deg: number;
  /** Outer rings and holes of the water. */
  water: Spot[][];
  /** Everything else on the map. */
  features: ChartFeature[];
  /** Lines of equal depth. */
  contours: ChartContour[];
  /** Depth bands. */
  bands: ChartBand[];
  /** `metric` or `feet`. */
  units: string;
  /** Local emergency number. */
  emergency: string;
  /** Local plan, in a few lines. */
  plan: string;
  /** Posts. */
  posts: NamedSpot[];
  /** Landmarks and whatever else may be named. */
  landmarks: NamedSpot[];
  /** Areas that may be named. */
  areas: NamedArea[];
  /** Day of the soundings, as written. */
  sounded_on: string;
  /** Conditions in words. */
  conditions: Words;
};

/** One depth band. */
export type ChartBand = {
  /** `wade`, `dive` or `deep`. */
  band: string;
  /** Rings: outer ones and holes. */
  rings: Spot[][];
};

/** Lines of one depth. */
export type ChartContour = {
  /** Depth [m]. */
  depth_m: number;
  /** Lines. */
  lines: Spot[][];
};

/** A feature of the map. */
export type ChartFeature = {
  /** What it is. */
  kind: string;
  /** Name. */
  name: string;
  /** `point`, `line` or `area`. */
  shape: string;
  /** Places of a point or line. */
  points: Spot[];
  /** Rings of an area. */
  rings: Spot[][];
};

/** Somebody who joins. */
export type Comer = {
  /** Name; goes to the list of names, never to the log. */
  name: string;
  /** Height [m]; absent: by the register. */
  height_m?: number | null;
  /** May wade in a line. */
  wade?: boolean;
  /** May surface-dive to this depth [m]. */
  dive_m?: number | null;
  /** May be safety lookout. */
  lookout?: boolean;
  /** Volunteer with this tag number: wades only, between two guards. */
  tag?: number | null;
  /** Mark where they are, if said. */
  at?: string | null;
};

/** A face to be seen. */
export type Face = {
  /** Who. */
  person: number;
  /** Name. */
  name: string;
  /** Seen up. */
  seen: boolean;
};

/** A number that opens its explanation. */
export type Figure = {
  /** Name, stable: "bottom", "found_by_10", "left". */
  name: string;
  /** Value with unit, as text. */
  value: string;
  /** One sentence. */
  words: string;
  /** Inputs with unit and standing: (name, value, standing). */
  inputs: ([string, string, string])[];
  /** Page of the model. */
  model: string;
};

/** Chance found. */
export type FoundBy = {
  /** Minutes from now. */
  minutes: number;
  /** Chance. */
  chance: number;
};

/** Ground without a method. */
export type Gap = {
  /** Where. */
  spot: Spot;
  /** Area [m²]. */
  area_m2: number;
  /** Share of the belief. */
  holds: number;
  /** Words: place and reason. */
  words: string;
};

/** Answer to `GET /api/hello`, open to all. */
export type Hello = {
  /** Name of the site. */
  site: string;
  /** Version of the program. */
  version: string;
  /** Server's time. */
  now_ms: number;
  /** Whether this browser has joined. */
  joined: boolean;
  /** Whether a drill is on, or the desk was started for practice. */
  practice: boolean;
  /** Its device, once joined. */
  device: string | null;
  /** To be sent as `x-fathomline-csrf` with every POST, once joined. */
  csrf: string | null;
};

/** Body of `POST /api/join`: word or token. */
export type Join = {
  /** Made by the device and kept by it: 8 to 64 letters, digits, `-`. */
  device: string;
  /** The day's crew word. */
  word?: string | null;
  /** Token of the QR code. */
  token?: string | null;
};

/** Answer to a join that is let in; the cookie comes with it. */
export type Joined = {
  /** The device. */
  device: string;
  /** To be sent as `x-fathomline-csrf` with every POST. */
  csrf: string;
};

/** A lane. */
export type Lane = {
  /** Order. */
  order: number;
  /** State. */
  state: LaneState;
  /** Middle line: start, end. */
  from: Spot;
  /** End. */
  to: Spot;
  /** Width [m]. */
  width_m: number;
  /** Metres searched from the start. */
  done_m: number;
  /** Method, as in the strip. */
  method: string;
  /** Share of the belief in it now. */
  holds: number;
  /** For the list and the screen reader: "lane 1, under way, 5 of 10 dives, holds 35 %". */
  words: string;
};

/** State of a lane. */
export type LaneState = "planned" | "running" | "searched" | "part";

/** One line of people. */
export type LineStrip = {
  /** Order under way. */
  order: number;
  /** Leader's name. */
  leader: string;
  /** `dive`, `wade`, `alone`, `look`. */
  method: string;
  /** One line: "Tove dives lane 1". */
  words: string;
  /** Pegs done: dives or 10 m. */
  done: number;
  /** Pegs in all. */
  of: number;
  /** "5/10" or "10/50 m". */
  progress: string;
  /** Metres of the lane; metres reported. */
  length_m: number;
  /** Metres reported. */
  done_m: number;
  /** Names, left to right or shore to deep. */
  people: string[];
  /** Lookout's name. */
  lookout: string | null;
  /** They are under since. */
  down_since_ms: number | null;
  /** Planned seconds under, and the limit. */
  under_plan_s: number;
  /** Limit after which the count is overdue [s]. */
  under_limit_s: number;
  /** When the end of the lane is due. */
  due_ms: number;
  /** A short "read to the line" card. */
  card: Words;
  /** Facts for the leader: depth here, spacing, swap after, deepest, what at the end. */
  facts: ([string, string])[];
  /** Holds: another line is short. */
  standing_by: boolean;
};

/** One entry as words. */
export type LogLine = {
  /** Entry. */
  seq: number;
  /** When it happened. */
  happened_ms: number;
  /** When it was recorded, if more than 10 s later. */
  recorded_ms: number | null;
  /** Words. */
  words: string;
};

/** What moves on the map. */
export type MapNow = {
  /** Possible places, each of equal weight. */
  dots: ([number, number])[];
  /** Outlines. */
  outlines: Outline[];
  /** Lanes. */
  lanes: Lane[];
  /** Probable ground that no method covers, with its reason. */
  gaps: Gap[];
  /** Last seen points. */
  seen: SeenMark[];
  /** Current now: towards [degrees], [m/s]. */
  current: [number, number] | null;
  /** The belief in one sentence by landmarks. */
  sentence: string;
};

/** Who is missing. */
export type MissingWords = {
  /** Number, from 1. */
  missing: number;
  /** "Boy, 11, 1.45 m. Blue shorts." */
  words: string;
  /** Found at. */
  found_ms: number | null;
};

/** A named area. */
export type NamedArea = {
  /** Name. */
  name: string;
  /** Rings. */
  rings: Spot[][];
};

/** A named place. */
export type NamedSpot = {
  /** Name. */
  name: string;
  /** Where. */
  spot: Spot;
};

/** Number of an order; stays with it for the whole incident. */
export type OrderNumber = number;

/** Outline of a highest-density region. */
export type Outline = {
  /** Share inside. */
  share: number;
  /** Rings of places. */
  rings: (([number, number])[])[];
};

/** Answer to `GET /api/explain/{model}`. */
export type Page = {
  /** Title. */
  title: string;
  /** The page as HTML, without scripts. */
  html: string;
};

/** Number of a person of the incident; names are kept apart. */
export type Person = number;

/** A person now. */
export type PersonNow = {
  /** Number. */
  person: number;
  /** Name. */
  name: string;
  /** "in Tove's line", "lookout", "gate", "standing by", "left 14:40". */
  words: string;
  /** In the water by the log. */
  in_water: boolean;
};

/** Where a photo lies, and where its pixels are. */
export type PhotoPlace = {
  /** Address of the picture; another picture has another. */
  address: string;
  /** Pixels from left to right. */
  width_px: number;
  /** Pixels from top to bottom. */
  height_px: number;
  /** Upper left, upper right, lower right, lower left corner of the picture. */
  corners: [Spot, Spot, Spot, Spot];
  /** Day it was taken, as written; empty if not told. */
  date: string;
};

/** The doubt that belongs to one way of pointing, until somebody says how sure they are. */
export type Pointing = {
  /** `point` for a touch on the map, `bearing` for a line of sight. */
  by: string;
  /** Standard error: metres for a point, degrees for a bearing. */
  error: number;
  /** Its explanation. */
  figure: Figure;
};

/** What was not done, why, and the way out. */
export type Refused = {
  /** Code, explained in docs/problems.md. */
  code: string;
  /** What is wrong. */
  what: string;
  /** The way out. */
  remedy: string;
};

/** What is reported. */
export type Report = {
  what: "swimmer_missing";
  /** A drill, not an alarm. */
  practice: boolean;
} | {
  what: "sighting";
  /** Number of the sighting, from 1. */
  number: number;
  /** Where. */
  place?: Where | null;
  /** When, before this report. */
  ago?: Ago | null;
  /** Who says so. */
  class?: WitnessClass | null;
  /** Mark where the witness stood. */
  stood?: string | null;
  /** They saw the person go under. */
  went_under?: boolean | null;
  /** Numbers of sightings whose witnesses they talked with. */
  talked_with?: number[] | null;
  /** Which missing person it is about, from 1; absent: any of them. */
  missing?: number | null;
} | {
  what: "kind_told";
  /** Kind. */
  kind: AlarmKind;
} | {
  what: "missing_told";
  /** Which missing person, from 1; a new number is one more person. */
  missing: number;
  /** Height [m]. */
  height_m?: number | null;
  /** Whether they swim. */
  swimmer?: boolean | null;
  /** Name, age, suit, last doing, medical: as told. */
  words?: string | null;
} | {
  what: "said_it";
  /** Order. */
  order: number;
} | {
  what: "not_now";
  /** Order. */
  order: number;
} | {
  what: "they_are_down";
  /** Order. */
  order: number;
} | {
  what: "headcount";
  /** Order of the line. */
  order: number;
  /** Heads; absent: not called. */
  up?: number | null;
} | {
  what: "metres_walked";
  /** Order. */
  order: number;
  /** Metres from its start. */
  metres: number;
} | {
  what: "lane_walked";
  /** Order. */
  order: number;
} | {
  what: "stopped_here";
  /** Order. */
  order: number;
  /** Metres searched from its start; absent: what was counted, or by the clock. */
  metres?: number | null;
} | {
  what: "contact";
  /** Order, if it belongs to one. */
  order?: number | null;
  /** What it was. */
  note?: string;
} | {
  what: "shore_checked";
  /** Its name; absent: gate, changing rooms and shore all together. */
  place?: string | null;
} | {
  what: "surface_looked";
} | {
  what: "people_came";
  /** Who. */
  people: Comer[];
} | {
  what: "people_left";
  /** Who. */
  people: number[];
  /** Why. */
  why: WhyLeft;
} | {
  what: "current_measured";
  /** Where it was let go. */
  from: Spot;
  /** Where it was taken out. */
  to: Spot;
  /** Time between [s]. */
  seconds: number;
} | {
  what: "all_out";
  /** Why. */
  why: WhyOut;
} | {
  what: "back_in";
} | {
  what: "break_off";
  /** Order. */
  order: number;
} | {
  what: "face_seen";
  /** Who. */
  person: number;
  /** False takes it back. */
  seen: boolean;
} | {
  what: "short_lifted";
  /** Order of the line. */
  order: number;
} | {
  what: "widen";
} | {
  what: "found";
  /** Which, from 1; absent: not known yet. */
  missing?: number | null;
} | {
  what: "not_them";
} | {
  what: "care";
  /** Step. */
  step: CareStep;
  /** False takes it back. */
  done: boolean;
} | {
  what: "counted_out";
  /** Who; empty: everybody. */
  people: number[];
} | {
  what: "found_ashore";
  /** Which, from 1. */
  missing: number;
  /** Where. */
  place?: string | null;
} | {
  what: "stood_down";
  /** Why, in words. */
  reason: string;
} | {
  what: "command_passed";
  /** To whom: goes to the list of names. */
  to: string;
} | {
  what: "services";
  /** True: they are here; false: called. */
  here: boolean;
} | {
  what: "this_is_real";
} | {
  what: "role_taken";
  /** Role. */
  role: Role;
  /** Who, if of the list. */
  person?: number | null;
} | {
  what: "note";
  /** Words. */
  words: string;
};

/** Reports as the browser sends them. */
export type Reports = {
  /** At most 50, in the device's order. */
  reports: Sent[];
};

/** What a person does at a screen. */
export type Role = "lead" | "deputy" | "line_leader" | "recorder" | "gate" | "viewer";

/** An order to be said. */
export type Say = {
  /** Number. */
  order: number;
  /** Words. */
  words: Words;
  /** When it is due. */
  due_ms: number;
  /** One line for the list of what waits. */
  brief: string;
  /** Why this, in one sentence. */
  why: string;
  /** Whether it was put behind the next. */
  put_off: boolean;
};

/** One device's screen. */
export type Screen = {
  /** Last entry of the log that it shows. */
  seq: number;
  /** Server's time when it was made. */
  at_ms: number;
  /** Stage. */
  stage: Stage;
  /** A drill: said on every screen. */
  practice: boolean;
  /** Moment of the first touch; the clock counts from it. */
  alarm_at_ms: number | null;
  /** When the clock stands still: found and handed over, or ended. */
  ended_at_ms: number | null;
  /** Who this device is and what it may do. */
  you: You;
  /** What this person does next: the largest words on the screen. */
  first_words: Words;
  /** Shouts that stay on top while where and when are asked. */
  shouts: string[];
  /** Orders to be said, the next first. */
  say: Say[];
  /** Orders were given in this search, also while a desk that was started again still works them out of its log. */
  orders_given: boolean;
  /** After the orders of now, nothing need be touched until then. */
  quiet_until_ms: number | null;
  /** Lines at work or formed. */
  lines: LineStrip[];
  /** The map's moving part. */
  map: MapNow;
  /** Bottom, afloat, ashore, elsewhere: words and figures. */
  shares: Share[];
  /** Chance found by, as planned. */
  found_by: FoundBy[];
  /** Short count, on every device. */
  short: Short | null;
  /** Break off a running lane? */
  break_off: BreakOff | null;
  /** Care after a find. */
  care: Care | null;
  /** Places ashore and when they were looked at. */
  ashore: AshorePlace[];
  /** Kind of the alarm, once told. */
  kind: AlarmKind | null;
  /** Who is missing, as told. */
  missing: MissingWords[];
  /** Sightings so far. */
  sightings: SightingWords[];
  /** People of the incident. */
  people: PersonNow[];
  /** Cautions that apply now. */
  cautions: string[];
  /** What the lead should hear: odd reports, overdue lanes, doubts. */
  said: string[];
  /** The last entries of the log, newest first, as words. */
  log: LogLine[];
  /** Head code of the log. */
  head_code: string;
  /** Whether the orders are those of the morning's card, or why not. */
  order_zero: string | null;
  /** The probable ground is spent: widening is offered. */
  widen: string | null;
  /** Shares and chances, for the desk: each opens its explanation. */
  figures: Figure[];
};

/** A last seen point. */
export type SeenMark = {
  /** Where. */
  spot: Spot;
  /** Its error [m]. */
  error_m: number;
  /** Sighting number. */
  number: number;
};

/** One report as a device sends it; sent again until it is answered. */
export type Sent = {
  /** Made by the device, never used twice by it: at most 64 letters, digits, `-`. */
  report_id: string;
  /** When it happened, if the reporter says so (back-entry, or a report that waited for the network); otherwise it happened when it is recorded. */
  happened_at_ms?: number | null;
  /** What is reported. */
  report: Report;
};

/** One of the four shares. */
export type Share = {
  /** `bottom`, `afloat`, `ashore`, `elsewhere`. */
  place: string;
  /** "most likely", "possible", "unlikely". */
  words: string;
  /** Share. */
  share: number;
};

/** A short count. */
export type Short = {
  /** Order of the line. */
  order: number;
  /** Since. */
  since_ms: number;
  /** What to do, in three lines: STOP and the rest. */
  words: Words;
  /** Where: line, dive, lane. */
  place: string;
  /** Everybody of the line. */
  faces: Face[];
  /** Who may lift it, in words. */
  lifted_by: string;
  /** Orders for the searcher missing, once it is known who. */
  orders: Words[];
};

/** A sighting in words. */
export type SightingWords = {
  /** Number. */
  number: number;
  /** Place, time, class. */
  words: string;
  /** What is still to be asked: `place`, `time`, `class`, `stood`. */
  ask: string[];
};

/** A place, or a step between two places, in metres east and north of the site's origin. Longitude and latitude exist only in `water::formats`; everything else works in spots. The same type serves velocities (metres a second east and north) where a name says so. */
export type Spot = {
  /** Metres east. */
  east: number;
  /** Metres north. */
  north: number;
};

/** Where an incident stands. */
export type Stage = "quiet" | "asking" | "searching" | "all_out" | "count_short" | "found" | "ended" | "command_passed";

/** Answer to `GET /api/still`. */
export type Still = {
  /** The photo under the map. */
  photo: PhotoPlace | null;
  /** How far off a place may be that is pointed out here, by the way of pointing. */
  pointing: Pointing[];
  /** Planning values of the site and conditions of the day, each with its explanation. */
  figures: Figure[];
};

/** Where somebody was seen. */
export type Where = {
  by: "point";
  /** The place. */
  spot: Spot;
  /** Standard error per axis [m]; absent: by the register. */
  error_m?: number | null;
} | {
  by: "mark";
  /** Its name. */
  name: string;
} | {
  by: "bearing";
  /** Name of the post or mark where the witness stood. */
  from: string;
  /** The direction. */
  bearing: Bearing;
  /** Distance, if said [m]. */
  range_m?: number | null;
} | {
  by: "area";
  /** Its name. */
  name: string;
} | {
  by: "nowhere";
};

/** Why somebody drops out. */
export type WhyLeft = "left" | "tired" | "unwell";

/** Why everybody comes out. */
export type WhyOut = "thunder" | "cold" | "unsafe";

/** Who a witness is; sets how far they are believed. */
export type WitnessClass = "companion" | "guard" | "distant";

/** Three lines to read aloud. */
export type Words = {
  /** Small line above: to whom. */
  over: string;
  /** At most three lines. */
  lines: string[];
  /** Small line below: names. */
  under: string;
};

/** The device's person. */
export type You = {
  /** Role. */
  role: Role;
  /** Person, if said. */
  person: number | null;
  /** Name, if known. */
  name: string | null;
  /** Order of the line this device reads to and types for, if any. */
  order: number | null;
  /** Names of reports (`what`) that this device may send now. */
  may: string[];
};

/** Answer to `GET /api/zero`: the first orders of an alarm at each place, made in the morning. */
export type Zero = {
  /** When they were made; absent while they are being made for the first time. */
  made_at_ms: number | null;
  /** By bathing area. */
  zones: ZoneCards[];
  /** By place. */
  cells: CellCards[];
};

/** Cards of a bathing area. */
export type ZoneCards = {
  /** Area. */
  name: string;
  /** In the order to be said. */
  cards: Words[];
};
