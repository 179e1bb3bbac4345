//! Looking down through the water: mask, board, boat.

use measure::parameters::value;

/// Beam attenuation and horizontal sight range from the Secchi depth: c = 7/Z, range 4.8/c.
///
/// # Inputs
/// - `secchi_m` ≥ 0; not above zero means that nothing is seen
///
/// # Gives
/// (c \[1/m\], range \[m\]).
///
/// # Source
/// zaneveld-pegau-2003 for the range; preisendorfer-1986 and poole-atkins-1929 (from memory) for c
pub fn sight_range(secchi_m: f64) -> (f64, f64) {
    if secchi_m.is_nan() || secchi_m <= 0.0 {
        return (f64::INFINITY, 0.0);
    }
    let beam = value("secchi_beam") / secchi_m;
    (beam, value("sight_beam") / beam)
}

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
    let slant_m = sight_range(secchi_m).1 * value("look_share");
    let square = slant_m * slant_m - depth_m * depth_m;
    if square > 0.0 && depth_m >= 0.0 { square.sqrt() } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sight_ends_where_clarity_ends() {
        let (beam, range) = sight_range(3.5);
        assert!((beam - 2.0).abs() < 1e-12 && (range - 2.4).abs() < 1e-12);
        assert_eq!(look_half_width(1.0, 1.0), 0.0);
        assert_eq!(look_half_width(f64::NAN, 0.5), 0.0);
        assert!(look_half_width(4.0, 1.0) > 1.0);
    }
}
