//! Sinking and lying on the bottom.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range};
use measure::Standing;
use search::physics;
use serde_json::{Value, json};

const WEIGHT: Input =
    Input::number("net_weight_n", Range::FROM_0, "N", "weight of the person in water").or("net_weight_n");
const DENSITY: Input =
    Input::number("density_kgm3", Range::ABOVE_0, "kg/m3", "density of the water").or("density_fresh_kgm3");

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "terminal_speed",
        summary: "speed at which a person sinks",
        page: "sinking",
        inputs: &[WEIGHT, Input::number("drag_area_m2", Range::ABOVE_0, "m2", "drag area"), DENSITY],
        constants: &[],
        results: &[("speed_mps", "m/s")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"net_weight_n": 30, "drag_area_m2": 0.35, "density_kgm3": 998}"#,
        evaluate: terminal_speed,
    },
    Model {
        name: "sink_offset",
        summary: "how far the current carries a person while they sink",
        page: "sinking",
        inputs: &[
            Input::number("surface_mps", Range::FROM_0, "m/s", "current at the surface"),
            Input::number("depth_m", Range::FROM_0, "m", "depth of the water"),
            Input::number("sink_mps", Range::ABOVE_0, "m/s", "speed of sinking").or("sink_median_mps"),
        ],
        constants: &[],
        results: &[("offset_m", "m"), ("time_s", "s")],
        basis: Basis::Known(Standing::CommonPractice),
        sources: &[],
        example: r#"{"surface_mps": 0.2, "depth_m": 3, "sink_mps": 0.5}"#,
        evaluate: sink_offset,
    },
    Model {
        name: "bed_hold",
        summary: "current at which a person on the bottom begins to slide",
        page: "sinking",
        inputs: &[
            WEIGHT,
            Input::number("friction", Range::FROM_0, "coefficient", "friction on the bottom")
                .or("bed_friction"),
            Input::number("drag_area_m2", Range::ABOVE_0, "m2", "drag area lying").or("bed_drag_area_m2"),
            Input::number("depth_m", Range::ABOVE_0, "m", "depth of the water"),
            Input::number(
                "height_m",
                Range::FROM_0,
                "m",
                "height over the bottom at which the body meets the current",
            ),
            DENSITY,
        ],
        constants: &[],
        results: &[("body_mps", "m/s"), ("surface_mps", "m/s")],
        basis: Basis::Known(Standing::CommonPractice),
        sources: &[],
        example: r#"{"net_weight_n": 30, "friction": 0.5, "drag_area_m2": 0.37, "depth_m": 3, "height_m": 0.2, "density_kgm3": 998}"#,
        evaluate: bed_hold,
    },
];

fn terminal_speed(form: &mut Form) -> Option<Answer> {
    let (weight, area, density) =
        (form.number("net_weight_n"), form.number("drag_area_m2"), form.number("density_kgm3"));
    Some(Answer::new().with("speed_mps", physics::terminal_speed(weight?, area?, density?)))
}

fn sink_offset(form: &mut Form) -> Option<Answer> {
    let (surface, depth, sink) =
        (form.number("surface_mps"), form.number("depth_m"), form.number("sink_mps"));
    let (offset, time) = physics::sink_offset(surface?, depth?, sink?);
    Some(Answer::new().with("offset_m", offset).with("time_s", time))
}

fn bed_hold(form: &mut Form) -> Option<Answer> {
    let (weight, friction, area) =
        (form.number("net_weight_n"), form.number("friction"), form.number("drag_area_m2"));
    let (depth, height, density) =
        (form.number("depth_m"), form.number("height_m"), form.number("density_kgm3"));
    let (height, depth) = (height?, depth?);
    let (body, surface) = physics::bed_hold(weight?, friction?, area?, depth, height, density?);
    let answer = Answer::new().with("body_mps", body);
    Some(if height == 0.0 {
        answer.with_value("surface_mps", Value::Null).with_note(
            "the profile has no current at the bottom itself; give the height of the body's middle",
        )
    } else if height > depth {
        answer
            .with_value("surface_mps", json!(surface))
            .with_note("the height is above the surface; the current at the surface is taken")
    } else {
        answer.with("surface_mps", surface)
    })
}
