//! Particles in the order of their cells, so that a sweep touches only what it may cover.
//!
//! A row of cells wholly inside a stretch is one unbroken run of particles; only cells on its edge are
//! tested one by one. The product and the yardsticks use the same order and the same walk.

use super::outline::Outline;
pub use super::sort::Sorted;
use crate::sweep::Stretch;
use std::ops::Range;
use water::Grid;

/// Places sorted by cell of a grid; what lies outside the grid comes last.
#[derive(Clone, Debug)]
pub struct CellOrder {
    grid: Grid,
    /// First particle of each cell; one more entry than cells, then the end.
    first: Vec<u32>,
}

/// Neighbouring cells that a walk over a stretch meets; [`CellOrder::particles`] gives who is in them.
#[derive(Clone, Debug, PartialEq)]
pub enum Piece {
    /// All places in these cells lie inside.
    Whole(Range<usize>),
    /// They may or may not.
    Edge(Range<usize>),
}

impl CellOrder {
    /// Sorts places into the cells of `grid`.
    ///
    /// # Inputs
    /// - `grid` · `places`: metres east, metres north and weights, fewer than 2^32 of them · `sorted`: takes them, sorted
    ///
    /// # Gives
    /// The order. Places of one cell keep their old order.
    ///
    /// # Source
    /// counting sort in two steps (textbook)
    pub fn new(grid: Grid, places: [&[f64]; 3], sorted: &mut Sorted) -> Self {
        let first = sorted.fill(&grid, places);
        CellOrder { grid, first }
    }

    /// The grid.
    pub fn grid(&self) -> &Grid {
        &self.grid
    }

    /// Particles of one cell; cell number `grid.len()` holds what lies outside the grid.
    #[inline(always)]
    pub fn cell(&self, cell: usize) -> Range<usize> {
        self.first[cell] as usize..self.first[cell + 1] as usize
    }

    /// Particles of neighbouring cells: one unbroken run.
    #[inline(always)]
    pub fn particles(&self, cells: &Range<usize>) -> Range<usize> {
        self.first[cells.start] as usize..self.first[cells.end] as usize
    }

    /// Walks over every particle that `stretch`, made `margin_m` larger all round, may hold.
    ///
    /// A run is called [`Piece::Whole`] only where all its cells lie inside the stretch made `margin_m` smaller.
    ///
    /// # Inputs
    /// - `stretch` · `margin_m`: how far its edge is blurred \[m\], 0 for a sharp one · `visit`
    #[inline(always)]
    pub fn walk(&self, stretch: &Stretch, margin_m: f64, mut visit: impl FnMut(Piece)) {
        let Some(shape) = Outline::new(stretch) else { return };
        let grid = &self.grid;
        let half = 0.5 * grid.cell_m;
        let (low, high) = shape.rows(margin_m);
        let row_of = |north: f64| ((north - grid.corner.north) / grid.cell_m).floor();
        let col_of = |east: f64| ((east - grid.corner.east) / grid.cell_m).floor();
        let (start, end) = (row_of(low).max(0.0), row_of(high).min(grid.rows as f64 - 1.0));
        let mut row = start;
        while row <= end {
            let south = grid.corner.north + row * grid.cell_m;
            if let Some((west, east)) = shape.span(south, south + grid.cell_m, margin_m) {
                let first = col_of(west).max(0.0);
                let last = col_of(east).min(grid.cols as f64 - 1.0);
                if first <= last {
                    let (west, east) = shape.inner(south, south + grid.cell_m, margin_m);
                    let base = row as usize * grid.cols;
                    let (first, last) = (base + first as usize, base + last as usize);
                    let in_row = |col: f64| base + col.clamp(0.0, grid.cols as f64) as usize;
                    let guess = (in_row(col_of(west)).max(first), in_row(col_of(east)).min(last));
                    self.walk_row(&shape, (first, last), guess, (half, margin_m), &mut visit);
                }
            }
            row += 1.0;
        }
        let outside = self.grid.len();
        if !self.cell(outside).is_empty() {
            visit(Piece::Edge(outside..outside + 1));
        }
    }

    /// One row of cells `first..=last`: the inner cells are in one run, since the outline is convex.
    ///
    /// `guess` bounds that run, with a cell or so to spare.
    #[inline(always)]
    fn walk_row(
        &self,
        shape: &Outline,
        (first, last): (usize, usize),
        guess: (usize, usize),
        (half, margin_m): (f64, f64),
        visit: &mut impl FnMut(Piece),
    ) {
        let within = |cell: usize| shape.holds_cell(self.grid.centre(cell), half, margin_m);
        let (mut left, mut right) = guess;
        while left <= right && !within(left) {
            left += 1;
        }
        if left > right {
            visit(Piece::Edge(first..last + 1));
            return;
        }
        while !within(right) {
            right -= 1;
        }
        if first < left {
            visit(Piece::Edge(first..left));
        }
        visit(Piece::Whole(left..right + 1));
        if right < last {
            visit(Piece::Edge(right + 1..last + 1));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::{Seed, Spot};

    fn cloud(count: u64) -> (Vec<f64>, Vec<f64>) {
        let stream = Seed(4).stream("cells");
        (0..count).map(|k| (stream.u01(2 * k) * 44.0 - 2.0, stream.u01(2 * k + 1) * 34.0 - 2.0)).unzip()
    }

    #[test]
    fn the_walk_meets_every_particle_of_a_stretch_once_and_calls_none_whole_wrongly() {
        let (east, north) = cloud(20_000);
        let weight = vec![1.0; east.len()];
        for cell_m in [0.7, 1.0, 3.0] {
            let (cols, rows) = ((40.0 / cell_m) as usize, (30.0 / cell_m) as usize);
            let grid = Grid { corner: Spot::default(), cell_m, cols, rows };
            let mut sorted = Sorted::default();
            let order = CellOrder::new(grid, [&east, &north, &weight], &mut sorted);
            let from = &sorted.from;
            let mut draws = Seed(9).stream("stretches").draws();
            for k in 0..60 {
                let a = Spot::new(draws.between(-5.0, 45.0), draws.between(-5.0, 35.0));
                let b = Spot::new(draws.between(-5.0, 45.0), draws.between(-5.0, 35.0));
                let stretch = match k % 3 {
                    0 => Stretch::Disc { centre: a, radius_m: draws.between(0.0, 12.0) },
                    1 => Stretch::Strip { from: a, to: Spot::new(b.east, a.north), width_m: 5.0 },
                    _ => Stretch::Strip { from: a, to: b, width_m: draws.between(0.0, 12.0) },
                };
                let sweep = crate::Sweep {
                    method: crate::Method::Wade,
                    stretch,
                    steer_m: 0.0,
                    firm: crate::Detection::undrilled(0.7),
                    rough: crate::Detection::undrilled(0.7),
                    from_s: 0.0,
                    to_s: 1.0,
                };
                let covered = |i: usize| sweep.cover(Spot::new(east[i], north[i])) > 0.0;
                let mut met = vec![0_u8; east.len()];
                order.walk(&stretch, 0.0, |piece| {
                    let (range, whole) = match piece {
                        Piece::Whole(range) => (range, true),
                        Piece::Edge(range) => (range, false),
                    };
                    for i in order.particles(&range) {
                        met[from[i] as usize] += 1;
                        assert!(!whole || covered(from[i] as usize), "whole but outside: {stretch:?}");
                    }
                });
                for i in 0..met.len() {
                    assert!(met[i] <= 1 && (met[i] == 1 || !covered(i)), "particle {i} of {stretch:?}");
                }
            }
        }
    }

    #[test]
    fn every_cell_holds_its_own_places_in_their_old_order() {
        let (mut east, north) = cloud(5_000);
        let weight: Vec<f64> = (0..5_000).map(f64::from).collect();
        east[17] = f64::NAN;
        for (cell_m, cols, rows) in
            [(1.0, 40, 30), (0.3, 40, 30), (0.03125, 1_280, 960), (64.0, 1, 1), (1.0, 1, 30)]
        {
            let grid = Grid { corner: Spot::default(), cell_m, cols, rows };
            let mut sorted = Sorted::default();
            let order = CellOrder::new(grid, [&east, &north, &weight], &mut sorted);
            let from = &sorted.from;
            assert_eq!(sorted.arranged(&weight), sorted.weight);
            let (east, north) = (&sorted.east, &sorted.north);
            for cell in 0..grid.len() {
                for i in order.cell(cell) {
                    assert_eq!(grid.cell(Spot::new(east[i], north[i])), Some(cell));
                }
                assert!(from[order.cell(cell)].is_sorted());
            }
            let outside = order.cell(grid.len());
            assert_eq!(outside.end, east.len());
            assert!(outside.clone().all(|i| grid.cell(Spot::new(east[i], north[i])).is_none()));
        }
    }
}
