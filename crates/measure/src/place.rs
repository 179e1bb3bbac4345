//! Places and directions inside a site: metres east and north of its origin, bearings in degrees true.

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};
use std::fmt;
use std::ops::{Add, Mul, Neg, Sub};

/// A place, or a step between two places, in metres east and north of the site's origin.
///
/// Longitude and latitude exist only in `water::formats`; everything else works in spots. The same
/// type serves velocities (metres a second east and north) where a name says so.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct Spot {
    /// Metres east.
    pub east: f64,
    /// Metres north.
    pub north: f64,
}

impl Spot {
    /// The place `east` and `north` metres from the origin.
    pub const fn new(east: f64, north: f64) -> Self {
        Spot { east, north }
    }

    /// The step of length `metres` towards `bearing`.
    pub fn towards(bearing: Bearing, metres: f64) -> Self {
        let radians = bearing.degrees().to_radians();
        Spot::new(metres * libm::sin(radians), metres * libm::cos(radians))
    }

    /// Length of this step \[m\].
    pub fn length(self) -> f64 {
        (self.east * self.east + self.north * self.north).sqrt()
    }

    /// Distance to another place \[m\].
    pub fn distance(self, other: Spot) -> f64 {
        (other - self).length()
    }

    /// Bearing from here to `other`; north if they coincide.
    pub fn bearing_to(self, other: Spot) -> Bearing {
        (other - self).bearing()
    }

    /// Direction of this step; north if its length is zero.
    pub fn bearing(self) -> Bearing {
        Bearing::new(libm::atan2(self.east, self.north).to_degrees())
    }

    /// Dot product of two steps.
    pub fn dot(self, other: Spot) -> f64 {
        self.east * other.east + self.north * other.north
    }

    /// Z component of the cross product: positive when `other` lies to the left of this step.
    pub fn cross(self, other: Spot) -> f64 {
        self.east * other.north - self.north * other.east
    }

    /// The step turned a quarter to the left.
    pub fn left(self) -> Spot {
        Spot::new(-self.north, self.east)
    }

    /// The step of length one in the same direction; `None` for a step shorter than a nanometre.
    pub fn unit(self) -> Option<Spot> {
        let length = self.length();
        (length > 1e-9).then(|| self * (1.0 / length))
    }

    /// The place a share `t` of the way to `other`.
    pub fn lerp(self, other: Spot, t: f64) -> Spot {
        self + (other - self) * t
    }

    /// Whether both coordinates are finite.
    pub fn is_finite(self) -> bool {
        self.east.is_finite() && self.north.is_finite()
    }
}

impl Add for Spot {
    type Output = Spot;
    fn add(self, other: Spot) -> Spot {
        Spot::new(self.east + other.east, self.north + other.north)
    }
}

impl Sub for Spot {
    type Output = Spot;
    fn sub(self, other: Spot) -> Spot {
        Spot::new(self.east - other.east, self.north - other.north)
    }
}

impl Mul<f64> for Spot {
    type Output = Spot;
    fn mul(self, factor: f64) -> Spot {
        Spot::new(self.east * factor, self.north * factor)
    }
}

impl Neg for Spot {
    type Output = Spot;
    fn neg(self) -> Spot {
        Spot::new(-self.east, -self.north)
    }
}

/// A direction in degrees true, clockwise from north, always in \[0, 360).
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(from = "f64", into = "f64")]
pub struct Bearing(f64);

impl Bearing {
    /// The bearing of `degrees`, brought into \[0, 360).
    pub fn new(degrees: f64) -> Self {
        let turned = degrees.rem_euclid(360.0);
        // rem_euclid of a tiny negative number rounds up to 360 itself.
        Bearing(if turned >= 360.0 { 0.0 } else { turned })
    }

    /// Degrees true in \[0, 360).
    pub fn degrees(self) -> f64 {
        self.0
    }

    /// The opposite direction.
    pub fn reversed(self) -> Bearing {
        Bearing::new(self.0 + 180.0)
    }

    /// Smallest angle to `other` \[degrees, 0 to 180\].
    pub fn angle_to(self, other: Bearing) -> f64 {
        let turn = (self.0 - other.0).rem_euclid(360.0);
        turn.min(360.0 - turn)
    }

    /// One of eight words, as called over water: `north-east`, `west` …
    pub fn word(self) -> &'static str {
        const WORDS: [&str; 8] =
            ["north", "north-east", "east", "south-east", "south", "south-west", "west", "north-west"];
        WORDS[((self.0 + 22.5) / 45.0) as usize % 8]
    }
}

impl From<f64> for Bearing {
    fn from(degrees: f64) -> Self {
        Bearing::new(degrees)
    }
}

impl From<Bearing> for f64 {
    fn from(bearing: Bearing) -> f64 {
        bearing.0
    }
}

impl fmt::Display for Bearing {
    /// Three digits, as read over the radio: `040`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:03}", self.0.round() as u32 % 360)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bearings_run_clockwise_from_north() {
        let origin = Spot::default();
        for (east, north, degrees, word) in [
            (0.0, 1.0, 0.0, "north"),
            (1.0, 0.0, 90.0, "east"),
            (0.0, -2.0, 180.0, "south"),
            (-3.0, 3.0, 315.0, "north-west"),
        ] {
            let bearing = origin.bearing_to(Spot::new(east, north));
            assert!((bearing.degrees() - degrees).abs() < 1e-12, "{east} {north}: {bearing:?}");
            assert_eq!(bearing.word(), word);
        }
    }

    #[test]
    fn a_bearing_stays_below_a_full_turn() {
        assert_eq!(Bearing::new(-1e-18).degrees(), 0.0);
        assert_eq!(Bearing::new(359.7).to_string(), "000");
        assert_eq!(Bearing::new(725.0).degrees(), 5.0);
        assert_eq!(Bearing::new(350.0).angle_to(Bearing::new(10.0)), 20.0);
    }

    #[test]
    fn a_step_towards_a_bearing_has_that_bearing() {
        for degrees in [0.0, 33.0, 120.5, 271.0] {
            let step = Spot::towards(Bearing::new(degrees), 7.5);
            assert!((step.length() - 7.5).abs() < 1e-12);
            assert!(step.bearing().angle_to(Bearing::new(degrees)) < 1e-9);
        }
    }
}
