//! What an eye on a post sees: a look into the water, and how small a head is out there.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range};
use watch::glare::{LookAt, look_in as looked_in};
use watch::view::head_angle as angle_of;

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "look_in",
        summary: "the way of a look into the water to a place below the surface",
        page: "view",
        inputs: &[
            Input::number("eye_m", Range::closed(0.0, 1e4), "m", "eye over the water").or("eye_stand_m"),
            Input::number("distance_m", Range::closed(0.0, 1e5), "m", "level distance to the place"),
            Input::number("depth_m", Range::closed(0.0, 1e4), "m", "depth of the place"),
            Input::number("n", Range::closed(1.0, 5.0), "ratio", "refractive index of the water")
                .or("refractive_index"),
        ],
        constants: &[],
        results: &[
            ("crossing_m", "m"),
            ("incidence_deg", "degrees"),
            ("refracted_deg", "degrees"),
            ("r", "share"),
            ("path_m", "m"),
        ],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"eye_m": 3, "distance_m": 20, "depth_m": 1.5, "n": 1.333}"#,
        evaluate: look_in,
    },
    Model {
        name: "head_angle",
        summary: "how large a head looks from a post, and how flat the look is",
        page: "view",
        inputs: &[
            Input::number("size_m", Range::ABOVE_0, "m", "size of what is looked at").or("head_m"),
            Input::number("distance_m", Range::closed(0.0, 1e6), "m", "level distance"),
            Input::number("eye_m", Range::closed(0.0, 1e4), "m", "eye over the water").or("eye_stand_m"),
        ],
        constants: &[],
        results: &[("arcmin", "minutes of arc"), ("view_zenith_deg", "degrees")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"size_m": 0.23, "distance_m": 50, "eye_m": 3}"#,
        evaluate: head_angle,
    },
];

fn look_in(form: &mut Form) -> Option<Answer> {
    let (eye, distance) = (form.number("eye_m"), form.number("distance_m"));
    let (depth, n) = (form.number("depth_m"), form.number("n"));
    let look = looked_in(&LookAt { eye_m: eye?, distance_m: distance?, depth_m: depth? }, n?);
    Some(
        Answer::new()
            .with("crossing_m", look.crossing_m)
            .with("incidence_deg", look.incidence_deg)
            .with("refracted_deg", look.refracted_deg)
            .with("r", look.r)
            .with("path_m", look.path_m),
    )
}

fn head_angle(form: &mut Form) -> Option<Answer> {
    let (size, distance, eye) = (form.number("size_m"), form.number("distance_m"), form.number("eye_m"));
    let (size, distance, eye) = (size?, distance?, eye?);
    if distance == 0.0 && eye == 0.0 {
        form.problem(
            "distance_m and eye_m are both 0: the eye is at the thing itself; give one of them above 0",
        );
        return None;
    }
    let (arcmin, zenith) = angle_of(size, distance, eye);
    Some(Answer::new().with("arcmin", arcmin).with("view_zenith_deg", zenith))
}
