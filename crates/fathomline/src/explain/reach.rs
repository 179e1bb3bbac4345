//! Reach: where to enter the water, strips of different pace, crossing moving water.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use measure::Spot;
use serde_json::{Value, json};
use watch::reach;

/// Lengths of a bathing place, and far more \[m\].
const LENGTH: Range = Range::closed(0.0, 1e7);
/// The same with a side.
const SIGNED: Range = Range::closed(-1e7, 1e7);
/// Paces \[m/s\].
const PACE: Range = Range { low: 0.0, high: 1000.0, low_open: true, high_open: false };

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "run_swim",
        summary: "where to enter the water when one runs faster than one swims",
        page: "reach",
        inputs: &[
            Input::number("inland_m", LENGTH, "m", "distance of the start from the water's edge"),
            Input::number("offshore_m", LENGTH, "m", "distance of the end from the water's edge"),
            Input::number("along_m", SIGNED, "m", "between their feet along the edge"),
            Input::number("run_mps", PACE, "m/s", "running").or("run_sand_mps"),
            Input::number("swim_mps", PACE, "m/s", "swimming").or("swim_tube_mps"),
        ],
        constants: &[],
        results: &[("entry_m", "m"), ("time_s", "s")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"inland_m": 20, "offshore_m": 30, "along_m": 60, "run_mps": 6, "swim_mps": 1.5}"#,
        evaluate: run_swim,
    },
    Model {
        name: "strips",
        summary: "the fastest way across strips of different pace",
        page: "reach",
        inputs: &[
            Input::numbers("width_m", Range::closed(0.0, 1e7), "m", "width of each strip"),
            Input::numbers("speed_mps", PACE, "m/s", "pace in each strip"),
            Input::number("along_m", SIGNED, "m", "how far the end lies along the strips"),
        ],
        constants: &[],
        results: &[("along_each_m", "m"), ("time_s", "s")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"width_m": [15, 10, 25], "speed_mps": [5, 1.8, 1.2], "along_m": 50}"#,
        evaluate: strips,
    },
    Model {
        name: "crossing",
        summary: "a straight way through a current: how long, and where to head",
        page: "reach",
        inputs: &[
            Input::number("speed_mps", PACE, "m/s", "own pace through the water"),
            Input::new("current", Shape::Pair, Range::closed(-1000.0, 1000.0), "m/s", "[east, north]"),
            Input::new("displacement", Shape::Pair, SIGNED, "m", "from here to there [east, north]"),
        ],
        constants: &[],
        results: &[("time_s", "s"), ("heading_deg", "degrees true")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"speed_mps": 1.2, "current": [0.4, 0.1], "displacement": [-30, 40]}"#,
        evaluate: crossing,
    },
];

fn run_swim(form: &mut Form) -> Option<Answer> {
    let (inland, offshore, along) =
        (form.number("inland_m"), form.number("offshore_m"), form.number("along_m"));
    let (run, swim) = (form.number("run_mps"), form.number("swim_mps"));
    let way = reach::run_swim(inland?, offshore?, along?, (run?, swim?));
    Some(Answer::new().with("entry_m", way.entry_m).with("time_s", way.time_s))
}

fn strips(form: &mut Form) -> Option<Answer> {
    let (widths, speeds, along) =
        (form.numbers("width_m"), form.numbers("speed_mps"), form.number("along_m"));
    form.same_length(
        ("width_m", widths.as_ref().map(Vec::len)),
        &[("speed_mps", speeds.as_ref().map(Vec::len))],
    );
    let (widths, speeds, along) = (widths?, speeds?, along?);
    if widths.len() != speeds.len() {
        return None;
    }
    if widths.is_empty() {
        form.problem("width_m: there is no strip; give at least one");
        return None;
    }
    let all: Vec<(f64, f64)> = widths.into_iter().zip(speeds).collect();
    let best = reach::strips(&all, along);
    Some(Answer::new().with_list("along_each_m", &best.along_each_m).with("time_s", best.time_s))
}

fn crossing(form: &mut Form) -> Option<Answer> {
    let (pace, current, way) = (form.number("speed_mps"), form.pair("current"), form.pair("displacement"));
    let spot = |pair: [f64; 2]| Spot::new(pair[0], pair[1]);
    let (pace, current, way) = (pace?, spot(current?), spot(way?));
    let answer = Answer::new();
    let Some(straight) = reach::crossing(way, pace, current) else {
        return Some(
            answer
                .with_value("time_s", Value::Null)
                .with_value("heading_deg", Value::Null)
                .with_note("the current denies this way: it runs faster than the own pace, and not there"),
        );
    };
    if way == Spot::default() {
        return Some(
            answer.with("time_s", 0.0).with_value("heading_deg", json!(null)).with_note("already there"),
        );
    }
    Some(answer.with("time_s", straight.time_s).with("heading_deg", straight.bearing().degrees()))
}
