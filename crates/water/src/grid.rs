//! A grid of square cells over the site, row 0 in the south, and values on it.

use measure::Spot;
use serde::{Deserialize, Serialize};

/// Square cells over a rectangle; cell `(col, row)` has index `row * cols + col`, row 0 southernmost.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Grid {
    /// South-west corner of cell (0, 0).
    pub corner: Spot,
    /// Side of a cell \[m\].
    pub cell_m: f64,
    /// Cells from west to east.
    pub cols: usize,
    /// Cells from south to north.
    pub rows: usize,
}

impl Grid {
    /// Number of cells.
    pub fn len(&self) -> usize {
        self.cols * self.rows
    }

    /// Whether there is no cell at all.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Area of one cell \[m²\].
    pub fn cell_area_m2(&self) -> f64 {
        self.cell_m * self.cell_m
    }

    /// Middle of a cell.
    pub fn centre(&self, index: usize) -> Spot {
        let (col, row) = (index % self.cols, index / self.cols);
        Spot::new(
            self.corner.east + (col as f64 + 0.5) * self.cell_m,
            self.corner.north + (row as f64 + 0.5) * self.cell_m,
        )
    }

    /// The cell that holds `spot`; `None` outside, or where a coordinate is not a number.
    #[inline]
    pub fn cell(&self, spot: Spot) -> Option<usize> {
        let col = (spot.east - self.corner.east) / self.cell_m;
        let row = (spot.north - self.corner.north) / self.cell_m;
        let inside = col >= 0.0 && row >= 0.0 && col < self.cols as f64 && row < self.rows as f64;
        inside.then(|| row as usize * self.cols + col as usize)
    }
}

/// A value in every cell of a grid.
#[derive(Clone, Debug, PartialEq)]
pub struct Field<T> {
    /// The cells.
    pub grid: Grid,
    /// One value a cell, `row * cols + col`.
    pub values: Vec<T>,
}

impl<T: Copy> Field<T> {
    /// The same value everywhere.
    pub fn filled(grid: Grid, value: T) -> Self {
        Field { grid, values: vec![value; grid.len()] }
    }

    /// The value at a place; `None` outside the grid.
    #[inline]
    pub fn at(&self, spot: Spot) -> Option<T> {
        self.grid.cell(spot).map(|index| self.values[index])
    }
}

impl Field<f64> {
    /// The value at a place, bilinear between the middles of the four cells around it; see [`Grid::between`].
    ///
    /// # Inputs
    /// - `spot`: where
    ///
    /// # Gives
    /// The mean over those of the four that are numbers; NaN outside the grid or where the cell itself is NaN.
    ///
    /// # Source
    /// bilinear interpolation, by definition
    pub fn between(&self, spot: Spot) -> f64 {
        self.grid.between(&self.values, spot)
    }
}

impl Grid {
    /// The cells whose middle lies inside polygons, each an outer ring then holes, in the order they are met.
    pub fn cells_inside(&self, polygons: &[Vec<Vec<Spot>>]) -> Vec<usize> {
        let mut cells = Vec::new();
        crate::ground::paint::inside(self, polygons, |cell| cells.push(cell));
        cells
    }

    /// The cells whose middle is within `metres` of the outline, line or point of a shape; some may be met twice.
    pub fn cells_near(&self, shape: &crate::Shape, metres: f64) -> Vec<usize> {
        let mut cells = Vec::new();
        crate::ground::paint::near(self, shape, metres, |cell| cells.push(cell));
        cells
    }

    /// The value of a place in `values` (one a cell), bilinear between the middles of the four cells around it.
    ///
    /// # Inputs
    /// - `values`: one a cell
    /// - `spot`: where
    ///
    /// # Gives
    /// The mean over those of the four that are numbers; NaN outside the grid or where the cell itself is NaN.
    ///
    /// # Source
    /// bilinear interpolation, by definition
    pub fn between(&self, values: &[f64], spot: Spot) -> f64 {
        let Some(cell) = self.cell(spot) else { return f64::NAN };
        let own = values[cell];
        if own.is_nan() {
            return own;
        }
        let along = |metres: f64, cells: usize| {
            let position = (metres / self.cell_m - 0.5).clamp(0.0, (cells - 1) as f64);
            let low = position as usize;
            (low, (low + 1).min(cells - 1), position - low as f64)
        };
        let (west, east, to_east) = along(spot.east - self.corner.east, self.cols);
        let (south, north, to_north) = along(spot.north - self.corner.north, self.rows);
        let (mut sum, mut share) = (0.0, 0.0);
        for (row, col, weight) in [
            (south, west, (1.0 - to_north) * (1.0 - to_east)),
            (south, east, (1.0 - to_north) * to_east),
            (north, west, to_north * (1.0 - to_east)),
            (north, east, to_north * to_east),
        ] {
            let value = values[row * self.cols + col];
            if !value.is_nan() {
                sum += value * weight;
                share += weight;
            }
        }
        if share > 0.0 { sum / share } else { own }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_centre_lies_in_its_own_cell_and_outside_is_none() {
        let grid = Grid { corner: Spot::new(-3.0, 2.0), cell_m: 0.5, cols: 7, rows: 4 };
        for index in 0..grid.len() {
            assert_eq!(grid.cell(grid.centre(index)), Some(index));
        }
        for (east, north) in [(-3.1, 3.0), (0.5, 3.0), (0.0, 4.0), (f64::NAN, 3.0)] {
            assert_eq!(grid.cell(Spot::new(east, north)), None, "{east} {north}");
        }
    }

    #[test]
    fn between_middles_a_plane_is_kept_and_a_gap_is_left_out() {
        let grid = Grid { corner: Spot::new(10.0, 20.0), cell_m: 2.0, cols: 5, rows: 4 };
        let plane = |s: Spot| 3.0 * s.east - 2.0 * s.north + 1.0;
        let mut field = Field { grid, values: (0..20).map(|i| plane(grid.centre(i))).collect() };
        for (e, n) in [(13.0, 24.0), (11.0, 21.0), (18.99, 26.99), (15.3, 22.2)] {
            let spot = Spot::new(e, n);
            assert!((field.between(spot) - plane(spot)).abs() < 1e-12, "{e} {n}");
        }
        field.values[0] = f64::NAN;
        assert!(field.between(Spot::new(11.0, 21.0)).is_nan());
        assert!(field.between(Spot::new(12.1, 22.1)).is_finite());
        assert!(field.between(Spot::new(9.9, 22.1)).is_nan());
    }
}
