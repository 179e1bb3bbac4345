//! `map.geojson`: every feature by kind, brought into site metres and checked.

use crate::door::projection::turned;
use crate::door::rings::{self, Ring};
use crate::door::settings::BEDS;
use crate::formats::features::{Position, Shapes, collection, shapes};
use crate::formats::text::text;
use crate::formats::words::{choose, short};
use crate::problem::{At, Report};
use crate::site::{Bed, Feature, Kind, Shape, Support};
use crate::{Frame, LonLat};
use measure::Spot;
use measure::parameters::value;
use serde_json::Value;

/// Most positions of one map: more than any survey of a bathing place needs.
const POSITIONS_MOST: usize = 100_000;

/// Highest eye or top over the water that is believed \[m\].
const HEIGHT_MOST_M: f64 = 60.0;

/// Words of the property `kind`.
const KINDS: [(&str, Kind); 13] = [
    ("water", Kind::Water),
    ("bathing_area", Kind::BathingArea),
    ("bottom", Kind::Bottom(Bed::Mud)),
    ("dock", Kind::Dock(Support::Piled)),
    ("raft", Kind::Raft(Support::Floating)),
    ("rope", Kind::Rope),
    ("post", Kind::Post),
    ("kit_place", Kind::KitPlace),
    ("landmark", Kind::Landmark),
    ("gate", Kind::Gate),
    ("catch_point", Kind::CatchPoint),
    ("no_go", Kind::NoGo),
    ("drop_off", Kind::DropOff),
];

const SUPPORTS: [(&str, Support); 3] =
    [("solid", Support::Solid), ("piled", Support::Piled), ("floating", Support::Floating)];

/// What one walk through the map gathers besides features.
#[derive(Default)]
struct Walk {
    positions: usize,
    heights: usize,
    turned: usize,
    /// Features that lie too far from the origin: their place in words, distance \[m\], and whether the two numbers swapped would lie near.
    far: Vec<(At, f64, bool)>,
    placed: usize,
    /// Heights told of features, by name \[m\].
    told: Vec<(String, f64)>,
}

/// Reads the map: features, and the heights told of some by name \[m\]. What is wrong is reported and left out.
pub(crate) fn read(bytes: &[u8], frame: &Frame, report: &mut Report) -> (Vec<Feature>, Vec<(String, f64)>) {
    let nothing = || (Vec::new(), Vec::new());
    let Some(text) = text(bytes, report) else { return nothing() };
    let values = match collection(text) {
        Ok(values) => values,
        Err(why) => {
            let at = why.line.map_or_else(At::file, At::line);
            report.fatal("W201", at, why.what, why.remedy);
            return nothing();
        }
    };
    let (mut features, mut walk) = (Vec::new(), Walk::default());
    for (n, value) in values.iter().enumerate() {
        features.extend(feature(n + 1, value, (frame, &mut walk), report));
        if walk.positions > POSITIONS_MOST {
            let what = format!("has more than {POSITIONS_MOST} positions");
            report.fatal("W226", At::file(), what, "simplify the lines to a metre or so");
            return nothing();
        }
    }
    say_far(frame, &walk, report);
    if walk.heights > 0 {
        let what = format!("{} positions have a third coordinate, which is not used", walk.heights);
        report.note("W225", At::file(), what, "depths belong in a soundings file");
    }
    if walk.turned > 0 {
        let what = format!("{} longitudes lie beyond 180 degrees and were turned back by 360", walk.turned);
        report.note("W222", At::file(), what, "write longitudes from -180 to 180");
    }
    check_names(&features, report);
    (features, walk.told)
}

/// The frame to check a map by when `site.toml` gives no origin: about its first position.
pub(crate) fn frame_of(bytes: &[u8]) -> Option<Frame> {
    let text = std::str::from_utf8(bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes)).ok()?;
    let first = collection(text).ok()?.iter().find_map(|feature| match shapes(feature).ok()? {
        Shapes::Points(points) => points.first().copied(),
        Shapes::Lines(lines) => lines.first()?.first().copied(),
        Shapes::Areas(areas) => areas.first()?.first()?.first().copied(),
    })?;
    let near = first.lon.abs() <= 180.0 && first.lat.abs() <= 90.0;
    near.then(|| Frame::new(LonLat { lon: first.lon, lat: first.lat }))
}

fn feature(n: usize, value: &Value, (frame, walk): (&Frame, &mut Walk), report: &mut Report) -> Vec<Feature> {
    let name = name_of(n, value, report);
    let label =
        if name.is_empty() { format!("feature {n}") } else { format!("feature {n} \"{}\"", short(&name)) };
    let at = At::item(label);
    if value.get("type").and_then(Value::as_str) != Some("Feature") {
        report.fatal("W209", at, "is not of type \"Feature\"", "write \"type\": \"Feature\" around it");
        return Vec::new();
    }
    let kind = kind_of(value, &at, report);
    let found = match shapes(value) {
        Ok(found) => found,
        Err((what, remedy)) => {
            report.fatal("W209", at, what, remedy);
            return Vec::new();
        }
    };
    let Some(kind) = kind else { return Vec::new() };
    if name.is_empty() && needs_name(kind) {
        report.fatal(
            "W204",
            at.clone(),
            "has no name, and orders point to it by name",
            "add a property name",
        );
    }
    if !fits(kind, &found) {
        let what = format!("is {} and must be {}", found.word(), wanted(kind));
        report.fatal("W208", at, what, format!("draw it as {}", wanted(kind)));
        return Vec::new();
    }
    let height_m = height(value, kind, &at, report);
    let Some(places) = place_all(&found, (frame, walk), &at, report) else { return Vec::new() };
    let parts = into_shapes(places, (frame, &at), report);
    let several = parts.len() > 1;
    let named = |(i, shape)| {
        let name = if several && !name.is_empty() { format!("{name} ({})", i + 1) } else { name.clone() };
        Feature { name, kind, shape }
    };
    let features: Vec<Feature> = parts.into_iter().enumerate().map(named).collect();
    walk.told.extend(height_m.into_iter().flat_map(|m| features.iter().map(move |f| (f.name.clone(), m))));
    features
}

/// The height told of a feature: of the eye for a post, of the top for a dock, a raft or a landmark \[m over the water\].
fn height(value: &Value, kind: Kind, at: &At, report: &mut Report) -> Option<f64> {
    let (key, least) = match kind {
        Kind::Post => ("eye_m", 0.3),
        Kind::Dock(_) | Kind::Raft(_) | Kind::Landmark => ("height_m", 0.0),
        _ => return None,
    };
    let given = value.get("properties").and_then(|p| p.get(key)).filter(|given| !given.is_null())?;
    let height_m = given.as_f64().filter(|m| (least..=HEIGHT_MOST_M).contains(m));
    if height_m.is_none() {
        let what = format!("{key} {} is not a height over the water", short(&given.to_string()));
        let remedy = format!("write metres from {least} to {HEIGHT_MOST_M}, or take it out");
        report.fatal("W227", at.clone(), what, remedy);
    }
    height_m
}

fn name_of(n: usize, value: &Value, report: &mut Report) -> String {
    let raw = match value.pointer("/properties/name") {
        Some(Value::String(name)) => name.clone(),
        Some(Value::Number(number)) => number.to_string(),
        _ => return String::new(),
    };
    let clean: Vec<&str> = raw.split(|c: char| c.is_whitespace() || c.is_control()).collect();
    let clean = clean.into_iter().filter(|w| !w.is_empty()).collect::<Vec<_>>().join(" ");
    if clean.chars().count() > 40 {
        let what = format!("the name \"{}\" is longer than 40 letters", short(&clean));
        report.note(
            "W223",
            At::item(format!("feature {n}")),
            what,
            "choose one that can be called over the radio",
        );
    }
    clean
}

fn kind_of(value: &Value, at: &At, report: &mut Report) -> Option<Kind> {
    let words: Vec<&str> = KINDS.iter().map(|(word, _)| *word).collect();
    let Some(given) = value.pointer("/properties/kind").and_then(Value::as_str) else {
        let remedy = format!("add a property kind: one of {}", words.join(", "));
        report.fatal("W202", at.clone(), "has no property kind", remedy);
        return None;
    };
    let Some((_, kind)) = KINDS.iter().find(|(word, _)| *word == given) else {
        let what = format!("kind \"{}\" is not known", short(given));
        report.fatal("W202", at.clone(), what, choose(given, &words));
        return None;
    };
    let property = |key: &str| value.get("properties").and_then(|p| p.get(key)).and_then(Value::as_str);
    match kind {
        Kind::Bottom(_) => choice((property("bed"), "bed", &BEDS), at, report).map(Kind::Bottom),
        Kind::Dock(_) | Kind::Raft(_) => {
            let dock = matches!(kind, Kind::Dock(_));
            let usual = if dock { Support::Piled } else { Support::Floating };
            let support = if property("support").is_some() {
                choice((property("support"), "support", &SUPPORTS), at, report)?
            } else {
                let what = "has no property support: water is assumed under it, where a person may lie";
                report.note("W224", at.clone(), what, "add support: solid, piled or floating");
                usual
            };
            Some(if dock { Kind::Dock(support) } else { Kind::Raft(support) })
        }
        other => Some(*other),
    }
}

fn choice<T: Copy>(
    (given, key, valid): (Option<&str>, &str, &[(&str, T)]),
    at: &At,
    report: &mut Report,
) -> Option<T> {
    let words: Vec<&str> = valid.iter().map(|(word, _)| *word).collect();
    let found = given.and_then(|given| valid.iter().find(|(word, _)| *word == given));
    if found.is_none() {
        let what = match given {
            Some(given) => format!("{key} \"{}\" is not known", short(given)),
            None => format!("has no property {key}"),
        };
        report.fatal("W203", at.clone(), what, choose(given.unwrap_or(""), &words));
    }
    found.map(|(_, value)| *value)
}

/// Whether orders or the alarm point to features of this kind by name.
fn needs_name(kind: Kind) -> bool {
    matches!(
        kind,
        Kind::Post
            | Kind::Landmark
            | Kind::KitPlace
            | Kind::Gate
            | Kind::CatchPoint
            | Kind::Dock(_)
            | Kind::Raft(_)
    )
}

fn fits(kind: Kind, found: &Shapes) -> bool {
    match kind {
        Kind::Water | Kind::BathingArea | Kind::Bottom(_) | Kind::Dock(_) | Kind::Raft(_) => {
            matches!(found, Shapes::Areas(_))
        }
        Kind::Rope | Kind::DropOff => matches!(found, Shapes::Lines(_)),
        Kind::Post | Kind::KitPlace | Kind::Gate | Kind::CatchPoint => {
            matches!(found, Shapes::Points(points) if points.len() == 1)
        }
        Kind::Landmark | Kind::NoGo => true,
    }
}

fn wanted(kind: Kind) -> &'static str {
    match kind {
        Kind::Rope | Kind::DropOff => "a line",
        Kind::Post | Kind::KitPlace | Kind::Gate | Kind::CatchPoint => "one point",
        Kind::Landmark | Kind::NoGo => "a point, line or polygon",
        _ => "a polygon",
    }
}

/// Places in site metres, nested as the shapes were.
enum Places {
    Points(Vec<Spot>),
    Lines(Vec<Vec<Spot>>),
    Areas(Vec<Vec<Vec<Spot>>>),
}

fn place_all(
    found: &Shapes,
    (frame, walk): (&Frame, &mut Walk),
    at: &At,
    report: &mut Report,
) -> Option<Places> {
    let (mut far, mut swapped, mut bad) = (0.0f64, false, None);
    let reach = value("site_reach_m");
    let mut place = |position: &Position| {
        walk.positions += 1;
        walk.heights += usize::from(position.height.is_some());
        let Position { lon, lat, .. } = *position;
        if lon.abs() > 360.0 || lat.abs() > 90.0 {
            bad = bad.or(Some((lon, lat)));
            return Spot::default();
        }
        let spot = frame.to_site(LonLat { lon: turned(lon), lat });
        if spot.length() > reach && spot.length() > far {
            far = spot.length();
            swapped = lon.abs() <= 90.0 && frame.to_site(LonLat { lon: lat, lat: lon }).length() <= reach;
        }
        if lon.abs() > 180.0 {
            walk.turned += 1;
            if spot.length() > reach {
                bad = bad.or(Some((lon, lat)));
            }
        }
        spot
    };
    let mut line = |positions: &Vec<Position>| positions.iter().map(&mut place).collect::<Vec<_>>();
    let places = match found {
        Shapes::Points(points) => Places::Points(line(points)),
        Shapes::Lines(lines) => Places::Lines(lines.iter().map(&mut line).collect()),
        Shapes::Areas(areas) => {
            Places::Areas(areas.iter().map(|rings| rings.iter().map(&mut line).collect()).collect())
        }
    };
    if let Some((lon, lat)) = bad {
        out_of_range(lon, lat, at, report);
        return None;
    }
    walk.placed += 1;
    if far > 0.0 {
        walk.far.push((at.clone(), far, swapped));
        return None;
    }
    Some(places)
}

fn out_of_range(lon: f64, lat: f64, at: &At, report: &mut Report) {
    let remedy = if lon.abs() <= 90.0 && lat.abs() <= 180.0 {
        "longitude comes first: turn the two round"
    } else if lon.abs() > 1000.0 || lat.abs() > 1000.0 {
        "these look like projected metres: export the map as longitude and latitude, WGS 84"
    } else {
        "give degrees WGS 84: longitude -180 to 180 first, then latitude -90 to 90"
    };
    report.fatal("W206", at.clone(), format!("position [{lon}, {lat}] is out of range"), remedy);
}

fn say_far(frame: &Frame, walk: &Walk, report: &mut Report) {
    let reach = value("site_reach_m");
    let LonLat { lon, lat } = frame.origin();
    if walk.far.len() > 1 && walk.far.len() == walk.placed {
        let km = walk.far.iter().map(|f| f.1).fold(f64::INFINITY, f64::min) / 1000.0;
        let remedy = if walk.far.iter().all(|f| f.2) {
            "longitude and latitude look swapped, in the map or in origin: longitude comes first"
        } else {
            "write an origin inside the site, or take the right map"
        };
        let what = format!("the whole map lies more than {km:.0} km from the origin [{lon}, {lat}]");
        report.fatal("W207", At::file(), what, remedy);
        return;
    }
    for (at, metres, swapped) in &walk.far {
        let what = format!(
            "lies {:.0} km from the origin [{lon}, {lat}]; a site reaches {:.0} km at most",
            metres / 1000.0,
            reach / 1000.0
        );
        let remedy = if *swapped {
            "longitude and latitude look swapped: longitude comes first"
        } else {
            "mend its position, or take it out"
        };
        report.fatal("W207", at.clone(), what, remedy);
    }
}

fn into_shapes(places: Places, (frame, at): (&Frame, &At), report: &mut Report) -> Vec<Shape> {
    match places {
        Places::Points(points) => points.into_iter().map(Shape::Point).collect(),
        Places::Lines(lines) => lines.into_iter().filter_map(|line| line_shape(line, at, report)).collect(),
        Places::Areas(areas) => {
            let mut ring = Ring { frame, at: at.clone(), report };
            let polygons: Vec<_> =
                areas.into_iter().filter_map(|area| rings::polygon(area, &mut ring)).collect();
            if polygons.is_empty() { Vec::new() } else { vec![Shape::Area(polygons)] }
        }
    }
}

fn line_shape(mut line: Vec<Spot>, at: &At, report: &mut Report) -> Option<Shape> {
    line.dedup_by(|a, b| a.distance(*b) < rings::SAME_M);
    if line.len() < 2 {
        let what = "is a line of no length: all its positions are one";
        report.fatal("W217", at.clone(), what, "draw it from one end to the other");
        return None;
    }
    Some(Shape::Line(line))
}

fn check_names(features: &[Feature], report: &mut Report) {
    for (i, feature) in features.iter().enumerate().filter(|(_, f)| !f.name.is_empty()) {
        let same = |other: &&Feature| other.name.eq_ignore_ascii_case(&feature.name);
        let Some(earlier) = features[..i].iter().find(same) else { continue };
        let at = At::item(format!("\"{}\"", short(&feature.name)));
        let what = "is the name of two features";
        if needs_name(feature.kind) || needs_name(earlier.kind) {
            report.fatal("W205", at, format!("{what}: an order to it could not be understood"), "rename one");
        } else {
            report.note("W205", at, what, "rename one if either is to be pointed to by name");
        }
    }
}
