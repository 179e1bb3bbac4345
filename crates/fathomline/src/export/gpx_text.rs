//! Lanes as routes and places as waypoints (GPX 1.1), for hand-held receivers.

use super::{time_of_day, who};
use crate::picture::{SearchScene, last_seen_at};
use gpx::{Gpx, GpxVersion, Route, Waypoint};
use measure::Spot;
use search::Stretch;

/// The search as GPX 1.1: a route for each lane in the direction it is walked, waypoints for last seen points and the site's marks.
///
/// # Inputs
/// - `scene`: as drawn
///
/// # Gives
/// The text of a GPX file; in words why not, where it could not be written. Things without a finite place are left out.
pub fn gpx(scene: &SearchScene) -> Result<String, String> {
    let mut file = Gpx { version: GpxVersion::Gpx11, creator: Some("fathomline".into()), ..Gpx::default() };
    for sighting in &scene.alarm.sightings {
        if let Some(spot) = last_seen_at(&sighting.seen) {
            let when = time_of_day(scene, sighting.to_s).unwrap_or_default();
            let text = format!("told by {}, seen at {when}", sighting.by);
            file.waypoints.push(waypoint(scene, spot, (&format!("last seen, {}", sighting.by), &text)));
        }
    }
    for (name, spot) in scene.setting.site.marks() {
        if spot.is_finite() {
            file.waypoints.push(waypoint(scene, spot, (name, "mark")));
        }
    }
    let units = scene.setting.site.units;
    for searched in scene.searched {
        if let Stretch::Strip { from, to, width_m } = searched.sweep.stretch {
            let text = format!("searched by {}, {} wide", searched.by, units.length(width_m));
            file.routes.extend(route(scene, (from, to), (searched.number, &text)));
        }
    }
    for (k, run) in scene.plan.runs.iter().enumerate() {
        let state = if run.under_way { "under way" } else { "planned" };
        let when = time_of_day(scene, run.from_s).unwrap_or_default();
        let names = who(scene, run).join(", ");
        let text = format!("{state}, {} wide, from {when}, {names}", units.length(run.width_m));
        file.routes.extend(route(scene, (run.from, run.to), (scene.number(k), &text)));
    }
    let mut bytes = Vec::new();
    gpx::write(&file, &mut bytes).map_err(|e| format!("the lanes could not be written as GPX: {e}"))?;
    String::from_utf8(bytes).map_err(|e| format!("the lanes could not be written as GPX: {e}"))
}

fn route(scene: &SearchScene, (from, to): (Spot, Spot), (number, text): (usize, &str)) -> Option<Route> {
    let mut route = Route::new();
    route.name = Some(format!("lane {number}"));
    route.description = Some(plain(text));
    route.number = u32::try_from(number).ok();
    if !from.is_finite() || !to.is_finite() {
        return None;
    }
    route.points.push(waypoint(scene, from, (&format!("lane {number} starts"), "")));
    route.points.push(waypoint(scene, to, (&format!("lane {number} ends"), "")));
    Some(route)
}

fn waypoint(scene: &SearchScene, spot: Spot, (name, text): (&str, &str)) -> Waypoint {
    let at = scene.setting.site.frame.to_lonlat(spot);
    let mut point = Waypoint::new((at.lon, at.lat).into());
    point.name = Some(plain(name));
    point.description = Some(plain(text)).filter(|t| !t.is_empty());
    point
}

/// Text without the control letters XML has no room for.
fn plain(text: &str) -> String {
    text.chars().filter(|c| !c.is_control() && !matches!(*c as u32, 0xFFFE | 0xFFFF)).collect()
}
