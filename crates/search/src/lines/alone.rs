//! One guard alone, and from the edge: the first guard at the last seen point, a pole under a raft.

use measure::parameters::value;

/// Chance that a guard searching a disc at random for a time has felt over the place where somebody lies: 1 − exp(−r t / A).
///
/// Model `lone_chance`, docs/models/lines.md.
///
/// # Inputs
/// - `seconds` ≥ 0 · `area_m2` > 0
///
/// # Gives
/// Chance in \[0, `contact_cap`\]; zero for no time or no area.
///
/// # Source
/// koopman (random search); the rate is assumed
pub fn lone_chance(seconds: f64, area_m2: f64) -> f64 {
    effort_chance(value("lone_rate_m2ps"), seconds, area_m2) * value("contact_cap")
}

/// The same for a pole or a tethered mask look under a raft or dock.
///
/// # Inputs
/// - `seconds` ≥ 0 · `area_m2` > 0
///
/// # Gives
/// Chance in \[0, `touch_pole`\].
///
/// # Source
/// koopman (random search); rate and chance of touch are assumed
pub fn pole_chance(seconds: f64, area_m2: f64) -> f64 {
    effort_chance(value("pole_rate_m2ps"), seconds, area_m2) * value("touch_pole")
}

fn effort_chance(rate_m2ps: f64, seconds: f64, area_m2: f64) -> f64 {
    if seconds > 0.0 && area_m2 > 0.0 { -libm::expm1(-rate_m2ps * seconds / area_m2) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-12
    #[test]
    fn random_search_saturates() {
        let expect = 0.95 * (1.0 - (-0.2_f64 * 60.0 / 50.0).exp());
        assert!((lone_chance(60.0, 50.0) - expect).abs() < 1e-12);
        assert_eq!(lone_chance(0.0, 50.0), 0.0);
        assert_eq!(lone_chance(60.0, 0.0), 0.0);
        assert!(pole_chance(1e9, 10.0) <= value("touch_pole"));
    }
}
