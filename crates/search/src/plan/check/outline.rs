//! Geometry of the checker: distances to edges, gaps between stretches, by its own means.

use crate::Stretch;
use measure::{Bearing, Spot};

/// Distance from a place to a row of edges.
pub(super) fn edge_distance(places: &[Spot], spot: Spot) -> f64 {
    let mut least = f64::INFINITY;
    for pair in places.windows(2) {
        let step = pair[1] - pair[0];
        let length = step.length().max(1e-12);
        let t = ((spot - pair[0]).dot(step) / (length * length)).clamp(0.0, 1.0);
        least = least.min(spot.distance(pair[0].lerp(pair[1], t)));
    }
    least
}

/// Whether a closed ring winds round a place, by the angle it turns.
pub(super) fn winds_round(ring: &[Spot], spot: Spot) -> bool {
    let turn: f64 = ring
        .windows(2)
        .map(|pair| {
            let (a, b) = (pair[0] - spot, pair[1] - spot);
            libm::atan2(a.cross(b), a.dot(b))
        })
        .sum();
    turn.abs() > std::f64::consts::PI
}

/// Outline of a stretch: four corners, or sixteen of a disc.
fn outline(stretch: &Stretch) -> Vec<Spot> {
    match *stretch {
        Stretch::Strip { from, to, width_m } => {
            let aside = (to - from).unit().unwrap_or(Spot::new(1.0, 0.0)).left() * (0.5 * width_m);
            vec![from + aside, to + aside, to - aside, from - aside]
        }
        Stretch::Disc { centre, radius_m } => {
            (0..16).map(|k| centre + Spot::towards(Bearing::new(22.5 * f64::from(k)), radius_m)).collect()
        }
    }
}

/// Gap between two outlines; zero where they touch, cross or hold each other.
pub(super) fn gap_between(a: &Stretch, b: &Stretch) -> f64 {
    let close = |places: Vec<Spot>| {
        let first = places[0];
        let mut ring = places;
        ring.push(first);
        ring
    };
    let (p, q) = (close(outline(a)), close(outline(b)));
    if p.iter().any(|&s| winds_round(&q, s)) || q.iter().any(|&s| winds_round(&p, s)) {
        return 0.0;
    }
    let crosses = p.windows(2).any(|u| {
        q.windows(2).any(|v| {
            let side = |a: Spot, b: Spot, c: Spot| (b - a).cross(c - a);
            side(u[0], u[1], v[0]) * side(u[0], u[1], v[1]) < 0.0
                && side(v[0], v[1], u[0]) * side(v[0], v[1], u[1]) < 0.0
        })
    });
    if crosses {
        return 0.0;
    }
    let reach = |ring: &[Spot], places: &[Spot]| {
        places.iter().map(|&s| edge_distance(ring, s)).fold(f64::INFINITY, f64::min)
    };
    reach(&p, &q).min(reach(&q, &p))
}
