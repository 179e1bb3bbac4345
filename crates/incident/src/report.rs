//! What a device sends: one touch, one report.
//!
//! Places are site metres, people are numbers of the incident's list, times are milliseconds since 1970 (UTC).

use measure::{Bearing, Spot};
use schemars::JsonSchema;
use search::{AlarmKind, WitnessClass};
use serde::{Deserialize, Serialize};

/// Number of a person in the incident's list: crew first, then whoever came. Names are kept apart from the log.
pub type Person = u32;

/// Number of an order; stays with it for the whole incident.
pub type OrderNumber = usize;

/// One report as a device sends it; sent again until it is answered.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Sent {
    /// Made by the device, never used twice by it: at most 64 letters, digits, `-`.
    pub report_id: String,
    /// When it happened, if the reporter says so (back-entry, or a report that waited for the network);
    /// otherwise it happened when it is recorded.
    #[serde(default)]
    pub happened_at_ms: Option<i64>,
    /// What is reported.
    pub report: Report,
}

/// Where somebody was seen.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "by", rename_all = "snake_case", deny_unknown_fields)]
pub enum Where {
    /// A tap on the map.
    Point {
        /// The place.
        spot: Spot,
        /// Standard error per axis \[m\]; absent: by the register.
        #[serde(default)]
        error_m: Option<f64>,
    },
    /// At a named mark of the site: landmark, post, raft, dock.
    Mark {
        /// Its name.
        name: String,
    },
    /// A direction from a post or mark.
    Bearing {
        /// Name of the post or mark where the witness stood.
        from: String,
        /// The direction.
        bearing: Bearing,
        /// Distance, if said \[m\].
        #[serde(default)]
        range_m: Option<f64>,
    },
    /// Somewhere in a named bathing area.
    Area {
        /// Its name.
        name: String,
    },
    /// Nobody saw them in the water.
    Nowhere,
}

/// How long before the alarm, or before it is told.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub struct Ago {
    /// At least so long ago \[s\].
    pub from_s: f64,
    /// At most so long ago \[s\].
    pub to_s: f64,
}

/// Somebody who joins.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct Comer {
    /// Name; goes to the list of names, never to the log.
    pub name: String,
    /// Height \[m\]; absent: by the register.
    #[serde(default)]
    pub height_m: Option<f64>,
    /// May wade in a line.
    #[serde(default)]
    pub wade: bool,
    /// May surface-dive to this depth \[m\].
    #[serde(default)]
    pub dive_m: Option<f64>,
    /// May be safety lookout.
    #[serde(default)]
    pub lookout: bool,
    /// Volunteer with this tag number: wades only, between two guards.
    #[serde(default)]
    pub tag: Option<u32>,
    /// Mark where they are, if said.
    #[serde(default)]
    pub at: Option<String>,
}

/// What a person does at a screen.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// In charge: gives the orders.
    Lead,
    /// Ready to take over.
    Deputy,
    /// Reads to a line from the shore or a board, and types for it.
    LineLeader,
    /// Types what is called.
    Recorder,
    /// Gate, telephone, shore.
    Gate,
    /// Looks on.
    Viewer,
}

/// A step after somebody was brought up, in the order of the trade.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum CareStep {
    /// At the surface.
    Surfaced,
    /// Out of the water.
    OutOfWater,
    /// It is the missing person.
    Identified,
    /// First breath given.
    FirstBreath,
    /// Compressions begun.
    Compressions,
    /// Defibrillator attached.
    Aed,
    /// Handed over to the services.
    HandedOver,
}

/// Why somebody drops out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WhyLeft {
    /// Left.
    Left,
    /// Too tired or cold to go on.
    Tired,
    /// Hurt or unwell.
    Unwell,
}

/// Why everybody comes out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WhyOut {
    /// Thunder or lightning.
    Thunder,
    /// Cold.
    Cold,
    /// Anything else that is not safe.
    Unsafe,
}

/// What is reported.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(tag = "what", rename_all = "snake_case", deny_unknown_fields)]
pub enum Report {
    /// First touch: a swimmer is missing. The clock runs from the touch.
    SwimmerMissing {
        /// A drill, not an alarm.
        practice: bool,
    },
    /// A sighting, or a part of one; the same number again adds to it or puts it right. Number 1 is the caller's.
    Sighting {
        /// Number of the sighting, from 1.
        number: u32,
        /// Where.
        #[serde(default)]
        place: Option<Where>,
        /// When, before this report.
        #[serde(default)]
        ago: Option<Ago>,
        /// Who says so.
        #[serde(default)]
        class: Option<WitnessClass>,
        /// Mark where the witness stood.
        #[serde(default)]
        stood: Option<String>,
        /// They saw the person go under.
        #[serde(default)]
        went_under: Option<bool>,
        /// Numbers of sightings whose witnesses they talked with.
        #[serde(default)]
        talked_with: Option<Vec<u32>>,
        /// Which missing person it is about, from 1; absent: any of them.
        #[serde(default)]
        missing: Option<u32>,
    },
    /// Kind of the alarm.
    KindTold {
        /// Kind.
        kind: AlarmKind,
    },
    /// Who is missing; the words go to the list of names, never to the log.
    MissingTold {
        /// Which missing person, from 1; a new number is one more person.
        missing: u32,
        /// Height \[m\].
        #[serde(default)]
        height_m: Option<f64>,
        /// Whether they swim.
        #[serde(default)]
        swimmer: Option<bool>,
        /// Name, age, suit, last doing, medical: as told.
        #[serde(default)]
        words: Option<String>,
    },
    /// The order was said to its people.
    SaidIt {
        /// Order.
        order: OrderNumber,
    },
    /// The order waits behind the next.
    NotNow {
        /// Order.
        order: OrderNumber,
    },
    /// A dive line went under.
    TheyAreDown {
        /// Order.
        order: OrderNumber,
    },
    /// Heads called after a dive.
    Headcount {
        /// Order of the line.
        order: OrderNumber,
        /// Heads; absent: not called.
        up: Option<u32>,
    },
    /// So many metres of a wading lane are done.
    MetresWalked {
        /// Order.
        order: OrderNumber,
        /// Metres from its start.
        metres: f64,
    },
    /// The lane was searched to its end.
    LaneWalked {
        /// Order.
        order: OrderNumber,
    },
    /// The lane ended early.
    StoppedHere {
        /// Order.
        order: OrderNumber,
        /// Metres searched from its start; absent: what was counted, or by the clock.
        #[serde(default)]
        metres: Option<f64>,
    },
    /// Something was felt or seen and looked at: not the person.
    Contact {
        /// Order, if it belongs to one.
        #[serde(default)]
        order: Option<OrderNumber>,
        /// What it was.
        #[serde(default)]
        note: String,
    },
    /// A place ashore was looked at, and nobody was there.
    ShoreChecked {
        /// Its name; absent: gate, changing rooms and shore all together.
        #[serde(default)]
        place: Option<String>,
    },
    /// The surface was looked over.
    SurfaceLooked,
    /// People came.
    PeopleCame {
        /// Who.
        people: Vec<Comer>,
    },
    /// People dropped out.
    PeopleLeft {
        /// Who.
        people: Vec<Person>,
        /// Why.
        why: WhyLeft,
    },
    /// A float was timed again.
    CurrentMeasured {
        /// Where it was let go.
        from: Spot,
        /// Where it was taken out.
        to: Spot,
        /// Time between \[s\].
        seconds: f64,
    },
    /// Everybody out of the water.
    AllOut {
        /// Why.
        why: WhyOut,
    },
    /// The search goes on.
    BackIn,
    /// A running order is broken off for a better one.
    BreakOff {
        /// Order.
        order: OrderNumber,
    },
    /// A face was seen at the surface after a short count.
    FaceSeen {
        /// Who.
        person: Person,
        /// False takes it back.
        seen: bool,
    },
    /// A short count is lifted after a recount.
    ShortLifted {
        /// Order of the line.
        order: OrderNumber,
    },
    /// The probable ground is spent: the search spreads.
    Widen,
    /// A missing person was found in the water.
    Found {
        /// Which, from 1; absent: not known yet.
        #[serde(default)]
        missing: Option<u32>,
    },
    /// It was somebody else: the search goes on.
    NotThem,
    /// A step of care.
    Care {
        /// Step.
        step: CareStep,
        /// False takes it back.
        done: bool,
    },
    /// A searcher came out and was counted.
    CountedOut {
        /// Who; empty: everybody.
        people: Vec<Person>,
    },
    /// Found ashore.
    FoundAshore {
        /// Which, from 1.
        missing: u32,
        /// Where.
        #[serde(default)]
        place: Option<String>,
    },
    /// The alarm ends without a find, by whoever is in charge.
    StoodDown {
        /// Why, in words.
        reason: String,
    },
    /// Command passes to the services.
    CommandPassed {
        /// To whom: goes to the list of names.
        to: String,
    },
    /// A call to the services was made, or they arrived.
    Services {
        /// True: they are here; false: called.
        here: bool,
    },
    /// Ends any practice on every screen: this is real.
    ThisIsReal,
    /// Somebody takes a role at this device.
    RoleTaken {
        /// Role.
        role: Role,
        /// Who, if of the list.
        #[serde(default)]
        person: Option<Person>,
    },
    /// A free remark; the words go to the log.
    Note {
        /// Words.
        words: String,
    },
}
