//! Cautions that apply to a plan now, and the one that always does.

use crate::{
    Method, Setting,
    lines::{Advice, dive_time, wade_limit, water_turn},
    plan::Plan,
};
use measure::parameters::value;
use water::Kind;

/// Cautions for a plan: those of today's water and of what it asks of people, then the standing one.
///
/// # Inputs
/// - `plan` · `setting`
///
/// # Gives
/// Sentences, most pressing first; never empty.
///
/// # Source
/// site planning values and the register; redcross-ymca-2015 for over-breathing
pub fn cautions(plan: &Plan, setting: &Setting) -> Vec<String> {
    let mut all = vec!["Thunder or lightning: everybody out, count searchers.".to_string()];
    all.extend(current(plan, setting));
    all.extend(cold(plan, setting));
    let dives = plan
        .teams
        .iter()
        .any(|t| t.method == Method::Dive || (t.method == Method::Alone && t.lookout.is_some()));
    if dives {
        all.push("One or two normal breaths before a dive, never over-breathing. Ears hurt: come up. Count heads after every dive.".into());
        all.push(format!(
            "No dive without the lookout above the water; {:.0} dives, then relief.",
            value("dives_before_rest")
        ));
    }
    let deepest = plan
        .runs
        .iter()
        .filter(|r| plan.teams[r.team].method != Method::Pole)
        .flat_map(|r| &r.legs)
        .map(|l| l.depth_m);
    let deepest_m = deepest.fold(0.0, f64::max);
    if deepest_m >= value("dive_warn_depth_m") {
        all.push(format!(
            "Dives to {}: at the limit, only who is fit for it.",
            setting.site.units.length(deepest_m)
        ));
    }
    if plan.teams.iter().any(|t| t.method == Method::Wade) {
        all.push("Wading: nobody deeper than their own chest, the short inshore; a drop underfoot: step back, call it.".into());
    }
    if setting.ground.keep_off.iter().any(|k| *k) || setting.site.of_kind(Kind::DropOff).next().is_some() {
        all.push(format!(
            "Drop-off or no-go ground: wading lines keep {} off.",
            setting.site.units.length(setting.site.limits.keep_off_m)
        ));
    }
    if unsounded(plan, setting) {
        all.push("Some lanes lie far from any sounding: feel for the bottom before every step.".into());
    }
    if setting.day.crew.iter().any(|m| m.volunteer) {
        all.push("Volunteers wade only, to the waist, between two guards.".into());
    }
    all.push("The local emergency action plan, local codes, medical direction and the officer in charge come first; this is a planning aid.".into());
    all
}

fn current(plan: &Plan, setting: &Setting) -> Vec<String> {
    let speed = |spot| setting.flow.at(spot).length();
    let legs = || plan.runs.iter().flat_map(|r| r.legs.iter().map(move |leg| (r, leg)));
    let fastest =
        legs().map(|(run, _)| speed(run.from).max(speed(run.to))).fold(speed(plan.last_seen), f64::max);
    let mut all = Vec::new();
    if fastest > value("line_current_mps") {
        all.push(format!(
            "Current up to {fastest:.1} m/s: lines go down-current only, a thrower stands below them."
        ));
    }
    let pushes = legs().any(|(run, leg)| {
        plan.teams[run.team].method == Method::Wade
            && wade_limit(leg.depth_m, speed(run.from)).1 == Advice::Caution
    });
    if pushes {
        all.push("The current pushes at this depth: link elbows, turn back when anybody is lifted.".into());
    }
    all
}

fn cold(plan: &Plan, setting: &Setting) -> Option<String> {
    let water_c = setting.day.water_c;
    if plan.runs.is_empty() || water_c >= 25.0 {
        return None;
    }
    let minutes = water_turn(water_c) / 60.0;
    let dives = match dive_time(water_c) {
        None => " No surface dives without a wetsuit.".to_string(),
        Some(seconds) if seconds < value("dive_time_s") => format!(" Dives of {seconds:.0} seconds at most."),
        Some(_) => String::new(),
    };
    Some(format!("Water {water_c:.0} °C: {minutes:.0} minutes in the water, then out and warm.{dives}"))
}

fn unsounded(plan: &Plan, setting: &Setting) -> bool {
    let ground = setting.ground;
    let far = |spot| {
        ground
            .grid
            .cell(spot)
            .is_some_and(|c| f64::from(ground.to_sounding_m[c]) > value("far_sounding_m") || ground.beyond[c])
    };
    plan.runs.iter().any(|run| far(run.from) || far(run.to) || far(run.from.lerp(run.to, 0.5)))
}
