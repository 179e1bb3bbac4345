//! One incident as it is followed: its own fold of the log, and the search beside it.

use super::Effort;
use super::ledger::Ledger;
use super::reading::{alarm, alarms};
use super::step::newcomer;
use super::thought::Thought;
use crate::event::{Entry, Event};
use crate::names::mark;
use crate::opening::{Water, marked};
use crate::report::Where;
use crate::state::{Incident, Phase};
use measure::Seed;
use search::Setting;
use search::belief::{Belief, Currents};
use search::course::{Course, Opening, Told};
use search::told::{Happening, Report};
use search::zero::Zero;
use std::sync::Arc;
use water::{Day, FloatRun, Flow};

/// Size of the cloud that is shown before anything is told.
const FIRST_PARTICLES: usize = 20_000;

/// A card with the words for its place, if there is one.
type Read = Option<(String, Zero)>;

/// An incident followed so far.
#[derive(Debug)]
pub(super) struct Followed {
    /// As the log says up to the last entry taken.
    pub incident: Incident,
    /// The day, marks in the place of names.
    pub day: Day,
    /// The newest current.
    pub flow: Flow,
    /// Currents by time.
    pub currents: Currents,
    /// Floats timed since the alarm.
    pub floats: Vec<FloatRun>,
    pub told: Told,
    /// The search, once where and when are told.
    pub course: Option<Course>,
    /// The belief before that.
    pub first: Option<Belief>,
    pub ledger: Ledger,
    /// The morning's card of a place, worked out before the time was told.
    ahead: Option<(Where, Read)>,
    /// The place of the morning's card that was held against the first plan, in words.
    pub card_of: Option<String>,
    /// When the last entry that matters was recorded.
    pub at_ms: i64,
    effort: Effort,
}

impl Followed {
    /// An incident before its first entry.
    pub fn open(water: &Water, incident: &Incident, effort: Effort) -> Followed {
        let alarm_of = (incident.number, incident.alarm_at_ms, first_practice(incident));
        let bare = Incident::open((incident.day.clone(), incident.cards), alarm_of);
        let day = marked(&incident.day);
        let told = Told {
            alarm: alarm(&bare, &water.site, 1),
            reports: Vec::new(),
            now_s: None,
            // Every incident of a day has chances of its own.
            seed: Seed(incident.day.seed.wrapping_add(u64::from(incident.number))),
            particles: effort.particles,
            effort: effort.plans,
        };
        let flow = Flow::from_floats(&day.floats).value;
        Followed {
            incident: bare,
            day,
            currents: Currents::steady(flow.clone()),
            flow,
            floats: Vec::new(),
            told,
            course: None,
            first: None,
            ledger: Ledger::default(),
            ahead: None,
            card_of: None,
            at_ms: incident.alarm_at_ms,
            effort,
        }
    }

    /// Takes in what the log has gained; gives whether the thought may have changed.
    pub fn follow(&mut self, water: &Water, now: &Incident) -> bool {
        let mut changed = false;
        for entry in &now.entries[self.incident.entries.len().min(now.entries.len())..] {
            changed |= self.take(water, entry);
        }
        changed
    }

    fn take(&mut self, water: &Water, entry: &Arc<Entry>) -> bool {
        let before = self.incident.phase;
        self.incident.apply(entry);
        if !matters(&entry.event) {
            return false;
        }
        self.at_ms = entry.recorded_at_ms;
        // What was shown before anything was told belongs to the entry before.
        self.first = None;
        if self.course.is_none() && self.incident.phase == Phase::Searching {
            self.begin(water, entry);
        } else if self.course.is_some() {
            self.step(water, entry, before);
        }
        self.update_ledger(water);
        true
    }

    /// Where and when are told: the search begins, with everything that was told before.
    fn begin(&mut self, water: &Water, entry: &Entry) {
        self.told.alarm = alarm(&self.incident, &water.site, 1);
        self.told.particles = self.effort.particles;
        let all = alarms(&self.incident, &water.site);
        let (mut reports, mut places) = (Vec::new(), Vec::new());
        let earlier: Vec<Arc<Entry>> = self.incident.entries.clone();
        for old in earlier.iter().filter(|old| old.seq < entry.seq) {
            let at_s = self.happened_s(old);
            match &old.event {
                Event::CurrentMeasured { from, to, seconds } => {
                    self.time_current(at_s, FloatRun { from: *from, to: *to, seconds: *seconds });
                }
                Event::ShoreLooked { place: Some(_) } => places.push(at_s),
                event => reports.extend(told_before(event).map(|happening| Report {
                    at_s,
                    happening,
                    line: old.seq as usize,
                })),
            }
        }
        let card = self.card(water);
        let opening = Opening {
            now_s: self.incident.since_s(entry.recorded_at_ms),
            others: &all[1..],
            reports: &reports,
            currents: Some(&self.currents),
            card: card.as_ref().map(|(_, zero)| zero),
        };
        self.told.alarm.clone_from(&all[0]);
        let mut course = Course::open_with(&setting(water, &self.day, &self.flow), &self.told, &opening);
        let share = self.ashore_share();
        places.into_iter().for_each(|at_s| course.shore_looked(at_s, share));
        self.card_of = card.map(|(place, _)| place);
        (self.course, self.first) = (Some(course), None);
    }

    /// The morning's card of the place that was told; the one worked out ahead, if it is of that place.
    fn card(&mut self, water: &Water) -> Read {
        let told = self.incident.sightings.get(&1).and_then(|sighting| sighting.place.as_ref());
        match self.ahead.take() {
            Some((place, read)) if Some(&place) == told => read,
            _ => self.incident.cards.and_then(|cards| cards.read(&self.incident, water)),
        }
    }

    /// Works ahead what the next entry will most likely ask for: the card of a place while the time is still asked.
    pub fn prepare(&mut self, water: &Water) {
        let told = self.incident.sightings.get(&1).and_then(|sighting| sighting.place.clone());
        let Some(place) = told.filter(|_| self.course.is_none() && self.incident.phase == Phase::Asking)
        else {
            return;
        };
        if self.ahead.as_ref().is_none_or(|(known, _)| *known != place) {
            let read = self.card(water);
            self.ahead = Some((place, read));
        }
    }

    /// The current was timed again: it holds from then on, and the morning's floats count no more.
    pub(super) fn time_current(&mut self, at_s: f64, float: FloatRun) {
        self.floats.push(float);
        self.flow = Flow::from_floats(&self.floats).value;
        self.currents.timed(at_s, self.flow.clone());
    }

    /// When an entry happened \[s since the alarm\].
    pub(super) fn happened_s(&self, entry: &Entry) -> f64 {
        let recorded_s = self.incident.since_s(entry.recorded_at_ms);
        self.incident.since_s(entry.happened_at_ms).min(recorded_s).max(0.0)
    }

    /// The part of one place among all the places ashore.
    pub(super) fn ashore_share(&self) -> f64 {
        1.0 / self.incident.day.ashore.len().max(1) as f64
    }

    fn update_ledger(&mut self, water: &Water) {
        if let Some(course) = &self.course {
            self.ledger.update(course, &setting(water, &course.day, &self.flow));
        }
    }

    /// The thought of now.
    pub fn thought(&mut self, water: &Water, seq: u64) -> Thought {
        if self.course.is_none() && self.first.is_none() {
            let told = alarm(&self.incident, &water.site, 1);
            let particles = self.effort.particles.min(FIRST_PARTICLES);
            let setting = setting(water, &self.day, &self.flow);
            self.first = Some(Belief::start(&setting, &told, self.told.seed, particles).value);
        }
        Thought::of(self, water, seq)
    }
}

/// Water and day as the search sees them.
pub(super) fn setting<'a>(water: &'a Water, day: &'a Day, flow: &'a Flow) -> Setting<'a> {
    Setting { site: &water.site, day, ground: &water.ground, flow }
}

/// Whether an entry can change belief, plan or orders.
fn matters(event: &Event) -> bool {
    !matches!(
        event,
        Event::OrdersShown { .. }
            | Event::OrderPutOff { .. }
            | Event::CardsMade(_)
            | Event::RoleTaken { .. }
            | Event::NoteMade { .. }
            | Event::ServicesCalled
            | Event::ServicesArrived
            | Event::CareGiven { .. }
            | Event::FaceSeen { .. }
            | Event::Unknown(_)
    )
}

/// What a search hears of an entry that was made before where and when were told.
fn told_before(event: &Event) -> Option<Happening> {
    Some(match event {
        Event::PeopleCame { people } => Happening::PeopleCame(people.iter().map(newcomer).collect()),
        Event::PeopleLeft { people, .. } => {
            Happening::PeopleLeft(people.iter().map(|person| mark(*person)).collect())
        }
        Event::ShoreLooked { place: None } => Happening::ShoreChecked,
        Event::SurfaceLooked => Happening::SurfaceLooked,
        _ => return None,
    })
}

/// Whether an incident began as a drill: the flag of its first entry, since practice can become real.
fn first_practice(incident: &Incident) -> bool {
    incident
        .entries
        .iter()
        .find_map(|entry| match entry.event {
            Event::SwimmerReportedMissing { practice } => Some(practice),
            _ => None,
        })
        .unwrap_or(incident.practice)
}
