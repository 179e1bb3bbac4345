//! One current from timed floats: weighted least squares with its doubt (model F3).

use crate::FloatRun;
use measure::{Spot, parameters::value};

/// The uniform current that fits all float runs best, and its covariance.
///
/// Each run gives a velocity; its variance per axis is that of its two places over its time, plus those of
/// its distance and of its timing, both shares of its speed: 2 (σ_x/T)² + v² (ε² + (σ_t/T)²). The mean
/// weighted by 1/variance is the least-squares vector. Model `float_current`, docs/models/current.md.
///
/// # Inputs
/// - `runs`: places \[m\] and time between \[s\]; runs without positive time or with places that are no numbers are left out
///
/// # Gives
/// Velocity \[m/s east, north\] and covariance \[m²/s²\] (east-east, east-north, north-north); `None` without a run.
///
/// # Source
/// least squares (textbook); errors: common practice and assumed (register)
pub fn float_current(runs: &[FloatRun]) -> Option<(Spot, [f64; 3])> {
    let (place_m, share, timing_s) =
        (value("float_position_m"), value("float_error_share"), value("float_error_s"));
    let (mut sum, mut weight) = (Spot::default(), 0.0);
    for run in runs {
        let velocity = (run.to - run.from) * (1.0 / run.seconds);
        if !(run.seconds > 0.0 && velocity.is_finite()) {
            continue;
        }
        let relative = share * share + (timing_s / run.seconds) * (timing_s / run.seconds);
        let place = place_m / run.seconds;
        let variance = 2.0 * place * place + velocity.dot(velocity) * relative;
        sum = sum + velocity * (1.0 / variance);
        weight += 1.0 / variance;
    }
    let variance = 1.0 / weight;
    (weight > 0.0).then(|| (sum * variance, [variance, 0.0, variance]))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn run(to: (f64, f64), seconds: f64) -> FloatRun {
        FloatRun { from: Spot::new(3.0, -2.0), to: Spot::new(3.0 + to.0, -2.0 + to.1), seconds }
    }

    // shows: CU-1
    #[test]
    fn three_equal_runs_give_their_velocity_with_a_third_of_the_variance() {
        let (one, wide) = float_current(&[run((6.0, 8.0), 50.0)]).unwrap();
        let (three, narrow) = float_current(&[0, 1, 2].map(|_| run((6.0, 8.0), 50.0))).unwrap();
        assert!((one.east - 0.12).abs() < 1e-15 && (one.north - 0.16).abs() < 1e-15);
        assert!(three.distance(one) < 1e-15 && (narrow[0] * 3.0 / wide[0] - 1.0).abs() < 1e-14);
        let by_hand = 2.0 * 0.01 * 0.01 + 0.2 * 0.2 * (0.05 * 0.05 + 0.02 * 0.02);
        assert!((wide[0] - by_hand).abs() < 1e-15 && wide[1] == 0.0 && wide[2] == wide[0]);
    }

    // shows: CU-1
    #[test]
    fn a_longer_run_weighs_more_and_no_run_gives_no_current() {
        let (both, _) = float_current(&[run((2.0, 0.0), 20.0), run((40.0, 0.0), 200.0)]).unwrap();
        assert!(both.east > 0.15 && both.east < 0.2, "{both:?}");
        assert!(float_current(&[]).is_none() && float_current(&[run((1.0, 0.0), 0.0)]).is_none());
    }
}
