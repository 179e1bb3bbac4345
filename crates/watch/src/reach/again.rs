//! A second look at a march over moving water: from farther off, and along lines that bend as the front does.
//!
//! The march settles who comes from where, and never tells too little; but it steps from neighbour to neighbour, and in a
//! strong current along straight lines only. Here every cell of plain water is reached once more from the ring of cells
//! about it, from where its heading says that one came. Start reading at [`Medium::look_again`].

use super::drift::{Arrivals, Line, Reached};
use super::march::{Footing, Medium};
use measure::Spot;

/// Half the side of the ring of cells from which a cell is reached again.
const RING: i64 = 3;
/// Paces in the ring may differ by this share: more is no plain water.
const PLAIN: f64 = 0.02;
/// Looks over all cells: each takes up what the one before has mended.
const LOOKS: usize = 3;

impl Medium {
    /// Betters the times of a march where the water is plain; `exact` cells, in order, stay.
    pub(super) fn look_again(&self, all: &mut Arrivals, exact: &[usize]) {
        let first = all.time_s.clone();
        let moved = |at: usize| first[at].is_finite() && exact.binary_search(&at).is_err();
        let mut order: Vec<(usize, bool)> =
            (0..first.len()).filter(|&at| moved(at)).map(|at| (at, self.is_plain(at))).collect();
        let (ring, steps) = (ring(), self.steps());
        for _ in 0..LOOKS {
            order.sort_by(|a, b| all.time_s[a.0].total_cmp(&all.time_s[b.0]).then(a.0.cmp(&b.0)));
            for &(at, plain) in &order {
                let new =
                    if plain { self.by_ring(all, at, &ring) } else { self.by_neighbours(all, at, &steps) };
                // The march never tells too little: what is later than it is no better.
                if let Some(new) = new.filter(|new| new.time_s <= first[at]) {
                    self.take(all, at, &new);
                }
            }
        }
    }

    /// The best arrival from the cells beside a cell, where other ground or an edge is near.
    fn by_neighbours(&self, all: &Arrivals, at: usize, steps: &[i64; 8]) -> Option<Reached> {
        let open = |turn: &usize| all.time_s[(at as i64 + steps[*turn]) as usize].is_finite();
        let each = (0..8).filter(open).filter_map(|turn| {
            let from_s = all.time_s[(at as i64 + steps[turn]) as usize];
            // A line to one that comes later than this cell leads nowhere.
            let until_s = all.time_s[at].max(from_s);
            self.best(all, (at, turn), (steps, until_s, true))
        });
        each.min_by(|a, b| a.time_s.total_cmp(&b.time_s))
    }

    /// Whether all water out to the ring is open and of one pace.
    fn is_plain(&self, at: usize) -> bool {
        let (cols, rows) = (self.grid().cols as i64, self.grid().rows as i64);
        let cell = self.unpadded_cell(at) as i64;
        let (col, row) = (cell % cols, cell / cols);
        let inside = col >= RING && row >= RING && col + RING < cols && row + RING < rows;
        let pace = self.pace_at(at);
        let like = |other: usize| {
            self.footing_at(other) == Footing::Water
                && !self.is_closed(other)
                && (self.pace_at(other) - pace).abs() <= PLAIN * pace
        };
        inside && (-RING..=RING).all(|north| (-RING..=RING).all(|east| like(self.beyond(at, (east, north)))))
    }

    fn beyond(&self, at: usize, (east, north): (i64, i64)) -> usize {
        (at as i64 + north * self.stride() as i64 + east) as usize
    }

    /// The best arrival from the part of the ring that the heading points back to.
    fn by_ring(&self, all: &Arrivals, at: usize, ring: &[(i64, i64)]) -> Option<Reached> {
        let slope = all.slope[at];
        let heading = slope * (1.0 / slope.length());
        let back = -(heading * self.pace_at(at) + self.drift_at(at));
        if !back.is_finite() {
            return None;
        }
        let spot = |k: usize| Spot::new(ring[k].0 as f64, ring[k].1 as f64);
        let count = ring.len();
        let part = (0..count).find(|&k| {
            let (a, b) = (spot(k), spot((k + 1) % count));
            cross(a, back) >= 0.0 && cross(back, b) > 0.0
        })?;
        let mut best: Option<Reached> = None;
        let mut better = |new: Option<Reached>| {
            if let Some(new) = new.filter(|n| best.as_ref().is_none_or(|b| n.time_s < b.time_s)) {
                best = Some(new);
            }
        };
        for k in [part + count - 1, part, part + 1] {
            let ends = [k % count, (k + 1) % count].map(|k| (self.beyond(at, ring[k]), ring[k]));
            better(self.by_place(all, at, ends[0]));
            if ends.iter().all(|(end, _)| all.time_s[*end].is_finite()) {
                better(Line::new(self, all, (at, true), (ends[0], ends[1])).least());
            }
        }
        better(self.by_place(all, at, {
            let k = (part + 2) % count;
            (self.beyond(at, ring[k]), ring[k])
        }));
        best
    }
}

fn cross(a: Spot, b: Spot) -> f64 {
    a.east * b.north - a.north * b.east
}

/// The cells of the ring by turning round it, anticlockwise.
fn ring() -> Vec<(i64, i64)> {
    let side = |k: i64| k - RING;
    let count = 2 * RING;
    let east = (0..count).map(|k| (RING, side(k)));
    let north = (0..count).map(|k| (-side(k), RING));
    let west = (0..count).map(|k| (-RING, -side(k)));
    let south = (0..count).map(|k| (side(k), -RING));
    east.chain(north).chain(west).chain(south).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_ring_turns_once_and_leaves_no_gap() {
        let ring = ring();
        assert_eq!(ring.len(), 8 * RING as usize);
        let spot = |k: usize| Spot::new(ring[k % ring.len()].0 as f64, ring[k % ring.len()].1 as f64);
        assert!((0..ring.len()).all(|k| spot(k).distance(spot(k + 1)) == 1.0));
        assert!((0..ring.len()).all(|k| cross(spot(k), spot(k + 1)) > 0.0));
    }
}
