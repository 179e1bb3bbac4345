//! A search for other programs: lanes and places as GeoJSON and GPX, the belief as a raster.
//!
//! Never: says more than the picture does; every time is seconds since the alarm beside the time of day.
//! Start reading at [`geojson`].

mod calendar_text;
mod geojson_text;
mod gpx_text;
mod raster;

#[cfg(test)]
mod tests;

pub use calendar_text::calendar;
pub use geojson_text::geojson;
pub use gpx_text::gpx;
pub use raster::{esri_ascii, geotiff, prj};

use crate::picture::SearchScene;
use search::plan::Run;

/// Time of day `HH:MM:SS` of a moment since the alarm; days are not counted.
fn time_of_day(scene: &SearchScene, since_alarm_s: f64) -> Option<String> {
    let s = scene.alarm.at_s + since_alarm_s;
    if !s.is_finite() {
        return None;
    }
    let s = s.rem_euclid(86_400.0).floor() as u32 % 86_400;
    Some(format!("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60))
}

/// Who searches a run: names in the order they stand, the leader first.
fn who(scene: &SearchScene, run: &Run) -> Vec<String> {
    let Some(team) = scene.plan.teams.get(run.team) else { return Vec::new() };
    let others = team.members.iter().copied().filter(|m| *m != team.leader);
    std::iter::once(team.leader)
        .chain(others)
        .filter_map(|m| scene.setting.day.crew.get(m).map(|member| member.name.clone()))
        .collect()
}
