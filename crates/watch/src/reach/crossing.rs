//! A straight way over moving water, and the closed forms the marches are held against.

use measure::{Bearing, Spot};

/// A straight way over moving water: how long, and where to head.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crossing {
    /// Time \[s\].
    pub time_s: f64,
    /// Own direction, a step of length 1; the current does the rest. North where there is no way to go.
    pub heading: Spot,
}

/// The straight way from one place to another through a uniform current. Model `crossing`, docs/models/reach.md.
///
/// # Inputs
/// - `way`: from here to there \[m\] · `pace_mps`: own speed through the water · `current`: of the water \[m/s\]
///
/// # Gives
/// Time and heading of the sooner of the two straight ways; `None` where the current wins.
///
/// # Source
/// `|d − u t| = v t`, solved for the least t > 0: derived
#[inline]
pub fn crossing(way: Spot, pace_mps: f64, current: Spot) -> Option<Crossing> {
    let square = way.dot(way);
    if square == 0.0 {
        return Some(Crossing { time_s: 0.0, heading: Spot::new(0.0, 1.0) });
    }
    let with = current.dot(way);
    let root = with * with + (pace_mps * pace_mps - current.dot(current)) * square;
    let below = with + root.max(0.0).sqrt();
    // Written so, the sum never cancels; a root under 0 is a cone of directions that the current denies.
    if !(root >= 0.0 && below > 1e-12 * way.length() && pace_mps > 0.0) {
        return None;
    }
    let time_s = square / below;
    let heading = (way * (1.0 / time_s) - current) * (1.0 / pace_mps);
    Some(Crossing { time_s, heading })
}

impl Crossing {
    /// The bearing to head.
    pub fn bearing(&self) -> Bearing {
        self.heading.bearing()
    }
}

/// Where to enter the water when one runs faster than one swims.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RunSwim {
    /// Metres along the shore at which to enter, from the foot of the start.
    pub entry_m: f64,
    /// Time \[s\].
    pub time_s: f64,
}

/// Strips of ground side by side, each of one width and one pace.
#[derive(Clone, Debug, PartialEq)]
pub struct Strips {
    /// Metres made along the strips in each of them.
    pub along_each_m: Vec<f64>,
    /// Time \[s\].
    pub time_s: f64,
}

/// The fastest way across strips of different pace. Model `strips`, docs/models/reach.md.
///
/// # Inputs
/// - `strips`: (width \[m\], pace \[m/s\]) of each, in order; widths and paces above 0
/// - `along_m`: how far the end lies along the strips \[m\]; the sign is kept
///
/// # Gives
/// Metres along in each strip, and the time. The slowness along the strips is one number p for all of them:
/// each strip takes `h p v / sqrt(1 − (p v)²)` along.
///
/// # Source
/// Snell's law for fastest paths: textbook; p found by halving until no number lies between
pub fn strips(strips: &[(f64, f64)], along_m: f64) -> Strips {
    let fastest = strips.iter().map(|s| s.1).fold(0.0, f64::max);
    // The unknown is 1 − p v of the fastest strip, so that a way almost along the strips keeps all its digits.
    let total = |short: f64| -> f64 { strips.iter().map(|&s| exact_along(s, fastest, short)).sum() };
    let target = along_m.abs();
    let (mut low, mut high) = (0.0f64, 1.0f64);
    for _ in 0..1100 {
        // Halve the exponent first: `short` may be as small as 1e-300.
        let middle = if low == 0.0 { high * 0.5 } else { 0.5 * (low + high) };
        if middle <= low || middle >= high || middle < 1e-300 {
            break;
        }
        if total(middle) > target { low = middle } else { high = middle }
    }
    let short = high;
    let each: Vec<f64> = strips.iter().map(|&s| exact_along(s, fastest, short)).collect();
    // What halving leaves over goes to the fastest strip, where it costs nothing in first order.
    let left = target - each.iter().sum::<f64>();
    let quickest = (0..strips.len()).find(|&k| strips[k].1 == fastest);
    let sign = if along_m < 0.0 { -1.0 } else { 1.0 };
    let along_each_m: Vec<f64> = each
        .iter()
        .enumerate()
        .map(|(k, m)| sign * (m + if Some(k) == quickest { left } else { 0.0 }))
        .collect();
    let time_s = strips.iter().zip(&along_each_m).map(|(&(h, v), m)| h.hypot(*m) / v).sum();
    Strips { along_each_m, time_s }
}

/// Metres along one strip where `1 − p v` of the fastest strip is `short`.
fn exact_along((width_m, pace_mps): (f64, f64), fastest_mps: f64, short: f64) -> f64 {
    let ratio = pace_mps / fastest_mps;
    let sine = ratio * (1.0 - short);
    // 1 − sine, without cancelling where the strip is the fastest.
    let rest = (1.0 - ratio) + ratio * short;
    width_m * sine / (rest * (1.0 + sine)).sqrt()
}

/// Where to enter the water from a place inland to one offshore. Model `run_swim`, docs/models/reach.md.
///
/// # Inputs
/// - `inland_m`, `offshore_m`: distances of start and end from the water's edge \[m\], 0 or more
/// - `along_m`: between their feet on the edge \[m\] · `paces_mps`: running, swimming
///
/// # Gives
/// Metres along at which to enter, and the time. From a start on the edge itself the entry is where the swim
/// leaves it at the angle whose sine is the ratio of the paces, or straight away where that lies behind.
///
/// # Source
/// Snell's law for fastest paths: textbook
pub fn run_swim(inland_m: f64, offshore_m: f64, along_m: f64, paces_mps: (f64, f64)) -> RunSwim {
    let (run_mps, swim_mps) = paces_mps;
    let (far, sign) = (along_m.abs(), if along_m < 0.0 { -1.0 } else { 1.0 });
    // The time is convex in the entry; its slope is found by halving.
    let part = |m: f64, h: f64, v: f64| if m == 0.0 && h == 0.0 { 0.0 } else { m / m.hypot(h) / v };
    let slope = |m: f64| part(m, inland_m, run_mps) - part(far - m, offshore_m, swim_mps);
    let (mut low, mut high) = (0.0, far);
    if inland_m == 0.0 && far > 0.0 {
        // On the edge the slope of the run is 1/v from the first metre on.
        let swim = far / far.hypot(offshore_m) / swim_mps;
        if swim <= 1.0 / run_mps {
            high = 0.0;
        }
    }
    for _ in 0..200 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if slope(middle) > 0.0 { high = middle } else { low = middle }
    }
    let entry = 0.5 * (low + high);
    let time_s = entry.hypot(inland_m) / run_mps + (far - entry).hypot(offshore_m) / swim_mps;
    RunSwim { entry_m: sign * entry, time_s }
}
