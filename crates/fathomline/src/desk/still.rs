//! What stands still beside the chart: the photo under the map, if the site has one, and how far off a pointed-out place may be.

use super::Desk;
use super::guard::{Joined, refuse};
use crate::site_folder::load_photo;
use axum::Json;
use axum::body::Bytes;
use axum::extract::{Path, State};
use axum::http::header::{ACCEPT_ENCODING, CACHE_CONTROL, CONTENT_ENCODING, CONTENT_TYPE, VARY};
use axum::http::{HeaderMap, StatusCode};
use axum::response::{IntoResponse, Response};
use flate2::{Compression, write::GzEncoder};
use incident::Chart;
use incident::screen::Figure;
use measure::Spot;
use measure::parameters::parameter;
use schemars::JsonSchema;
use serde::Serialize;
use serde_json::{Number, Value};
use sha2::{Digest, Sha256};
use std::io::Write;
use std::sync::Arc;
use water::door::Photo;
use water::{Day, Site, Units};

/// Answer to `GET /api/still`.
#[derive(Clone, Debug, Serialize, JsonSchema)]
pub struct Still {
    /// The photo under the map.
    photo: Option<PhotoPlace>,
    /// How far off a place may be that is pointed out here, by the way of pointing.
    pointing: Vec<Pointing>,
    /// Planning values of the site and conditions of the day, each with its explanation.
    figures: Vec<Figure>,
}

/// Where a photo lies, and where its pixels are.
#[derive(Clone, Debug, Serialize, JsonSchema)]
struct PhotoPlace {
    /// Address of the picture; another picture has another.
    address: String,
    /// Pixels from left to right.
    width_px: u32,
    /// Pixels from top to bottom.
    height_px: u32,
    /// Upper left, upper right, lower right, lower left corner of the picture.
    corners: [Spot; 4],
    /// Day it was taken, as written; empty if not told.
    date: String,
}

/// The doubt that belongs to one way of pointing, until somebody says how sure they are.
#[derive(Clone, Debug, Serialize, JsonSchema)]
struct Pointing {
    /// `point` for a touch on the map, `bearing` for a line of sight.
    by: String,
    /// Standard error: metres for a point, degrees for a bearing.
    error: f64,
    /// Its explanation.
    figure: Figure,
}

/// The photo as it is served.
pub struct Picture {
    photo: Photo,
    bytes: Bytes,
    digest: String,
}

/// The chart as it is served: to the centimetre, and compressed, since every phone fetches it before it can show the map.
pub struct Packed {
    plain: Bytes,
    gzip: Option<Bytes>,
}

impl Packed {
    /// The answer to whoever asks.
    pub fn answer(&self, asked: &HeaderMap) -> Response {
        let takes = asked.get(ACCEPT_ENCODING).and_then(|value| value.to_str().ok());
        let about = [(CONTENT_TYPE, "application/json"), (VARY, "accept-encoding")];
        match self.gzip.as_ref().filter(|_| takes.is_some_and(|takes| takes.contains("gzip"))) {
            Some(gzip) => (about, [(CONTENT_ENCODING, "gzip")], gzip.clone()).into_response(),
            None => (about, self.plain.clone()).into_response(),
        }
    }
}

/// Packs a chart once, when the desk opens.
pub fn packed(chart: &Chart) -> Packed {
    let mut value = serde_json::to_value(chart).expect("a chart is plain data");
    for part in ["water", "features", "contours", "bands", "areas"] {
        to_centimetres(&mut value[part]);
    }
    let plain = value.to_string().into_bytes();
    let mut gzip = GzEncoder::new(Vec::new(), Compression::best());
    let gzip = gzip.write_all(&plain).and_then(|()| gzip.finish()).ok();
    Packed { plain: plain.into(), gzip: gzip.map(Bytes::from) }
}

/// Metres with two decimals: a line on a screen is wider than that.
fn to_centimetres(value: &mut Value) {
    match value {
        Value::Array(all) => all.iter_mut().for_each(to_centimetres),
        Value::Object(all) => all.values_mut().for_each(to_centimetres),
        Value::Number(number) => {
            let metres = number.as_f64().map(|metres| (100.0 * metres).round() / 100.0);
            if let Some(round) = metres.and_then(Number::from_f64) {
                *number = round;
            }
        }
        _ => {}
    }
}

/// The photo of a site folder, read once when the desk opens.
///
/// # Inputs
/// - `folder`: the desk's own copy of the site · `site`
pub fn picture(folder: &std::path::Path, site: &Site) -> Option<Picture> {
    let (photo, bytes) = load_photo(folder, site)?;
    let digest = Sha256::digest(&bytes).iter().take(8).map(|byte| format!("{byte:02x}")).collect();
    Some(Picture { photo, bytes: bytes.into(), digest })
}

/// `GET /api/still`.
pub async fn still(State(desk): State<Arc<Desk>>, Joined(_): Joined) -> Json<Still> {
    let photo = desk.photo.as_ref().map(|picture| PhotoPlace {
        address: format!("/api/photo/{}", picture.digest),
        width_px: picture.photo.width_px,
        height_px: picture.photo.height_px,
        corners: picture.photo.corners,
        date: picture.photo.date.clone(),
    });
    Json(Still {
        photo,
        pointing: pointing(desk.water.site.units),
        figures: figures(&desk.water.site, &desk.day),
    })
}

/// `GET /api/photo/{digest}`: to devices that have joined, since it shows the site.
pub async fn photo(State(desk): State<Arc<Desk>>, Joined(_): Joined, Path(digest): Path<String>) -> Response {
    match desk.photo.as_ref().filter(|picture| picture.digest == digest) {
        Some(picture) => {
            let about = [
                (CONTENT_TYPE, picture.photo.media),
                (CACHE_CONTROL, "private, max-age=31536000, immutable"),
            ];
            (about, picture.bytes.clone()).into_response()
        }
        None => refuse(StatusCode::NOT_FOUND, "D013", "no photo has that name", "ask /api/still for it"),
    }
}

/// What an explanation names: what it is, its value, its standing.
type Input = (String, String, String);

/// A default of the register: what it is, its value in the units of the site, its standing.
fn input(name: &str, units: Units) -> Input {
    let known = parameter(name);
    (known.note.clone(), units.given(known.value, &known.unit), known.standing.to_string())
}

/// A card with its number.
fn figure(name: &str, value: String, words: &str, (inputs, model): (Vec<Input>, &str)) -> Figure {
    Figure { name: name.into(), value, words: words.into(), inputs, model: model.into() }
}

/// A planning value of the site beside the register's default.
fn limit((name, value_m): (&str, f64), words: &str, default: &str, units: Units) -> Figure {
    let known = parameter(default);
    let whose = if value_m == known.value { "as the register has it" } else { "set by the site" };
    let inputs = vec![
        ("planning value of this site".into(), units.given(value_m, "m"), whose.into()),
        (
            format!("the register: {}", known.note),
            units.given(known.value, &known.unit),
            known.standing.to_string(),
        ),
    ];
    figure(name, units.given(value_m, "m"), words, (inputs, "lines"))
}

/// A reading of the day.
fn reading(name: &str, value: String, words: &str, model: &str) -> Figure {
    let inputs = vec![("as read today, from the day file".into(), value.clone(), "measured here".into())];
    figure(name, value, words, (inputs, model))
}

/// Numbers of the rooms Water and Today, and those that the cautions count with.
fn figures(site: &Site, day: &Day) -> Vec<Figure> {
    let (limits, units) = (&site.limits, site.units);
    let counted = [
        "dives_before_rest",
        "dive_time_s",
        "dive_warn_time_s",
        "dive_warn_depth_m",
        "cold_dive_c",
        "line_current_mps",
        "keep_off_m",
    ];
    let wade = "Deepest ground that a wading line of this site is sent over; the chest of whoever stands there also limits.";
    let dive = "Deepest surface dive of this site; each diver's own limit also limits.";
    let keep_off = "Distance that lines keep from drop-offs and no-go ground.";
    let cautions = "What the cautions count with. Searchers' limits are the site's and each person's own; these stand where nothing else is set.";
    let water = "Water at the surface: it limits how long searchers stay in, and how long a person floats.";
    let sight = "Depth at which the white disc is lost to the eye from above.";
    let wind = "Wind over the open water: it moves whoever floats, and roughens what posts look at.";
    let stage = "Height of the water against the mark of this site; depths are shifted by it.";
    let from = day.wind_from.word();
    vec![
        limit(("wade_depth", limits.wade_depth_m), wade, "wade_depth_limit_m", units),
        limit(("dive_depth", limits.dive_depth_m), dive, "dive_stop_depth_m", units),
        limit(("keep_off", limits.keep_off_m), keep_off, "keep_off_m", units),
        figure(
            "cautions",
            "planning values".into(),
            cautions,
            (counted.map(|name| input(name, units)).to_vec(), "lines"),
        ),
        reading("water", format!("{} °C", day.water_c), water, "sinking"),
        reading("sight", units.given(day.secchi_m, "m"), sight, "view"),
        reading("wind", format!("{} m/s from {from}", day.wind_mps), wind, "belief"),
        reading("stage", units.given(day.stage_m, "m"), stage, "depth"),
    ]
}

/// Defaults of the register for each way of pointing, as the belief takes them.
fn pointing(units: Units) -> Vec<Pointing> {
    let one = |by: &str, told: &dyn Fn(f64) -> String, words: &str, names: &[&str]| {
        let error = parameter(names[0]).value;
        let figure = Figure {
            name: format!("pointing_{by}"),
            value: format!("± {}", told(error)),
            words: words.into(),
            inputs: names.iter().map(|name| input(name, units)).collect(),
            model: "sightings".into(),
        };
        Pointing { by: by.into(), error, figure }
    };
    vec![
        one(
            "point",
            &|error| units.given(error, "m"),
            "How far off a place touched on the map may be, one standard error each way; more once it is told \
             from how far the witness saw it.",
            &["tap_sigma_floor_m", "tap_sigma_share"],
        ),
        one(
            "bearing",
            &|error| format!("{error}°"),
            "How far off a line of sight may be that whoever saw it points out, one standard error either way; \
             less for a guard who stood at the post.",
            &["bearing_sigma_witness_deg", "bearing_sigma_stand_deg", "range_sigma_share"],
        ),
    ]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_packed_number_is_the_number_to_a_centimetre() {
        let mut value = serde_json::json!({ "spot": { "east": -12.345678, "north": 7 }, "name": "1.2345" });
        to_centimetres(&mut value);
        assert_eq!(value, serde_json::json!({ "spot": { "east": -12.35, "north": 7.0 }, "name": "1.2345" }));
    }

    #[test]
    fn a_pointed_out_place_has_the_doubt_of_the_register() {
        let all = pointing(Units::Metric);
        assert_eq!(all[0].error, parameter("tap_sigma_floor_m").value);
        assert_eq!(all[1].error, parameter("bearing_sigma_witness_deg").value);
        assert_eq!(all[0].figure.value, format!("± {} m", all[0].error));
        assert!(pointing(Units::Feet)[0].figure.value.ends_with(" ft"));
        for one in &all {
            assert!(
                one.figure
                    .inputs
                    .iter()
                    .all(|(_, value, standing)| !value.is_empty() && !standing.is_empty())
            );
        }
    }
}
