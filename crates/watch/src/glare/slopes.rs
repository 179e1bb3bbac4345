//! The slopes of a wind-blown surface: how often a facet leans which way, and which of them hide behind others.

use measure::fastmath::exp;
use measure::parameters::value;
use measure::{Bearing, Spot};

/// The wind over the water.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wind {
    /// Speed \[m/s\].
    pub speed_mps: f64,
    /// Where it comes from; without it the slopes are the same all round.
    pub from: Option<Bearing>,
}

/// How the surface leans.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slopes {
    /// Variance of slope along the wind.
    pub along: f64,
    /// Variance across it.
    pub across: f64,
    /// Unit step down the wind.
    wind: Spot,
}

/// Variances of slope at a wind, before the site's factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Variances {
    /// Along and across together.
    pub total: f64,
    /// Along the wind.
    pub along: f64,
    /// Across it.
    pub across: f64,
}

/// Variances of slope of a clean sea surface.
///
/// # Inputs
/// - `wind_mps`: wind 12.5 m over the water, measured for 1 to 14 m/s
///
/// # Source
/// cox-munk-1954, regression of the clean surface; the two slopes of the axes read second-hand, offsets from memory
pub fn variances(wind_mps: f64) -> Variances {
    let u = wind_mps.max(0.0);
    Variances { total: 0.003 + 0.005_12 * u, along: 0.003_16 * u, across: 0.003 + 0.001_92 * u }
}

impl Slopes {
    /// Slopes at a wind.
    ///
    /// # Inputs
    /// - `wind`: with a direction the two axes are apart, without they are one · `factor`: of the site on every variance
    pub fn new(wind: &Wind, factor: f64) -> Slopes {
        let of_sea = variances(wind.speed_mps);
        let floor = value("slope_floor");
        let (along, across) = match wind.from {
            Some(_) => (of_sea.along, of_sea.across),
            None => (0.5 * of_sea.total, 0.5 * of_sea.total),
        };
        Slopes {
            along: (along * factor).max(floor),
            across: (across * factor).max(floor),
            wind: Spot::towards(wind.from.unwrap_or_default().reversed(), 1.0),
        }
    }

    /// Variance along and across together.
    pub fn total(&self) -> f64 {
        self.along + self.across
    }

    /// Density of facets that lean by `east` and `north`, over the plane of slopes.
    #[inline(always)]
    pub fn density(&self, east: f64, north: f64) -> f64 {
        let along = east * self.wind.east + north * self.wind.north;
        let across = east * self.wind.north - north * self.wind.east;
        let power = 0.5 * (along * along / self.along + across * across / self.across);
        exp(-power) / (std::f64::consts::TAU * (self.along * self.across).sqrt())
    }

    /// Share of facets hidden behind others over the share seen, for a ray at some angle from the vertical.
    ///
    /// # Inputs
    /// - `sine`, `cosine` of that angle
    ///
    /// # Gives
    /// Zero straight down; endless as the ray grows level.
    ///
    /// # Source
    /// smith-1967 for a normal distribution, with half the whole variance on the ray's axis
    pub fn hidden_over_seen(&self, sine: f64, cosine: f64) -> f64 {
        let nu = cosine / (sine * self.total().sqrt());
        if nu > 6.0 {
            return 0.0;
        }
        0.5 * (libm::exp(-nu * nu) / (nu * std::f64::consts::PI.sqrt()) - libm::erfc(nu)).max(0.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: GL-3
    #[test]
    fn the_density_sums_to_one_and_has_the_variances() {
        for from in [None, Some(Bearing::new(240.0))] {
            let slopes = Slopes::new(&Wind { speed_mps: 5.0, from }, 1.0);
            let (step, half) = (0.005, 240);
            let (mut sum, mut squares, mut along) = (0.0, 0.0, 0.0);
            for i in -half..=half {
                for j in -half..=half {
                    let (e, n) = (step * f64::from(i), step * f64::from(j));
                    let weight = slopes.density(e, n) * step * step;
                    sum += weight;
                    squares += weight * (e * e + n * n);
                    let down = Spot::towards(Bearing::new(60.0), 1.0);
                    along += weight * (e * down.east + n * down.north) * (e * down.east + n * down.north);
                }
            }
            assert!((sum - 1.0).abs() < 1e-9 && (squares - slopes.total()).abs() < 1e-9, "{sum} {squares}");
            assert!((along - slopes.along).abs() < 1e-9);
        }
        let of_sea = variances(10.0);
        assert!((of_sea.total - 0.0542).abs() < 1e-12 && (of_sea.along - 0.0316).abs() < 1e-12);
        assert!((of_sea.across - 0.0222).abs() < 1e-12);
    }

    // shows: GL-4
    #[test]
    fn no_wind_is_no_mirror_and_no_end() {
        for from in [None, Some(Bearing::new(10.0))] {
            let slopes = Slopes::new(&Wind { speed_mps: 0.0, from }, 0.3);
            assert!(slopes.along > 0.0 && slopes.density(0.0, 0.0).is_finite());
            assert!(slopes.density(0.5, 0.5) == 0.0 || slopes.density(0.5, 0.5) < 1e-30);
        }
        let slopes = Slopes::new(&Wind { speed_mps: 4.0, from: None }, 1.0);
        assert_eq!(slopes.hidden_over_seen(0.0, 1.0), 0.0);
        let mut last = 0.0;
        for degrees in [60.0, 75.0, 80.0, 85.0, 89.0, 89.9] {
            let (sine, cosine) = libm::sincos(f64::to_radians(degrees));
            let hidden = slopes.hidden_over_seen(sine, cosine);
            assert!(hidden >= last && hidden.is_finite());
            last = hidden;
        }
    }
}
