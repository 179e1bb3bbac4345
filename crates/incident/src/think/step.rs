//! One entry into the search.

use super::follow::{Followed, setting};
use super::reading::alarms;
use crate::event::{Arrival, Entry, Event};
use crate::names::mark;
use crate::opening::Water;
use crate::report::OrderNumber;
use crate::state::Phase;
use search::course::{Course, State as CourseState};
use search::told::{Happening, Newcomer, Report};
use search::{Method, Setting};
use water::{FloatRun, Member};

impl Followed {
    /// Lets time pass to the entry, then takes it in; `before` is the phase the entry met.
    pub(super) fn step(&mut self, water: &Water, entry: &Entry, before: Phase) {
        let recorded_s = self.incident.since_s(entry.recorded_at_ms);
        let at_s = self.happened_s(entry);
        let Some(mut course) = self.course.take() else { return };
        course.pass_to(recorded_s);
        self.ledger.note_begun(&course);
        match &entry.event {
            Event::SightingGiven { .. }
            | Event::AlarmKindTold { .. }
            | Event::MissingDescribed { .. }
            | Event::PersonFound { .. }
            | Event::FoundSomebodyElse
            | Event::FoundAshore { .. } => {
                let told = alarms(&self.incident, &water.site);
                course.retell(&self.setting(water), &self.told, told);
            }
            Event::CurrentMeasured { from, to, seconds } => {
                self.time_current(at_s, FloatRun { from: *from, to: *to, seconds: *seconds });
                course.current_timed(&self.setting(water), &self.told, self.currents.clone());
            }
            Event::SearchWidened => course.widen(&self.setting(water), &self.told),
            Event::ShoreLooked { place: Some(_) } => {
                course.shore_looked(at_s, self.ashore_share());
            }
            Event::OrderGiven { order } | Event::DiveBegan { order, .. } => {
                if let Some(number) = self.ledger.course_number(&course, *order) {
                    course.bind(number);
                }
            }
            Event::MetresWalked { order, metres } => {
                if let Some(number) = self.ledger.course_number(&course, *order) {
                    course.walked_to(number, at_s, *metres);
                }
            }
            event => {
                if let Some(happening) = self.happening(&course, event) {
                    let report = Report { at_s, happening, line: entry.seq as usize };
                    course.report(&self.setting(water), &self.told, &report);
                }
            }
        }
        self.turn(water, &mut course, (at_s, before, entry.seq));
        self.course = Some(course);
    }

    fn setting<'a>(&'a self, water: &'a Water) -> Setting<'a> {
        setting(water, &self.day, &self.flow)
    }

    /// What the search hears of an event, if anything.
    fn happening(&self, course: &Course, event: &Event) -> Option<Happening> {
        let number = |order: &OrderNumber| self.ledger.course_number(course, *order);
        Some(match event {
            Event::LaneWalked { order } => Happening::LaneWalked { order: number(order)? },
            Event::LaneStoppedShort { order, metres } => {
                Happening::StoppedHere { order: number(order)?, metres: *metres }
            }
            Event::LaneBrokenOff { order } => Happening::StoppedHere { order: number(order)?, metres: None },
            Event::HeadcountTaken { order, up: Some(up), down } if up >= down => {
                let number = number(order)?;
                let short = course.short.iter().any(|&(line, ..)| line == number);
                // A guard alone comes up many times in one round; a short line is lifted by its faces.
                if short || !dives_in_line(course, number) {
                    return None;
                }
                Happening::DiveMade { order: number, up: None }
            }
            Event::CountCameShort { order, up, .. } => {
                Happening::DiveMade { order: number(order)?, up: Some(*up as usize) }
            }
            Event::ShortCountLifted { order, .. } => {
                let number = number(order)?;
                let line = course.begun.iter().find(|b| b.number == number)?;
                Happening::DiveMade { order: number, up: Some(line.team.members.len()) }
            }
            Event::ContactChecked { order, note } => {
                Happening::Contact { order: order.as_ref().and_then(number), note: note.clone() }
            }
            Event::ShoreLooked { place: None } => Happening::ShoreChecked,
            Event::SurfaceLooked => Happening::SurfaceLooked,
            Event::PeopleCame { people } => Happening::PeopleCame(people.iter().map(newcomer).collect()),
            Event::PeopleLeft { people, .. } => {
                Happening::PeopleLeft(people.iter().map(|person| mark(*person)).collect())
            }
            _ => return None,
        })
    }

    /// Holds the search up, or lets it go on, as the phase says.
    fn turn(&mut self, water: &Water, course: &mut Course, (at_s, before, seq): (f64, Phase, u64)) {
        let now = self.incident.phase;
        if now == before {
            return;
        }
        let happening = match now {
            Phase::Out(_) | Phase::CountFirst => Happening::AllOut { reason: "called out".into() },
            Phase::Found | Phase::Passed | Phase::Ended => Happening::Found,
            Phase::Searching if course.state != CourseState::Searching => Happening::BackIn,
            Phase::Searching | Phase::Asking => return,
        };
        self.ledger.update(course, &setting(water, &course.day, &self.flow));
        let report = Report { at_s, happening, line: seq as usize };
        course.report(&self.setting(water), &self.told, &report);
    }
}

fn dives_in_line(course: &Course, number: usize) -> bool {
    let begun = course.begun.iter().find(|b| b.number == number).map(|b| b.team.method);
    let waiting = || {
        let k = course.numbers.iter().position(|&n| n == number)?;
        course.plan.runs.get(k).map(|run| course.plan.teams[run.team].method)
    };
    begun.or_else(waiting) == Some(Method::Dive)
}

pub(super) fn newcomer(arrival: &Arrival) -> Newcomer {
    let member = Member {
        name: mark(arrival.person),
        height_m: arrival.height_m,
        wade: arrival.wade,
        dive_m: arrival.dive_m,
        board: false,
        lookout: arrival.lookout,
        lead: false,
        volunteer: arrival.tag.is_some(),
        post: String::new(),
        hours: Vec::new(),
    };
    Newcomer { member, at: arrival.at.clone() }
}
