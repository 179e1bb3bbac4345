//! GeoJSON (RFC 7946) by hand, so that one bad feature is named and the others are still read.

use crate::formats::words::short;
use serde_json::Value;

/// One position of a geometry.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Position {
    pub lon: f64,
    pub lat: f64,
    /// Third coordinate, where there is one.
    pub height: Option<f64>,
}

/// Shapes of a geometry, positions unchecked but finite.
#[derive(Clone, Debug, PartialEq)]
pub enum Shapes {
    Points(Vec<Position>),
    Lines(Vec<Vec<Position>>),
    Areas(Vec<Vec<Vec<Position>>>),
}

impl Shapes {
    /// The word for it in problems.
    pub fn word(&self) -> &'static str {
        match self {
            Shapes::Points(_) => "a point",
            Shapes::Lines(_) => "a line",
            Shapes::Areas(_) => "a polygon",
        }
    }
}

/// Why a whole file cannot be read.
#[derive(Clone, Debug)]
pub struct Refused {
    pub line: Option<usize>,
    pub what: String,
    pub remedy: String,
}

/// What is wrong and the way out.
pub type Wrong = (String, String);

/// The features of a FeatureCollection.
pub fn collection(text: &str) -> Result<Vec<Value>, Refused> {
    let mut value: Value = serde_json::from_str(text).map_err(|error| not_json(text, &error))?;
    let refuse = |what: String, remedy: &str| Refused { line: Some(1), what, remedy: remedy.into() };
    let kind = value.get("type").and_then(Value::as_str).unwrap_or("nothing");
    if kind != "FeatureCollection" {
        let what = format!("is of type \"{}\", not a FeatureCollection", short(kind));
        return Err(refuse(what, "wrap it: {\"type\": \"FeatureCollection\", \"features\": [ ... ]}"));
    }
    match value.get_mut("features").map(Value::take) {
        Some(Value::Array(features)) => Ok(features),
        _ => Err(refuse("has no list \"features\"".into(), "add \"features\": [ ... ]")),
    }
}

fn not_json(text: &str, error: &serde_json::Error) -> Refused {
    let (line, column) = (error.line(), error.column());
    let from = column.saturating_sub(1);
    let here = text.lines().nth(line.saturating_sub(1)).unwrap_or("");
    let rest = here.get(from.min(here.len())..).unwrap_or("");
    let word = rest.trim_start_matches('-');
    let no_number = ["NaN", "nan", "Infinity", "inf"].iter().any(|w| word.starts_with(w))
        || here.get(..from.min(here.len())).is_some_and(|h| h.ends_with('-') && rest.starts_with('I'));
    let remedy = if no_number {
        "JSON has no NaN and no Infinity: take that position out"
    } else {
        "mend it there, or export the map again as GeoJSON"
    };
    Refused { line: Some(line.max(1)), what: format!("is not JSON: {error}"), remedy: remedy.into() }
}

/// The shapes of a feature's geometry.
pub fn shapes(feature: &Value) -> Result<Shapes, Wrong> {
    let geometry = match feature.get("geometry") {
        Some(Value::Object(geometry)) => geometry,
        _ => return Err(("has no geometry".into(), "draw it, or take the feature out".into())),
    };
    let kind = geometry.get("type").and_then(Value::as_str).unwrap_or("nothing");
    let coordinates = geometry.get("coordinates").unwrap_or(&Value::Null);
    Ok(match kind {
        "Point" => Shapes::Points(vec![position(coordinates)?]),
        "MultiPoint" => Shapes::Points(each(coordinates, position)?),
        "LineString" => Shapes::Lines(vec![each(coordinates, position)?]),
        "MultiLineString" => Shapes::Lines(each(coordinates, |line| each(line, position))?),
        "Polygon" => Shapes::Areas(vec![each(coordinates, |ring| each(ring, position))?]),
        "MultiPolygon" => {
            Shapes::Areas(each(coordinates, |polygon| each(polygon, |ring| each(ring, position)))?)
        }
        other => {
            return Err((
                format!("has a geometry of type \"{}\"", short(other)),
                "use Point, LineString or Polygon, or their Multi forms; one feature for each thing".into(),
            ));
        }
    })
}

/// The points of a feature that may hold nothing else.
pub fn points(feature: &Value) -> Result<Vec<Position>, Wrong> {
    match shapes(feature)? {
        Shapes::Points(points) => Ok(points),
        other => Err((format!("is {}", other.word()), "soundings are points".into())),
    }
}

fn each<T>(value: &Value, read: impl Fn(&Value) -> Result<T, Wrong>) -> Result<Vec<T>, Wrong> {
    match value {
        Value::Array(items) => items.iter().map(read).collect(),
        _ => Err((
            format!("has {} where a list of coordinates belongs", short(&value.to_string())),
            "export the feature again; lists are nested by geometry type".into(),
        )),
    }
}

fn position(value: &Value) -> Result<Position, Wrong> {
    let wrong = || {
        (
            format!("has the position {}, which is not [longitude, latitude]", short(&value.to_string())),
            "give two numbers in degrees; null, text and lists within are refused".to_string(),
        )
    };
    let items = value.as_array().filter(|items| items.len() >= 2).ok_or_else(wrong)?;
    let at = |n: usize| items[n].as_f64().filter(|v| v.is_finite()).ok_or_else(wrong);
    let height = items.get(2).and_then(Value::as_f64).filter(|v| v.is_finite());
    Ok(Position { lon: at(0)?, lat: at(1)?, height })
}
