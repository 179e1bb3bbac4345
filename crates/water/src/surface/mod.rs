//! A surface through scattered places by natural neighbours (Sibson): every measured value is kept, and a
//! value between them is the mean of the neighbours whose ground a new place would take, weighted by how much.
//!
//! The triangulation is spade's, flattened once; the evaluation is ours: at one place (`sibson`), and over all rows of a grid
//! at once (`rows`). Never: extrapolates.

mod hull;
mod rows;
mod sibson;

use crate::Grid;
use measure::Spot;
use rayon::prelude::*;
use rows::{BLOCK_ROWS, Room, Rows};
use sibson::Ring;
use spade::{DelaunayTriangulation, HasPosition, Point2, Triangulation};

/// No face lies across this edge: it is on the hull.
const NONE: u32 = u32::MAX;
/// Places nearer than this to each other are one place \[m\].
const SAME_PLACE_M: f64 = 1e-3;

/// A measured place.
#[derive(Clone, Copy, Debug)]
struct Corner {
    spot: Spot,
    value: f64,
}

/// A triangle with its circumcentre, counter-clockwise; `across[e]` lies across the edge from corner `e` to the next.
#[derive(Clone, Copy, Debug)]
#[repr(align(64))]
struct Face {
    /// Place of corner 0, kept here so that the circle test touches one cache line.
    first: Spot,
    /// From corner 0 to the circumcentre.
    to_centre: Spot,
    corner: [u32; 3],
    across: [u32; 3],
}

struct Seed(Point2<f64>);

impl HasPosition for Seed {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.0
    }
}

/// A natural-neighbour surface.
#[derive(Clone, Debug, Default)]
pub struct Surface {
    corners: Vec<Corner>,
    faces: Vec<Face>,
    merged: usize,
    disagreement: f64,
}

impl Surface {
    /// The surface through `places`.
    ///
    /// # Inputs
    /// - `places`: where, and the value there; those that are not finite are left out, those within a
    ///   millimetre of each other become one with the mean value.
    ///
    /// # Gives
    /// A surface; with fewer than three places, or all on one line, it has no inside.
    ///
    /// # Source
    /// sibson-1981
    pub fn through(places: &[(Spot, f64)]) -> Surface {
        let (corners, merged, disagreement) = merge(places);
        let seeds = corners.iter().map(|c| Seed(Point2::new(c.spot.east, c.spot.north))).collect();
        let faces = match DelaunayTriangulation::<Seed>::bulk_load_stable(seeds) {
            Ok(triangles) => flatten(&triangles, &corners),
            Err(_) => Vec::new(), // only coordinates beyond 1e60 m get here
        };
        Surface { corners, faces, merged, disagreement }
    }

    /// How many places fell on one that was already there, and the widest spread of values on one place.
    pub fn merged(&self) -> (usize, f64) {
        (self.merged, self.disagreement)
    }

    /// Whether any place lies inside: three places not on one line.
    pub fn has_inside(&self) -> bool {
        !self.faces.is_empty()
    }

    /// The value at one place; `None` outside the hull.
    ///
    /// # Inputs
    /// - `spot`: where
    ///
    /// # Gives
    /// The Sibson mean of the natural neighbours; on a measured place its own value.
    ///
    /// # Source
    /// sibson-1981
    pub fn at(&self, spot: Spot) -> Option<f64> {
        if !self.has_inside() || !spot.is_finite() {
            return None;
        }
        let (face, inside) = self.walk(0, spot);
        inside.then(|| self.mean_at(face, spot, &mut Ring::default()))
    }

    /// Values at the middles of the `wanted` cells of a grid; NaN outside the hull and where not wanted.
    ///
    /// Rows go over all threads in fixed blocks: the bits are the same on any number of them.
    ///
    /// # Inputs
    /// - `grid`: the cells
    /// - `wanted`: whether a cell index is asked for
    ///
    /// # Gives
    /// One value a cell.
    ///
    /// # Source
    /// sibson-1981
    pub fn on_grid(&self, grid: &Grid, wanted: impl Fn(usize) -> bool + Sync) -> Vec<f64> {
        let mut values = vec![f64::NAN; grid.len()];
        if !self.has_inside() || grid.is_empty() {
            return values;
        }
        let rows = Rows::new(self, grid, &wanted);
        let block = BLOCK_ROWS * grid.cols;
        values.par_chunks_mut(block).enumerate().for_each_init(Room::default, |room, (number, chunk)| {
            rows.fill(number, chunk, room);
            let (mut ring, mut face) = (Ring::default(), 0);
            for (row, values) in chunk.chunks_mut(grid.cols).enumerate() {
                let row = number * BLOCK_ROWS + row;
                for col in rows.spans[row].clone() {
                    let index = row * grid.cols + col;
                    if !wanted(index) {
                        values[col] = f64::NAN;
                    } else if values[col].is_nan() {
                        let (found, inside) = self.walk(face, grid.centre(index));
                        face = found;
                        if inside {
                            values[col] = self.mean_at(face, grid.centre(index), &mut ring);
                        }
                    }
                }
            }
        });
        values
    }

    /// From face to face towards a place; the face that holds it, or the last one before the hull and `false`.
    #[inline]
    fn walk(&self, start: usize, spot: Spot) -> (usize, bool) {
        let mut face = start;
        let mut came_from = NONE;
        // A walk over a Delaunay triangulation never circles; rounding is given this much rope.
        for _ in 0..4 * self.faces.len() + 16 {
            let here = &self.faces[face];
            let corners = here.corner.map(|c| self.corners[c as usize].spot - spot);
            let mut next = None;
            for e in 0..3 {
                if here.across[e] == came_from && came_from != NONE {
                    continue;
                }
                if corners[e].cross(corners[(e + 1) % 3]) < 0.0 {
                    next = Some(here.across[e]);
                    break;
                }
            }
            match next {
                None => return (face, true),
                Some(NONE) => return (face, false),
                Some(across) => {
                    came_from = face as u32;
                    face = across as usize;
                }
            }
        }
        (face, true)
    }
}

/// Places within a millimetre become one with the mean value; the order of the rest is by place.
fn merge(places: &[(Spot, f64)]) -> (Vec<Corner>, usize, f64) {
    let mut sorted: Vec<(i64, i64, usize)> = places
        .iter()
        .enumerate()
        .filter(|(_, (spot, value))| spot.is_finite() && value.is_finite() && spot.length() < 1e12)
        .map(|(i, (spot, _))| {
            ((spot.east / SAME_PLACE_M).round() as i64, (spot.north / SAME_PLACE_M).round() as i64, i)
        })
        .collect();
    sorted.sort_unstable();
    let mut corners = Vec::with_capacity(sorted.len());
    let mut disagreement: f64 = 0.0;
    for group in sorted.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        let values = group.iter().map(|g| places[g.2].1);
        let low = values.clone().fold(f64::INFINITY, f64::min);
        let high = values.clone().fold(f64::NEG_INFINITY, f64::max);
        disagreement = disagreement.max(high - low);
        let mut spot = places[group[0].2].0;
        // spade refuses coordinates that are not zero but next to it.
        if spot.east.abs() < 1e-9 {
            spot.east = 0.0;
        }
        if spot.north.abs() < 1e-9 {
            spot.north = 0.0;
        }
        corners.push(Corner { spot, value: values.sum::<f64>() / group.len() as f64 });
    }
    let merged = sorted.len() - corners.len();
    (corners, merged, disagreement)
}

/// The triangulation as flat arrays, with each circumcentre worked out once.
fn flatten(triangles: &DelaunayTriangulation<Seed>, corners: &[Corner]) -> Vec<Face> {
    let mut faces = Vec::with_capacity(triangles.num_inner_faces());
    for face in triangles.inner_faces() {
        let edges = face.adjacent_edges();
        let corner = edges.map(|edge| edge.from().fix().index() as u32);
        let across =
            edges.map(|edge| edge.rev().face().as_inner().map_or(NONE, |f| f.fix().index() as u32 - 1));
        let [a, b, c] = corner.map(|c| corners[c as usize].spot);
        faces.push(Face { first: a, to_centre: circumcentre(b - a, c - a), corner, across });
    }
    faces
}

/// Circumcentre of the triangle of the origin, `b` and `c`.
#[inline]
fn circumcentre(b: Spot, c: Spot) -> Spot {
    let over = 0.5 / b.cross(c);
    let (bb, cc) = (b.dot(b), c.dot(c));
    Spot::new((c.north * bb - b.north * cc) * over, (b.east * cc - c.east * bb) * over)
}

#[cfg(test)]
mod tests;
