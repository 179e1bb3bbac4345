//! The outline of a stretch as the walk over cells asks it: which rows, from where to where, and whether a cell lies inside.

use super::four::Four;
use super::sift::{Band, Own, Sides};
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

    /// On which side of the edge each place of one cell lies, group by group.
    ///
    /// Places are known to a 65,536th of their cell; those nearer the edge than that can tell, or than its blur, are open.
    ///
    /// # Inputs
    /// - `centre` · `cell_m`: the cell · `own`: its places · `visit`: is given the number of every group from 0, the group
    ///   and its sides
    ///
    /// # Gives
    /// Whether any place is open.
    #[inline(always)]
    pub(super) fn sift(
        &self,
        (centre, cell_m): (Spot, f64),
        own: Own,
        visit: impl FnMut(usize, &mut Group, Sides),
    ) -> bool {
        let step_m = cell_m / STEPS;
        match &self.shape {
            Shape::Strip { middle, along, half_length, half_width } => {
                let (from, blur) = (centre - *middle, rounding([centre, *middle]));
                let left = Spot::new(-along.north, along.east);
                let ends = Band::new(from.dot(*along), *along, (*half_length, blur), step_m);
                let sides = Band::new(from.dot(left), left, (*half_width, blur + self.margin_m), step_m);
                own.sift_strip(visit, [ends, sides])
            }
            Shape::Disc { middle, radius } => {
                // A place is taken to lie in the middle of its step.
                let from = centre + Spot::new(0.5 * step_m, 0.5 * step_m) - *middle;
                // Some ten roundings of 32 bits, of half a unit in the last place or 6e-8 of the figure, are below 1e-6 of it.
                let size_m = from.east.abs() + from.north.abs() + 2.0 * cell_m + radius;
                let blur = step_m + 1e-6 * size_m + rounding([centre, *middle]) + self.margin_m;
                let [inner, outer] = [(radius - blur).max(0.0), radius + blur].map(|r| (r * r) as f32);
                let (east, north, step) = (from.east as f32, from.north as f32, step_m as f32);
                own.sift(
                    visit,
                    #[inline(always)]
                    |group| {
                        let mut told = [[0; GROUP]; 2];
                        for k in 0..GROUP {
                            let [e, n] = group.off_middle(k).map(f32::from);
                            let (east, north) = (east + e * step, north + n * step);
                            let square = east * east + north * north;
                            told[0][k] = -i32::from(square < inner);
                            told[1][k] = -i32::from(square > outer);
                        }
                        told.map(Four::of)
                    },
                )
            }
        }
    }
}

/// More than the coordinates of two spots, and what is worked out from them, are off by.
fn rounding(spots: [Spot; 2]) -> f64 {
    spots.iter().map(|spot| 1e-14 * (spot.east.abs() + spot.north.abs())).sum()
}
