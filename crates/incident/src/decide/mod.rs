//! Whether a report can be, and what it means: facts to be kept, or a refusal with the way out.
//!
//! Nothing that people at the water say is refused because it is awkward: only what cannot have been, what
//! a role may not do, and what would hide a searcher.
//! Start reading at [`decide`]; the codes are explained in docs/problems.md.

mod ends;
mod lines;
mod people;
mod refusal;
mod roles;
mod told;

pub use refusal::Refusal;
pub use roles::{may, name_of};

use crate::event::Event;
use crate::names::NameNote;
use crate::report::{Person, Report, Role, Sent};
use crate::state::State;
use refusal::refuse;

/// Who sends.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sender {
    /// Device.
    pub device: String,
    /// Its role.
    pub role: Role,
    /// Person at it, if known.
    pub person: Option<Person>,
}

/// A report accepted.
#[derive(Clone, Debug, PartialEq)]
pub struct Decided {
    /// Facts, to be appended in this order.
    pub events: Vec<Event>,
    /// What is kept apart from the log.
    pub names: Vec<NameNote>,
    /// When it happened \[ms since 1970\].
    pub happened_at_ms: i64,
}

/// Longest report number of a device.
const ID_MOST: usize = 64;
/// A report may say that it happened so long ago, no longer \[ms\].
const OLDEST_MS: i64 = 24 * 3_600_000;
/// A device's clock may run ahead by so much; what lies further in the future is a mistake \[ms\].
const AHEAD_MS: i64 = 120_000;

/// What it takes to judge a report.
pub(crate) struct Case<'a> {
    pub state: &'a State,
    /// When it happened.
    pub at_ms: i64,
}

/// Judges one report.
///
/// # Inputs
/// - `state`: what is known · `sender` · `sent` · `now_ms`: when it will be recorded
///
/// # Gives
/// The facts it means, or why it cannot be and the way out. The same report number of the same device is not
/// looked for here: whoever keeps the log answers that it was recorded before.
///
/// # Source
/// docs/handbook/alarm-room.md
pub fn decide(state: &State, sender: &Sender, sent: &Sent, now_ms: i64) -> Result<Decided, Refusal> {
    let id = &sent.report_id;
    if id.is_empty() || id.len() > ID_MOST || !id.bytes().all(|b| b.is_ascii_alphanumeric() || b == b'-') {
        return refuse(
            "I101",
            "a report number is 1 to 64 letters, digits or -",
            "send it with a new number",
        );
    }
    let at_ms = happened_at(state, sent, now_ms)?;
    let case = Case { state, at_ms };
    if !may(state, sender).iter().any(|name| *name == name_of(&sent.report)) {
        return Err(roles::why_not(state, sender, &sent.report));
    }
    let (events, names) = case.judge(&sent.report)?;
    Ok(Decided { events, names, happened_at_ms: at_ms })
}

fn happened_at(state: &State, sent: &Sent, now_ms: i64) -> Result<i64, Refusal> {
    let Some(said_ms) = sent.happened_at_ms else { return Ok(now_ms) };
    if said_ms > now_ms.saturating_add(AHEAD_MS) {
        return refuse(
            "I102",
            "the time given has not come yet",
            "correct the time, or leave it out for now",
        );
    }
    if said_ms < now_ms.saturating_sub(OLDEST_MS) {
        return refuse("I102", "the time given is more than a day ago", "correct the time");
    }
    let opens = matches!(sent.report, Report::SwimmerMissing { .. });
    let alarm_ms = state.open().map(|incident| incident.alarm_at_ms);
    match alarm_ms {
        Some(alarm_ms) if !opens && said_ms < alarm_ms => refuse(
            "I102",
            "the time given lies before the alarm",
            "correct the time; a sighting takes \"ago\"",
        ),
        _ => Ok(said_ms.min(now_ms)),
    }
}

type Facts = Result<(Vec<Event>, Vec<NameNote>), Refusal>;

/// Facts without anything to be kept apart.
fn only(event: Event) -> Facts {
    Ok((vec![event], Vec::new()))
}

impl Case<'_> {
    fn judge(&self, report: &Report) -> Facts {
        match report {
            Report::SwimmerMissing { .. }
            | Report::Sighting { .. }
            | Report::KindTold { .. }
            | Report::MissingTold { .. }
            | Report::CurrentMeasured { .. }
            | Report::Note { .. } => self.told(report),
            Report::SaidIt { .. }
            | Report::NotNow { .. }
            | Report::TheyAreDown { .. }
            | Report::Headcount { .. }
            | Report::MetresWalked { .. }
            | Report::LaneWalked { .. }
            | Report::StoppedHere { .. }
            | Report::Contact { .. }
            | Report::BreakOff { .. }
            | Report::FaceSeen { .. }
            | Report::ShortLifted { .. } => self.line(report),
            Report::PeopleCame { .. }
            | Report::PeopleLeft { .. }
            | Report::CountedOut { .. }
            | Report::RoleTaken { .. } => self.people(report),
            _ => self.turn(report),
        }
    }
}
