//! Current: from timed floats to a velocity with its doubt, anywhere in the water (model F3).
//!
//! Start reading at [`Flow::from_floats`]; [`tracks`] makes float runs of drifter tracks.

pub mod tracks;

use crate::FloatRun;
use measure::{Noted, Spot, parameters::value};

/// Level of the test whether floats disagree beyond their error.
const DISAGREE_LEVEL: f64 = 0.05;

/// A velocity measured by one float run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FloatVelocity {
    /// Middle of the run.
    pub spot: Spot,
    /// Velocity \[m/s east, north\].
    pub velocity: Spot,
    /// Variance per axis \[m²/s²\].
    pub variance: f64,
}

/// The surface current of a day.
#[derive(Clone, Debug, PartialEq)]
pub enum Flow {
    /// No float was timed and the site says nothing: still, with the scatter of the register as doubt.
    Still,
    /// One velocity everywhere, with its covariance \[m²/s²\] (east-east, east-north, north-north).
    Uniform {
        /// Velocity \[m/s\].
        velocity: Spot,
        /// Covariance.
        covariance: [f64; 3],
    },
    /// Floats that disagree beyond their error: inverse-distance mean of them.
    Field {
        /// The runs.
        runs: Vec<FloatVelocity>,
    },
}

/// Velocity and variance of one float run.
///
/// # Inputs
/// - `run`: let go, taken out, time between
///
/// # Gives
/// The velocity over the run; `None` where a place or the time is not a number or the time is not above 0.
/// The variance per axis is `(2 σ_x² + (f L)² + (v σ_t)²) / t²`: the places (σ_x, `float_position_m`, at both
/// ends), a share f of the length L (`float_error_share`) and the clock (σ_t, `float_error_s`) are taken as
/// independent, and the last two, which lie along the run, count on both axes so that a run never looks surer
/// across than along.
///
/// # Source
/// common practice, no published source
pub fn run_velocity(run: &FloatRun) -> Option<FloatVelocity> {
    let usable = run.from.is_finite() && run.to.is_finite() && run.seconds.is_finite() && run.seconds > 0.0;
    if !usable {
        return None;
    }
    let step = run.to - run.from;
    let velocity = step * (1.0 / run.seconds);
    let place_m = value("float_position_m");
    let share_m = value("float_error_share") * step.length();
    let clock_m = velocity.length() * value("float_error_s");
    let variance =
        (2.0 * place_m * place_m + share_m * share_m + clock_m * clock_m) / (run.seconds * run.seconds);
    let spot = run.from.lerp(run.to, 0.5);
    (velocity.is_finite() && variance.is_finite()).then_some(FloatVelocity { spot, velocity, variance })
}

/// One velocity from timed floats by weighted least squares.
///
/// # Inputs
/// - `runs`: any number; those that are not numbers or took no time are left out
///
/// # Gives
/// Velocity \[m/s\] and its covariance \[m²/s²\] (east-east, east-north, north-north); `None` without a usable
/// run. Weights are inverse variances ([`run_velocity`]); with one variance for both axes of a run the normal
/// equations part, and the covariance is `1/Σw` on both axes, widened by the scatter χ²/(2n − 2) between the
/// floats where that exceeds 1.
///
/// # Source
/// weighted least squares, by definition; variances: common practice, no published source
pub fn float_current(runs: &[FloatRun]) -> Option<(Spot, [f64; 3])> {
    pooled(&runs.iter().filter_map(run_velocity).collect::<Vec<_>>())
}

/// The weighted mean of floats with its covariance, widened where they scatter more than they should.
fn pooled(measured: &[FloatVelocity]) -> Option<(Spot, [f64; 3])> {
    let (velocity, variance) = weighted_mean(measured)?;
    let widened = match measured.len() {
        1 => 1.0,
        n => (chi_square(measured, velocity) / (2 * n - 2) as f64).max(1.0),
    };
    Some((velocity, [variance * widened, 0.0, variance * widened]))
}

/// Mean weighted by inverse variance, and the variance of it per axis.
fn weighted_mean(measured: &[FloatVelocity]) -> Option<(Spot, f64)> {
    let weight: f64 = measured.iter().map(|m| 1.0 / m.variance).sum();
    let sum = measured.iter().fold(Spot::default(), |sum, m| sum + m.velocity * (1.0 / m.variance));
    (weight > 0.0).then(|| (sum * (1.0 / weight), 1.0 / weight))
}

/// Squared distances of the floats from a velocity, each in units of its own variance.
fn chi_square(measured: &[FloatVelocity], velocity: Spot) -> f64 {
    let off = |m: &FloatVelocity| {
        let step = m.velocity - velocity;
        step.dot(step) / m.variance
    };
    measured.iter().map(off).sum()
}

/// Chance that χ² with 2 m degrees of freedom exceeds `x`: for an even number a finite sum.
fn chi_square_above(x: f64, m: usize) -> f64 {
    let half = 0.5 * x;
    // Terms in logarithms, so that thousands of floats do not underflow.
    let mut log_term = -half;
    let mut sum = libm::exp(log_term);
    for k in 1..m {
        log_term += libm::log(half / k as f64);
        sum += libm::exp(log_term);
    }
    sum.min(1.0)
}

/// Names floats slower than `stuck_mps`; those that others contradict are left out, the rest join `measured`.
fn set_stuck_aside(
    measured: &mut Vec<FloatVelocity>,
    slow: Vec<(usize, FloatVelocity)>,
    notes: &mut Vec<String>,
) {
    let stuck_mps = value("stuck_mps");
    let moving = weighted_mean(measured);
    for (number, m) in slow {
        let speed_mps = m.velocity.length();
        let made = format!("float {number} made {speed_mps:.3} m/s, under {stuck_mps} m/s");
        let contradicted = moving.is_some_and(|(mean, variance)| {
            let off = m.velocity - mean;
            chi_square_above(off.dot(off) / (m.variance + variance), 1) < DISAGREE_LEVEL
        });
        if contradicted {
            notes.push(format!(
                "{made}, while others moved: taken as stuck and not used; look at it and time it again"
            ));
        } else {
            notes.push(format!("{made}: stuck, or no current; look at it and time it again"));
            measured.push(m);
        }
    }
}

impl Flow {
    /// The current of a day from its timed floats.
    ///
    /// One velocity everywhere where the floats agree within their error (χ² test, level 0.05), else the
    /// inverse-distance field of them; none: still. A float slower than `stuck_mps` is named; where it differs
    /// beyond its error from those that moved it is taken as stuck and left out, else at its word. Model `F3`,
    /// docs/models/current.md.
    ///
    /// # Inputs
    /// - `floats`: timed runs; what cannot be used is named
    ///
    /// # Gives
    /// The flow, and what to ask about.
    ///
    /// # Source
    /// weighted least squares and the χ² test, by definition; variances: common practice, no published source
    pub fn from_floats(floats: &[FloatRun]) -> Noted<Flow> {
        let mut notes = Vec::new();
        let mut measured = Vec::new();
        let mut slow = Vec::new();
        let stuck_mps = value("stuck_mps");
        for (index, run) in floats.iter().enumerate() {
            let number = index + 1;
            match run_velocity(run) {
                None => notes.push(format!(
                    "float {number} took {} s between its places: the time must be above 0 and the places numbers; it is not used",
                    run.seconds
                )),
                Some(m) if m.velocity.length() < stuck_mps => slow.push((number, m)),
                Some(m) => measured.push(m),
            }
        }
        set_stuck_aside(&mut measured, slow, &mut notes);
        let Some((velocity, covariance)) = pooled(&measured) else {
            notes.push("no float was timed: the water is taken as still; time a float in each area".into());
            return Noted { value: Flow::Still, notes };
        };
        let n = measured.len();
        if n == 1 {
            notes.push("one float only: the current elsewhere may differ; time three".into());
        }
        // Two axes a float, less the two of the mean: 2n − 2 degrees of freedom.
        if n > 1 && chi_square_above(chi_square(&measured, velocity), n - 1) < DISAGREE_LEVEL {
            notes.push(format!(
                "{n} floats disagree beyond their error: the current differs from place to place"
            ));
            return Noted { value: Flow::Field { runs: measured }, notes };
        }
        Noted { value: Flow::Uniform { velocity, covariance }, notes }
    }

    /// Surface velocity at a place \[m/s\].
    pub fn at(&self, spot: Spot) -> Spot {
        match self {
            Flow::Still => Spot::default(),
            Flow::Uniform { velocity, .. } => *velocity,
            Flow::Field { runs } => {
                let (mut sum, mut weight) = (Spot::default(), 0.0);
                for run in runs {
                    let w = nearness(run, spot);
                    sum = sum + run.velocity * w;
                    weight += w;
                }
                if weight > 0.0 { sum * (1.0 / weight) } else { Spot::default() }
            }
        }
    }

    /// How far the surface velocity at a place may be off \[m²/s²\]: east-east, east-north, north-north.
    ///
    /// # Inputs
    /// - `spot`: where
    ///
    /// # Gives
    /// The scatter of the register (`current_scatter_mps`) plus: nothing more for still water; the covariance
    /// of the one velocity; or in a field the errors of the floats by their weights, and the weighted spread of
    /// the floats about the value there. That spread vanishes on top of a float and is full between them.
    ///
    /// # Source
    /// assumed
    pub fn covariance_at(&self, spot: Spot) -> [f64; 3] {
        let own = own_scatter();
        match self {
            Flow::Still => [own, 0.0, own],
            Flow::Uniform { covariance, .. } => [covariance[0] + own, covariance[1], covariance[2] + own],
            Flow::Field { runs } => {
                let weight: f64 = runs.iter().map(|run| nearness(run, spot)).sum();
                if runs.is_empty() || !weight.is_normal() {
                    return [own, 0.0, own];
                }
                let mean = self.at(spot);
                let mut sum = [own, 0.0, own];
                for run in runs {
                    let share = nearness(run, spot) / weight;
                    let off = run.velocity - mean;
                    let error = share * share * run.variance;
                    sum[0] += error + share * off.east * off.east;
                    sum[1] += share * off.east * off.north;
                    sum[2] += error + share * off.north * off.north;
                }
                sum
            }
        }
    }
}

/// Variance of the register's own scatter \[m²/s²\]; looked up once, since every particle asks.
fn own_scatter() -> f64 {
    static SCATTER: std::sync::OnceLock<f64> = std::sync::OnceLock::new();
    *SCATTER.get_or_init(|| value("current_scatter_mps") * value("current_scatter_mps"))
}

/// Weight of a float at a place: inverse square of the distance; one metre squared keeps it finite on top of the run.
fn nearness(run: &FloatVelocity, spot: Spot) -> f64 {
    1.0 / ((spot - run.spot).dot(spot - run.spot) + 1.0)
}

#[cfg(test)]
mod tests;
