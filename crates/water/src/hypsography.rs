//! Area and volume of a bed raster at any stage, counted over its own cells.

/// Depths of a raster's own cells, deepest first.
///
/// A raster is resampled to site metres for everything that needs places; its area and volume are counted
/// here instead, cell by cell, so that they come out as its publisher's.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Hypsography {
    cell_area_m2: f64,
    /// Half the step between neighbouring 32-bit samples: a cell is wet when the water stands higher than this over it.
    half_step_m: f64,
    /// Depth below the datum stage, falling.
    depth_m: Vec<f64>,
    /// Sum of the depths up to and with each cell.
    sum_m: Vec<f64>,
}

impl Hypsography {
    /// Of a raster of bed levels: cells of one area, depth counted from the datum stage.
    ///
    /// # Inputs
    /// - `cell_area_m2`: of the file's own cells
    /// - `levels_m`: bed levels; those that are not numbers are left out
    /// - `datum_level_m`: level of the water at the datum stage, on the scale of the raster
    ///
    /// # Gives
    /// The cells; the water line is known to half a step of a 32-bit sample of the highest level.
    ///
    /// # Source
    /// by definition
    pub fn of_levels(
        cell_area_m2: f64,
        levels_m: impl Iterator<Item = f64> + Clone,
        datum_level_m: f64,
    ) -> Self {
        let half_step_m = half_step(levels_m.clone());
        Self::counted(cell_area_m2, levels_m.map(|level| datum_level_m - level), half_step_m)
    }

    /// Of a raster of depths below the datum stage; as [`Hypsography::of_levels`].
    pub fn of_depths(cell_area_m2: f64, depths_m: impl Iterator<Item = f64> + Clone) -> Self {
        let half_step_m = half_step(depths_m.clone());
        Self::counted(cell_area_m2, depths_m, half_step_m)
    }

    fn counted(cell_area_m2: f64, depths_m: impl Iterator<Item = f64>, half_step_m: f64) -> Self {
        let mut depth_m: Vec<f64> = depths_m.filter(|d| d.is_finite()).collect();
        depth_m.sort_by(|a, b| b.total_cmp(a));
        let mut sum = 0.0;
        let sum_m = depth_m
            .iter()
            .map(|d| {
                sum += d;
                sum
            })
            .collect();
        Hypsography { cell_area_m2, half_step_m, depth_m, sum_m }
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
        self.depth_m.partition_point(|d| d + rise_m > depth_m + self.half_step_m)
    }
}

/// Half the step of a 32-bit sample as large as the largest of these.
fn half_step(samples: impl Iterator<Item = f64>) -> f64 {
    let largest = samples.filter(|s| s.is_finite()).fold(0.0, |most: f64, s| most.max(s.abs())) as f32;
    // Samples are stored in 32 bits: a bed level of 300 m stands for a span of 0.03 mm.
    let next = f32::from_bits(largest.to_bits() + 1);
    if next.is_finite() { 0.5 * f64::from(next - largest) } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn cells_below_the_stage_are_counted() {
        let h = Hypsography::of_depths(4.0, [1.0, f64::NAN, 3.0, -2.0, 0.0].into_iter());
        assert_eq!(h.area_deeper_m2(0.0, 0.0), 8.0);
        assert_eq!(h.volume_m3(0.0), 16.0);
        assert_eq!(h.area_deeper_m2(2.5, 0.0), 16.0);
        assert_eq!(h.volume_m3(2.5), 4.0 * (3.5 + 5.5 + 0.5 + 2.5));
        assert_eq!(h.area_deeper_m2(0.0, 1.5), 4.0);
        assert_eq!((h.deepest_m(0.5), h.deepest_m(-3.0)), (Some(3.5), None));
        let levels = [9.0, f64::NAN, 7.0, 12.0, 10.0];
        assert_eq!(h.depth_m, Hypsography::of_levels(4.0, levels.into_iter(), 10.0).depth_m);
        assert_eq!((h.volume_m3(-5.0), Hypsography::default().volume_m3(9.0)), (0.0, 0.0));
    }
}
