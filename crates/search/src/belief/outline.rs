//! The outline of a stretch as the walk over cells asks it: which rows, from where to where, and whether a cell lies inside.

use crate::sweep::Stretch;
use measure::Spot;

/// A convex stretch with what the walk asks of it.
pub(super) enum Outline {
    Strip { middle: Spot, along: Spot, half_length: f64, half_width: f64 },
    Disc { middle: Spot, radius: f64 },
}

impl Outline {
    /// `None` for a stretch without extent or with something that is not a number.
    pub(super) fn new(stretch: &Stretch) -> Option<Self> {
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
    pub(super) fn rows(&self, margin_m: f64) -> (f64, f64) {
        let (middle, reach) = match self {
            Outline::Strip { middle, along, half_length, half_width } => {
                (middle.north, along.north.abs() * half_length + along.east.abs() * (half_width + margin_m))
            }
            Outline::Disc { middle, radius } => (middle.north, radius + margin_m),
        };
        (middle - reach, middle + reach)
    }

    /// Westernmost and easternmost reach within a band of north; `None` if it is not there.
    pub(super) fn span(&self, south: f64, north: f64, margin_m: f64) -> Option<(f64, f64)> {
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

    /// Reach of what lies inside for certain, at every north of the band: a first guess, rounded; the reverse of a reach if nothing does.
    ///
    /// [`Outline::holds_cell`] has the last word; this spares asking it cell by cell.
    #[inline(always)]
    pub(super) fn inner(&self, south: f64, north: f64, margin_m: f64) -> (f64, f64) {
        match self {
            Outline::Strip { middle, along, half_length, half_width } => {
                let (y0, y1) = (south - middle.north, north - middle.north);
                let (mut west, mut east) = (f64::NEG_INFINITY, f64::INFINITY);
                for (slope, rise, reach) in [
                    (along.east, along.north, *half_length),
                    (-along.north, along.east, half_width - margin_m),
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
            Outline::Disc { middle, radius } => {
                let off = (middle.north - south).abs().max((north - middle.north).abs());
                let reach = radius - margin_m;
                let half = if off <= reach { (reach * reach - off * off).sqrt() } else { -1.0 };
                (middle.east - half, middle.east + half)
            }
        }
    }

    /// Whether a whole cell lies inside, `margin_m` from the blurred edges.
    #[inline]
    pub(super) fn holds_cell(&self, centre: Spot, half: f64, margin_m: f64) -> bool {
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
