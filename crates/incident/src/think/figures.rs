//! Numbers of the desk that open their explanation: value, one sentence, inputs with their standing.

use super::follow::Followed;
use super::worth::Left;
use crate::screen::Figure;
use measure::parameters::parameter;
use search::belief::Belief;
use search::course::Course;
use water::Units;

/// An input out of the register, lengths in the units of the site.
fn input(name: &str, units: Units) -> (String, String, String) {
    let known = parameter(name);
    (name.to_string(), units.given(known.value, &known.unit), known.standing.to_string())
}

fn figure(
    units: Units,
    (name, value): (&str, String),
    words: String,
    inputs: &[&str],
    model: &str,
) -> Figure {
    Figure {
        name: name.into(),
        value,
        words,
        inputs: inputs.iter().map(|name| input(name, units)).collect(),
        model: model.into(),
    }
}

/// A share as whole per cent.
fn percent(share: f64) -> String {
    // A rounded share just below nothing is nothing: never "-0 %".
    format!("{:.0} %", (100.0 * share).round() + 0.0)
}

/// Figures of a belief and, once there are orders, of the plan.
pub(super) fn figures(followed: &Followed, belief: &Belief, left: Left) -> Vec<Figure> {
    let masses = &belief.masses;
    let units = followed.incident.day.units;
    let figure = |name: &str, value: String, words: String, inputs: &[&str], model: &str| {
        figure(units, (name, value), words, inputs, model)
    };
    let mut all = vec![
        figure(
            "bottom",
            percent(masses.bottom),
            "Chance that they lie on the bottom of the mapped water, by what was told and searched.".into(),
            &["elsewhere_share", "afloat_fresh_share", "sink_median_mps"],
            "belief",
        ),
        figure(
            "afloat",
            percent(masses.afloat),
            "Chance that they float.".into(),
            &["afloat_fresh_share", "afloat_salt_share", "surface_look_detection"],
            "belief",
        ),
        figure(
            "ashore",
            percent(masses.ashore),
            "Chance that they are ashore: by the kind of alarm, less what was looked at.".into(),
            &[
                "ashore_seen_going_under",
                "ashore_count_short",
                "ashore_cannot_be_found",
                "shore_check_detection",
            ],
            "belief",
        ),
        figure(
            "elsewhere",
            percent(masses.elsewhere),
            "Kept for all that the model does not know; no search makes it smaller.".into(),
            &["elsewhere_share", "elsewhere_floor"],
            "belief",
        ),
    ];
    if let Some(course) = &followed.course {
        all.extend(of_plan(course, left, units));
    }
    all
}

fn of_plan(course: &Course, left: Left, units: Units) -> Vec<Figure> {
    let plan = &course.plan;
    let figure = |name: &str, value: String, words: String, inputs: &[&str], model: &str| {
        figure(units, (name, value), words, inputs, model)
    };
    let mut all = Vec::new();
    for &(after_s, chance) in &plan.found_by {
        let minutes = after_s / 60.0;
        all.push(figure(
            &format!("found_by_{minutes:.0}"),
            percent(chance),
            format!("Chance that the orders as planned have found them {minutes:.0} minutes from now."),
            &["detection_beta_n", "pod_ceiling", "reach_foot_m", "reach_arm_m", "hidden_mud", "hidden_weed"],
            "plan",
        ));
    }
    // The ceiling is loose where ways are long: it proves plans, and would be read here as their quality.
    all.push(figure(
        "left",
        percent(left.finds),
        "Share of what is on the bottom that all lanes left would find; when little is left, the search spreads.".into(),
        &["widen_spent_share", "pod_ceiling"],
        "plan",
    ));
    all
}
