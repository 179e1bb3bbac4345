//! Entries of the log as words.

use super::View;
use super::ashore::place_words;
use super::clock::clock;
use crate::event::{DayOpened, Entry, Event};
use crate::names::{Names, mark};
use crate::report::{CareStep, Person, Role, WhyLeft, WhyOut};
use crate::screen::LogLine;
use water::Units;

/// Entries on a screen.
const LINES: usize = 40;
/// An entry recorded so much later than it happened says both \[ms\].
const LATE_MS: i64 = 10_000;

impl View<'_> {
    /// The last entries, newest first.
    pub(crate) fn log(&self) -> Vec<LogLine> {
        let Some(incident) = self.incident() else { return Vec::new() };
        incident
            .entries
            .iter()
            .rev()
            .take(LINES)
            .map(|entry| log_line(entry, self.names, &incident.day))
            .collect()
    }
}

/// One entry as a line, in the time and the units of its day.
pub(crate) fn log_line(entry: &Entry, names: &Names, day: &DayOpened) -> LogLine {
    let late = entry.recorded_at_ms - entry.happened_at_ms > LATE_MS;
    LogLine {
        seq: entry.seq,
        happened_ms: entry.happened_at_ms,
        recorded_ms: late.then_some(entry.recorded_at_ms),
        words: names.say(&words(&entry.event, day)),
    }
}

fn all(people: &[Person]) -> String {
    people.iter().map(|&person| mark(person)).collect::<Vec<_>>().join(", ")
}

/// What happened, marks in the place of names. No headcount says how many: the next count must not be read off it.
fn words(event: &Event, on: &DayOpened) -> String {
    match event {
        Event::DayOpened(day) => format!("day opened: {}", day.day.date),
        Event::CardsMade(cards) => match cards.squares {
            0 => "morning's cards made, by zone".into(),
            squares => format!("morning's cards made, by zone and for {squares} squares"),
        },
        Event::SwimmerReportedMissing { practice: true } => "PRACTICE: swimmer missing".into(),
        Event::SwimmerReportedMissing { .. } => "swimmer missing".into(),
        Event::SightingGiven { .. } | Event::AlarmKindTold { .. } | Event::MissingDescribed { .. } => {
            told(event, on)
        }
        Event::OrdersShown { orders, withdrawn, .. } => {
            let list = |numbers: Vec<String>| numbers.join(", ");
            let shown = list(orders.iter().map(|o| o.order.to_string()).collect());
            match withdrawn.len() {
                0 => format!("orders shown: {shown}"),
                _ => format!(
                    "orders shown: {shown}; replaced: {}",
                    list(withdrawn.iter().map(|n| n.to_string()).collect())
                ),
            }
        }
        Event::ShoreLooked { place } => {
            format!("{} looked at", place.as_deref().unwrap_or("gate, changing rooms, shore"))
        }
        Event::SurfaceLooked => "surface looked over".into(),
        Event::PeopleCame { people } => {
            let came = people.iter().map(|a| match a.tag {
                Some(tag) => format!("{} (volunteer, tag {tag})", mark(a.person)),
                None => mark(a.person),
            });
            format!("came: {}", came.collect::<Vec<_>>().join(", "))
        }
        Event::PeopleLeft { people, why } => format!("dropped out, {}: {}", why_left(*why), all(people)),
        Event::CurrentMeasured { from, to, seconds } => {
            let far = on.units.distance(from.distance(*to));
            format!("current timed: {far} in {seconds:.0} s, toward {}", from.bearing_to(*to).word())
        }
        Event::RoleTaken { role, person } => {
            let who = person.map_or("a device".to_string(), mark);
            format!("{who} takes {}", role_words(*role))
        }
        Event::NoteMade { words } => format!("remark: {words}"),
        Event::ServicesCalled => "services called".into(),
        Event::ServicesArrived => "services are here".into(),
        Event::Unknown(fields) => {
            let name = fields.get("event").and_then(|name| name.as_str()).unwrap_or("without a name");
            format!("an entry of a later program: {}", name.chars().take(40).collect::<String>())
        }
        _ => line_or_turn(event, on.units),
    }
}

fn told(event: &Event, on: &DayOpened) -> String {
    let offset_s = on.utc_offset_s;
    match event {
        Event::SightingGiven { number, place, between_ms, went_under, stood, .. } => {
            let place = place.as_ref().map(|place| place_words(place, on.units));
            let time = between_ms.map(|[from, to]| match to - from {
                0..1000 => clock(to, offset_s),
                _ => format!("{} to {}", clock(from, offset_s), clock(to, offset_s)),
            });
            let under = went_under.filter(|under| *under).map(|_| "saw them go under".to_string());
            let stood = stood.as_ref().map(|mark| format!("stood at {mark}"));
            let parts: Vec<String> = [place, time, under, stood].into_iter().flatten().collect();
            let parts = if parts.is_empty() { "who says so".to_string() } else { parts.join(", ") };
            format!("sighting {number}: {parts}")
        }
        Event::AlarmKindTold { kind } => format!("kind of alarm: {}", kind_words(*kind)),
        Event::MissingDescribed { missing, height_m, .. } => {
            let height = height_m.map(|m| format!(", {}", on.units.height(m))).unwrap_or_default();
            format!("missing person {missing} described{height}")
        }
        _ => String::new(),
    }
}

fn line_or_turn(event: &Event, units: Units) -> String {
    match event {
        Event::OrderGiven { order } => format!("order {order} said"),
        Event::OrderPutOff { order } => format!("order {order} put off"),
        Event::DiveBegan { order, .. } => format!("order {order}: they are down"),
        Event::HeadcountTaken { order, up: None, .. } => format!("order {order}: heads not called"),
        Event::HeadcountTaken { order, up: Some(up), down } if up >= down => {
            format!("order {order}: counted, all up")
        }
        Event::HeadcountTaken { order, .. } => format!("order {order}: counted, not all up"),
        Event::CountCameShort { order, .. } => format!("order {order}: COUNT SHORT, searcher missing"),
        Event::MetresWalked { order, metres } => format!("order {order}: {} walked", units.distance(*metres)),
        Event::LaneWalked { order } => format!("order {order}: lane walked, nobody found on it"),
        Event::LaneStoppedShort { order, metres: Some(m) } => {
            format!("order {order}: ended early after {}", units.distance(*m))
        }
        Event::LaneStoppedShort { order, .. } => format!("order {order}: ended early"),
        Event::ContactChecked { order, note } => {
            let lane = order.map(|order| format!("order {order}: ")).unwrap_or_default();
            format!("{lane}contact, not the person{}{note}", if note.is_empty() { "" } else { ": " })
        }
        Event::LaneBrokenOff { order } => format!("order {order} broken off for a better lane"),
        Event::FaceSeen { person, seen: true } => format!("{} seen up", mark(*person)),
        Event::FaceSeen { person, .. } => format!("{} not seen yet after all", mark(*person)),
        Event::ShortCountLifted { order, .. } => {
            format!("order {order}: every face seen, short count lifted")
        }
        Event::AllCalledOut { why } => format!("ALL OUT: {}", why_out(*why)),
        Event::SearchResumed => "back in: the search goes on".into(),
        Event::SearchWidened => "search widened".into(),
        Event::PersonFound { missing: Some(n) } => format!("FOUND: missing person {n} brought up"),
        Event::PersonFound { .. } => "FOUND: somebody brought up".into(),
        Event::FoundSomebodyElse => "not them: the search goes on".into(),
        Event::CareGiven { step, done: true } => care_words(*step).into(),
        Event::CareGiven { step, .. } => format!("{}: stamp taken back", care_words(*step)),
        Event::SearchersCountedOut { people } if people.is_empty() => "counted out: nobody was in".into(),
        Event::SearchersCountedOut { people } => format!("counted out: {}", all(people)),
        Event::FoundAshore { missing, place } => {
            let place = place.as_ref().map(|place| format!(": {place}")).unwrap_or_default();
            format!("missing person {missing} found ashore{place}")
        }
        Event::StoodDown { reason } => format!("stood down: {reason}"),
        Event::CommandPassed => "command passed to the services".into(),
        Event::PracticeEnded { in_water } if in_water.is_empty() => "THIS IS REAL: practice is over".into(),
        Event::PracticeEnded { .. } => "THIS IS REAL: practice is over, searchers are counted first".into(),
        _ => String::new(),
    }
}

fn why_left(why: WhyLeft) -> &'static str {
    match why {
        WhyLeft::Left => "left",
        WhyLeft::Tired => "tired or cold",
        WhyLeft::Unwell => "hurt or unwell",
    }
}

fn why_out(why: WhyOut) -> &'static str {
    match why {
        WhyOut::Thunder => "thunder",
        WhyOut::Cold => "cold",
        WhyOut::Unsafe => "unsafe",
    }
}

fn kind_words(kind: search::AlarmKind) -> &'static str {
    match kind {
        search::AlarmKind::SeenGoingUnder => "seen going under",
        search::AlarmKind::CountShort => "count of bathers came out short",
        search::AlarmKind::CannotBeFound => "cannot be found",
    }
}

fn care_words(step: CareStep) -> &'static str {
    match step {
        CareStep::Surfaced => "surfaced",
        CareStep::OutOfWater => "out of the water",
        CareStep::Identified => "it is them",
        CareStep::FirstBreath => "first breath",
        CareStep::Compressions => "compressions begun",
        CareStep::Aed => "defibrillator attached",
        CareStep::HandedOver => "handed over",
    }
}

fn role_words(role: Role) -> &'static str {
    match role {
        Role::Lead => "the lead",
        Role::Deputy => "the part of deputy",
        Role::LineLeader => "a line to read to",
        Role::Recorder => "the recording",
        Role::Gate => "gate and phone",
        Role::Viewer => "a screen to look on",
    }
}
