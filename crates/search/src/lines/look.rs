//! Looking down through the water: mask, board, boat.

use measure::parameters::value;
use water::{beam_from_secchi, sight_range};

/// Half the width of bottom that a looker at the surface sees at a depth; zero where clarity allows nothing.
///
/// # Inputs
/// - `secchi_m` · `depth_m` ≥ 0
///
/// # Gives
/// \[m\]: √(s² − h²) for slant sight s, a share of the horizontal range.
///
/// # Source
/// slant path; the share is assumed
pub fn look_half_width(secchi_m: f64, depth_m: f64) -> f64 {
    if secchi_m.is_nan() || secchi_m <= 0.0 {
        return 0.0;
    }
    let slant_m = sight_range(beam_from_secchi(secchi_m)) * value("look_share");
    let square = slant_m * slant_m - depth_m * depth_m;
    if square > 0.0 && depth_m >= 0.0 { square.sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-13
    #[test]
    fn sight_ends_where_clarity_ends() {
        assert_eq!(look_half_width(1.0, 1.0), 0.0);
        assert_eq!(look_half_width(f64::NAN, 0.5), 0.0);
        assert!(look_half_width(4.0, 1.0) > 1.0);
    }
}
