//! Place and seeing: site metres, sight under water.

use super::Form;
use super::model::{Answer, Basis, Input, Model, Range, Shape};
use ::water::{Frame, LonLat};
use measure::Standing;

/// Models of this group.
pub const MODELS: &[Model] = &[Model {
    name: "frame",
    summary: "metres east and north of the site's origin",
    page: "place",
    inputs: &[
        Input::new("origin", Shape::Pair, Range::ANY, "degrees", "origin of the site [longitude, latitude]"),
        Input::new("point", Shape::Pair, Range::ANY, "degrees", "place [longitude, latitude]"),
    ],
    constants: &[],
    results: &[("east_m", "m"), ("north_m", "m")],
    basis: Basis::Known(Standing::FromMemory),
    sources: &["karney-2013"],
    example: r#"{"origin": [-3.1, 54.5], "point": [-3.0985, 54.5009]}"#,
    evaluate: frame,
}];

fn frame(form: &mut Form) -> Option<Answer> {
    let (origin, point) = (lonlat(form, "origin"), lonlat(form, "point"));
    let (origin, point) = (origin?, point?);
    let spot = Frame::new(origin).to_site(point);
    Some(Answer::new().with("east_m", spot.east).with("north_m", spot.north))
}

fn lonlat(form: &mut Form, name: &str) -> Option<LonLat> {
    let [lon, lat] = form.pair(name)?;
    let (east, north) = ((-180.0..=180.0).contains(&lon), (-90.0..=90.0).contains(&lat));
    if !east {
        form.problem(format!("{name}[0]: longitude {lon} is not within -180 and 180; add or take off 360"));
    }
    if !north {
        form.problem(format!(
            "{name}[1]: latitude {lat} is not within -90 and 90; longitude comes first, latitude second"
        ));
    }
    (east && north).then_some(LonLat { lon, lat })
}
