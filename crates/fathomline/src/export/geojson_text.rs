//! Lanes, last seen points, outlines and gaps as one GeoJSON feature collection (RFC 7946).

use super::{time_of_day, who};
use crate::picture::{SearchScene, last_seen_at, outline, stretch_ring};
use geojson::{Feature, FeatureCollection, GeometryValue, JsonObject, Position};
use measure::Spot;
use search::Stretch;
use search::plan::Run;
use serde_json::{Value, json};
use water::Frame;

/// The search as GeoJSON: longitude and latitude in WGS 84, outer rings counter-clockwise, geometry cut at the antimeridian.
///
/// Features carry `kind`: `lane` (polygon: number, state, who, method, width and depths \[m\], times), `lane_line` (its
/// middle line in the direction it is walked), `last_seen`, `outline` (share inside), `gap` (why nobody covers it).
///
/// # Inputs
/// - `scene`: as drawn
///
/// # Gives
/// The text of a GeoJSON file; things without a finite place are left out.
pub fn geojson(scene: &SearchScene) -> String {
    let frame = &scene.setting.site.frame;
    let mut features = Vec::new();
    for searched in scene.searched {
        let of = lane_facts(scene, &searched.sweep.stretch, (searched.sweep.from_s, searched.sweep.to_s));
        let more = json!({ "kind": "lane", "number": searched.number, "state": "searched", "who": [searched.by],
            "method": searched.sweep.method });
        lane(&mut features, frame, (&searched.sweep.stretch, &joined(more, &of)));
    }
    for (k, run) in scene.plan.runs.iter().enumerate() {
        let stretch = Stretch::Strip { from: run.from, to: run.to, width_m: run.width_m };
        let stretch = match run.legs.first().map(|leg| leg.sweep.stretch) {
            Some(disc @ Stretch::Disc { .. }) => disc,
            _ => stretch,
        };
        let of = lane_facts(scene, &stretch, (run.from_s, run.to_s));
        lane(&mut features, frame, (&stretch, &joined(run_facts(scene, (k, run)), &of)));
    }
    for sighting in &scene.alarm.sightings {
        if let Some(spot) = last_seen_at(&sighting.seen) {
            let facts = json!({ "kind": "last_seen", "by": sighting.by, "class": sighting.class,
                "from_s": finite(sighting.from_s), "to_s": finite(sighting.to_s),
                "from_time": time_of_day(scene, sighting.from_s), "to_time": time_of_day(scene, sighting.to_s) });
            push(&mut features, GeometryValue::new_point(position(frame, spot)), facts);
        }
    }
    outlines(&mut features, scene);
    for gap in scene.plan.gaps.iter().filter(|gap| gap.spot.is_finite()) {
        let facts = json!({ "kind": "gap", "why": gap.why, "area_m2": finite(gap.area_m2), "mass": finite(gap.mass) });
        push(&mut features, GeometryValue::new_point(position(frame, gap.spot)), facts);
    }
    let collection = FeatureCollection { bbox: None, features, foreign_members: None };
    geojson::GeoJson::FeatureCollection(collection).to_string()
}

/// What is known of a run beside its place and time.
fn run_facts(scene: &SearchScene, (k, run): (usize, &Run)) -> Value {
    let team = scene.plan.teams.get(run.team);
    let deepest = run.legs.iter().map(|leg| leg.depth_m).filter(|d| d.is_finite()).reduce(f64::max);
    json!({ "kind": "lane", "number": scene.number(k), "order": k + 1,
        "state": if run.under_way { "under_way" } else { "planned" }, "who": who(scene, run),
        "method": team.map(|t| t.method), "spacing_m": team.and_then(|t| finite(t.spacing_m)),
        "depth_most_m": deepest, "leaves_s": finite(run.leaves_s),
        "leaves_time": time_of_day(scene, run.leaves_s), "gain": finite(run.gain) })
}

/// Place and time of a lane.
fn lane_facts(scene: &SearchScene, stretch: &Stretch, (from_s, to_s): (f64, f64)) -> Value {
    let (width, length, bearing) = match *stretch {
        Stretch::Strip { from, to, width_m } => {
            (width_m, from.distance(to), finite(from.bearing_to(to).degrees()))
        }
        Stretch::Disc { radius_m, .. } => (2.0 * radius_m, 0.0, None),
    };
    json!({ "width_m": finite(width), "length_m": finite(length), "bearing_deg": bearing,
        "from_s": finite(from_s), "to_s": finite(to_s),
        "from_time": time_of_day(scene, from_s), "to_time": time_of_day(scene, to_s) })
}

/// A lane as polygon and, where it has a direction, its middle line.
fn lane(features: &mut Vec<Feature>, frame: &Frame, (stretch, facts): (&Stretch, &Value)) {
    let mut ring = stretch_ring(stretch);
    if ring.iter().any(|s| !s.is_finite()) {
        return;
    }
    if outline::ring_area(&ring) < 0.0 {
        ring.reverse();
    }
    if let Some(shape) = areas(frame, &[vec![ring]]) {
        push(features, shape, facts.clone());
    }
    if let Stretch::Strip { from, to, .. } = *stretch {
        let line = joined(
            json!({ "kind": "lane_line" }),
            &json!({ "number": facts["number"], "state": facts["state"] }),
        );
        push(features, middle_line(frame, (from, to)), line);
    }
}

/// The outlines as polygons with their holes.
fn outlines(features: &mut Vec<Feature>, scene: &SearchScene) {
    let Some(map) = scene.map else { return };
    for &(share, level) in scene.regions.iter().filter(|(s, l)| s.is_finite() && *l > 0.0) {
        let (outer, holes): (Vec<_>, Vec<_>) =
            outline::rings(map, level).into_iter().partition(|ring| outline::ring_area(ring) > 0.0);
        let mut polygons: Vec<Vec<Vec<Spot>>> = outer.into_iter().map(|ring| vec![ring]).collect();
        for hole in holes {
            // A hole belongs to the smallest outer ring round it.
            let home = polygons
                .iter_mut()
                .filter(|polygon| outline::ring_holds(&polygon[0], hole[0]))
                .min_by(|a, b| outline::ring_area(&a[0]).total_cmp(&outline::ring_area(&b[0])));
            if let Some(polygon) = home {
                polygon.push(hole);
            }
        }
        if let Some(shape) = areas(&scene.setting.site.frame, &polygons) {
            let facts = json!({ "kind": "outline", "share": share, "of": "mass on the bottom" });
            push(features, shape, facts);
        }
    }
}

fn push(features: &mut Vec<Feature>, value: GeometryValue, facts: Value) {
    let properties: JsonObject = match facts {
        Value::Object(map) => map,
        _ => JsonObject::new(),
    };
    features.push(Feature {
        geometry: Some(geojson::Geometry::new(value)),
        properties: Some(properties),
        ..Feature::default()
    });
}

/// A number where there is one; JSON has no other kind.
fn finite(x: f64) -> Option<f64> {
    x.is_finite().then_some(x)
}

fn joined(mut first: Value, second: &Value) -> Value {
    if let (Some(a), Some(b)) = (first.as_object_mut(), second.as_object()) {
        a.extend(b.iter().map(|(k, v)| (k.clone(), v.clone())));
    }
    first
}

/// Longitude counted on from the origin without a jump, and latitude; nine decimals are a tenth of a millimetre.
fn unwrapped(frame: &Frame, spot: Spot) -> [f64; 2] {
    let (at, origin) = (frame.to_lonlat(spot), frame.origin());
    let turn = (at.lon - origin.lon + 180.0).rem_euclid(360.0) - 180.0;
    [rounded(origin.lon + turn), rounded(at.lat)]
}

fn rounded(degrees: f64) -> f64 {
    (degrees * 1e9).round() / 1e9
}

fn position(frame: &Frame, spot: Spot) -> Position {
    let [lon, lat] = unwrapped(frame, spot);
    Position::from([wrapped(lon), lat])
}

fn wrapped(lon: f64) -> f64 {
    if (-180.0..=180.0).contains(&lon) { lon } else { rounded((lon + 180.0).rem_euclid(360.0) - 180.0) }
}

/// The turns of the globe a set of longitudes touches: 0 for −180 to 180, 1 east of it, −1 west of it.
fn turns(lons: impl Iterator<Item = f64>) -> std::ops::RangeInclusive<i32> {
    let (low, high) = lons.fold((f64::MAX, f64::MIN), |(a, b), x| (a.min(x), b.max(x)));
    let first = if low < -180.0 { -1 } else { 0 };
    let last = if high > 180.0 { 1 } else { 0 };
    // Wholly beyond: only there.
    (if low >= 180.0 { 1 } else { first })..=(if high <= -180.0 { -1 } else { last })
}

/// Polygons in longitude and latitude, cut at the antimeridian.
fn areas(frame: &Frame, polygons: &[Vec<Vec<Spot>>]) -> Option<GeometryValue> {
    let mut all: Vec<Vec<Vec<Position>>> = Vec::new();
    for polygon in polygons {
        let rings: Vec<Vec<[f64; 2]>> =
            polygon.iter().map(|ring| ring.iter().map(|&s| unwrapped(frame, s)).collect()).collect();
        for turn in turns(rings.iter().flatten().map(|p| p[0])) {
            let shift = 360.0 * f64::from(turn);
            let cut: Vec<Vec<Position>> = rings
                .iter()
                .map(|ring| beyond(&beyond(ring, shift - 180.0, 1.0), shift + 180.0, -1.0))
                .filter(|ring| ring.len() >= 4)
                .map(|ring| ring.iter().map(|p| Position::from([p[0] - shift, p[1]])).collect())
                .collect();
            if !cut.is_empty() {
                all.push(cut);
            }
        }
    }
    match all.len() {
        0 => None,
        1 => all.pop().map(|one| GeometryValue::Polygon { coordinates: one }),
        _ => Some(GeometryValue::MultiPolygon { coordinates: all }),
    }
}

/// The part of a closed ring on one side of a meridian, closed.
fn beyond(ring: &[[f64; 2]], meridian: f64, sign: f64) -> Vec<[f64; 2]> {
    let side = |p: &[f64; 2]| sign * (p[0] - meridian);
    let mut kept: Vec<[f64; 2]> = Vec::with_capacity(ring.len());
    for pair in ring.windows(2) {
        let (a, b) = (side(&pair[0]), side(&pair[1]));
        if a >= 0.0 {
            kept.push(pair[0]);
        }
        if (a > 0.0 && b < 0.0) || (a < 0.0 && b > 0.0) {
            kept.push([meridian, pair[0][1] + (pair[1][1] - pair[0][1]) * a / (a - b)]);
        }
    }
    if let Some(&first) = kept.first() {
        kept.push(first);
    }
    kept
}

/// The middle line of a lane, in two pieces where it crosses the antimeridian.
fn middle_line(frame: &Frame, (from, to): (Spot, Spot)) -> GeometryValue {
    let (a, b) = (unwrapped(frame, from), unwrapped(frame, to));
    for meridian in [-180.0, 180.0] {
        if (a[0] - meridian) * (b[0] - meridian) < 0.0 {
            let lat = a[1] + (b[1] - a[1]) * (meridian - a[0]) / (b[0] - a[0]);
            let edge = |p: [f64; 2]| if wrapped(p[0]) < 0.0 { -180.0 } else { 180.0 };
            let piece = |p: [f64; 2]| [Position::from([wrapped(p[0]), p[1]]), Position::from([edge(p), lat])];
            let ([first, cut], [last, again]) = (piece(a), piece(b));
            return GeometryValue::MultiLineString { coordinates: vec![vec![first, cut], vec![again, last]] };
        }
    }
    GeometryValue::LineString { coordinates: vec![position(frame, from), position(frame, to)] }
}
