//! What is kept: one entry for each accepted fact, past tense, with every number and time it needs.
//!
//! People are numbers here; their names are kept apart ([`crate::Names`]). A shape that changes gets a new name,
//! old ones are read for ever, and an entry of a later program is kept as it is.
//! Start reading at [`Entry`].

use crate::report::{CareStep, OrderNumber, Person, Role, Where, WhyLeft, WhyOut};
use measure::Spot;
use search::{AlarmKind, Method, WitnessClass};
use serde::{Deserialize, Serialize};
use water::Day;

/// One line of the log.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Place in the log, from 1.
    pub seq: u64,
    /// When it was recorded \[ms since 1970\]; never falls.
    pub recorded_at_ms: i64,
    /// When it happened, as the reporter says \[ms since 1970\].
    pub happened_at_ms: i64,
    /// Device that sent it.
    pub device: String,
    /// Number of the report at that device.
    pub report_id: String,
    /// Role of the device then.
    pub role: Role,
    /// Person at the device, if known.
    pub person: Option<Person>,
    /// What.
    pub event: Event,
}

/// Conditions of a day, its crew by number, and what a replay needs.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct DayOpened {
    /// Name of the site.
    pub site: String,
    /// Digest of the site folder.
    pub site_digest: String,
    /// Version of the program and its models.
    pub version: String,
    /// Seed of every incident of the day.
    pub seed: u64,
    /// Local time minus UTC \[s\].
    pub utc_offset_s: i32,
    /// Conditions, crew without names.
    pub day: Day,
    /// Number of each of the crew, in the order of `day.crew`.
    pub people: Vec<Person>,
    /// Marks that orders and witnesses may name.
    pub marks: Vec<String>,
    /// Areas that may be named.
    pub areas: Vec<String>,
    /// Places ashore to look at.
    pub ashore: Vec<String>,
    /// Local emergency number.
    pub emergency: String,
    /// Units of the site, in which people read; metres where a log does not say.
    #[serde(default, skip_serializing_if = "is_metric")]
    pub units: water::Units,
}

/// A log in metres says nothing of units.
fn is_metric(units: &water::Units) -> bool {
    *units == water::Units::Metric
}

/// Somebody who joined, by number.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Arrival {
    /// Number in the list.
    pub person: Person,
    /// Height \[m\].
    pub height_m: f64,
    /// May wade in a line.
    pub wade: bool,
    /// May surface-dive to this depth \[m\].
    pub dive_m: Option<f64>,
    /// May be safety lookout.
    pub lookout: bool,
    /// Tag of a volunteer.
    pub tag: Option<u32>,
    /// Mark where they are.
    pub at: Option<String>,
}

/// An order as it was shown; names stand as marks (see [`crate::names`]).
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct ShownOrder {
    /// Number.
    pub order: OrderNumber,
    /// Method of a line; absent for a post.
    pub method: Option<Method>,
    /// Who acts, left to right or shore to deep.
    pub people: Vec<Person>,
    /// Who leads the line.
    pub leader: Option<Person>,
    /// Who watches it.
    pub lookout: Option<Person>,
    /// Middle of the line at its start.
    pub from: Spot,
    /// Middle of the line at its end.
    pub to: Spot,
    /// Width \[m\].
    pub width_m: f64,
    /// Dives or advances.
    pub legs: u32,
    /// When its people leave \[ms since 1970\].
    pub leaves_ms: i64,
    /// When its end is due \[ms since 1970\].
    pub ends_ms: i64,
    /// The words that are said.
    pub words: String,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "event", rename_all = "snake_case")]
pub enum Event {
    /// A day began: conditions, crew, seed.
    DayOpened(Box<DayOpened>),
    /// The morning's cards were made and lie on every phone that was there.
    CardsMade(crate::cards::MorningCards),
    /// A swimmer was reported missing.
    SwimmerReportedMissing {
        /// A drill.
        practice: bool,
    },
    /// A witness told something; only what was told this time.
    SightingGiven {
        /// Number of the sighting.
        number: u32,
        /// Where.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        place: Option<Where>,
        /// Earliest and latest moment \[ms since 1970\].
        #[serde(default, skip_serializing_if = "Option::is_none")]
        between_ms: Option<[i64; 2]>,
        /// Who says so.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        class: Option<WitnessClass>,
        /// Mark where the witness stood.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        stood: Option<String>,
        /// They saw the person go under.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        went_under: Option<bool>,
        /// Sightings whose witnesses they talked with.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        talked_with: Option<Vec<u32>>,
        /// Which missing person.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        missing: Option<u32>,
    },
    /// The kind of alarm was told.
    AlarmKindTold {
        /// Kind.
        kind: AlarmKind,
    },
    /// Who is missing was told; the words are kept apart.
    MissingDescribed {
        /// Which, from 1.
        missing: u32,
        /// Height \[m\].
        height_m: Option<f64>,
        /// Whether they swim.
        swimmer: Option<bool>,
        /// Whether words were told as well.
        words: bool,
    },
    /// Orders were shown on the screens.
    OrdersShown {
        /// Last entry they rest on.
        of_seq: u64,
        /// Digest of belief and plan.
        digest: String,
        /// Particles and effort they were made with.
        effort: [u64; 2],
        /// New or changed orders.
        orders: Vec<ShownOrder>,
        /// Orders that are not to be said any more.
        withdrawn: Vec<OrderNumber>,
    },
    /// An order was said to its people.
    OrderGiven {
        /// Order.
        order: OrderNumber,
    },
    /// An order was put behind the next.
    OrderPutOff {
        /// Order.
        order: OrderNumber,
    },
    /// A dive line went under.
    DiveBegan {
        /// Order.
        order: OrderNumber,
        /// Who went down.
        down: Vec<Person>,
    },
    /// Heads were called after a dive.
    HeadcountTaken {
        /// Order.
        order: OrderNumber,
        /// Heads up; absent: not called.
        up: Option<u32>,
        /// Heads that went down.
        down: u32,
    },
    /// A head is missing after a dive.
    CountCameShort {
        /// Order.
        order: OrderNumber,
        /// Heads up.
        up: u32,
        /// Who went down.
        down: Vec<Person>,
    },
    /// So many metres of a lane were walked.
    MetresWalked {
        /// Order.
        order: OrderNumber,
        /// Metres from its start.
        metres: f64,
    },
    /// A lane was searched to its end.
    LaneWalked {
        /// Order.
        order: OrderNumber,
    },
    /// A lane ended early.
    LaneStoppedShort {
        /// Order.
        order: OrderNumber,
        /// Metres searched from its start.
        metres: Option<f64>,
    },
    /// Something was felt or seen, and was not the person.
    ContactChecked {
        /// Order.
        order: Option<OrderNumber>,
        /// What it was.
        note: String,
    },
    /// A place ashore was looked at.
    ShoreLooked {
        /// Its name; absent: all of them.
        place: Option<String>,
    },
    /// The surface was looked over.
    SurfaceLooked,
    /// People joined.
    PeopleCame {
        /// Who.
        people: Vec<Arrival>,
    },
    /// People dropped out.
    PeopleLeft {
        /// Who.
        people: Vec<Person>,
        /// Why.
        why: WhyLeft,
    },
    /// A float was timed.
    CurrentMeasured {
        /// Let go.
        from: Spot,
        /// Taken out.
        to: Spot,
        /// Time between \[s\].
        seconds: f64,
    },
    /// Everybody was called out of the water.
    AllCalledOut {
        /// Why.
        why: WhyOut,
    },
    /// The search went on.
    SearchResumed,
    /// A running order was broken off for a better one.
    LaneBrokenOff {
        /// Order.
        order: OrderNumber,
    },
    /// A face was seen, or that was taken back.
    FaceSeen {
        /// Who.
        person: Person,
        /// Seen.
        seen: bool,
    },
    /// A short count was lifted after every face was seen.
    ShortCountLifted {
        /// Order.
        order: OrderNumber,
        /// Heads that went down and are up.
        heads: u32,
    },
    /// The search was spread.
    SearchWidened,
    /// Somebody missing was found in the water.
    PersonFound {
        /// Which; absent: not known yet.
        missing: Option<u32>,
    },
    /// It was somebody else.
    FoundSomebodyElse,
    /// A step of care was taken, or its stamp taken back.
    CareGiven {
        /// Step.
        step: CareStep,
        /// Done.
        done: bool,
    },
    /// Searchers were counted out of the water.
    SearchersCountedOut {
        /// Who.
        people: Vec<Person>,
    },
    /// Somebody missing was found ashore.
    FoundAshore {
        /// Which.
        missing: u32,
        /// Where.
        place: Option<String>,
    },
    /// The alarm was stood down.
    StoodDown {
        /// Why.
        reason: String,
    },
    /// Command passed to the services.
    CommandPassed,
    /// The services were called.
    ServicesCalled,
    /// The services arrived.
    ServicesArrived,
    /// Practice ended: this is real.
    PracticeEnded {
        /// Searchers who must be counted first.
        in_water: Vec<Person>,
    },
    /// A role was taken at a device.
    RoleTaken {
        /// Role.
        role: Role,
        /// Who.
        person: Option<Person>,
    },
    /// A remark.
    NoteMade {
        /// Words.
        words: String,
    },
    /// An entry of a program that knows more: kept as it is, shown as such.
    #[serde(untagged)]
    Unknown(serde_json::Map<String, serde_json::Value>),
}
