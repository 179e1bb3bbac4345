//! Places from witnesses, and the circles that hold an error.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use measure::{Bearing, Spot, Standing};
use search::{sighting, theory};
use std::f64::consts::PI;

const BELOW_1: Range = Range { high_open: true, ..Range::SHARE };
const ANGLE_ERROR: Range = Range { low_open: true, ..Range::closed(0.0, 90.0) };

/// Models of this group.
pub const MODELS: &[Model] = &[
    Model {
        name: "containment",
        summary: "radius of the circle that holds a share of a position error",
        page: "sightings",
        inputs: &[
            Input::new(
                "sigma_m",
                Shape::NumberOrPair,
                Range::FROM_0,
                "m",
                "standard error, one for both axes or one for each",
            ),
            Input::number("probability", BELOW_1, "share", "share to hold"),
        ],
        constants: &[],
        results: &[("radius_m", "m")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"sigma_m": [10, 5], "probability": 0.5}"#,
        evaluate: containment,
    },
    Model {
        name: "total_error",
        summary: "several independent 50 % radii as one",
        page: "sightings",
        inputs: &[Input::numbers("errors50_m", Range::FROM_0, "m", "50 % radii")],
        constants: &[],
        results: &[("error50_m", "m"), ("sigma_m", "m")],
        basis: Basis::Known(Standing::FromMemory),
        sources: &["iamsar-nsm"],
        example: r#"{"errors50_m": [12, 9, 8]}"#,
        evaluate: total_error,
    },
    Model {
        name: "cross_bearing",
        summary: "place where bearings from several stands cross, with its error",
        page: "sightings",
        inputs: &[
            Input::new("posts", Shape::Pairs, Range::ANY, "m", "stands [east, north]"),
            Input::numbers("bearings_deg", Range::BEARING, "degrees true", "bearing from each stand"),
            Input::number("sigma_deg", ANGLE_ERROR, "degrees", "standard error of a bearing")
                .or("bearing_sigma_witness_deg"),
        ],
        constants: &[],
        results: &[
            ("east_m", "m"),
            ("north_m", "m"),
            ("major_m", "m"),
            ("minor_m", "m"),
            ("major_bearing_deg", "degrees true"),
            ("area95_m2", "m2"),
        ],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"posts": [[0, 0], [40, 40]], "bearings_deg": [0, 270], "sigma_deg": 3}"#,
        evaluate: cross_bearing,
    },
    Model {
        name: "bearing_range",
        summary: "place from one stand by bearing and distance, with its error",
        page: "sightings",
        inputs: &[
            Input::new("post", Shape::Pair, Range::ANY, "m", "stand [east, north]"),
            Input::number("bearing_deg", Range::BEARING, "degrees true", "bearing"),
            Input::number("sigma_deg", ANGLE_ERROR, "degrees", "standard error of the bearing")
                .or("bearing_sigma_witness_deg"),
            Input::number("range_m", Range::FROM_0, "m", "distance, taken as true"),
            Input::number(
                "range_sigma",
                Range::FROM_0,
                "share of range",
                "relative standard error of the distance",
            )
            .or("range_sigma_share"),
        ],
        constants: &[],
        results: &[("east_m", "m"), ("north_m", "m"), ("cross_m", "m"), ("along_m", "m")],
        basis: Basis::Derived,
        sources: &[],
        example: r#"{"post": [10, 0], "bearing_deg": 60, "sigma_deg": 3, "range_m": 50, "range_sigma": 0.1}"#,
        evaluate: bearing_range,
    },
];

fn containment(form: &mut Form) -> Option<Answer> {
    let (sigma, probability) = (form.axes("sigma_m"), form.number("probability"));
    Some(Answer::new().with("radius_m", theory::containment_radius(sigma?, probability?)))
}

fn total_error(form: &mut Form) -> Option<Answer> {
    let (total, sigma) = theory::total_error(&form.numbers("errors50_m")?);
    Some(Answer::new().with("error50_m", total).with("sigma_m", sigma))
}

fn cross_bearing(form: &mut Form) -> Option<Answer> {
    let (posts, bearings, sigma) =
        (form.spots("posts"), form.numbers("bearings_deg"), form.number("sigma_deg"));
    form.same_length(
        ("posts", posts.as_ref().map(Vec::len)),
        &[("bearings_deg", bearings.as_ref().map(Vec::len))],
    );
    let (posts, bearings, sigma) = (posts?, bearings?, sigma?);
    if posts.len() != bearings.len() {
        return None;
    }
    if posts.len() < 2 {
        form.problem("posts: one stand gives a line, not a place; add a second stand, or use bearing_range");
        return None;
    }
    let turned: Vec<Bearing> = bearings.iter().map(|b| Bearing::new(*b)).collect();
    let Some(fix) = sighting::cross_bearing(&posts, &turned, sigma) else {
        form.problem(format!(
            "bearings_deg: the lines {bearings:?} do not cross in front of their stands; check the bearings, or use bearing_range from one stand"
        ));
        return None;
    };
    let (major, minor, bearing) = fix.ellipse();
    let answer = Answer::new()
        .with("east_m", fix.spot.east)
        .with("north_m", fix.spot.north)
        .with("major_m", major)
        .with("minor_m", minor)
        .with("major_bearing_deg", bearing.degrees())
        .with("area95_m2", PI * -2.0 * 0.05_f64.ln() * major * minor);
    Some(if flat(&posts, fix.spot) {
        answer.with_note("the lines cross at less than 25 degrees: the error along them is large")
    } else {
        answer
    })
}

/// Whether no two stands see the place more than 25 degrees apart.
fn flat(posts: &[Spot], spot: Spot) -> bool {
    let angle = |a: &Spot, b: &Spot| a.bearing_to(spot).angle_to(b.bearing_to(spot));
    !posts.iter().enumerate().any(|(k, a)| posts[..k].iter().any(|b| (25.0..=155.0).contains(&angle(a, b))))
}

fn bearing_range(form: &mut Form) -> Option<Answer> {
    let (post, bearing, sigma) = (form.pair("post"), form.number("bearing_deg"), form.number("sigma_deg"));
    let (range, share) = (form.number("range_m"), form.number("range_sigma"));
    let post = Spot::new(post?[0], post?[1]);
    let (spot, cross, along) = sighting::bearing_range(post, Bearing::new(bearing?), sigma?, range?, share?);
    Some(
        Answer::new()
            .with("east_m", spot.east)
            .with("north_m", spot.north)
            .with("cross_m", cross)
            .with("along_m", along),
    )
}
