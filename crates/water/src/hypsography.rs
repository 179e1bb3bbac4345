//! Area and volume of a bed raster at any stage, counted over its own cells.

/// Depths of a raster's own cells, deepest first.
///
/// A raster is resampled to site metres for everything that needs places; its area and volume are counted
/// here instead, cell by cell, so that they come out as its publisher's.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hypsography {
    cell_area_m2: f64,
    /// Depth below the datum stage, falling.
    depth_m: Vec<f64>,
    /// Sum of the depths up to and with each cell.
    sum_m: Vec<f64>,
}

impl Hypsography {
    /// Of cells of one area with these depths below the datum stage; those that are not numbers are left out.
    pub fn new(cell_area_m2: f64, depths_m: impl IntoIterator<Item = f64>) -> Self {
        let mut depth_m: Vec<f64> = depths_m.into_iter().filter(|d| d.is_finite()).collect();
        depth_m.sort_by(|a, b| b.total_cmp(a));
        let mut sum = 0.0;
        let sum_m = depth_m
            .iter()
            .map(|d| {
                sum += d;
                sum
            })
            .collect();
        Hypsography { cell_area_m2, depth_m, sum_m }
    }

    /// Area of one cell \[m²\].
    pub fn cell_area_m2(&self) -> f64 {
        self.cell_area_m2
    }

    /// Area deeper than `depth_m` when the water stands `rise_m` above the datum stage.
    ///
    /// # Inputs
    /// - `rise_m`: today's stage less the datum stage \[m\]
    /// - `depth_m`: 0 for the whole water
    ///
    /// # Gives
    /// Number of cells deeper than that times the area of one \[m²\].
    ///
    /// # Source
    /// by definition
    pub fn area_deeper_m2(&self, rise_m: f64, depth_m: f64) -> f64 {
        self.cells_deeper(rise_m, depth_m) as f64 * self.cell_area_m2
    }

    /// Volume of the water when it stands `rise_m` above the datum stage \[m³\]: depth of every wet cell times its area.
    pub fn volume_m3(&self, rise_m: f64) -> f64 {
        match self.cells_deeper(rise_m, 0.0) {
            0 => 0.0,
            wet => (self.sum_m[wet - 1] + wet as f64 * rise_m) * self.cell_area_m2,
        }
    }

    /// Depth of the deepest cell \[m\]; `None` without a wet one.
    pub fn deepest_m(&self, rise_m: f64) -> Option<f64> {
        self.depth_m.first().map(|d| d + rise_m).filter(|d| *d > 0.0)
    }

    fn cells_deeper(&self, rise_m: f64, depth_m: f64) -> usize {
        self.depth_m.partition_point(|d| d + rise_m > depth_m)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_below_the_stage_are_counted() {
        let h = Hypsography::new(4.0, [1.0, f64::NAN, 3.0, -2.0, 0.0]);
        assert_eq!(h.area_deeper_m2(0.0, 0.0), 8.0);
        assert_eq!(h.volume_m3(0.0), 16.0);
        assert_eq!(h.area_deeper_m2(2.5, 0.0), 16.0);
        assert_eq!(h.volume_m3(2.5), 4.0 * (3.5 + 5.5 + 0.5 + 2.5));
        assert_eq!(h.area_deeper_m2(0.0, 1.5), 4.0);
        assert_eq!((h.deepest_m(0.5), h.deepest_m(-3.0)), (Some(3.5), None));
        assert_eq!((h.volume_m3(-5.0), Hypsography::default().volume_m3(9.0)), (0.0, 0.0));
    }
}
