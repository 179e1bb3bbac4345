//! The weight that orders a search by time.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range};
use measure::Standing;

/// Models of this group.
pub const MODELS: &[Model] = &[Model {
    name: "survival_weight",
    summary: "planning weight of a find by time under water; not a prognosis",
    page: "survival",
    inputs: &[
        Input::number("minutes", Range::FROM_0, "min", "time since the head went under"),
        Input::number("water_c", Range::closed(-5.0, 50.0), "C", "temperature of the water").or("water_c"),
    ],
    constants: &["survival_v_2_5", "survival_v_8", "survival_v_18", "survival_tail_min"],
    results: &[("weight", "weight")],
    basis: Basis::Known(Standing::FromMemory),
    sources: &["szpilman-2012", "quan-2014", "quan-2016", "tipton-golden-2011"],
    example: r#"{"minutes": 5, "water_c": 18}"#,
    evaluate: survival_weight,
}];

fn survival_weight(form: &mut Form) -> Option<Answer> {
    let (minutes, water) = (form.number("minutes"), form.number("water_c"));
    let weight = search::survival::survival_weight(minutes?, water?);
    for name in ["survival_v_2_5", "survival_v_8", "survival_v_18", "survival_tail_min"] {
        form.used(name);
    }
    let answer = Answer::new().with("weight", weight);
    Some(answer.with_note("a weight for ordering a search; it says nothing about any person"))
}
