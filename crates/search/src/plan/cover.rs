//! How much of a square cell a rotated strip covers, axis by axis, when the line that walks it errs to either side.

use measure::parameters::value;

/// Projection of a square cell on an axis: the sum of two uniform widths, as a distribution function.
#[derive(Clone, Copy, Debug)]
pub(super) struct Edge {
    reach: f64,
    /// Up to here from the middle the share grows evenly.
    even: f64,
    /// Share a metre there.
    slope: f64,
    /// Share a square metre towards the corners.
    bend: f64,
}

impl Edge {
    /// Cell of side `cell_m`, axis with direction cosines `cos`, `sin`.
    pub fn new(cell_m: f64, cos: f64, sin: f64) -> Self {
        let (a, b) = (0.5 * cell_m * cos.abs(), 0.5 * cell_m * sin.abs());
        let (wide, narrow) = (a.max(b), a.min(b));
        let bend = if narrow > 0.0 { 1.0 / (8.0 * wide * narrow) } else { 0.0 };
        Edge { reach: wide + narrow, even: wide - narrow, slope: 0.5 / wide, bend }
    }

    /// Half the extent of the cell along the axis.
    pub fn reach(self) -> f64 {
        self.reach
    }

    /// Share of the cell on the near side of an edge that lies `x` beyond its middle.
    #[inline]
    pub fn before(self, x: f64) -> f64 {
        if x <= -self.reach {
            0.0
        } else if x >= self.reach {
            1.0
        } else if x.abs() <= self.even {
            0.5 + x * self.slope
        } else {
            let tail = (self.reach - x.abs()) * (self.reach - x.abs()) * self.bend;
            if x < 0.0 { tail } else { 1.0 - tail }
        }
    }

    /// Share of the cell between two edges.
    #[inline]
    pub fn between(self, low: f64, high: f64) -> f64 {
        self.before(high) - self.before(low)
    }
}

/// Steering error of a strip's edge \[m\]: small where it is walked along a rope, else that of an unmarked lane.
pub(super) fn steer_m(roped: bool) -> f64 {
    value(if roped { "steer_rope_m" } else { "steer_free_m" })
}

/// Farthest that a strip is taken to be off \[m\].
pub(super) fn stray_m(steer_m: f64) -> f64 {
    if steer_m > 0.0 { OFFSETS[OFFSETS.len() - 1] * steer_m } else { 0.0 }
}

/// Share of a cell that a strip covers across its way, on average over the steering error, by the distance of the
/// cell's middle from the middle line.
///
/// The error stands for a normal one by twelve strips off by [`OFFSETS`] of it, each as likely: of the same mean and spread, and
/// nothing far out that would have to be followed or left off.
#[derive(Clone, Debug)]
pub(super) struct Blur {
    reach: f64,
    shares: Vec<f64>,
}

/// Middles of twelve equally likely parts of a normal error, drawn out to a spread of one; the other six lie opposite.
const OFFSETS: [f64; 6] = [0.1103, 0.3360, 0.5785, 0.8565, 1.2131, 1.8262];

impl Blur {
    /// Steps of the table in a metre.
    const STEPS: f64 = 20.0;

    /// A strip of half width `half_m` whose edges are off by `steer_m`; `edge`: a cell seen across the strip.
    pub fn new(edge: Edge, half_m: f64, steer_m: f64) -> Self {
        let reach = half_m + stray_m(steer_m) + edge.reach();
        let at = |off: f64| edge.between(-half_m - off, half_m - off);
        let mean = |v: f64| {
            let pairs = OFFSETS.iter().map(|z| at(v - z * steer_m) + at(v + z * steer_m));
            pairs.sum::<f64>() / (2 * OFFSETS.len()) as f64
        };
        let count = (reach * Self::STEPS).ceil() as usize + 2;
        let share = |k: usize| k as f64 / Self::STEPS;
        let shares = (0..count).map(|k| if steer_m > 0.0 { mean(share(k)) } else { at(share(k)) }).collect();
        Blur { reach, shares }
    }

    /// Farthest from the middle line that anything is covered \[m\].
    pub fn reach(&self) -> f64 {
        self.reach
    }

    /// Share of a cell whose middle lies `off` aside.
    #[inline]
    pub fn share(&self, off: f64) -> f64 {
        let place = off.abs() * Self::STEPS;
        let k = place as usize;
        if k + 1 >= self.shares.len() {
            return 0.0;
        }
        self.shares[k] + (self.shares[k + 1] - self.shares[k]) * (place - k as f64)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_blurred_strip_is_that_of_a_normal_error() {
        use crate::{Detection, Method, Stretch, Sweep};
        use measure::Spot;
        let (width_m, step) = (6.0, 0.05);
        for steer_m in [0.0, 0.5, 2.5] {
            let edge = Edge::new(1.0, 1.0, 0.0);
            let blur = Blur::new(edge, 0.5 * width_m, steer_m);
            let chance = Detection::undrilled(0.7);
            let stretch = Stretch::Strip { from: Spot::new(0.0, 0.0), to: Spot::new(0.0, 10.0), width_m };
            let sweep = Sweep {
                method: Method::Wade,
                stretch,
                steer_m,
                firm: chance,
                rough: chance,
                from_s: 0.0,
                to_s: 9.0,
            };
            let (mut sum, mut square) = (0.0, 0.0);
            for k in -400..=400 {
                let off = f64::from(k) * step;
                // The mean over the cell, by its quarters.
                let exact: f64 = (0..100)
                    .map(|j| sweep.cover(Spot::new(off + (f64::from(j) + 0.5) * 0.01 - 0.5, 5.0)) * 0.01)
                    .sum();
                let share = blur.share(off);
                // Half of what one of the twelve strips weighs.
                assert!((share - exact).abs() < 0.042, "{steer_m} {off}: {share} {exact}");
                sum += share * step;
                square += share * off * off * step;
            }
            assert!((sum - width_m).abs() < 1e-3 * width_m, "{steer_m}: {sum}");
            // Second moment of a uniform width, a uniform cell and the error, added.
            let spread = width_m * (width_m * width_m / 12.0 + 1.0 / 12.0 + steer_m * steer_m);
            assert!((square / spread - 1.0).abs() < 2e-3, "{steer_m}: {square} {spread}");
        }
    }

    #[test]
    fn shares_of_a_cell_grow_evenly_and_add_up() {
        for degrees in [0.0, 10.0, 45.0, 90.0, 200.0_f64] {
            let edge = Edge::new(1.0, degrees.to_radians().cos(), degrees.to_radians().sin());
            assert!((edge.before(0.0) - 0.5).abs() < 1e-12, "{degrees}");
            let steps: Vec<f64> = (-100..=100).map(|k| edge.before(f64::from(k) * 0.01)).collect();
            assert!(steps.windows(2).all(|w| w[1] >= w[0] - 1e-15), "{degrees}");
            // a strip of width 3 covers three cells' worth of a row of cells, whatever the angle
            let row: f64 =
                (-50..=50).map(|k| edge.between(-1.5 - f64::from(k) * 0.1, 1.5 - f64::from(k) * 0.1)).sum();
            assert!((row * 0.1 - 3.0).abs() < 0.02, "{degrees}: {row}");
        }
    }
}
