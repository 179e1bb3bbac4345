//! Current: from timed floats to a velocity with its doubt, anywhere in the water (model F3).

use measure::Spot;

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

impl Flow {
    /// Surface velocity at a place \[m/s\].
    pub fn at(&self, spot: Spot) -> Spot {
        match self {
            Flow::Still => Spot::default(),
            Flow::Uniform { velocity, .. } => *velocity,
            Flow::Field { runs } => {
                let (mut sum, mut weight) = (Spot::default(), 0.0);
                for run in runs {
                    // One metre squared keeps the weight finite on top of a run.
                    let w = 1.0 / ((spot - run.spot).dot(spot - run.spot) + 1.0);
                    sum = sum + run.velocity * w;
                    weight += w;
                }
                if weight > 0.0 { sum * (1.0 / weight) } else { Spot::default() }
            }
        }
    }
}
