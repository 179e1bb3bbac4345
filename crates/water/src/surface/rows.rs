//! Sibson's mean over whole rows of a grid at once, edge by edge instead of place by place.
//!
//! Put a place p among the corners: the faces whose circumcircles hold p form a cavity. The ground that p would take
//! from its neighbours falls into one part for every edge a→b of the cavity's faces, and the mean into
//!
//! ```text
//! Σ λ |b−a|² · (value of the straight line through a and b at the foot of p)  /  Σ λ |b−a|²
//! ```
//!
//! Half the length of an edge's dual, over its own length, is λ: ½ (cot γ + cot δ) where both faces beside it are in the
//! cavity, with γ and δ the angles opposite; ½ (cot γ − cot φ) where one is, with φ the angle under which p sees the edge.
//! (Each part is measured from the middle between p and its neighbour, where the side of p's own cell adds nothing.)
//!
//! So no place has to be found in the triangulation and no ring be gone round: each face says once for each row from where
//! to where its circle reaches, and each edge is a plain loop along the row. No place on an inner edge needs special care.

use super::{Face, NONE, Surface, hull};
use crate::Grid;
use measure::{Spot, fastmath};
use std::ops::Range;

/// A face lower than this, as a share of its length, is no ground at all: only the hull has such faces, and all that lies
/// within their circles is nearer to it than that.
const FLAT: f64 = 1e-10;

/// Rows done together; fixed, so that the bits do not depend on the number of threads.
pub(super) const BLOCK_ROWS: usize = 16;

/// Columns a vector holds; rows are as many longer, so that loops over them have no rest.
const LANES: usize = 4;

/// A cell's middle closer than this to a measured place is left to the mean at one place \[m\].
const NEAR_PLACE_M: f64 = 1e-3;

/// How far a circle reaches in each row of a block; the reverse of a reach where it does not.
#[derive(Clone, Copy)]
struct Reach {
    west: [f64; BLOCK_ROWS],
    east: [f64; BLOCK_ROWS],
    /// Rows it meets at all: from the first to before the end.
    first: usize,
    end: usize,
}

const NOWHERE: Reach = Reach {
    west: [f64::INFINITY; BLOCK_ROWS],
    east: [f64::NEG_INFINITY; BLOCK_ROWS],
    first: BLOCK_ROWS,
    end: 0,
};

/// What all blocks of one grid share.
pub(super) struct Rows<'a> {
    surface: &'a Surface,
    grid: &'a Grid,
    /// Columns inside the hull and wanted, by row.
    pub(super) spans: Vec<Range<usize>>,
    /// Half the cotangent of the angle opposite each edge of each face.
    halves: Vec<[f64; 3]>,
    /// Faces whose circles reach into each block.
    faces: Vec<Vec<u32>>,
    /// Eastings of the middles of a row.
    eastings: Vec<f64>,
    /// Cells whose middles lie all but on a measured place, in order: the mean at one place knows its value.
    measured: Vec<usize>,
    /// Lowest and highest measured value.
    ends: (f64, f64),
}

/// Room for one block, kept between blocks.
#[derive(Default)]
pub(super) struct Room {
    /// Σ λ |b−a|² and the same with the line's value, row by row.
    pub(super) weight: Vec<f64>,
    pub(super) sum: Vec<f64>,
    reaches: Vec<Reach>,
    /// Where in `reaches` a face is, by face.
    slot: Vec<u32>,
}

/// An edge of the cavity as the loop along a row needs it.
struct Edge {
    from: Spot,
    along: Spot,
    /// |b−a|², and of the line through the values: that at `from`, and the slope, both times |b−a|².
    square: f64,
    value: f64,
    slope: f64,
    /// Half the cotangent of the angle opposite, left and right.
    halves: [f64; 2],
}

impl<'a> Rows<'a> {
    pub(super) fn new(surface: &'a Surface, grid: &'a Grid, wanted: &impl Fn(usize) -> bool) -> Rows<'a> {
        let mut spans = hull::spans(surface, grid);
        for (row, span) in spans.iter_mut().enumerate() {
            let asked = |col: &usize| wanted(row * grid.cols + col);
            let first = span.clone().find(asked).unwrap_or(span.end);
            *span = first..(first..span.end).rfind(asked).map_or(first, |last| last + 1);
        }
        let halves = surface.faces.iter().map(|face| half_cotangents(surface, face)).collect();
        let mut eastings: Vec<f64> = (0..grid.cols).map(|col| grid.centre(col).east).collect();
        eastings.resize(grid.cols + LANES, f64::NAN);
        let values = || surface.corners.iter().map(|corner| corner.value);
        let ends = (values().fold(f64::INFINITY, f64::min), values().fold(f64::NEG_INFINITY, f64::max));
        let mut faces = vec![Vec::new(); grid.rows.div_ceil(BLOCK_ROWS)];
        for (number, face) in (0_u32..).zip(&surface.faces).filter(|(_, face)| !is_flat(surface, face)) {
            let (centre, radius) = (face.first + face.to_centre, face.to_centre.length());
            let met = hull::rows(grid, centre.north - radius, centre.north + radius);
            if !met.is_empty() {
                let blocks = met.start / BLOCK_ROWS..(met.end - 1) / BLOCK_ROWS + 1;
                faces[blocks].iter_mut().for_each(|faces| faces.push(number));
            }
        }
        let mut measured: Vec<usize> =
            surface.corners.iter().filter_map(|corner| measured_cell(grid, corner.spot)).collect();
        measured.sort_unstable();
        Rows { surface, grid, spans, halves, faces, eastings, measured, ends }
    }

    /// Means of one block into its cells; a cell it cannot answer for keeps NaN.
    pub(super) fn fill(&self, block: usize, values: &mut [f64], room: &mut Room) {
        fastmath::wide(
            #[inline(always)]
            || self.add(block, room),
        );
        let (first, stride) = (block * BLOCK_ROWS, self.eastings.len());
        for (row, values) in values.chunks_mut(self.grid.cols).enumerate() {
            for col in self.spans[first + row].clone() {
                let (sum, weight) = (room.sum[row * stride + col], room.weight[row * stride + col]);
                let mean = sum / weight;
                if weight > 0.0 && mean.is_finite() {
                    // A mean lies among the values; past that is rounding.
                    values[col] = mean.clamp(self.ends.0, self.ends.1);
                }
            }
        }
        let cells = first * self.grid.cols..(first + BLOCK_ROWS) * self.grid.cols;
        let measured = self.measured.partition_point(|&cell| cell < cells.start);
        let measured = self.measured[measured..].iter().take_while(|&&cell| cell < cells.end);
        measured.for_each(|&cell| values[cell - cells.start] = f64::NAN);
    }

    /// Both sums of every cell of one block.
    #[inline(always)]
    pub(super) fn add(&self, block: usize, room: &mut Room) {
        let first = block * BLOCK_ROWS;
        for sums in [&mut room.weight, &mut room.sum] {
            sums.clear();
            sums.resize(BLOCK_ROWS * self.eastings.len(), 0.0);
        }
        room.slot.resize(self.surface.faces.len(), NONE);
        room.reaches.clear();
        let northings: [f64; BLOCK_ROWS] = std::array::from_fn(|row| {
            self.grid.corner.north + ((first + row) as f64 + 0.5) * self.grid.cell_m
        });
        for (slot, &face) in (0_u32..).zip(&self.faces[block]) {
            room.slot[face as usize] = slot;
            room.reaches.push(reach(&self.surface.faces[face as usize], &northings));
        }
        for &face in &self.faces[block] {
            self.add_edges(face, first, &northings, room);
        }
        self.faces[block].iter().for_each(|&face| room.slot[face as usize] = NONE);
    }

    /// Adds the parts of those edges of a face that it is the first in the block to have.
    #[inline(always)]
    fn add_edges(&self, number: u32, first: usize, northings: &[f64; BLOCK_ROWS], room: &mut Room) {
        let face = &self.surface.faces[number as usize];
        let left = room.reaches[room.slot[number as usize] as usize];
        for e in 0..3 {
            let across = face.across[e];
            let slot = if across == NONE { NONE } else { room.slot[across as usize] };
            if slot != NONE && across < number {
                continue;
            }
            let right = if slot == NONE { NOWHERE } else { room.reaches[slot as usize] };
            let edge = self.edge((number, e), across);
            let last = left.end.max(right.end).min(self.grid.rows - first);
            for row in left.first.min(right.first)..last {
                let ends = (left.west[row].min(right.west[row]), left.east[row].max(right.east[row]));
                let Some(cols) = self.columns(first + row, ends) else { continue };
                let at = row * self.eastings.len();
                let (weight, sum) = (&mut room.weight[at..][cols.clone()], &mut room.sum[at..][cols.clone()]);
                let sides = [[left.west[row], left.east[row]], [right.west[row], right.east[row]]];
                edge.add((&self.eastings[cols], northings[row]), sides, (weight, sum));
            }
        }
    }

    fn edge(&self, (number, e): (u32, usize), across: u32) -> Edge {
        let face = &self.surface.faces[number as usize];
        let [a, b] = [face.corner[e], face.corner[(e + 1) % 3]].map(|c| &self.surface.corners[c as usize]);
        let along = b.spot - a.spot;
        let square = along.dot(along);
        let back = match across {
            NONE => None,
            across => self.surface.faces[across as usize].across.iter().position(|&back| back == number),
        };
        let right = back.map_or(0.0, |back| self.halves[across as usize][back]);
        let halves = [self.halves[number as usize][e], right];
        Edge { from: a.spot, along, square, value: a.value * square, slope: b.value - a.value, halves }
    }

    /// Columns of a row that a reach meets, within those inside the hull; whole vectors of them.
    #[inline(always)]
    fn columns(&self, row: usize, (west, east): (f64, f64)) -> Option<Range<usize>> {
        let span = &self.spans[row];
        let in_cols = |easting: f64| (easting - self.grid.corner.east) / self.grid.cell_m - 0.5;
        // Half a column more at either end: the loop itself compares eastings.
        let (first, last) = (in_cols(west) - 0.5, in_cols(east) + 0.5);
        let (first, last) = (first.max(span.start as f64), last.min(span.end as f64 - 1.0));
        if first > last {
            return None;
        }
        let (first, end) = (first as usize, last as usize + 1);
        Some(first..first + (end - first).next_multiple_of(LANES).min(self.eastings.len() - first))
    }
}

impl Edge {
    /// Adds this edge's part to the cells of one row; `sides` tells from where to where the circles left and right reach.
    #[inline(always)]
    fn add(
        &self,
        (eastings, northing): (&[f64], f64),
        sides: [[f64; 2]; 2],
        (weight, sum): (&mut [f64], &mut [f64]),
    ) {
        let north = northing - self.from.north;
        let (foot_north, turn_north, square_north) =
            (north * self.along.north, north * self.along.east, north * north);
        let both = self.halves[0] + self.halves[1];
        let [left, right] = sides;
        for ((&easting, weight), sum) in eastings.iter().zip(weight).zip(sum) {
            let east = easting - self.from.east;
            let foot = foot_north + east * self.along.east;
            let half = 0.5 * ((square_north + east * east) - foot) / (turn_north - east * self.along.north);
            let in_left = (easting >= left[0]) & (easting <= left[1]);
            let in_right = (easting >= right[0]) & (easting <= right[1]);
            let alone = if in_left { self.halves[0] - half } else { self.halves[1] + half };
            let some = if in_left & in_right { both } else { alone };
            let lambda = if in_left | in_right { some } else { 0.0 };
            *weight += lambda * self.square;
            *sum += lambda * (self.value + self.slope * foot);
        }
    }
}

/// The cell whose middle a measured place is, but for a hair.
fn measured_cell(grid: &Grid, place: Spot) -> Option<usize> {
    grid.cell(place).filter(|&cell| grid.centre(cell).distance(place) < NEAR_PLACE_M)
}

fn is_flat(surface: &Surface, face: &Face) -> bool {
    let [a, b, c] = face.corner.map(|c| surface.corners[c as usize].spot);
    let longest = [b - a, c - b, a - c].map(|side| side.dot(side)).into_iter().fold(0.0, f64::max);
    (b - a).cross(c - a) <= FLAT * longest
}

/// Half the cotangents of a face's angles, each with the edge opposite.
fn half_cotangents(surface: &Surface, face: &Face) -> [f64; 3] {
    let corner = face.corner.map(|c| surface.corners[c as usize].spot);
    [0, 1, 2].map(|e| {
        let apex = corner[(e + 2) % 3];
        let (a, b) = (corner[e] - apex, corner[(e + 1) % 3] - apex);
        0.5 * a.dot(b) / a.cross(b)
    })
}

/// From where to where a face's circle reaches in each row.
fn reach(face: &Face, northings: &[f64; BLOCK_ROWS]) -> Reach {
    let (centre, radius) = (face.first + face.to_centre, face.to_centre.length());
    let mut reach = NOWHERE;
    for row in 0..BLOCK_ROWS {
        let off = northings[row] - centre.north;
        let square = (radius - off) * (radius + off);
        if square > 0.0 {
            let half = square.sqrt();
            (reach.west[row], reach.east[row]) = (centre.east - half, centre.east + half);
            (reach.first, reach.end) = (reach.first.min(row), row + 1);
        }
    }
    reach
}
