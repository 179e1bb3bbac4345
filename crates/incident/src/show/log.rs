//! Entries of the log as words.

use super::View;
use super::ashore::place_words;
use crate::event::{Entry, Event};
use crate::names::Names;
use crate::report::CareStep;
use crate::screen::LogLine;

/// Entries on a screen.
const LINES: usize = 40;
/// An entry recorded so much later than it happened says both \[ms\].
const LATE_MS: i64 = 10_000;

impl View<'_> {
    /// The last entries, newest first.
    pub(crate) fn log(&self) -> Vec<LogLine> {
        let Some(incident) = self.incident() else { return Vec::new() };
        incident.entries.iter().rev().take(LINES).map(|entry| log_line(entry, self.names)).collect()
    }
}

/// One entry as a line.
pub(crate) fn log_line(entry: &Entry, names: &Names) -> LogLine {
    let late = entry.recorded_at_ms - entry.happened_at_ms > LATE_MS;
    LogLine {
        seq: entry.seq,
        happened_ms: entry.happened_at_ms,
        recorded_ms: late.then_some(entry.recorded_at_ms),
        words: names.say(&words(&entry.event, names)),
    }
}

fn words(event: &Event, names: &Names) -> String {
    let name = |person: &u32| names.person(*person);
    let all = |people: &[u32]| people.iter().map(name).collect::<Vec<_>>().join(", ");
    match event {
        Event::DayOpened(day) => format!("day opened: {}", day.day.date),
        Event::SwimmerReportedMissing { practice: true } => "PRACTICE: swimmer missing".into(),
        Event::SwimmerReportedMissing { .. } => "swimmer missing".into(),
        Event::SightingGiven { number, place, between_ms, .. } => {
            let place = place.as_ref().map(place_words).unwrap_or_default();
            let time = if between_ms.is_some() { ", time told" } else { "" };
            format!("sighting {number}: {place}{time}")
        }
        Event::AlarmKindTold { kind } => format!("kind of alarm: {}", kind_words(*kind)),
        Event::MissingDescribed { missing, .. } => format!("missing person {missing} described"),
        Event::OrdersShown { orders, .. } => format!("orders shown: {}", orders.len()),
        Event::OrderGiven { order } => format!("order {order} said"),
        Event::OrderPutOff { order } => format!("order {order} put off"),
        Event::DiveBegan { order, .. } => format!("order {order}: they are down"),
        Event::HeadcountTaken { order, up: None, .. } => format!("order {order}: heads not called"),
        Event::HeadcountTaken { order, up: Some(up), down } if up >= down => {
            format!("order {order}: counted, all up")
        }
        Event::HeadcountTaken { order, .. } => format!("order {order}: counted"),
        Event::CountCameShort { order, .. } => format!("order {order}: COUNT SHORT"),
        Event::MetresWalked { order, metres } => format!("order {order}: {metres:.0} m walked"),
        Event::LaneWalked { order } => format!("order {order}: lane walked, nobody found on it"),
        Event::LaneStoppedShort { order, .. } => format!("order {order}: stopped here"),
        Event::ContactChecked { note, .. } => format!("contact, not the person: {note}"),
        Event::ShoreLooked { place } => format!("{} looked at", place.as_deref().unwrap_or("gate and shore")),
        Event::SurfaceLooked => "surface looked over".into(),
        Event::PeopleCame { people } => {
            format!("came: {}", all(&people.iter().map(|a| a.person).collect::<Vec<_>>()))
        }
        Event::PeopleLeft { people, .. } => format!("dropped out: {}", all(people)),
        Event::CurrentMeasured { from, to, seconds } => {
            format!("current timed: {:.0} m in {seconds:.0} s", from.distance(*to))
        }
        Event::AllCalledOut { .. } => "ALL OUT".into(),
        Event::SearchResumed => "back in".into(),
        Event::LaneBrokenOff { order } => format!("order {order} broken off"),
        Event::FaceSeen { person, seen } => {
            format!("{} {}", name(person), if *seen { "seen up" } else { "not seen yet" })
        }
        Event::ShortCountLifted { order, .. } => {
            format!("order {order}: every face seen, short count lifted")
        }
        Event::SearchWidened => "search widened".into(),
        Event::PersonFound { .. } => "FOUND".into(),
        Event::FoundSomebodyElse => "not them: the search goes on".into(),
        Event::CareGiven { step, done } => {
            format!("{}{}", care_words(*step), if *done { "" } else { ": stamp taken back" })
        }
        Event::SearchersCountedOut { people } => format!("counted out: {}", all(people)),
        Event::FoundAshore { missing, place } => {
            format!(
                "missing person {missing} found ashore{}",
                place.as_ref().map(|p| format!(": {p}")).unwrap_or_default()
            )
        }
        Event::StoodDown { reason } => format!("stood down: {reason}"),
        Event::CommandPassed => "command passed to the services".into(),
        Event::ServicesCalled => "services called".into(),
        Event::ServicesArrived => "services are here".into(),
        Event::PracticeEnded { .. } => "THIS IS REAL".into(),
        Event::RoleTaken { role, person } => {
            let who = person.as_ref().map(name).unwrap_or_else(|| "a device".into());
            format!("{who} takes {}", role_words(*role))
        }
        Event::NoteMade { words } => words.clone(),
        Event::Unknown(_) => "an entry of a later program".into(),
    }
}

fn kind_words(kind: search::AlarmKind) -> &'static str {
    match kind {
        search::AlarmKind::SeenGoingUnder => "seen going under",
        search::AlarmKind::CountShort => "count of bathers is short",
        search::AlarmKind::CannotBeFound => "cannot be found",
    }
}

fn care_words(step: CareStep) -> &'static str {
    match step {
        CareStep::Surfaced => "surfaced",
        CareStep::OutOfWater => "out of the water",
        CareStep::Identified => "it is them",
        CareStep::FirstBreath => "first breath",
        CareStep::Compressions => "compressions",
        CareStep::Aed => "defibrillator",
        CareStep::HandedOver => "handed over",
    }
}

fn role_words(role: crate::report::Role) -> &'static str {
    match role {
        crate::report::Role::Lead => "the lead",
        crate::report::Role::Deputy => "deputy",
        crate::report::Role::LineLeader => "line leader",
        crate::report::Role::Recorder => "recorder",
        crate::report::Role::Gate => "gate",
        crate::report::Role::Viewer => "viewer",
    }
}
