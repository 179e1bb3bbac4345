//! Files for whoever takes over or looks into it later: the log, the lanes, the belief.

use super::Desk;
use super::clock::{clock, now_ms};
use super::guard::{Joined, refuse};
use super::store::Store;
use ::geojson::{Feature, FeatureCollection, Geometry, GeometryValue, JsonObject, Position};
use axum::extract::{Path, State};
use axum::http::StatusCode;
use axum::http::header::{CONTENT_DISPOSITION, CONTENT_TYPE};
use axum::response::{IntoResponse, Response};
use incident::Handover;
use incident::screen::LaneState;
use measure::Spot;
use serde_json::json;
use std::fmt::Write;
use std::sync::Arc;
use water::Frame;

/// `GET /files/{name}`.
pub async fn file(State(desk): State<Arc<Desk>>, Joined(_): Joined, Path(name): Path<String>) -> Response {
    let sheet = || desk.sheet();
    let frame = &desk.water.site.frame;
    let (kind, bytes) = match name.as_str() {
        "log.jsonl" => match log_lines(&desk).await {
            Ok(text) => ("application/jsonl", text),
            Err(what) => {
                return refuse(StatusCode::INTERNAL_SERVER_ERROR, "D009", what, "look at the laptop's disk");
            }
        },
        "log.csv" => ("text/csv; charset=utf-8", log_csv(&sheet())),
        "lanes.geojson" => ("application/geo+json", lanes(&sheet(), frame, true)),
        "belief.geojson" => ("application/geo+json", lanes(&sheet(), frame, false)),
        "lanes.gpx" => match gpx(&sheet(), frame) {
            Ok(text) => ("application/gpx+xml", text),
            Err(what) => {
                return refuse(StatusCode::INTERNAL_SERVER_ERROR, "D013", what, "take lanes.geojson");
            }
        },
        _ => return refuse(StatusCode::NOT_FOUND, "D013", "no file has that name", "see /api/openapi.json"),
    };
    let saved = format!("attachment; filename=\"{name}\"");
    ([(CONTENT_TYPE, kind.to_string()), (CONTENT_DISPOSITION, saved)], bytes).into_response()
}

impl Desk {
    /// The handover sheet of now, as data.
    pub(super) fn sheet(&self) -> Handover {
        let picture = self.board.borrow().clone();
        incident::handover(&picture.state, &picture.thought, &picture.names, now_ms())
    }
}

async fn log_lines(desk: &Arc<Desk>) -> Result<String, String> {
    let data = desk.data.clone();
    let read = move || Store::read(&data).and_then(|store| store.lines_after(0));
    let lines = tokio::task::spawn_blocking(read).await.map_err(|error| error.to_string())?;
    let lines = lines.map_err(|error| error.to_string())?;
    Ok(lines.into_iter().map(|line| line + "\n").collect())
}

/// The log of the incident in words, a line an entry.
fn log_csv(sheet: &Handover) -> String {
    let mut text = String::from("entry,happened,recorded,words\r\n");
    for line in &sheet.log {
        let time = |ms: i64| clock(ms, sheet.utc_offset_s);
        let recorded = line.recorded_ms.map_or(String::new(), time);
        let _ = write!(text, "{},{},{recorded},{}\r\n", line.seq, time(line.happened_ms), cell(&line.words));
    }
    text
}

/// Words as one cell; none is taken for a formula by whoever opens the table.
fn cell(words: &str) -> String {
    let guard = if words.starts_with(['=', '+', '-', '@', '\t', '\r']) { "'" } else { "" };
    format!("\"{guard}{}\"", words.replace('"', "\"\""))
}

fn position(frame: &Frame, spot: Spot) -> Position {
    let place = frame.to_lonlat(spot);
    let rounded = |degrees: f64| (degrees * 1e7).round() / 1e7;
    Position::from([rounded(place.lon), rounded(place.lat)])
}

fn feature(value: GeometryValue, facts: serde_json::Value) -> Feature {
    let properties: Option<JsonObject> = facts.as_object().cloned();
    Feature { geometry: Some(Geometry::new(value)), properties, ..Feature::default() }
}

/// Lanes with last seen points, or the outlines of the belief.
fn lanes(sheet: &Handover, frame: &Frame, of_lanes: bool) -> String {
    let mut features = Vec::new();
    if of_lanes {
        for lane in &sheet.map.lanes {
            let line = vec![position(frame, lane.from), position(frame, lane.to)];
            let facts = json!({
                "kind": "lane", "order": lane.order, "state": state(lane.state), "method": lane.method, "width_m": lane.width_m,
                "searched_m": lane.done_m, "holds": lane.holds, "words": lane.words,
            });
            features.push(feature(GeometryValue::LineString { coordinates: line }, facts));
        }
        for seen in &sheet.map.seen {
            let facts = json!({ "kind": "last_seen", "sighting": seen.number, "error_m": seen.error_m });
            features.push(feature(GeometryValue::Point { coordinates: position(frame, seen.spot) }, facts));
        }
    }
    for outline in &sheet.map.outlines {
        let ring = |ring: &Vec<[f32; 2]>| -> Vec<Position> {
            ring.iter().map(|p| position(frame, Spot::new(f64::from(p[0]), f64::from(p[1])))).collect()
        };
        let rings: Vec<Vec<Position>> = outline.rings.iter().map(ring).collect();
        let facts = json!({ "kind": "belief", "share": outline.share });
        // Lines, since rings of one share may lie in each other in any depth.
        features.push(feature(GeometryValue::MultiLineString { coordinates: rings }, facts));
    }
    FeatureCollection::new(features).to_string()
}

fn state(state: LaneState) -> &'static str {
    match state {
        LaneState::Planned => "planned",
        LaneState::Running => "under way",
        LaneState::Searched => "searched",
        LaneState::Part => "searched in part",
    }
}

/// Lanes as routes, last seen points as places.
fn gpx(sheet: &Handover, frame: &Frame) -> Result<String, String> {
    let point = |spot: Spot| {
        let place = frame.to_lonlat(spot);
        ::gpx::Waypoint::new((place.lon, place.lat).into())
    };
    let mut all = ::gpx::Gpx {
        version: ::gpx::GpxVersion::Gpx11,
        creator: Some("fathomline".into()),
        ..Default::default()
    };
    for lane in &sheet.map.lanes {
        let points = vec![point(lane.from), point(lane.to)];
        let mut route = ::gpx::Route::new();
        (route.name, route.points) = (Some(plain(&lane.words)), points);
        all.routes.push(route);
    }
    for seen in &sheet.map.seen {
        let mut place = point(seen.spot);
        place.name = Some(format!("last seen, sighting {}", seen.number));
        all.waypoints.push(place);
    }
    let mut bytes = Vec::new();
    ::gpx::write(&all, &mut bytes).map_err(|error| error.to_string())?;
    String::from_utf8(bytes).map_err(|error| error.to_string())
}

/// Text without the control letters XML has no room for.
fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_control() && !matches!(*c as u32, 0xFFFE | 0xFFFF)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_table_holds_words_and_no_formulas() {
        assert_eq!(cell("a \"b\", c"), "\"a \"\"b\"\", c\"");
        assert_eq!(cell("=1+1"), "\"'=1+1\"");
    }
}
