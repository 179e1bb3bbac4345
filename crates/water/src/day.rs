//! A day: conditions, timed floats, crew, kit and who is on duty when.

use measure::{Bearing, Spot, Standing};
use serde::{Deserialize, Serialize};

/// A span of the day \[s after local midnight\]; `to` may exceed 86,400 when it runs past midnight.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Hours {
    /// Start.
    pub from_s: f64,
    /// End.
    pub to_s: f64,
}

/// One person of the crew.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Member {
    /// Name as called.
    pub name: String,
    /// Height \[m\].
    pub height_m: f64,
    /// May wade in a line.
    pub wade: bool,
    /// May surface-dive, to this depth \[m\].
    pub dive_m: Option<f64>,
    /// May paddle the rescue board.
    pub board: bool,
    /// May be safety lookout.
    pub lookout: bool,
    /// May lead the search.
    pub lead: bool,
    /// Volunteer: wades only, between two guards, to the waist.
    pub volunteer: bool,
    /// Post where they start; empty if none.
    pub post: String,
    /// When on duty; empty: all day.
    pub hours: Vec<Hours>,
}

impl Member {
    /// Whether on duty at a time of day \[s after midnight\].
    pub fn on_duty(&self, at_s: f64) -> bool {
        self.hours.is_empty()
            || self.hours.iter().any(|h| {
                (at_s >= h.from_s && at_s < h.to_s)
                    || (at_s + 86_400.0 >= h.from_s && at_s + 86_400.0 < h.to_s)
            })
    }
}

/// Rescue equipment counted this morning.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(default, deny_unknown_fields)]
pub struct Kit {
    /// Rescue tubes or torpedo buoys.
    pub tubes: u32,
    /// Mask and snorkel sets.
    pub masks: u32,
    /// Pairs of fins.
    pub fins: u32,
    /// Rescue boards.
    pub boards: u32,
    /// Boats.
    pub boats: u32,
    /// Radios.
    pub radios: u32,
    /// Throw lines.
    pub throw_lines: u32,
    /// Reaching poles.
    pub poles: u32,
    /// Marker buoys.
    pub markers: u32,
}

/// A float timed over a stretch of water.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct FloatRun {
    /// Where it was let go.
    pub from: Spot,
    /// Where it was taken out.
    pub to: Spot,
    /// Time between \[s\].
    pub seconds: f64,
}

/// A day after the door.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Day {
    /// Date `YYYY-MM-DD`.
    pub date: String,
    /// Stage \[m\], same scale as the site's datum stage.
    pub stage_m: f64,
    /// Wind at 10 m, or as felt on the beach \[m/s\].
    pub wind_mps: f64,
    /// Where the wind comes from.
    pub wind_from: Bearing,
    /// Water temperature \[°C\].
    pub water_c: f64,
    /// Secchi depth \[m\].
    pub secchi_m: f64,
    /// Timed floats.
    pub floats: Vec<FloatRun>,
    /// Crew of the day.
    pub crew: Vec<Member>,
    /// Kit.
    pub kit: Kit,
    /// Values nobody gave and what was taken instead: (name, value as text, standing).
    pub assumed: Vec<(String, String, Standing)>,
}
