//! Straight ways from afar: a last look at water that outruns the guard.
//!
//! At the edge of the cone that a faster current leaves, a way put together from short steps is late: each step turns a little too
//! far from the edge, and close to it every degree costs much. So each such cell is tried once more by a straight way from where
//! its neighbour came straight from, the start itself if nothing is between. A straight way is one that somebody can go: what it
//! gives is never too little. Start reading at [`Medium::pull_straight`].

use super::crossing::crossing;
use super::drift::{Arrivals, BETTER_STRONG_S};
use super::front::Front;
use super::march::{Footing, Medium, Start};
use measure::Spot;

/// Share of its time by which a cell must gain before a way is walked cell by cell.
const WORTH: f64 = 2e-5;
/// A way this share later than the cell's own time is no way to it: rays are bent there, and the next straight way begins anew.
const BENT: f64 = 2e-4;

/// From where one goes straight, and when one leaves there \[s\].
#[derive(Clone, Copy)]
pub(super) struct Corner {
    pub(super) spot: Spot,
    pub(super) at_s: f64,
}

impl Medium {
    /// Betters the cells whose current outruns the guard by straight ways from afar; `exact` cells, in order, stay.
    pub(super) fn pull_straight(&self, all: &mut Arrivals, start: &Start, exact: &[usize]) {
        let size = all.time_s.len();
        let steps = self.steps();
        let wild: Vec<bool> = (0..size).map(|at| self.is_wild(at)).collect();
        let mut corners: Vec<Option<Corner>> = vec![None; size];
        let mut front = self.front();
        for at in 0..size {
            let near = all.time_s[at].is_finite()
                && (wild[at]
                    || steps.iter().any(|step| wild[((at as i64 + step).max(0) as usize).min(size - 1)]));
            if near {
                front.push(all.time_s[at], at as u32);
            }
        }
        if let Start::Spot(spot, at_s) = start {
            exact.iter().for_each(|&at| corners[at] = Some(Corner { spot: *spot, at_s: *at_s }));
        }
        while let Some((bits, from)) = front.pop() {
            let from = from as usize;
            if !Front::is_of(bits, all.time_s[from]) {
                continue;
            }
            let own = Corner { spot: self.middle(from), at_s: all.time_s[from] };
            let far = corners[from].unwrap_or(own);
            for step in steps {
                let to = (from as i64 + step) as usize;
                if !wild[to] || exact.binary_search(&to).is_ok() {
                    continue;
                }
                if let Some(new_s) = self.better(all.time_s[to], far, to) {
                    all.time_s[to] = new_s;
                    corners[to] = Some(far);
                    front.push(new_s, to as u32);
                } else if corners[to].is_none() {
                    let reaches = |corner: Corner| {
                        self.about(corner, to).is_some_and(|s| s <= all.time_s[to] * (1.0 + BENT))
                    };
                    corners[to] = [far, own].into_iter().find(|&corner| reaches(corner));
                }
            }
        }
    }

    /// Open water that outruns the guard.
    fn is_wild(&self, at: usize) -> bool {
        !self.is_closed(at) && self.footing_at(at) == Footing::Water && self.outruns(at)
    }

    fn middle(&self, at: usize) -> Spot {
        self.grid().centre(self.unpadded_cell(at))
    }

    /// Time by the straight way from a corner where that is worth having \[s\].
    fn better(&self, now_s: f64, corner: Corner, to: usize) -> Option<f64> {
        let worth = |s: f64| s < now_s - BETTER_STRONG_S.max(WORTH * (s - corner.at_s));
        self.about(corner, to).filter(|&s| worth(s))?;
        self.walked(corner, to).filter(|&s| worth(s))
    }

    /// About when the straight way from a corner ends \[s\]: by the mean of the currents at both ends.
    fn about(&self, corner: Corner, to: usize) -> Option<f64> {
        let mean = (self.drift_near(corner.spot) + self.drift_at(to)) * 0.5;
        let way = crossing(self.middle(to) - corner.spot, self.pace_at(to), mean)?;
        Some(corner.at_s + way.time_s)
    }

    /// When the straight way ends, piece by piece over open water \[s\]; `None` where something else lies in it.
    pub(super) fn walked(&self, corner: Corner, to: usize) -> Option<f64> {
        let end = self.middle(to);
        let count = (corner.spot.distance(end) / self.grid().cell_m).ceil().max(1.0);
        let piece = (end - corner.spot) * (1.0 / count);
        let mut at_s = corner.at_s;
        for k in 0..count as usize {
            let spot = corner.spot.lerp(end, (k as f64 + 0.5) / count);
            let at = self.padded(self.grid().cell(spot)?);
            if self.is_closed(at) || self.footing_at(at) != Footing::Water {
                return None;
            }
            at_s += crossing(piece, self.pace_at(at), self.drift_near(spot))?.time_s;
        }
        Some(at_s)
    }
}
