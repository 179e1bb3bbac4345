//! Particles in the order of their cells, so that a sweep touches only what it may cover.
//!
//! A row of cells wholly inside a stretch is one unbroken run of particles; only cells on its edge are
//! tested one by one. The product and the yardsticks use the same order and the same walk.

use crate::sweep::Stretch;
use measure::{Spot, fastmath};
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
    /// - `grid` · `east`, `north`: places, fewer than 2^32 of them · `room`: takes each place's new position
    ///
    /// # Gives
    /// The order; [`Room::arrange`] then brings arrays into it. Places of one cell keep their old order.
    ///
    /// # Source
    /// counting sort (textbook)
    pub fn new(grid: Grid, east: &[f64], north: &[f64], room: &mut Room) -> Self {
        let Room { place, number } = room;
        fill_cells(&grid, east, north, place);
        number.resize(place.len(), 0);
        let mut first = vec![0_u32; grid.len() + 2];
        // One pass counts and numbers the places of each cell.
        for (number, &cell) in number.iter_mut().zip(place.iter()) {
            let count = &mut first[cell as usize + 1];
            *number = *count;
            *count += 1;
        }
        for cell in 0..=grid.len() {
            first[cell + 1] += first[cell];
        }
        for (place, number) in place.iter_mut().zip(number.iter()) {
            *place = first[*place as usize] + number;
        }
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
                    let base = row as usize * grid.cols;
                    let (first, last) = (base + first as usize, base + last as usize);
                    self.walk_row(&shape, (first, last), (half, margin_m), &mut visit);
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
    #[inline(always)]
    fn walk_row(
        &self,
        shape: &Outline,
        (first, last): (usize, usize),
        (half, margin_m): (f64, f64),
        visit: &mut impl FnMut(Piece),
    ) {
        let within = |cell: usize| shape.holds_cell(self.grid.centre(cell), half, margin_m);
        let (mut left, mut right) = (first, last);
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

/// Room to sort in, kept between sorts so that a large one need not be asked for again.
#[derive(Clone, Debug, Default)]
pub struct Room {
    place: Vec<u32>,
    number: Vec<u32>,
}

impl Room {
    /// Values brought into the order last sorted for; `sorted` is overwritten and may be used again.
    ///
    /// # Panics
    /// If there are not as many values as places were sorted.
    pub fn arrange<T: Copy>(&self, values: &[T], sorted: &mut Vec<T>) {
        assert_eq!(values.len(), self.place.len(), "one value a place");
        if sorted.len() != values.len() {
            *sorted = values.to_vec();
        }
        let sorted = sorted.as_mut_slice();
        for (&value, &to) in values.iter().zip(&self.place) {
            sorted[to as usize] = value;
        }
    }

    /// The same into a new vector.
    pub fn arranged<T: Copy>(&self, values: &[T]) -> Vec<T> {
        let mut sorted = Vec::new();
        self.arrange(values, &mut sorted);
        sorted
    }
}

/// Cell of every place; number `grid.len()` is outside.
fn fill_cells(grid: &Grid, east: &[f64], north: &[f64], cells: &mut Vec<u32>) {
    assert_eq!(east.len(), north.len(), "east and north in step");
    assert!(east.len() < u32::MAX as usize && grid.len() < i32::MAX as usize, "counts fit 32 bits");
    cells.resize(east.len(), 0);
    let per_cell = 1.0 / grid.cell_m;
    // A side that is a power of two has an exact inverse; any other is divided by, to agree with `Grid::cell`.
    if grid.cell_m.to_bits() << 12 == 0 {
        fastmath::wide(
            #[inline(always)]
            || cells_by(grid, east, north, cells, |metres| metres * per_cell),
        );
    } else {
        fastmath::wide(
            #[inline(always)]
            || cells_by(grid, east, north, cells, |metres| metres / grid.cell_m),
        );
    }
}

#[inline(always)]
fn cells_by(grid: &Grid, east: &[f64], north: &[f64], cells: &mut [u32], in_cells: impl Fn(f64) -> f64) {
    let (cols, rows) = (grid.cols as f64, grid.rows as f64);
    for ((&east, &north), cell) in east.iter().zip(north).zip(cells) {
        let (col, row) = (in_cells(east - grid.corner.east), in_cells(north - grid.corner.north));
        let inside = (col >= 0.0) & (row >= 0.0) & (col < cols) & (row < rows);
        let within = fastmath::floor(row) * cols + fastmath::floor(col);
        *cell = fastmath::index(if inside { within } else { cols * rows });
    }
}

/// A convex stretch with what the walk asks of it.
enum Outline {
    Strip { middle: Spot, along: Spot, half_length: f64, half_width: f64 },
    Disc { middle: Spot, radius: f64 },
}

impl Outline {
    /// `None` for a stretch without extent or with something that is not a number.
    fn new(stretch: &Stretch) -> Option<Self> {
        match *stretch {
            Stretch::Strip { from, to, width_m } => {
                let along = (to - from).unit()?;
                let shape = Outline::Strip {
                    middle: from.lerp(to, 0.5),
                    along,
                    half_length: 0.5 * from.distance(to),
                    half_width: 0.5 * width_m,
                };
                (along.is_finite() && width_m >= 0.0 && width_m.is_finite()).then_some(shape)
            }
            Stretch::Disc { centre, radius_m } => {
                (centre.is_finite() && radius_m >= 0.0 && radius_m.is_finite())
                    .then_some(Outline::Disc { middle: centre, radius: radius_m })
            }
        }
    }

    /// Southernmost and northernmost reach.
    fn rows(&self, margin_m: f64) -> (f64, f64) {
        let (middle, reach) = match self {
            Outline::Strip { middle, along, half_length, half_width } => {
                (middle.north, along.north.abs() * half_length + along.east.abs() * (half_width + margin_m))
            }
            Outline::Disc { middle, radius } => (middle.north, radius + margin_m),
        };
        (middle - reach, middle + reach)
    }

    /// Westernmost and easternmost reach within a band of north; `None` if it is not there.
    fn span(&self, south: f64, north: f64, margin_m: f64) -> Option<(f64, f64)> {
        match self {
            Outline::Strip { middle, along, half_length, half_width } => {
                // Along east x at north y: |x a + y b| ≤ L and |−x b + y a| ≤ W; each pair of lines bounds x.
                let (y0, y1) = (south - middle.north, north - middle.north);
                let (mut west, mut east) = (f64::NEG_INFINITY, f64::INFINITY);
                for (slope, rise, reach) in [
                    (along.east, along.north, *half_length),
                    (-along.north, along.east, half_width + margin_m),
                ] {
                    if slope.abs() < 1e-12 {
                        continue;
                    }
                    let edges = [-reach, reach].map(|r| [y0, y1].map(|y| (r - y * rise) / slope));
                    let all = [edges[0][0], edges[0][1], edges[1][0], edges[1][1]];
                    west = west.max(all.iter().copied().fold(f64::INFINITY, f64::min));
                    east = east.min(all.iter().copied().fold(f64::NEG_INFINITY, f64::max));
                }
                let hair = 1e-9 * (1.0 + west.abs().min(1e9));
                (west <= east).then_some((middle.east + west - hair, middle.east + east + hair))
            }
            Outline::Disc { middle, radius } => {
                let off = (south - middle.north).max(middle.north - north).max(0.0);
                let reach = radius + margin_m;
                let half = (reach * reach - off * off).max(0.0).sqrt();
                (off <= reach).then_some((middle.east - half, middle.east + half))
            }
        }
    }

    /// Whether a whole cell lies inside, `margin_m` from the blurred edges.
    #[inline]
    fn holds_cell(&self, centre: Spot, half: f64, margin_m: f64) -> bool {
        const HAIR: f64 = 1.0 + 1e-9;
        match self {
            Outline::Strip { middle, along, half_length, half_width } => {
                let step = centre - *middle;
                let corner = half * (along.east.abs() + along.north.abs()) * HAIR;
                step.dot(*along).abs() + corner <= *half_length
                    && along.cross(step).abs() + corner + margin_m <= *half_width
            }
            Outline::Disc { middle, radius } => {
                centre.distance(*middle) + half * std::f64::consts::SQRT_2 * HAIR + margin_m <= *radius
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Seed;

    fn cloud(count: u64) -> (Vec<f64>, Vec<f64>) {
        let stream = Seed(4).stream("cells");
        (0..count).map(|k| (stream.u01(2 * k) * 44.0 - 2.0, stream.u01(2 * k + 1) * 34.0 - 2.0)).unzip()
    }

    #[test]
    fn the_walk_meets_every_particle_of_a_stretch_once_and_calls_none_whole_wrongly() {
        let (east, north) = cloud(20_000);
        for cell_m in [0.7, 1.0, 3.0] {
            let (cols, rows) = ((40.0 / cell_m) as usize, (30.0 / cell_m) as usize);
            let grid = Grid { corner: Spot::default(), cell_m, cols, rows };
            let mut room = Room::default();
            let order = CellOrder::new(grid, &east, &north, &mut room);
            let from = room.arranged(&(0..east.len() as u32).collect::<Vec<_>>());
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
        east[17] = f64::NAN;
        for cell_m in [1.0, 0.3] {
            let grid = Grid { corner: Spot::default(), cell_m, cols: 40, rows: 30 };
            let mut room = Room::default();
            let order = CellOrder::new(grid, &east, &north, &mut room);
            let from = room.arranged(&(0..east.len() as u32).collect::<Vec<_>>());
            let (east, north) = (room.arranged(&east), room.arranged(&north));
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
