//! How far one sees under water, from a Secchi disk or an attenuation meter (models L4).

use measure::parameters::value;

/// Beam attenuation c expected from a Secchi depth: the register's `secchi_beam` over the depth \[1/m\].
///
/// # Inputs
/// - `secchi_m`: depth at which the disk vanishes, > 0 \[m\]
///
/// # Gives
/// \[1/m\].
///
/// # Source
/// preisendorfer-1986, poole-atkins-1929 (from memory)
pub fn beam_from_secchi(secchi_m: f64) -> f64 {
    value("secchi_beam") / secchi_m
}

/// Horizontal distance at which a black target vanishes under water: 4.8 / c \[m\].
///
/// # Inputs
/// - `beam_per_m`: beam attenuation c > 0 \[1/m\]
///
/// # Gives
/// \[m\].
///
/// # Source
/// zaneveld-pegau-2003 (second-hand)
pub fn sight_range(beam_per_m: f64) -> f64 {
    value("sight_beam") / beam_per_m
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-8
    #[test]
    fn a_metre_of_secchi_gives_two_thirds_of_a_metre_of_sight() {
        let beam = beam_from_secchi(1.0);
        assert!((beam - 7.0).abs() < 1e-15 && (sight_range(beam) - 4.8 / 7.0).abs() < 1e-15);
    }
}
