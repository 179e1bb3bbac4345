//! Particles in the order of their cells, so that a sweep touches only what it may cover.
//!
//! A row of cells wholly inside a stretch is one unbroken run of particles; only cells on its edge are
//! tested one by one. The product and the yardsticks use the same order and the same walk.

use super::four::Four;
pub use super::outline::Outline;
use super::sift::Own;
pub use super::sift::Sides;
pub use super::sort::{GROUP, Group, STEPS, Sorted};
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
    /// counting sort (textbook)
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

    /// On which side of a stretch's edge the places of one cell lie.
    ///
    /// # Inputs
    /// - `shape` · `cell` · `sorted`: the places in this order · `visit`: is given every group that holds places of the
    ///   cell, the number that its first place has in the order, and its sides
    ///
    /// # Gives
    /// Whether any place is open and must be told from the place itself.
    #[inline(always)]
    pub fn sift(
        &self,
        shape: &Outline,
        cell: usize,
        sorted: &mut Sorted,
        mut visit: impl FnMut(usize, &mut Group, Sides),
    ) -> bool {
        let of = self.cell(cell);
        if of.is_empty() {
            return false;
        }
        let first = of.start / GROUP * GROUP;
        let (lead, kept) = (of.start % GROUP, (of.end - 1) % GROUP + 1);
        let own = Own::new(sorted.groups_mut(&of), lead, kept);
        let visit = |line: usize, group: &mut Group, sides: Sides| visit(first + line * GROUP, group, sides);
        if cell == self.grid.len() {
            // Outside the grid nothing is known but the place itself.
            return own.sift(visit, |_| [Four::all(0); 2]);
        }
        shape.sift((self.grid.centre(cell), self.grid.cell_m), own, visit)
    }

    /// Walks over every particle that a stretch, made larger all round by the blur of its edge, may hold.
    ///
    /// A run is called [`Piece::Whole`] only where all its cells lie inside the stretch made smaller by as much.
    #[inline(always)]
    pub fn walk(&self, shape: &Outline, mut visit: impl FnMut(Piece)) {
        let grid = &self.grid;
        let (low, high) = shape.rows();
        let row_of = |north: f64| ((north - grid.corner.north) / grid.cell_m).floor();
        let col_of = |east: f64| ((east - grid.corner.east) / grid.cell_m).floor();
        let (start, end) = (row_of(low).max(0.0), row_of(high).min(grid.rows as f64 - 1.0));
        let mut row = start;
        while row <= end {
            let south = grid.corner.north + row * grid.cell_m;
            if let Some((west, east)) = shape.span(south, south + grid.cell_m) {
                let first = col_of(west).max(0.0);
                let last = col_of(east).min(grid.cols as f64 - 1.0);
                if first <= last {
                    let (west, east) = shape.inner(south, south + grid.cell_m);
                    let base = row as usize * grid.cols;
                    let (first, last) = (base + first as usize, base + last as usize);
                    let in_row = |col: f64| base + col.clamp(0.0, grid.cols as f64) as usize;
                    let guess = (in_row(col_of(west)).max(first), in_row(col_of(east)).min(last));
                    self.walk_row(shape, (first, last), guess, &mut visit);
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
        visit: &mut impl FnMut(Piece),
    ) {
        let half = 0.5 * self.grid.cell_m;
        let within = |cell: usize| shape.holds_cell(self.grid.centre(cell), half);
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
    use crate::{Stretch, Sweep};
    use measure::{Seed, Spot, fastmath::wide};

    fn cloud(count: u64) -> (Vec<f64>, Vec<f64>) {
        let stream = Seed(4).stream("cells");
        (0..count).map(|k| (stream.u01(2 * k) * 44.0 - 2.0, stream.u01(2 * k + 1) * 34.0 - 2.0)).unzip()
    }

    fn swept(stretch: Stretch, steer_m: f64) -> Sweep {
        let firm = crate::Detection::undrilled(0.7);
        Sweep { method: crate::Method::Wade, stretch, steer_m, firm, rough: firm, from_s: 0.0, to_s: 1.0 }
    }

    /// Strips and discs at and around a ground of 40 × 30 m; every other one has its edges on whole metres.
    fn stretches() -> impl Iterator<Item = Stretch> {
        let mut draws = Seed(9).stream("stretches").draws();
        (0..60).map(move |k| {
            let coarse = |metres: f64| if k % 2 == 0 { metres } else { metres.round() };
            let a = Spot::new(coarse(draws.between(-5.0, 45.0)), coarse(draws.between(-5.0, 35.0)));
            let b = Spot::new(coarse(draws.between(-5.0, 45.0)), coarse(draws.between(-5.0, 35.0)));
            let size_m = coarse(draws.between(0.0, 12.0));
            match k % 3 {
                0 => Stretch::Disc { centre: a, radius_m: size_m },
                1 => Stretch::Strip { from: a, to: Spot::new(b.east, a.north), width_m: 6.0 },
                _ => Stretch::Strip { from: a, to: b, width_m: size_m },
            }
        })
    }

    /// Whether any place of a cell is open, and of each place of its groups whether it is inside and whether it is open.
    #[inline(always)]
    fn sifted(
        order: &CellOrder,
        shape: &Outline,
        cell: usize,
        sorted: &mut Sorted,
    ) -> (bool, Vec<(bool, bool)>) {
        let mut all = Vec::new();
        let any = order.sift(shape, cell, sorted, |_, _, sides| {
            all.extend((0..GROUP).map(|k| (sides.inside[k] != 0, sides.open[k] != 0)));
        });
        (any, all)
    }

    #[test]
    fn the_walk_meets_every_particle_of_a_stretch_once_and_knows_what_is_covered_for_certain() {
        let (mut east, mut north) = cloud(20_000);
        // Half of them lie on whole metres, where the edges of cells and of many stretches are.
        east.iter_mut().zip(&mut north).step_by(2).for_each(|(e, n)| (*e, *n) = (e.round(), n.round()));
        let weight = vec![1.0; east.len()];
        for (cell_m, steer_m) in [(0.7, 0.0), (1.0, 0.0), (3.0, 0.0), (3.0, 0.4), (8.0, 0.0), (8.0, 1.0)] {
            let (cols, rows) = ((40.0 / cell_m) as usize, (30.0 / cell_m) as usize);
            let grid = Grid { corner: Spot::default(), cell_m, cols, rows };
            let mut sorted = Sorted::default();
            let order = CellOrder::new(grid, [&east, &north, &weight], &mut sorted);
            let (mut certain, mut doubtful) = (0, 0);
            for sweep in stretches().map(|stretch| swept(stretch, steer_m)) {
                let Some(shape) = Outline::new(&sweep.stretch, 4.5 * steer_m) else { continue };
                let cover = |place: usize| sweep.cover(Spot::new(east[place], north[place]));
                let mut met = vec![0_u8; east.len()];
                order.walk(&shape, |piece| {
                    let (Piece::Whole(cells) | Piece::Edge(cells)) = &piece;
                    for cell in cells.clone() {
                        let (any, sides) = sifted(&order, &shape, cell, &mut sorted);
                        let vectors = wide(
                            #[inline(always)]
                            || sifted(&order, &shape, cell, &mut sorted),
                        );
                        assert_eq!((any, &sides), (vectors.0, &vectors.1), "the same as vectors");
                        let first = order.cell(cell).start / GROUP * GROUP;
                        for (i, (inside, open)) in (first..).zip(sides) {
                            if !order.cell(cell).contains(&i) {
                                assert!(!inside && !open, "only its own places");
                                continue;
                            }
                            let from = sorted.from(i);
                            met[from] += 1;
                            let covered = cover(from);
                            assert!(matches!(piece, Piece::Edge(_)) || covered > 0.999_99, "{sweep:?}");
                            let share = if inside { 1.0 } else { 0.0 };
                            assert!(!inside || !open);
                            assert!(any || !open);
                            assert!(open || (share - covered).abs() < 1e-5, "{from} of {sweep:?}");
                            match open {
                                _ if cell == grid.len() => assert!(open),
                                true => doubtful += 1,
                                false => certain += 1,
                            }
                        }
                    }
                });
                for place in 0..met.len() {
                    assert!(
                        met[place] <= 1 && (met[place] == 1 || cover(place) < 1e-5),
                        "{place} of {sweep:?}"
                    );
                }
            }
            assert!(doubtful > 0 && (steer_m > 0.0 || certain > 5 * doubtful), "{certain} {doubtful}");
        }
    }

    #[test]
    fn a_sum_counts_its_own_places_only() {
        let places = vec![0.5; 23];
        let weight: Vec<f64> = (0..23).map(|k| f64::from(1 << k)).collect();
        let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: 1, rows: 1 };
        let mut sorted = Sorted::default();
        CellOrder::new(grid, [&places, &places, &weight], &mut sorted);
        for (start, end) in (0..=23).flat_map(|start| (start..=23).map(move |end| (start, end))) {
            assert_eq!(sorted.sum(start..end), weight[start..end].iter().sum::<f64>(), "{start} to {end}");
        }
        assert_eq!(sorted.weights().collect::<Vec<_>>(), weight);
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
            assert_eq!(sorted.arranged(&weight), sorted.weights().collect::<Vec<_>>());
            let (east, north) = (&sorted.arranged(&east), &sorted.arranged(&north));
            for cell in 0..grid.len() {
                for i in order.cell(cell) {
                    assert_eq!(grid.cell(Spot::new(east[i], north[i])), Some(cell));
                }
                assert!(order.cell(cell).map(|i| sorted.from(i)).is_sorted());
            }
            let outside = order.cell(grid.len());
            assert_eq!(outside.end, east.len());
            assert!(outside.clone().all(|i| grid.cell(Spot::new(east[i], north[i])).is_none()));
        }
    }
}
