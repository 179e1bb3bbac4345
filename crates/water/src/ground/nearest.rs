//! The nearest of many places for every cell of a grid, in a fixed number of sweeps.

use crate::Grid;
use measure::Spot;

/// No place at all.
pub(crate) const NOBODY: u32 = u32::MAX;

/// For every cell the index of the nearest place, [`NOBODY`] where there is none; for places on the grid the
/// distance to it is at most one cell more than the true one.
///
/// Each place starts in and around its cell; sweeps up and down pass the nearest place on to the neighbours, measured
/// from the place itself and not in steps. Places outside the grid start in the nearest border cell, where
/// another may hide them.
pub(crate) fn nearest(grid: &Grid, places: &[Spot]) -> Vec<u32> {
    let mut sweep = Sweep { grid, places, of: vec![NOBODY; grid.len()] };
    if grid.is_empty() {
        return sweep.of;
    }
    for (index, spot) in places.iter().enumerate().filter(|(_, spot)| spot.is_finite()) {
        let along = |metres: f64, most: usize| ((metres / grid.cell_m).max(0.0) as usize).min(most - 1);
        let from = *spot - grid.corner;
        let (row, col) = (along(from.north, grid.rows), along(from.east, grid.cols));
        // The cells around it too: of two places in one cell each may be the nearest to another neighbour.
        for row in row.saturating_sub(1)..(row + 2).min(grid.rows) {
            for col in col.saturating_sub(1)..(col + 2).min(grid.cols) {
                sweep.offer(row * grid.cols + col, index as u32);
            }
        }
    }
    let (cols, rows) = (grid.cols as isize, grid.rows as isize);
    for row in 0..rows {
        sweep.row(row, -1, 0..cols);
    }
    for row in (0..rows).rev() {
        sweep.row(row, 1, 0..cols);
    }
    sweep.of
}

struct Sweep<'a> {
    grid: &'a Grid,
    places: &'a [Spot],
    of: Vec<u32>,
}

impl Sweep<'_> {
    /// Takes over the place if it is nearer; on a tie the lower index stays.
    #[inline]
    fn offer(&mut self, cell: usize, place: u32) {
        let held = self.of[cell];
        if place == NOBODY || place == held {
            return;
        }
        let centre = self.grid.centre(cell);
        let square = |p: u32| {
            let step = self.places[p as usize] - centre;
            step.dot(step)
        };
        if held == NOBODY || (square(place), place) < (square(held), held) {
            self.of[cell] = place;
        }
    }

    /// One row: from the three cells of the row `behind`, then along it both ways.
    fn row(&mut self, row: isize, behind: isize, columns: std::ops::Range<isize>) {
        let (cols, rows) = (self.grid.cols as isize, self.grid.rows as isize);
        let at = |row: isize, col: isize| {
            let inside = row >= 0 && row < rows && col >= 0 && col < cols;
            inside.then(|| (row * cols + col) as usize)
        };
        for col in columns.clone() {
            let cell = (row * cols + col) as usize;
            let sides = [
                at(row + behind, col - 1),
                at(row + behind, col),
                at(row + behind, col + 1),
                at(row, col - 1),
            ];
            for from in sides.into_iter().flatten() {
                self.offer(cell, self.of[from]);
            }
        }
        for col in columns.rev() {
            if let Some(from) = at(row, col + 1) {
                self.offer((row * cols + col) as usize, self.of[from]);
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #![proptest_config(ProptestConfig { cases: 48, failure_persistence: None, ..ProptestConfig::default() })]

        #[test]
        fn within_a_cell_of_the_true_distance(
            raw in prop::collection::vec((0.0..31.0f64, 0.0..23.0f64), 1..60), cell_m in 0.3..3.0f64,
        ) {
            let grid = Grid { corner: Spot::new(-1.0, -2.0), cell_m, cols: 31, rows: 23 };
            let places: Vec<Spot> = raw.iter().map(|r| grid.corner + Spot::new(r.0, r.1) * cell_m).collect();
            for (cell, place) in nearest(&grid, &places).into_iter().enumerate() {
                let centre = grid.centre(cell);
                let true_m = places.iter().map(|p| p.distance(centre)).fold(f64::INFINITY, f64::min);
                let got_m = places[place as usize].distance(centre);
                prop_assert!(got_m >= true_m && got_m <= true_m + cell_m, "{got_m} against {true_m}");
            }
        }
    }

    #[test]
    fn no_place_is_said() {
        let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: 3, rows: 2 };
        assert!(nearest(&grid, &[]).iter().all(|&n| n == NOBODY));
        assert!(nearest(&grid, &[Spot::new(f64::NAN, 0.0)]).iter().all(|&n| n == NOBODY));
    }
}
