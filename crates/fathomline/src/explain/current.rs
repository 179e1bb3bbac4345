//! Current and what it does to a person at the surface.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use measure::{Bearing, Spot, Standing};
use search::physics;
use serde_json::json;

const SURFACE: Input = Input::number("surface_mps", Range::FROM_0, "m/s", "current at the surface");
const DEPTH: Input = Input::number("depth_m", Range::FROM_0, "m", "depth of the water");

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "float_current",
        summary: "current from timed floats, with its doubt",
        page: "current",
        inputs: &[Input::new("runs", Shape::Runs, Range::ANY, "m, s", "float runs")],
        constants: &["float_position_m", "float_error_share", "float_error_s"],
        results: &[("east_mps", "m/s"), ("north_mps", "m/s"), ("covariance", "m2/s2")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"runs": [{"from": [0, 0], "to": [6, 8], "seconds": 50}, {"from": [4, 0], "to": [11, 8], "seconds": 55}]}"#,
        evaluate: float_current,
    },
    Model {
        name: "current_at",
        summary: "current at a height over the bottom",
        page: "current",
        inputs: &[SURFACE, DEPTH, Input::number("height_m", Range::FROM_0, "m", "height over the bottom")],
        constants: &[],
        results: &[("speed_mps", "m/s"), ("depth_mean_mps", "m/s")],
        basis: Basis::Known(Standing::CommonPractice),
        sources: &[],
        example: r#"{"surface_mps": 0.2, "depth_m": 3, "height_m": 0.3}"#,
        evaluate: current_at,
    },
    Model {
        name: "surface_drift",
        summary: "step of a person at the surface: current and leeway",
        page: "current",
        inputs: &[
            Input::new("current", Shape::Pair, Range::ANY, "m/s", "current [east, north]"),
            Input::number("wind_mps", Range::FROM_0, "m/s", "wind").or("wind_mps"),
            Input::number("wind_from_deg", Range::BEARING, "degrees true", "bearing the wind comes from"),
            Input::number("leeway", Range::SHARE, "share of wind", "drift beside the current")
                .or("leeway_share"),
            Input::number("seconds", Range::FROM_0, "s", "time at the surface"),
        ],
        constants: &[],
        results: &[("east_m", "m"), ("north_m", "m")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"current": [0.1, 0.05], "wind_mps": 5, "wind_from_deg": 270, "leeway": 0.01, "seconds": 60}"#,
        evaluate: surface_drift,
    },
];

fn float_current(form: &mut Form) -> Option<Answer> {
    let runs = form.runs("runs")?;
    let parameters = ["float_position_m", "float_error_share", "float_error_s"];
    let Some((velocity, [ee, en, nn])) = water::float_current(&runs) else {
        form.problem("runs: no run gives a speed; check places and times for impossible sizes");
        return None;
    };
    parameters.into_iter().for_each(|name| form.used(name));
    let answer = Answer::new().with("east_mps", velocity.east).with("north_mps", velocity.north);
    let slow = measure::parameters::value("stuck_mps");
    let stuck = runs.iter().position(|r| (r.to - r.from).length() < slow * r.seconds);
    let answer = answer.with_value("covariance", json!([[ee, en], [en, nn]]));
    Some(match stuck {
        Some(k) => answer.with_note(format!("run {k} moved slower than {slow} m/s: stuck, or no current?")),
        None => answer,
    })
}

fn current_at(form: &mut Form) -> Option<Answer> {
    let (surface, depth, height) =
        (form.number("surface_mps"), form.number("depth_m"), form.number("height_m"));
    let (surface, depth, height) = (surface?, depth?, height?);
    let mean = if depth > 0.0 { physics::depth_mean_current(surface) } else { 0.0 };
    let answer = Answer::new()
        .with("speed_mps", physics::current_at(surface, depth, height))
        .with("depth_mean_mps", mean);
    Some(if depth == 0.0 {
        answer.with_note("no water here, so no current")
    } else if height > depth {
        answer.with_note("the height is above the surface; the current at the surface is given")
    } else {
        answer
    })
}

fn surface_drift(form: &mut Form) -> Option<Answer> {
    let (current, wind, from) = (form.pair("current"), form.number("wind_mps"), form.number("wind_from_deg"));
    let (leeway, seconds) = (form.number("leeway"), form.number("seconds"));
    let current = Spot::new(current?[0], current?[1]);
    let step = physics::surface_drift(current, wind?, Bearing::new(from?), leeway?, seconds?);
    Some(Answer::new().with("east_m", step.east).with("north_m", step.north))
}
