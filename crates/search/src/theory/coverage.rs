//! Coverage of ground by searchers, and three curves from coverage to the chance of finding.

/// What a group of searchers does over a piece of ground.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sweeping {
    /// Sweep width of one searcher W \[m\].
    pub sweep_width_m: f64,
    /// Pace v \[m/s\].
    pub speed_mps: f64,
    /// Searchers n.
    pub searchers: f64,
    /// Time t \[s\].
    pub time_s: f64,
    /// Area A \[m²\], > 0.
    pub area_m2: f64,
}

/// Coverage C = W v n t / A: swept area over ground area.
///
/// # Inputs
/// - `sweeping`: width, pace, number, time and area, all ≥ 0, area > 0
///
/// # Gives
/// Dimensionless, ≥ 0.
///
/// # Source
/// koopman
pub fn coverage_of(sweeping: &Sweeping) -> f64 {
    let way_m = sweeping.speed_mps * sweeping.searchers * sweeping.time_s;
    sweeping.sweep_width_m * way_m / sweeping.area_m2
}

/// Chance of finding by sweeps that never overlap and never miss inside their width: min(1, C).
///
/// # Inputs
/// - `coverage`: C ≥ 0
///
/// # Gives
/// Share in \[0, 1\].
///
/// # Source
/// definition
pub fn definite(coverage: f64) -> f64 {
    coverage.clamp(0.0, 1.0)
}

/// Chance of finding by parallel lanes with the inverse-cube law of detection: erf(√π C / 2).
///
/// # Inputs
/// - `coverage`: C ≥ 0
///
/// # Gives
/// Share in \[0, 1\].
///
/// # Source
/// from memory (attributed to koopman), and lane averages recomputed
pub fn inverse_cube(coverage: f64) -> f64 {
    libm::erf(0.5 * std::f64::consts::PI.sqrt() * coverage.max(0.0))
}

/// Sweep width of the inverse-cube law 1 − e^(−k/x²) at lateral distance x: 2 √(π k) \[m\], k in \[m²\].
///
/// # Inputs
/// - `k`: strength of the law \[m²\]
///
/// # Gives
/// \[m\].
///
/// # Source
/// from memory (attributed to koopman); integral recomputed
pub fn inverse_cube_width(k: f64) -> f64 {
    2.0 * (std::f64::consts::PI * k).sqrt()
}

/// Chance of finding by effort laid at random: 1 − e^(−C).
///
/// # Inputs
/// - `coverage`: C ≥ 0
///
/// # Gives
/// Share in \[0, 1\].
///
/// # Source
/// koopman; washburn
pub fn random_search(coverage: f64) -> f64 {
    -libm::expm1(-coverage.max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: TH-1
    #[test]
    fn eight_searchers_for_ten_minutes() {
        let c = coverage_of(&Sweeping {
            sweep_width_m: 1.6,
            speed_mps: 0.25,
            searchers: 8.0,
            time_s: 600.0,
            area_m2: 2400.0,
        });
        assert!((c - 0.8).abs() < 1e-15);
        assert!((inverse_cube(c) - 0.683_970_869_951_256_1).abs() < 1e-14);
        assert!((random_search(c) - 0.550_671_035_882_778_4).abs() < 1e-14);
    }

    // shows: TH-2
    #[test]
    fn definite_is_never_below_inverse_cube_nor_that_below_random() {
        for k in 0..2000 {
            let c = f64::from(k) * 0.005;
            assert!(definite(c) >= inverse_cube(c) && inverse_cube(c) >= random_search(c), "coverage {c}");
        }
    }

    // shows: TH-11
    #[test]
    fn a_pass_counts_more_than_its_chance_as_coverage() {
        let q: f64 = 0.8;
        assert!(random_search(q) < q, "the chance itself as coverage is no ceiling");
        let pass = -libm::log1p(-q);
        assert!((random_search(pass) - q).abs() < 1e-15);
        for k in 1..20 {
            let part = f64::from(k) / 20.0;
            assert!(random_search(part * pass) > part * q, "part {part} of a pass");
        }
        let (mixed, mean) = (0.5 * random_search(0.3) + 0.5 * random_search(3.0), random_search(1.65));
        assert!(mixed < mean && (mixed - 0.604_697_355_475_209_1).abs() < 1e-14);
    }
}
