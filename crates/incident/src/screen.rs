//! What a screen shows: plain data for one device, made from state and thought, nothing computed by the reader.
//!
//! Every text is ready to be read aloud. Places are site metres, times milliseconds since 1970 (UTC).

use crate::report::{CareStep, OrderNumber, Person, Role};
use measure::Spot;
use schemars::JsonSchema;
use search::AlarmKind;
use serde::Serialize;

/// Where an incident stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Stage {
    /// Nobody is missing.
    Quiet,
    /// The clock runs; where or when is still asked.
    Asking,
    /// Orders are given.
    Searching,
    /// Everybody is out; clock and drift run on.
    AllOut,
    /// A searcher is missing after a dive.
    CountShort,
    /// Somebody was brought up.
    Found,
    /// All are accounted for, or the alarm was stood down.
    Ended,
    /// The services are in command; the tool records and orders nothing.
    CommandPassed,
}

/// One device's screen.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Screen {
    /// Last entry of the log that it shows.
    pub seq: u64,
    /// Server's time when it was made.
    pub at_ms: i64,
    /// Stage.
    pub stage: Stage,
    /// A drill: said on every screen.
    pub practice: bool,
    /// Moment of the first touch; the clock counts from it.
    pub alarm_at_ms: Option<i64>,
    /// When the clock stands still: found and handed over, or ended.
    pub ended_at_ms: Option<i64>,
    /// Who this device is and what it may do.
    pub you: You,
    /// What this person does next: the largest words on the screen.
    pub first_words: Words,
    /// Shouts that stay on top while where and when are asked.
    pub shouts: Vec<String>,
    /// Orders to be said, the next first.
    pub say: Vec<Say>,
    /// Orders were given in this search, also while a desk that was started again still works them out of its log.
    pub orders_given: bool,
    /// After the orders of now, nothing need be touched until then.
    pub quiet_until_ms: Option<i64>,
    /// Lines at work or formed.
    pub lines: Vec<LineStrip>,
    /// The map's moving part.
    pub map: MapNow,
    /// Bottom, afloat, ashore, elsewhere: words and figures.
    pub shares: Vec<Share>,
    /// Chance found by, as planned.
    pub found_by: Vec<FoundBy>,
    /// Short count, on every device.
    pub short: Option<Short>,
    /// Break off a running lane?
    pub break_off: Option<BreakOff>,
    /// Care after a find.
    pub care: Option<Care>,
    /// Places ashore and when they were looked at.
    pub ashore: Vec<AshorePlace>,
    /// Kind of the alarm, once told.
    pub kind: Option<AlarmKind>,
    /// Who is missing, as told.
    pub missing: Vec<MissingWords>,
    /// Sightings so far.
    pub sightings: Vec<SightingWords>,
    /// People of the incident.
    pub people: Vec<PersonNow>,
    /// Cautions that apply now.
    pub cautions: Vec<String>,
    /// What the lead should hear: odd reports, overdue lanes, doubts.
    pub said: Vec<String>,
    /// The last entries of the log, newest first, as words.
    pub log: Vec<LogLine>,
    /// Head code of the log.
    pub head_code: String,
    /// Whether the orders are those of the morning's card, or why not.
    pub order_zero: Option<String>,
    /// The probable ground is spent: widening is offered.
    pub widen: Option<String>,
    /// Shares and chances, for the desk: each opens its explanation.
    pub figures: Vec<Figure>,
}

/// The device's person.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct You {
    /// Role.
    pub role: Role,
    /// Person, if said.
    pub person: Option<Person>,
    /// Name, if known.
    pub name: Option<String>,
    /// Order of the line this device reads to and types for, if any.
    pub order: Option<OrderNumber>,
    /// Names of reports (`what`) that this device may send now.
    pub may: Vec<String>,
}

/// Three lines to read aloud.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct Words {
    /// Small line above: to whom.
    pub over: String,
    /// At most three lines.
    pub lines: Vec<String>,
    /// Small line below: names.
    pub under: String,
}

/// An order to be said.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Say {
    /// Number.
    pub order: OrderNumber,
    /// Words.
    pub words: Words,
    /// When it is due.
    pub due_ms: i64,
    /// One line for the list of what waits.
    pub brief: String,
    /// Why this, in one sentence.
    pub why: String,
    /// Whether it was put behind the next.
    pub put_off: bool,
}

/// One line of people.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LineStrip {
    /// Order under way.
    pub order: OrderNumber,
    /// Leader's name.
    pub leader: String,
    /// `dive`, `wade`, `alone`, `look`.
    pub method: String,
    /// One line: "Tove dives lane 1".
    pub words: String,
    /// Pegs done: dives or 10 m.
    pub done: u32,
    /// Pegs in all.
    pub of: u32,
    /// "5/10" or "10/50 m".
    pub progress: String,
    /// Metres of the lane; metres reported.
    pub length_m: f64,
    /// Metres reported.
    pub done_m: f64,
    /// Names, left to right or shore to deep.
    pub people: Vec<String>,
    /// Lookout's name.
    pub lookout: Option<String>,
    /// They are under since.
    pub down_since_ms: Option<i64>,
    /// Planned seconds under, and the limit.
    pub under_plan_s: f64,
    /// Limit after which the count is overdue \[s\].
    pub under_limit_s: f64,
    /// When the end of the lane is due.
    pub due_ms: i64,
    /// A short "read to the line" card.
    pub card: Words,
    /// Facts for the leader: depth here, spacing, swap after, deepest, what at the end.
    pub facts: Vec<(String, String)>,
    /// Holds: another line is short.
    pub standing_by: bool,
}

/// What moves on the map.
#[derive(Clone, Debug, Default, PartialEq, Serialize, JsonSchema)]
pub struct MapNow {
    /// Possible places, each of equal weight.
    pub dots: Vec<[f32; 2]>,
    /// Outlines.
    pub outlines: Vec<Outline>,
    /// Lanes.
    pub lanes: Vec<Lane>,
    /// Probable ground that no method covers, with its reason.
    pub gaps: Vec<Gap>,
    /// Last seen points.
    pub seen: Vec<SeenMark>,
    /// Current now: towards \[degrees\], \[m/s\].
    pub current: Option<(f64, f64)>,
    /// The belief in one sentence by landmarks.
    pub sentence: String,
}

/// Outline of a highest-density region.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Outline {
    /// Share inside.
    pub share: f64,
    /// Rings of places.
    pub rings: Vec<Vec<[f32; 2]>>,
}

/// State of a lane.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum LaneState {
    /// Not begun.
    Planned,
    /// Under way.
    Running,
    /// Searched.
    Searched,
    /// Searched in part.
    Part,
}

/// A lane.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Lane {
    /// Order.
    pub order: OrderNumber,
    /// State.
    pub state: LaneState,
    /// Middle line: start, end.
    pub from: Spot,
    /// End.
    pub to: Spot,
    /// Width \[m\].
    pub width_m: f64,
    /// Metres searched from the start.
    pub done_m: f64,
    /// Method, as in the strip.
    pub method: String,
    /// Share of the belief in it now.
    pub holds: f64,
    /// For the list and the screen reader: "lane 1, under way, 5 of 10 dives, holds 35 %".
    pub words: String,
}

/// Ground without a method.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Gap {
    /// Where.
    pub spot: Spot,
    /// Area \[m²\].
    pub area_m2: f64,
    /// Share of the belief.
    pub holds: f64,
    /// Words: place and reason.
    pub words: String,
}

/// A last seen point.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SeenMark {
    /// Where.
    pub spot: Spot,
    /// Its error \[m\].
    pub error_m: f64,
    /// Sighting number.
    pub number: u32,
}

/// One of the four shares.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Share {
    /// `bottom`, `afloat`, `ashore`, `elsewhere`.
    pub place: String,
    /// "most likely", "possible", "unlikely".
    pub words: String,
    /// Share.
    pub share: f64,
}

/// Chance found.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct FoundBy {
    /// Minutes from now.
    pub minutes: f64,
    /// Chance.
    pub chance: f64,
}

/// A short count.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Short {
    /// Order of the line.
    pub order: OrderNumber,
    /// Since.
    pub since_ms: i64,
    /// What to do, in three lines: STOP and the rest.
    pub words: Words,
    /// Where: line, dive, lane.
    pub place: String,
    /// Everybody of the line.
    pub faces: Vec<Face>,
    /// Who may lift it, in words.
    pub lifted_by: String,
    /// Orders for the searcher missing, once it is known who.
    pub orders: Vec<Words>,
}

/// A face to be seen.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Face {
    /// Who.
    pub person: Person,
    /// Name.
    pub name: String,
    /// Seen up.
    pub seen: bool,
}

/// An offer to break off.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct BreakOff {
    /// Running order.
    pub order: OrderNumber,
    /// Gain and what instead, in words.
    pub words: String,
}

/// Care after a find.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Care {
    /// Found at.
    pub found_at_ms: i64,
    /// Steps in order of the trade.
    pub steps: Vec<CareLine>,
    /// Searchers not yet counted out.
    pub still_in: Vec<(Person, String)>,
    /// Searchers in all.
    pub searchers: u32,
    /// "1 of 1 missing found".
    pub of: String,
}

/// One step of care.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct CareLine {
    /// Step.
    pub step: CareStep,
    /// Title.
    pub title: String,
    /// One line.
    pub note: String,
    /// Stamped at.
    pub at_ms: Option<i64>,
}

/// A place ashore.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct AshorePlace {
    /// Name.
    pub name: String,
    /// When looked at, last.
    pub looked_ms: Option<i64>,
}

/// Who is missing.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct MissingWords {
    /// Number, from 1.
    pub missing: u32,
    /// "Boy, 11, 1.45 m. Blue shorts."
    pub words: String,
    /// Found at.
    pub found_ms: Option<i64>,
}

/// A sighting in words.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct SightingWords {
    /// Number.
    pub number: u32,
    /// Place, time, class.
    pub words: String,
    /// What is still to be asked: `place`, `time`, `class`, `stood`.
    pub ask: Vec<String>,
}

/// A person now.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct PersonNow {
    /// Number.
    pub person: Person,
    /// Name.
    pub name: String,
    /// "in Tove's line", "lookout", "gate", "standing by", "left 14:40".
    pub words: String,
    /// In the water by the log.
    pub in_water: bool,
}

/// One entry as words.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct LogLine {
    /// Entry.
    pub seq: u64,
    /// When it happened.
    pub happened_ms: i64,
    /// When it was recorded, if more than 10 s later.
    pub recorded_ms: Option<i64>,
    /// Words.
    pub words: String,
}

/// A number that opens its explanation.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Figure {
    /// Name, stable: "bottom", "found_by_10", "left".
    pub name: String,
    /// Value with unit, as text.
    pub value: String,
    /// One sentence.
    pub words: String,
    /// Inputs with unit and standing: (name, value, standing).
    pub inputs: Vec<(String, String, String)>,
    /// Page of the model.
    pub model: String,
}
