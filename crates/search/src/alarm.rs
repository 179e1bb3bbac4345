//! What is told at the alarm: its kind, who is missing, and who saw what, where and when.
//!
//! All times are seconds since the alarm; before it they are negative.

use measure::{Bearing, Spot};
use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

/// How the alarm came about; sets the prior share ashore (models B1).
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum AlarmKind {
    /// Somebody saw them go under.
    SeenGoingUnder,
    /// A count of bathers came out short.
    CountShort,
    /// Somebody cannot be found.
    CannotBeFound,
}

/// Who a witness is; sets how far they are believed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize, JsonSchema)]
#[serde(rename_all = "snake_case")]
pub enum WitnessClass {
    /// Was with them.
    Companion,
    /// A guard of the crew.
    Guard,
    /// Somebody farther off.
    Distant,
}

/// Where a witness says the person was.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Seen {
    /// A place pointed out, with its standard error per axis \[m\]; `None`: by the register from the witness's distance.
    Point {
        /// The place.
        spot: Spot,
        /// Standard error per axis \[m\].
        error_m: Option<f64>,
        /// Where the witness stood.
        stood: Option<Spot>,
    },
    /// A direction from where the witness stood, with or without a distance.
    Bearing {
        /// Where the witness stood.
        stood: Spot,
        /// The direction.
        bearing: Bearing,
        /// Standard error \[degrees\]; `None`: by the class of witness.
        error_deg: Option<f64>,
        /// Stated distance \[m\]; `None`: anywhere along the line within the water.
        range_m: Option<f64>,
        /// Whether the distance was judged against a known mark.
        by_mark: bool,
    },
    /// Somewhere in an area: polygons of rings.
    Area {
        /// Name as told, for words.
        name: String,
        /// Rings as in `water::Shape::Area`.
        rings: Vec<Vec<Vec<Spot>>>,
    },
}

/// What one witness says.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sighting {
    /// What to call the witness.
    pub by: String,
    /// Who they are.
    pub class: WitnessClass,
    /// Where.
    pub seen: Seen,
    /// Which way the person was heading, if said.
    pub heading: Option<Bearing>,
    /// Earliest moment of the sighting \[s since the alarm\].
    pub from_s: f64,
    /// Latest moment \[s since the alarm\]; not before `from_s`.
    pub to_s: f64,
    /// Whether the witness saw them go under, rather than being there.
    pub went_under: bool,
    /// Witnesses they talked with before telling.
    pub talked_with: Vec<String>,
}

/// Who is missing.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Missing {
    /// Height \[m\].
    pub height_m: f64,
    /// Whether they swim; `None` if nobody has said.
    pub swimmer: Option<bool>,
}

/// An alarm as told so far.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Alarm {
    /// Kind.
    pub kind: AlarmKind,
    /// Time of day of the alarm \[s after local midnight\].
    pub at_s: f64,
    /// Who is missing.
    pub missing: Missing,
    /// Sightings, in the order told; may be empty.
    pub sightings: Vec<Sighting>,
}
