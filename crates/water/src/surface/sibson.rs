//! Sibson's mean at one place, given a face near it.
//!
//! Put a place p among the corners of a Delaunay triangulation: the faces whose circumcircles hold p form a
//! cavity around it, its ring of corners are the natural neighbours, and the weight of a neighbour is the part
//! of its Voronoi cell that p would take. Written out with p as origin, twice that area for neighbour a is
//!
//! ```text
//! Σ over edges at a inside the cavity  cross(c, c')  +  the two corners of p's own cell beside a
//! ```
//!
//! with c the circumcentres of the cavity's faces. An edge a→b inside the cavity thus adds w to a and −w to b,
//! and only the edges of the ring need a new circumcentre (p, a, b): about k + 2 for k faces. Because p lies
//! strictly inside the ring, no edge of the ring passes through p unless p is on the hull, and places on an
//! inner edge need no special care.

use super::{Face, NONE, Surface, circumcentre};
use measure::Spot;

/// Closer than this to a measured place is that place \[m²\].
const ON_PLACE_M2: f64 = 1e-12;
/// Sine of the angle under which an edge of the ring counts as passing through p.
const ON_EDGE: f64 = 1e-12;

/// An edge still to be looked across: of which face, with that face's circumcentre seen from p.
#[derive(Clone, Copy)]
struct Look {
    centre: Spot,
    face: u32,
    edge: u32,
}

/// Room for the edges still to be looked across, kept between places.
#[derive(Default)]
pub(super) struct Ring {
    looks: Vec<Look>,
}

/// Circumcentre of a face seen from p, and whether p is inside the circumcircle.
#[inline]
fn circle(face: &Face, spot: Spot) -> (Spot, bool) {
    // |q|² < 2 q·u says |q − u| < |u| without the difference of two large squares.
    let q = spot - face.first;
    (face.to_centre - q, q.dot(q) < 2.0 * q.dot(face.to_centre))
}

impl Surface {
    /// Sibson's mean at `spot`, which lies in `face`.
    pub(super) fn mean_at(&self, face: usize, spot: Spot, ring: &mut Ring) -> f64 {
        let start = &self.faces[face];
        for corner in start.corner.map(|c| &self.corners[c as usize]) {
            let away = corner.spot - spot;
            if away.dot(away) < ON_PLACE_M2 {
                return corner.value;
            }
        }
        let (centre, _) = circle(start, spot);
        ring.looks.clear();
        for edge in [2, 1, 0] {
            ring.looks.push(Look { centre, face: face as u32, edge });
        }
        self.mean_over_ring(spot, ring).unwrap_or_else(|| self.flat_at(start, spot))
    }

    /// Goes round the cavity counter-clockwise; `None` where rounding breaks the ring.
    #[inline]
    fn mean_over_ring(&self, spot: Spot, ring: &mut Ring) -> Option<f64> {
        let (mut sum, mut area) = (0.0, 0.0);
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        let mut before: Option<Spot> = None;
        let (mut first, mut first_value) = (Spot::default(), 0.0);
        let mut crossed = 0;
        while let Some(Look { centre, face, edge }) = ring.looks.pop() {
            let here = &self.faces[face as usize];
            let a = &self.corners[here.corner[edge as usize] as usize];
            let b = &self.corners[here.corner[(edge as usize + 1) % 3] as usize];
            let across = here.across[edge as usize];
            if across != NONE {
                let there = &self.faces[across as usize];
                let (beyond, inside) = circle(there, spot);
                if inside {
                    crossed += 1;
                    if crossed > self.faces.len() {
                        return None;
                    }
                    sum += beyond.cross(centre) * (a.value - b.value);
                    let back = there.across.iter().position(|&f| f == face)? as u32;
                    for edge in [(back + 2) % 3, (back + 1) % 3] {
                        ring.looks.push(Look { centre: beyond, face: across, edge });
                    }
                    continue;
                }
            }
            let (to_a, to_b) = (a.spot - spot, b.spot - spot);
            if to_a.cross(to_b) <= ON_EDGE * (to_a.dot(to_a) + to_b.dot(to_b)) {
                let (near_a, near_b) = (to_a.length(), to_b.length());
                return Some((a.value * near_b + b.value * near_a) / (near_a + near_b));
            }
            let corner = circumcentre(to_a, to_b);
            sum += corner.cross(centre) * (a.value - b.value);
            low = low.min(a.value);
            high = high.max(a.value);
            match before {
                Some(last) => {
                    let taken = last.cross(corner);
                    sum += taken * a.value;
                    area += taken;
                }
                None => (first, first_value) = (corner, a.value),
            }
            before = Some(corner);
        }
        let taken = before?.cross(first);
        let mean = (sum + taken * first_value) / (area + taken);
        // A mean lies among its values; past that is rounding.
        mean.is_finite().then(|| mean.clamp(low, high))
    }

    /// The flat triangle through a face's corners, for the rare place where the ring is lost to rounding.
    #[cold]
    fn flat_at(&self, face: &Face, spot: Spot) -> f64 {
        let [a, b, c] = face.corner.map(|c| &self.corners[c as usize]);
        let (pa, pb, pc) = (a.spot - spot, b.spot - spot, c.spot - spot);
        let shares = [pb.cross(pc).max(0.0), pc.cross(pa).max(0.0), pa.cross(pb).max(0.0)];
        let whole: f64 = shares.iter().sum();
        if whole <= 0.0 {
            return [(pa, a), (pb, b), (pc, c)]
                .into_iter()
                .min_by(|x, y| x.0.dot(x.0).total_cmp(&y.0.dot(y.0)))
                .map_or(a.value, |(_, corner)| corner.value);
        }
        (shares[0] * a.value + shares[1] * b.value + shares[2] * c.value) / whole
    }
}
