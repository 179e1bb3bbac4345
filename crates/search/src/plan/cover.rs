//! How much of a square cell a rotated strip covers, axis by axis.

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

#[cfg(test)]
mod tests {
    use super::*;

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
