//! One incident: what was told, who is here, which orders stand, what came back.

use crate::cards::MorningCards;
use crate::event::{Arrival, DayOpened, Entry, ShownOrder};
use crate::report::{CareStep, OrderNumber, Person, Where, WhyLeft, WhyOut};
use search::{AlarmKind, Method, WitnessClass};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::Arc;

/// How far an incident is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Phase {
    /// Where or when is still asked.
    Asking,
    /// The search goes on.
    Searching,
    /// Everybody is called out.
    Out(WhyOut),
    /// Practice became real: searchers are counted before anything else.
    CountFirst,
    /// Everybody who is missing was brought up.
    Found,
    /// The services are in command.
    Passed,
    /// All are accounted for, or the alarm was stood down.
    Ended,
}

/// A sighting so far.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct SightingSoFar {
    /// Where.
    pub place: Option<Where>,
    /// Earliest and latest moment \[ms since 1970\].
    pub between_ms: Option<[i64; 2]>,
    /// Who says so.
    pub class: Option<WitnessClass>,
    /// Mark where they stood.
    pub stood: Option<String>,
    /// They saw them go under.
    pub went_under: Option<bool>,
    /// Whom they talked with.
    pub talked_with: Vec<u32>,
    /// Which missing person.
    pub missing: Option<u32>,
}

impl SightingSoFar {
    /// Whether where and when are told.
    pub fn is_whole(&self) -> bool {
        self.place.is_some() && self.between_ms.is_some()
    }
}

/// A missing person so far.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct MissingSoFar {
    /// Height \[m\].
    pub height_m: Option<f64>,
    /// Whether they swim.
    pub swimmer: Option<bool>,
    /// Brought up, or found ashore, at \[ms since 1970\].
    pub found_ms: Option<i64>,
    /// Found ashore.
    pub ashore: bool,
}

/// Somebody of the list.
#[derive(Clone, Debug, PartialEq)]
pub struct PersonSoFar {
    /// Number.
    pub person: Person,
    /// As they joined, if they came later.
    pub came: Option<Arrival>,
    /// When they came.
    pub came_ms: i64,
    /// When and why they dropped out.
    pub left: Option<(i64, WhyLeft)>,
    /// In or over the water by the log.
    pub in_water: bool,
    /// When they were counted out, last.
    pub counted_out_ms: Option<i64>,
}

/// An order as the log knows it.
#[derive(Clone, Debug, PartialEq)]
pub struct Known {
    /// As shown.
    pub shown: ShownOrder,
    /// Not to be said any more.
    pub withdrawn: bool,
    /// When it was said.
    pub said_ms: Option<i64>,
    /// When it was last put off.
    pub put_off_ms: Option<i64>,
    /// Dives counted.
    pub dives: u32,
    /// Metres reported.
    pub metres: f64,
    /// Who is under, and since when.
    pub down: Option<(i64, Vec<Person>)>,
    /// When it ended.
    pub ended_ms: Option<i64>,
    /// It ended before the end of its lane.
    pub stopped_short: bool,
    /// Until then its number stood for another order, one that nobody can have heard \[ms since 1970\].
    pub other_until_ms: Option<i64>,
}

impl Known {
    /// Whether its people have left by the clock and nobody has reported its end.
    pub fn is_open_at(&self, now_ms: i64) -> bool {
        self.shown.method.is_some()
            && !self.withdrawn
            && self.ended_ms.is_none()
            && self.shown.leaves_ms <= now_ms
    }

    /// Whether it is of a line, and nothing was said or reported of it.
    pub fn is_unheard(&self) -> bool {
        self.shown.method.is_some()
            && self.said_ms.is_none()
            && self.ended_ms.is_none()
            && self.down.is_none()
            && self.dives == 0
            && self.metres == 0.0
    }

    /// Whether heads are counted on it.
    pub fn dives_under(&self) -> bool {
        self.shown.method == Some(Method::Dive)
            || self.shown.method == Some(Method::Alone) && self.shown.lookout.is_some()
    }
}

/// A short count.
#[derive(Clone, Debug, PartialEq)]
pub struct ShortCount {
    /// Order of the line.
    pub order: OrderNumber,
    /// Since.
    pub since_ms: i64,
    /// Who went down.
    pub down: Vec<Person>,
    /// Whose face was seen.
    pub seen: BTreeSet<Person>,
}

/// One incident.
#[derive(Clone, Debug)]
pub struct Incident {
    /// Number in the log, from 1.
    pub number: u32,
    /// The day it happened on.
    pub day: Arc<DayOpened>,
    /// The morning's cards, if they had been made at the first touch.
    pub cards: Option<MorningCards>,
    /// First touch.
    pub alarm_at_ms: i64,
    /// A drill.
    pub practice: bool,
    /// How far it is.
    pub phase: Phase,
    /// Kind of alarm, once told.
    pub kind: Option<AlarmKind>,
    /// Sightings by number.
    pub sightings: BTreeMap<u32, SightingSoFar>,
    /// Missing people by number, from 1.
    pub missing: BTreeMap<u32, MissingSoFar>,
    /// People in the order of the planner's crew.
    pub people: Vec<PersonSoFar>,
    /// Orders by number.
    pub orders: BTreeMap<OrderNumber, Known>,
    /// Short counts, oldest first.
    pub short: Vec<ShortCount>,
    /// Places ashore and when they were looked at.
    pub shore: BTreeMap<String, i64>,
    /// When gate, changing rooms and shore were all looked at together.
    pub shore_all_ms: Option<i64>,
    /// When the surface was looked over, last.
    pub surface_ms: Option<i64>,
    /// Stamps of care.
    pub care: BTreeMap<CareStep, i64>,
    /// When somebody was brought up, last.
    pub found_at_ms: Option<i64>,
    /// Somebody was brought up and nobody has said yet which of the missing.
    pub found_unnamed: u32,
    /// Services called.
    pub called_ms: Option<i64>,
    /// Services here.
    pub here_ms: Option<i64>,
    /// When the clock came to stand.
    pub ended_at_ms: Option<i64>,
    /// Where the last one was found ashore, or why the alarm was stood down.
    pub ending: Option<String>,
    /// When it was widened.
    pub widened_ms: Vec<i64>,
    /// When command passed.
    pub passed_ms: Option<i64>,
    /// When practice became real.
    pub real_ms: Option<i64>,
    /// Entries of this incident, in order.
    pub entries: Vec<Arc<Entry>>,
}

impl Incident {
    /// An incident at its first touch: the day and its cards; number, moment, whether it is a drill.
    pub fn open(
        (day, cards): (Arc<DayOpened>, Option<MorningCards>),
        (number, alarm_at_ms, practice): (u32, i64, bool),
    ) -> Incident {
        let people = day.people.iter().map(|&person| PersonSoFar {
            person,
            came: None,
            came_ms: alarm_at_ms,
            left: None,
            in_water: false,
            counted_out_ms: None,
        });
        Incident {
            number,
            cards,
            alarm_at_ms,
            practice,
            phase: Phase::Asking,
            kind: None,
            sightings: BTreeMap::new(),
            missing: BTreeMap::from([(1, MissingSoFar::default())]),
            people: people.collect(),
            orders: BTreeMap::new(),
            short: Vec::new(),
            shore: BTreeMap::new(),
            shore_all_ms: None,
            surface_ms: None,
            care: BTreeMap::new(),
            found_at_ms: None,
            found_unnamed: 0,
            called_ms: None,
            here_ms: None,
            ended_at_ms: None,
            ending: None,
            widened_ms: Vec::new(),
            passed_ms: None,
            real_ms: None,
            entries: Vec::new(),
            day,
        }
    }

    /// Place of a person in the planner's crew.
    pub fn index_of(&self, person: Person) -> Option<usize> {
        self.people.iter().position(|p| p.person == person)
    }

    /// The number of whoever has a place in the planner's crew.
    pub fn person_at(&self, index: usize) -> Option<Person> {
        self.people.get(index).map(|p| p.person)
    }

    /// How many are still missing.
    pub fn still_missing(&self) -> usize {
        let open = self.missing.values().filter(|m| m.found_ms.is_none()).count();
        open.saturating_sub(self.found_unnamed as usize)
    }

    /// Whether the first sighting says where and when.
    pub fn is_told(&self) -> bool {
        self.sightings.get(&1).is_some_and(SightingSoFar::is_whole)
    }

    /// Time of day of a moment \[s after local midnight\].
    pub fn clock_s(&self, at_ms: i64) -> f64 {
        clock_s(at_ms, self.day.utc_offset_s)
    }

    /// Seconds since the alarm.
    pub fn since_s(&self, at_ms: i64) -> f64 {
        at_ms.saturating_sub(self.alarm_at_ms) as f64 / 1000.0
    }

    /// Who is in or over the water by the log alone.
    pub fn in_water(&self) -> Vec<Person> {
        self.people.iter().filter(|p| p.in_water).map(|p| p.person).collect()
    }

    /// Who must be taken to be in or over the water: by the log, or because their order's time has come.
    ///
    /// # Inputs
    /// - `now_ms`
    ///
    /// # Gives
    /// Their numbers, in the order of the list.
    ///
    /// # Source
    /// common practice, no published source: whoever may be in the water is counted
    pub fn in_water_at(&self, now_ms: i64) -> Vec<Person> {
        let ordering = matches!(self.phase, Phase::Searching);
        let sent = |p: &PersonSoFar| {
            self.orders.values().filter(|known| ordering && known.is_open_at(now_ms)).any(|known| {
                known.shown.people.contains(&p.person)
                    && p.counted_out_ms.is_none_or(|out_ms| out_ms < known.shown.leaves_ms)
            })
        };
        let wet = |p: &&PersonSoFar| p.left.is_none() && (p.in_water || sent(p));
        self.people.iter().filter(wet).map(|p| p.person).collect()
    }
}

/// Time of day of a moment \[s after local midnight\].
pub(crate) fn clock_s(at_ms: i64, utc_offset_s: i32) -> f64 {
    let day_ms = 86_400_000;
    at_ms.saturating_add(i64::from(utc_offset_s) * 1000).rem_euclid(day_ms) as f64 / 1000.0
}
