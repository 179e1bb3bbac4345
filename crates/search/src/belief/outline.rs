//! The outline of a stretch as the walk over cells asks it: which rows, from where to where, and whether a cell lies inside.

use super::sort::{GROUP, Group, STEPS};
use crate::sweep::Stretch;
use measure::Spot;

/// A convex stretch with what the walk asks of it.
#[derive(Clone, Copy, Debug)]
pub struct Outline {
    shape: Shape,
    /// How far its edge is blurred \[m\].
    margin_m: f64,
}

#[derive(Clone, Copy, Debug)]
enum Shape {
    Strip { middle: Spot, along: Spot, half_length: f64, half_width: f64 },
    Disc { middle: Spot, radius: f64 },
}

impl Outline {
    /// The outline of a stretch whose edge is blurred by `margin_m`, 0 for a sharp one.
    ///
    /// # Gives
    /// `None` for a stretch without extent or with something that is not a number.
    pub fn new(stretch: &Stretch, margin_m: f64) -> Option<Self> {
        match *stretch {
            Stretch::Strip { from, to, width_m } => {
                let along = (to - from).unit()?;
                let shape = Shape::Strip {
                    middle: from.lerp(to, 0.5),
                    along,
                    half_length: 0.5 * from.distance(to),
                    half_width: 0.5 * width_m,
                };
                let sound = along.is_finite() && width_m >= 0.0 && width_m.is_finite();
                sound.then_some(Outline { shape, margin_m })
            }
            Stretch::Disc { centre, radius_m } => {
                let shape = Shape::Disc { middle: centre, radius: radius_m };
                let sound = centre.is_finite() && radius_m >= 0.0 && radius_m.is_finite();
                sound.then_some(Outline { shape, margin_m })
            }
        }
    }

    /// Southernmost and northernmost reach.
    pub(super) fn rows(&self) -> (f64, f64) {
        let (middle, reach) = match &self.shape {
            Shape::Strip { middle, along, half_length, half_width } => (
                middle.north,
                along.north.abs() * half_length + along.east.abs() * (half_width + self.margin_m),
            ),
            Shape::Disc { middle, radius } => (middle.north, radius + self.margin_m),
        };
        (middle - reach, middle + reach)
    }

    /// Westernmost and easternmost reach within a band of north; `None` if it is not there.
    pub(super) fn span(&self, south: f64, north: f64) -> Option<(f64, f64)> {
        match &self.shape {
            Shape::Strip { middle, along, half_length, half_width } => {
                // Along east x at north y: |x a + y b| ≤ L and |−x b + y a| ≤ W; each pair of lines bounds x.
                let (y0, y1) = (south - middle.north, north - middle.north);
                let (mut west, mut east) = (f64::NEG_INFINITY, f64::INFINITY);
                for (slope, rise, reach) in [
                    (along.east, along.north, *half_length),
                    (-along.north, along.east, half_width + self.margin_m),
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
            Shape::Disc { middle, radius } => {
                let off = (south - middle.north).max(middle.north - north).max(0.0);
                let reach = radius + self.margin_m;
                let half = (reach * reach - off * off).max(0.0).sqrt();
                (off <= reach).then_some((middle.east - half, middle.east + half))
            }
        }
    }

    /// Reach of what lies inside for certain, at every north of the band: a first guess, rounded; the reverse of a reach if nothing does.
    ///
    /// [`Outline::holds_cell`] has the last word; this spares asking it cell by cell.
    #[inline(always)]
    pub(super) fn inner(&self, south: f64, north: f64) -> (f64, f64) {
        match &self.shape {
            Shape::Strip { middle, along, half_length, half_width } => {
                let (y0, y1) = (south - middle.north, north - middle.north);
                let (mut west, mut east) = (f64::NEG_INFINITY, f64::INFINITY);
                for (slope, rise, reach) in [
                    (along.east, along.north, *half_length),
                    (-along.north, along.east, half_width - self.margin_m),
                ] {
                    if slope.abs() < 1e-12 {
                        continue;
                    }
                    let (a, b) = (y0 * rise, y1 * rise);
                    let ends = [(-reach - a.min(b)) / slope, (reach - a.max(b)) / slope];
                    let (low, high) = if slope > 0.0 { (ends[0], ends[1]) } else { (ends[1], ends[0]) };
                    west = west.max(low);
                    east = east.min(high);
                }
                (middle.east + west, middle.east + east)
            }
            Shape::Disc { middle, radius } => {
                let off = (middle.north - south).abs().max((north - middle.north).abs());
                let reach = radius - self.margin_m;
                let half = if off <= reach { (reach * reach - off * off).sqrt() } else { -1.0 };
                (middle.east - half, middle.east + half)
            }
        }
    }

    /// Whether a whole cell lies inside, `margin_m` from the blurred edges.
    #[inline]
    pub(super) fn holds_cell(&self, centre: Spot, half: f64) -> bool {
        const HAIR: f64 = 1.0 + 1e-9;
        match &self.shape {
            Shape::Strip { middle, along, half_length, half_width } => {
                let step = centre - *middle;
                let corner = half * (along.east.abs() + along.north.abs()) * HAIR;
                step.dot(*along).abs() + corner <= *half_length
                    && along.cross(step).abs() + corner + self.margin_m <= *half_width
            }
            Shape::Disc { middle, radius } => {
                centre.distance(*middle) + half * std::f64::consts::SQRT_2 * HAIR + self.margin_m <= *radius
            }
        }
    }

    /// How much of each place of one cell the stretch covers: 1 inside for certain, 0 outside for certain, else not a number.
    ///
    /// Places are known to a 65,536th of their cell, and tested with 32 bits, of which a vector holds eight; those nearer
    /// the edge than both can tell, or than its blur, are left to the caller.
    ///
    /// # Inputs
    /// - `corner` · `cell_m`: the cell · `groups`: its places · `shares`: takes one share a place
    ///
    /// # Gives
    /// Whether any share is not a number.
    #[inline(always)]
    pub(super) fn shares(
        &self,
        (corner, cell_m): (Spot, f64),
        groups: &[Group],
        shares: &mut [[f32; GROUP]],
    ) -> bool {
        let step_m = cell_m / STEPS;
        // A place is taken to lie in the middle of its step.
        let start = corner + Spot::new(0.5 * step_m, 0.5 * step_m);
        match &self.shape {
            Shape::Strip { middle, along, half_length, half_width } => {
                let (ahead, across) = ((start - *middle).dot(*along), along.cross(start - *middle));
                let size_m = ahead.abs() + across.abs() + 2.0 * cell_m + half_length + half_width;
                let end = step_m + rounding(size_m, [start, *middle]);
                let side = end + self.margin_m;
                let [east, north] = [along.east * step_m, along.north * step_m].map(|slope| slope as f32);
                let (ahead, across) = (ahead as f32, across as f32);
                let out = [half_length + end, half_width + side].map(|most| most as f32);
                let sure = [half_length - end, half_width - side].map(|most| most as f32);
                judge(groups, shares, |col, row| {
                    let off_end = (ahead + (col * east + row * north)).abs();
                    let off_side = (across + (row * east - col * north)).abs();
                    ((off_end > out[0]) | (off_side > out[1]), (off_end < sure[0]) & (off_side < sure[1]))
                })
            }
            Shape::Disc { middle, radius } => {
                let from = start - *middle;
                let size_m = from.east.abs() + from.north.abs() + 2.0 * cell_m + radius;
                let blur = step_m + rounding(size_m, [start, *middle]) + self.margin_m;
                let [inner, outer] = [(radius - blur).max(0.0), radius + blur].map(|r| (r * r) as f32);
                let (east, north, step) = (from.east as f32, from.north as f32, step_m as f32);
                judge(groups, shares, |col, row| {
                    let (east, north) = (east + col * step, north + row * step);
                    let square = east * east + north * north;
                    (square > outer, square < inner)
                })
            }
        }
    }
}

/// More than a test with 32 bits is off by, for figures that together are no larger than `size_m`, and than the coordinates
/// of the places themselves are off by.
fn rounding(size_m: f64, spots: [Spot; 2]) -> f64 {
    // Some ten roundings of half a unit in the last place, 6e-8 of the figure, are at most 6e-7 of it.
    1e-6 * size_m + spots.iter().map(|spot| 1e-14 * (spot.east.abs() + spot.north.abs())).sum::<f64>()
}

/// Shares of places from their steps by `sides`, which says whether a place is out and whether it is in for certain.
///
/// The steps are laid side by side first: then all of it is one plain loop, of which the compiler makes vectors.
#[inline(always)]
fn judge(groups: &[Group], shares: &mut [[f32; GROUP]], sides: impl Fn(f32, f32) -> (bool, bool)) -> bool {
    for (group, shares) in groups.iter().zip(shares.iter_mut()) {
        *shares = group.steps.map(f32::from_bits);
    }
    let mut doubtful = 0;
    for share in shares.as_flattened_mut() {
        let steps = share.to_bits();
        let (out, sure) = sides((steps & 0xFFFF) as i32 as f32, (steps >> 16) as i32 as f32);
        let inside = if sure { 1.0 } else { f32::NAN };
        *share = if out { 0.0 } else { inside };
        doubtful |= u32::from(!(out | sure));
    }
    doubtful != 0
}
