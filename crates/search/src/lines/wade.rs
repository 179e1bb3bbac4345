//! Wading: how fast a linked line goes at a depth, and where nobody is sent.

use measure::parameters::value;

/// What a depth and a current allow to a wading line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Advice {
    /// Within the limits.
    Go,
    /// Near a limit: shown.
    Caution,
    /// Past a limit: no line is sent.
    Stop,
}

impl Advice {
    /// The word used in output.
    pub fn word(self) -> &'static str {
        match self {
            Advice::Go => "go",
            Advice::Caution => "caution",
            Advice::Stop => "stop",
        }
    }
}

/// Shallow flow faster than this is called dangerous by itself \[m/s\] (cox-2004).
const FAST_MPS: f64 = 0.8;

/// Depth × speed and what it allows to a linked line.
///
/// # Inputs
/// - `depth_m` ≥ 0 · `speed_mps` ≥ 0
///
/// # Gives
/// (depth × speed \[m²/s\], advice): stop from 0.5 m²/s or deeper than 1.2 m, caution from 0.3 m²/s or faster than 0.8 m/s.
///
/// # Source
/// cox-2004 for 1.2 m, 0.8 m/s and the form of the rule; thresholds are site planning values
pub fn wade_limit(depth_m: f64, speed_mps: f64) -> (f64, Advice) {
    let product = depth_m * speed_mps;
    let advice = if product >= value("wade_product_stop_m2ps") || depth_m > value("wade_depth_limit_m") {
        Advice::Stop
    } else if product >= value("wade_product_caution_m2ps") || speed_mps > FAST_MPS {
        Advice::Caution
    } else {
        Advice::Go
    };
    (product, advice)
}

/// Pace of a linked line that sweeps with the feet, by the depth of its slowest member \[m/s\].
///
/// # Source
/// common practice, no published source
pub fn wade_line_mps(depth_m: f64) -> f64 {
    value(if depth_m <= 0.3 {
        "wade_line_knee_mps"
    } else if depth_m <= 0.6 {
        "wade_line_thigh_mps"
    } else if depth_m <= 0.9 {
        "wade_line_waist_mps"
    } else {
        "wade_line_chest_mps"
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-6
    #[test]
    fn limits_of_a_wading_line() {
        for (depth, speed, expect) in [
            (0.9, 0.1, Advice::Go),
            (1.0, 0.3, Advice::Caution),
            (1.0, 0.5, Advice::Stop),
            (1.21, 0.0, Advice::Stop),
            (0.2, 0.9, Advice::Caution),
        ] {
            assert_eq!(wade_limit(depth, speed).1, expect, "{depth} m, {speed} m/s");
        }
    }
}
