//! A sweep: one pass of a method over a stretch of bottom, and the chance it finds who lies there (models B7).

use measure::{Spot, parameters};
use serde::{Deserialize, Serialize};
use water::Bed;

/// How a piece of bottom is searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Linked wading line, feet.
    Wade,
    /// Surface-dive line, hands.
    Dive,
    /// One guard feeling or diving around the last seen point.
    Alone,
    /// Mask, board or boat: looking down.
    Look,
    /// Pole or tethered mask look under rafts and docks.
    Pole,
}

impl Method {
    /// All methods, in the order of their index.
    pub const ALL: [Method; 5] = [Method::Wade, Method::Dive, Method::Alone, Method::Look, Method::Pole];

    /// Whether it finds by touch, so that persons hidden from contact stay hidden (models B6).
    pub fn by_contact(self) -> bool {
        matches!(self, Method::Wade | Method::Dive | Method::Alone)
    }

    /// Index into per-method arrays.
    pub fn index(self) -> usize {
        self as usize
    }
}

/// The chance that one pass finds a person who is there and not hidden: Beta(a, b), shared by all passes of a crew.
///
/// Because it is shared and not known, k passes miss with E\[(1−p)^k\], not (1−E p)^k.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Detection {
    /// Hits, plus prior.
    pub a: f64,
    /// Misses, plus prior.
    pub b: f64,
}

impl Detection {
    /// A crew that has not drilled: mean `pod`, weight of a few tries (`detection_beta_n`).
    pub fn undrilled(pod: f64) -> Self {
        let n = parameters::value("detection_beta_n");
        let pod = pod.clamp(0.0, parameters::value("pod_ceiling"));
        Detection { a: pod * n, b: (1.0 - pod) * n }
    }

    /// Mean chance of one pass.
    pub fn mean(self) -> f64 {
        if self.a <= 0.0 { 0.0 } else { self.a / (self.a + self.b) }
    }

    /// Chance that `passes` passes all miss (real number of passes: see `measure::special::beta_miss`).
    #[inline]
    pub fn miss(self, passes: f64) -> f64 {
        if self.a <= 0.0 { 1.0 } else { measure::special::beta_miss(self.a, self.b, passes) }
    }
}

/// The piece of bottom a sweep covers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Stretch {
    /// A rectangle along the middle line `from` → `to`, `width_m` across.
    Strip {
        /// Start of the middle line.
        from: Spot,
        /// End of the middle line.
        to: Spot,
        /// Full width \[m\].
        width_m: f64,
    },
    /// A disc.
    Disc {
        /// Middle.
        centre: Spot,
        /// Radius \[m\].
        radius_m: f64,
    },
}

/// One pass of a method over a stretch of bottom that found nobody, or is planned.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sweep {
    /// Method.
    pub method: Method,
    /// Where.
    pub stretch: Stretch,
    /// Standard error of each edge \[m\] (rope-guided 0.5, unmarked 2.5); 0 for an exact edge.
    pub steer_m: f64,
    /// Chance on firm bottom (sand, mud).
    pub firm: Detection,
    /// Chance on rough bottom (weed, rock).
    pub rough: Detection,
    /// Begin \[s since the alarm\].
    pub from_s: f64,
    /// End \[s since the alarm\].
    pub to_s: f64,
}

impl Sweep {
    /// Detection on a kind of bottom.
    #[inline]
    pub fn detection(&self, bed: Bed) -> Detection {
        match bed {
            Bed::Sand | Bed::Mud => self.firm,
            Bed::Weed | Bed::Rock => self.rough,
        }
    }

    /// Chance that a pass covers a place, 0 to 1, with both edges blurred by the steering error;
    /// the ends of a strip are sharp, since a line knows where it began and turned.
    pub fn cover(&self, spot: Spot) -> f64 {
        match self.stretch {
            Stretch::Strip { from, to, width_m } => {
                let Some(along) = (to - from).unit() else { return 0.0 };
                let step = spot - from;
                let ahead = step.dot(along);
                if ahead < 0.0 || ahead > from.distance(to) {
                    return 0.0;
                }
                edge_cover(along.cross(step).abs(), 0.5 * width_m, self.steer_m)
            }
            Stretch::Disc { centre, radius_m } => edge_cover(spot.distance(centre), radius_m, self.steer_m),
        }
    }
}

/// Chance that a place `off` from the middle lies within `half` when the strip as a whole is off by N(0, steer).
fn edge_cover(off: f64, half: f64, steer: f64) -> f64 {
    if steer <= 0.0 {
        return if off <= half { 1.0 } else { 0.0 };
    }
    let cdf = measure::special::normal_cdf;
    cdf((half - off) / steer) - cdf((-half - off) / steer)
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-15
    #[test]
    fn a_blurred_strip_covers_its_own_area_on_average() {
        let sweep = Sweep {
            method: Method::Wade,
            stretch: Stretch::Strip { from: Spot::new(0.0, 0.0), to: Spot::new(0.0, 10.0), width_m: 6.0 },
            steer_m: 2.5,
            firm: Detection::undrilled(0.7),
            rough: Detection::undrilled(0.5),
            from_s: 0.0,
            to_s: 40.0,
        };
        let step = 0.01;
        let across: f64 =
            (-3000..3000).map(|k| sweep.cover(Spot::new(f64::from(k) * step, 5.0)) * step).sum();
        assert!((across - 6.0).abs() < 1e-6, "{across}");
        assert_eq!(sweep.cover(Spot::new(0.0, 10.1)), 0.0);
    }
}
