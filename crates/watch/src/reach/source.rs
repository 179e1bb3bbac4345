//! The start of a march: what is settled exactly before differences are taken.
//!
//! Close to a point the front bends so sharply that no difference sees it, and the error made there is carried
//! everywhere. So the disc round the start in which the pace is linear is filled by its closed form.

use super::crossing::crossing;
use super::march::{Medium, Start};
use super::straight::Corner;
use measure::Spot;

/// Radius of the largest disc that is settled exactly round the start \[m\]: a fixed length, so that the error shrinks with the cell.
const DISC_M: f64 = 24.0;
/// The same in cells, at least and at most.
const DISC_CELLS: (f64, f64) = (6.0, 60.0);
/// In the disc the pace may differ from a linear one by this share.
const LINEAR: f64 = 0.002;
/// In the disc the current may change by this share of the pace, and evenly: the mean of both ends then tells the crossing to a few parts in
/// ten thousand.
const BENT: f64 = 0.05;
/// So far every open cell is settled, linear or not: the first differences need neighbours.
const LEAST_CELLS: f64 = 1.5;

/// Time between two places \[s\] in a medium whose pace is linear, from the paces at both and its gradient.
///
/// # Inputs
/// - `distance_m` \[m\] · `from_mps`, `to_mps`: paces at the two \[m/s\] · `gradient`: of the pace \[1/s\]
///
/// # Gives
/// `acosh(1 + g² d² / (2 v₁ v₂)) / g`; `d / v` where the gradient vanishes.
///
/// # Source
/// rays in a linear medium are circles: derived
pub fn linear_time_s(distance_m: f64, from_mps: f64, to_mps: f64, gradient: f64) -> f64 {
    let share = gradient * gradient * distance_m * distance_m / (2.0 * from_mps * to_mps);
    if share < 1e-9 {
        // acosh(1 + x) = sqrt(2 x) (1 − x/12 …): nothing is lost to cancellation.
        return distance_m / (from_mps * to_mps).sqrt() * (1.0 - share / 12.0);
    }
    libm::acosh(1.0 + share) / gradient.abs()
}

impl Medium {
    /// Cells whose time is known before the march, with that time \[s\].
    pub(super) fn settled(&self, start: &Start) -> Vec<(usize, f64)> {
        match start {
            Start::Cells(cells) => cells
                .iter()
                .copied()
                .filter(|&(cell, at_s)| cell < self.grid().len() && at_s.is_finite())
                .collect(),
            Start::Spot(spot, at_s) => self.disc(*spot, *at_s),
        }
    }

    fn disc(&self, spot: Spot, at_s: f64) -> Vec<(usize, f64)> {
        let grid = *self.grid();
        let Some(home) = grid.cell(spot).filter(|&cell| !self.is_wall(cell)) else { return Vec::new() };
        let pace = |cell: usize| self.pace_mps(cell);
        let slope = self.slope(home);
        let here_mps = (pace(home) + slope.dot(spot - grid.centre(home))).max(0.5 * pace(home));
        let around = self.box_round(home);
        let current = self.drift_near(spot);
        let [east, north] = self.change_at(self.padded(home));
        let even = |cell: usize| {
            let way = grid.centre(cell) - spot;
            let expected = here_mps + slope.dot(way);
            let change = self.drift_at(self.padded(cell)) - current;
            self.same_ground(home, cell)
                && (pace(cell) - expected).abs() <= LINEAR * here_mps
                && (change - east * way.east - north * way.north).length() <= LINEAR * here_mps
                && change.length() <= BENT * here_mps
        };
        let straight_s = |cell: usize, pace_mps: f64| {
            let mean = (current + self.drift_at(self.padded(cell))) * 0.5;
            crossing(grid.centre(cell) - spot, pace_mps, mean).map_or(f64::INFINITY, |c| c.time_s)
        };
        let still = current == Spot::default() && east == Spot::default() && north == Spot::default();
        let off = |cell: usize| grid.centre(cell).distance(spot) / grid.cell_m;
        let odd = around.iter().filter(|&&c| !even(c)).map(|&c| off(c)).fold(self.disc_cells(), f64::min);
        let mut settled = vec![(home, at_s + straight_s(home, here_mps))];
        for &cell in around.iter().filter(|&&cell| cell != home) {
            let metres = grid.centre(cell).distance(spot);
            if off(cell) < odd - 1e-9 && still {
                settled.push((cell, at_s + linear_time_s(metres, here_mps, pace(cell), slope.length())));
            } else if off(cell) < odd - 1e-9 || (off(cell) <= LEAST_CELLS && self.beside(home, cell)) {
                let mean_mps = 2.0 * here_mps * pace(cell) / (here_mps + pace(cell));
                settled.push((cell, at_s + straight_s(cell, mean_mps)));
            }
        }
        settled.retain(|(_, at_s)| at_s.is_finite());
        if settled.first().is_none_or(|(cell, _)| *cell != home) {
            // The current denies the few centimetres to the middle of the cell, and nobody begins there: straight from the place itself.
            let known: Vec<usize> = settled.iter().map(|(cell, _)| *cell).collect();
            let corner = Corner { spot, at_s };
            let more = around.iter().filter(|cell| **cell != home && !known.contains(cell));
            settled.extend(more.filter_map(|&cell| Some((cell, self.walked(corner, self.padded(cell))?))));
        }
        settled
    }

    /// The current at a place, evenly between the cells about it.
    pub(super) fn drift_near(&self, spot: Spot) -> Spot {
        let Some(home) = self.grid().cell(spot) else { return Spot::default() };
        let at = self.padded(home);
        let [east, north] = self.change_at(at);
        let off = spot - self.grid().centre(home);
        self.drift_at(at) + east * off.east + north * off.north
    }

    /// Gradient of the pace about a cell \[1/s\], by central differences; 0 along an axis that meets a wall.
    fn slope(&self, cell: usize) -> Spot {
        let grid = self.grid();
        let (col, row) = (cell % grid.cols, cell / grid.cols);
        let along = |low: Option<usize>, high: Option<usize>| match (low, high) {
            (Some(low), Some(high)) if self.same_ground(cell, low) && self.same_ground(cell, high) => {
                0.5 * (self.pace_mps(high) - self.pace_mps(low)) / grid.cell_m
            }
            _ => 0.0,
        };
        Spot::new(
            along((col > 0).then(|| cell - 1), (col + 1 < grid.cols).then(|| cell + 1)),
            along((row > 0).then(|| cell - grid.cols), (row + 1 < grid.rows).then(|| cell + grid.cols)),
        )
    }

    fn disc_cells(&self) -> f64 {
        (DISC_M / self.grid().cell_m).clamp(DISC_CELLS.0, DISC_CELLS.1)
    }

    /// Cells of the square round a cell that holds the largest disc.
    fn box_round(&self, cell: usize) -> Vec<usize> {
        let grid = self.grid();
        let reach = self.disc_cells() as usize + 1;
        let (col, row) = (cell % grid.cols, cell / grid.cols);
        let cols = col.saturating_sub(reach)..(col + reach + 1).min(grid.cols);
        let rows = row.saturating_sub(reach)..(row + reach + 1).min(grid.rows);
        rows.flat_map(|r| cols.clone().map(move |c| r * grid.cols + c)).collect()
    }
}
