//! Best spread of random effort over a circular normal belief, in closed form.

use std::f64::consts::PI;

/// Radius of the disc worth searching, and the chance found, when `effort_m2` of swept area is laid best.
///
/// Over the density e^(−r²/2σ²)/(2πσ²) the best coverage is (R² − r²)/(2σ²) inside R, with
/// R⁴ = 4 σ² E / π; with h = R²/2σ² the chance found is 1 − (1 + h) e^(−h).
/// Model `circular_normal_effort`, docs/models/theory.md.
///
/// # Inputs
/// - `sigma_m`: standard error per axis σ > 0 \[m\] · `effort_m2`: swept area E ≥ 0 \[m²\]
///
/// # Gives
/// (radius \[m\], chance found).
///
/// # Source
/// koopman; derived again here
pub fn circular_normal_effort(sigma_m: f64, effort_m2: f64) -> (f64, f64) {
    let h = (effort_m2 / PI).sqrt() / sigma_m;
    (sigma_m * (2.0 * h).sqrt(), two_step(h))
}

/// Mean swept area until the find when effort is laid best for ever: 6 π σ² \[m²\].
///
/// # Inputs
/// - `sigma_m`: standard error per axis \[m\]
///
/// # Gives
/// \[m²\].
///
/// # Source
/// derived here
pub fn mean_effort(sigma_m: f64) -> f64 {
    6.0 * PI * sigma_m * sigma_m
}

/// Mean of the weight e^(−μ t) at the find, effort laid best at a steady rate for ever.
///
/// # Inputs
/// - `sigma_m` > 0 \[m\] · `rate_m2ps`: swept area a second > 0 \[m²/s\] · `decay_s`: 1/μ > 0 \[s\]
///
/// # Gives
/// With a = μ π σ² / rate: 1/(2a) − √π/(4 a^1.5) e^(1/4a) erfc(1/(2√a)); loses digits below a ≈ 0.01.
///
/// # Source
/// derived here
pub fn timely_find(sigma_m: f64, rate_m2ps: f64, decay_s: f64) -> f64 {
    let a = PI * sigma_m * sigma_m / (rate_m2ps * decay_s);
    let tail = libm::exp(0.25 / a) * libm::erfc(0.5 / a.sqrt());
    0.5 / a - PI.sqrt() / (4.0 * a * a.sqrt()) * tail
}

/// 1 − (1 + h) e^(−h), by its series where the difference would lose digits.
fn two_step(h: f64) -> f64 {
    if h > 0.3 {
        return 1.0 - (1.0 + h) * libm::exp(-h);
    }
    // Σ (−1)^k h^k (k−1)/k!, k ≥ 2: below 0.3 the fifteenth term is under 1e-19 of the first.
    let (mut power, mut sum) = (h, 0.0);
    for k in 2..=18 {
        power *= -h / f64::from(k);
        sum -= power * f64::from(k - 1);
    }
    sum
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: TH-6
    #[test]
    fn closed_form_of_the_circular_normal() {
        for (sigma, effort, radius, pos) in [
            (20.0, 1000.0, 26.714_221_801_525_653, 0.224_614_371_120_743_8),
            (20.0, 3000.0, 35.157_893_089_236_83, 0.457_153_191_930_223_97),
            (12.5, 2500.0, 26.556_298_300_679_924, 0.659_052_239_874_500_1),
        ] {
            let (r, p) = circular_normal_effort(sigma, effort);
            assert!((r - radius).abs() < 1e-12 * radius && (p - pos).abs() < 1e-14, "{sigma} {effort}");
        }
        assert_eq!(circular_normal_effort(20.0, 0.0), (0.0, 0.0));
        assert!((mean_effort(20.0) - 7_539.822_368_615_503).abs() < 1e-9);
        assert!((timely_find(20.0, 4.0, 300.0) - 0.220_443_270_537_805_13).abs() < 1e-14);
    }

    // shows: TH-6
    #[test]
    fn small_effort_keeps_its_digits() {
        assert!((two_step(1e-6) / 0.5e-12 - (1.0 - 2e-6 / 3.0)).abs() < 1e-12);
        let (low, high) = (two_step(0.3), two_step(0.300_000_001));
        assert!((high - low - 1e-9 * 0.3 * libm::exp(-0.3)).abs() < 1e-15, "no step where the series ends");
    }
}
