//! Which role may send what, and when.

use super::{Refusal, Sender};
use crate::report::{Report, Role};
use crate::state::{Incident, Phase, State};

/// The name of a report as it is sent (`what`).
pub fn name_of(report: &Report) -> &'static str {
    match report {
        Report::SwimmerMissing { .. } => "swimmer_missing",
        Report::Sighting { .. } => "sighting",
        Report::KindTold { .. } => "kind_told",
        Report::MissingTold { .. } => "missing_told",
        Report::SaidIt { .. } => "said_it",
        Report::NotNow { .. } => "not_now",
        Report::TheyAreDown { .. } => "they_are_down",
        Report::Headcount { .. } => "headcount",
        Report::MetresWalked { .. } => "metres_walked",
        Report::LaneWalked { .. } => "lane_walked",
        Report::StoppedHere { .. } => "stopped_here",
        Report::Contact { .. } => "contact",
        Report::ShoreChecked { .. } => "shore_checked",
        Report::SurfaceLooked => "surface_looked",
        Report::PeopleCame { .. } => "people_came",
        Report::PeopleLeft { .. } => "people_left",
        Report::CurrentMeasured { .. } => "current_measured",
        Report::AllOut { .. } => "all_out",
        Report::BackIn => "back_in",
        Report::BreakOff { .. } => "break_off",
        Report::FaceSeen { .. } => "face_seen",
        Report::ShortLifted { .. } => "short_lifted",
        Report::Widen => "widen",
        Report::Found { .. } => "found",
        Report::NotThem => "not_them",
        Report::Care { .. } => "care",
        Report::CountedOut { .. } => "counted_out",
        Report::FoundAshore { .. } => "found_ashore",
        Report::StoodDown { .. } => "stood_down",
        Report::CommandPassed { .. } => "command_passed",
        Report::Services { .. } => "services",
        Report::ThisIsReal => "this_is_real",
        Report::RoleTaken { .. } => "role_taken",
        Report::Note { .. } => "note",
    }
}

/// What only the lead or a deputy may send.
const LEAD: [&str; 8] =
    ["said_it", "not_now", "back_in", "break_off", "widen", "not_them", "stood_down", "command_passed"];
/// What whoever records may send besides what everybody may.
const RECORD: [&str; 11] = [
    "kind_told",
    "they_are_down",
    "headcount",
    "metres_walked",
    "lane_walked",
    "stopped_here",
    "people_came",
    "people_left",
    "current_measured",
    "surface_looked",
    "counted_out",
];
/// What everybody but a viewer may send while an incident runs.
const ALL: [&str; 12] = [
    "sighting",
    "missing_told",
    "contact",
    "shore_checked",
    "all_out",
    "face_seen",
    "found",
    "care",
    "found_ashore",
    "services",
    "kind_told",
    "note",
];
/// What a line leader may send besides.
const LINE: [&str; 6] =
    ["they_are_down", "headcount", "metres_walked", "lane_walked", "stopped_here", "people_left"];
/// What belongs to giving orders, and ends when command passes.
const ORDERS: [&str; 8] =
    ["said_it", "not_now", "break_off", "widen", "back_in", "command_passed", "kind_told", "this_is_real"];

/// Names of the reports (`what`) that a device may send now.
///
/// # Inputs
/// - `state` · `sender`
///
/// # Gives
/// The names; whoever sends another is refused with the reason.
///
/// # Source
/// docs/handbook/alarm-room.md (who may do what)
pub fn may(state: &State, sender: &Sender) -> Vec<&'static str> {
    let mut all = vec!["role_taken"];
    let viewer = sender.role == Role::Viewer;
    match state.open() {
        None if !viewer && state.day.is_some() => all.extend(["swimmer_missing", "note"]),
        None => {}
        Some(incident) => {
            if incident.practice {
                all.push("this_is_real");
            }
            if !viewer {
                all.extend(of_role(sender.role));
                all.retain(|name| fits(incident, name));
            }
        }
    }
    let mut once: Vec<&str> = Vec::new();
    for name in all {
        if !once.contains(&name) {
            once.push(name);
        }
    }
    once
}

fn of_role(role: Role) -> Vec<&'static str> {
    let mut all = ALL.to_vec();
    match role {
        Role::Lead | Role::Deputy => {
            all.extend(LEAD);
            all.extend(RECORD);
            all.push("short_lifted");
        }
        // The recorder types for the lookout, who may lift a short count.
        Role::Recorder => {
            all.extend(RECORD);
            all.push("short_lifted");
        }
        Role::LineLeader => all.extend(LINE),
        Role::Gate => all.extend(["people_came", "counted_out", "surface_looked"]),
        Role::Viewer => {}
    }
    all
}

/// Whether a report has a sense in the phase an incident is in.
fn fits(incident: &Incident, name: &str) -> bool {
    let counting = matches!(incident.phase, Phase::Out(_) | Phase::CountFirst);
    match name {
        _ if incident.phase == Phase::Passed && ORDERS.contains(&name) => false,
        "back_in" => counting,
        "short_lifted" | "face_seen" => !incident.short.is_empty(),
        "not_them" | "care" => incident.found_at_ms.is_some(),
        "widen" | "said_it" | "not_now" | "break_off" => incident.phase == Phase::Searching,
        "they_are_down" => incident.phase == Phase::Searching && incident.short.is_empty(),
        _ => true,
    }
}

/// Why a device may not send a report now.
pub(super) fn why_not(state: &State, sender: &Sender, report: &Report) -> Refusal {
    let name = name_of(report);
    let (code, what, remedy) = match state.open() {
        _ if state.day.is_none() => {
            ("I103", "no day is open".into(), "open the site and the day of this morning")
        }
        None if sender.role == Role::Viewer => {
            ("I104", "a viewer looks on".into(), "take another role first")
        }
        None => ("I105", "no search is running".into(), "hold Swimmer missing if somebody is"),
        Some(_) if name == "swimmer_missing" => {
            ("I106", "a search is running already".into(), "tell of one more under Who is missing")
        }
        Some(incident) if incident.phase == Phase::Passed && ORDERS.contains(&name) => (
            "I107",
            "command has passed to the services; no more orders from here".into(),
            "go on recording what happens; orders come from whoever is in command",
        ),
        Some(incident) if sender.role != Role::Viewer && of_role(sender.role).contains(&name) => {
            let (what, remedy) = unfit(incident, name);
            ("I108", what, remedy)
        }
        Some(_) if name == "this_is_real" => {
            ("I108", "this is no practice".into(), "go on: it is real already")
        }
        Some(_) if LEAD.contains(&name) => (
            "I104",
            "only the lead or a deputy may do that".into(),
            "tell the lead, or take over as lead at this device",
        ),
        Some(_) => ("I104", "this role may not report that".into(), "tell the recorder or the lead"),
    };
    Refusal { code, what, remedy: remedy.into() }
}

fn unfit(incident: &Incident, name: &str) -> (String, &'static str) {
    match name {
        "back_in" => ("nobody was called out".into(), "ALL OUT calls everybody out"),
        "short_lifted" | "face_seen" => ("no count is short".into(), "a headcount says when one is"),
        "not_them" | "care" => ("nobody was brought up".into(), "FOUND says so"),
        "they_are_down" if !incident.short.is_empty() => {
            ("a count is short: nobody goes down".into(), "see every face and lift it first")
        }
        _ => {
            ("orders are not being given now".into(), "tell where and when, or call everybody back in, first")
        }
    }
}
