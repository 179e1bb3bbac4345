//! One incident as it is followed: its own fold of the log, and the search beside it.

use super::Effort;
use super::ledger::Ledger;
use super::reading::{alarm, alarms};
use super::thought::Thought;
use crate::event::{Entry, Event};
use crate::opening::{Water, marked};
use crate::state::{Incident, Phase};
use measure::Seed;
use search::Setting;
use search::belief::Belief;
use search::course::{Course, Told};
use std::sync::Arc;
use water::{Day, FloatRun, Flow};

/// Size of the cloud that is shown before anything is told.
const FIRST_PARTICLES: usize = 20_000;

/// An incident followed so far.
#[derive(Debug)]
pub(super) struct Followed {
    /// As the log says up to the last entry taken.
    pub incident: Incident,
    /// The day, marks in the place of names.
    pub day: Day,
    pub flow: Flow,
    /// Floats timed since the alarm.
    pub floats: Vec<FloatRun>,
    pub told: Told,
    /// The search, once where and when are told.
    pub course: Option<Course>,
    /// The belief before that.
    pub first: Option<Belief>,
    pub ledger: Ledger,
    /// When the last entry that matters was recorded.
    pub at_ms: i64,
    effort: Effort,
}

impl Followed {
    /// An incident before its first entry.
    pub fn open(water: &Water, incident: &Incident, effort: Effort) -> Followed {
        let alarm_of = (incident.number, incident.alarm_at_ms, first_practice(incident));
        let bare = Incident::open(incident.day.clone(), alarm_of);
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
        let (floats, ledger) = (Vec::new(), Ledger::default());
        let at_ms = incident.alarm_at_ms;
        Followed { incident: bare, day, flow, floats, told, course: None, first: None, ledger, at_ms, effort }
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
        let now_s = self.incident.since_s(entry.recorded_at_ms);
        let course = Course::open_at(&setting(water, &self.day, &self.flow), &self.told, now_s);
        let setting = setting(water, &self.day, &self.flow);
        let mut course = course;
        course.retell(&setting, &self.told, alarms(&self.incident, &water.site));
        (self.course, self.first) = (Some(course), None);
        // An order has its words before its time can come.
        self.update_ledger(water);
        let earlier: Vec<Arc<Entry>> = self.incident.entries.clone();
        for old in earlier.iter().filter(|old| old.seq < entry.seq && is_told_before(&old.event)) {
            self.step(water, old, Phase::Searching);
            self.update_ledger(water);
        }
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
            | Event::RoleTaken { .. }
            | Event::NoteMade { .. }
            | Event::ServicesCalled
            | Event::ServicesArrived
            | Event::CareGiven { .. }
            | Event::FaceSeen { .. }
            | Event::Unknown(_)
    )
}

/// What changes a search although it was reported before the search began.
fn is_told_before(event: &Event) -> bool {
    matches!(
        event,
        Event::PeopleCame { .. }
            | Event::PeopleLeft { .. }
            | Event::CurrentMeasured { .. }
            | Event::ShoreLooked { .. }
            | Event::SurfaceLooked
    )
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
