//! Radii of position errors: what holds a stated share, and how errors add.

use measure::special::{erf, normal_quantile};
use std::f64::consts::{FRAC_PI_2, LN_2};

/// Radius of the circle about the mean that holds a share of a normal error with two axes.
///
/// With equal axes r = σ √(−2 ln(1 − P)); with one axis zero it is a line; between, the share is
/// (2/π) ∫ (1 − e^(−r²/2s²)) du over a quarter turn, s² = a² sin²u + b² cos²u, solved for r.
/// Model `containment`, docs/models/sightings.md.
///
/// # Inputs
/// - `sigma_m`: standard errors of the two axes, ≥ 0 \[m\] · `probability`: share, 0 ≤ P < 1
///
/// # Gives
/// \[m\]; relative error below 1e-12 for equal axes or a line, 1e-10 between.
///
/// # Source
/// derived here (Rayleigh distribution and its elliptic kin)
pub fn containment_radius(sigma_m: [f64; 2], probability: f64) -> f64 {
    let (long, short) = (sigma_m[0].max(sigma_m[1]), sigma_m[0].min(sigma_m[1]));
    if long <= 0.0 || probability <= 0.0 {
        return 0.0;
    }
    let round = (-2.0 * libm::log1p(-probability)).sqrt();
    if short == long {
        return long * round;
    }
    let ratio = short / long;
    if ratio == 0.0 {
        return long * line_radius(probability);
    }
    // The circle holds at least what the long axis alone allows and at most what the short one does.
    let (mut low, mut high) = (ratio * round, round);
    for _ in 0..64 {
        let middle = 0.5 * (low + high);
        if holds_less(middle, ratio, probability) {
            low = middle
        } else {
            high = middle
        }
        if high - low <= 1e-15 * high {
            break;
        }
    }
    long * 0.5 * (low + high)
}

/// Half-length that holds a share of a normal error along one line, in standard errors.
fn line_radius(probability: f64) -> f64 {
    if probability < 0.5 {
        // Near zero the quantile of (1 + P)/2 loses digits: start there and correct on erf itself.
        let mut r = normal_quantile(0.5 + 0.5 * probability);
        for _ in 0..3 {
            let density = 2.0 * measure::special::normal_density(r);
            r -= (erf(r * std::f64::consts::FRAC_1_SQRT_2) - probability) / density;
        }
        return r;
    }
    -normal_quantile(0.5 * (1.0 - probability))
}

/// Whether a circle of radius `r` holds less than `probability`, long axis 1 and short axis `ratio`.
fn holds_less(r: f64, ratio: f64, probability: f64) -> bool {
    // Eight-point Gauss rule on panels that halve towards u = 0, where a flat ellipse bends sharply.
    const NODES: [(f64, f64); 4] = [
        (0.183_434_642_495_649_8, 0.362_683_783_378_362),
        (0.525_532_409_916_329, 0.313_706_645_877_887_3),
        (0.796_666_477_413_626_7, 0.222_381_034_453_374_48),
        (0.960_289_856_497_536_3, 0.101_228_536_290_376_26),
    ];
    let (mut inside, mut outside, mut right) = (0.0, 0.0, FRAC_PI_2);
    for panel in 0..56 {
        let left = if panel < 55 { 0.5 * right } else { 0.0 };
        let (middle, half) = (0.5 * (left + right), 0.5 * (right - left));
        for (node, weight) in NODES {
            for u in [middle - half * node, middle + half * node] {
                let (sin, cos) = (libm::sin(u), libm::cos(u) * ratio);
                let x = -0.5 * r * r / (sin * sin + cos * cos);
                inside -= weight * half * libm::expm1(x);
                outside += weight * half * libm::exp(x);
            }
        }
        right = left;
    }
    // Compare the smaller of the two parts, so that neither loses its digits.
    if probability < 0.5 {
        inside < probability * FRAC_PI_2
    } else {
        outside > (1.0 - probability) * FRAC_PI_2
    }
}

/// Several independent 50 % radii as one, and the standard error per axis that belongs to it.
///
/// E = √(Σ e²), σ = E / √(2 ln 2). Model `total_error`, docs/models/sightings.md.
///
/// # Inputs
/// - `errors50_m`: 50 % radii, ≥ 0 \[m\]
///
/// # Gives
/// (50 % radius, standard error per axis) \[m\].
///
/// # Source
/// iamsar-nsm (form of the sum; read second-hand); σ by the Rayleigh median
pub fn total_error(errors50_m: &[f64]) -> (f64, f64) {
    let total = errors50_m.iter().fold(0.0, |sum, e| libm::hypot(sum, *e));
    (total, total / (2.0 * LN_2).sqrt())
}

/// Standard error per axis after drifting: √(σ₀² + (σ_u t)² + 2 K t).
///
/// # Inputs
/// - `sigma_m`: at the start \[m\] · `current_sigma_mps`: of a current that is constant but not known \[m/s\]
/// - `diffusion_m2ps`: K \[m²/s\] · `seconds`
///
/// # Gives
/// \[m\].
///
/// # Source
/// derived here (independent errors)
pub fn drifted_sigma(sigma_m: f64, current_sigma_mps: f64, diffusion_m2ps: f64, seconds: f64) -> f64 {
    let drift = current_sigma_mps * seconds;
    (sigma_m * sigma_m + drift * drift + 2.0 * diffusion_m2ps * seconds).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: ST-6
    #[test]
    fn circles_about_round_and_flat_errors() {
        for (sigma, share, expect, tolerance) in [
            ([1.0, 1.0], 0.5, 1.177_410_022_515_474_7, 1e-14),
            ([1.0, 1.0], 0.99, 3.034_854_258_770_292_5, 1e-14),
            ([10.0, 5.0], 0.5, 8.704_174_282_441_794, 1e-9),
            ([5.0, 10.0], 0.9, 17.370_799_342_735_836, 1e-9),
            ([1.0, 0.0], 0.95, 1.959_963_984_540_054, 1e-12),
            ([0.0, 0.0], 0.95, 0.0, 0.0),
            ([3.0, 4.0], 0.0, 0.0, 0.0),
        ] {
            let r = containment_radius(sigma, share);
            assert!((r - expect).abs() <= tolerance, "{sigma:?} {share}: {r} not {expect}");
        }
    }

    // shows: ST-6
    #[test]
    fn nearly_round_and_nearly_flat_join_the_closed_forms() {
        for share in [1e-9, 0.01, 0.5, 0.95, 1.0 - 1e-9] {
            let round = containment_radius([1.0, 1.0], share);
            let almost = containment_radius([1.0, 1.0 - 1e-12], share);
            assert!((almost / round - 1.0).abs() < 1e-10, "{share}: {almost} {round}");
        }
        for share in [0.01, 0.5, 0.95, 1.0 - 1e-9] {
            let line = containment_radius([1.0, 0.0], share);
            let flat = containment_radius([1.0, 1e-9], share);
            assert!((flat / line - 1.0).abs() < 1e-6, "{share}: {flat} {line}");
        }
    }

    // shows: ST-7
    #[test]
    fn errors_add_by_squares() {
        let (total, sigma) = total_error(&[12.0, 9.0, 8.0]);
        assert!((total - 17.0).abs() < 1e-14 && (sigma - 14.438_470_604_896_324).abs() < 1e-13);
        assert_eq!(total_error(&[]), (0.0, 0.0));
        assert!((drifted_sigma(5.0, 0.03, 0.05, 240.0) - 10.041_912_168_506_553).abs() < 1e-13);
    }
}
