//! Water that outruns the guard: what can be reached is a narrow cone, and eight neighbours are too few directions for it.
//!
//! Longer straight steps are tried from such cells, and longer ones still to the cells at the edge of what is reached.

use super::drift::{Arrivals, BETTER_STRONG_S};
use super::front::Front;
use super::march::{Footing, Medium};
use std::collections::VecDeque;

/// Longest side of the steps tried from every cell whose current outruns the guard.
const LONGEST: i64 = 4;

/// Longest side of the steps tried to a cell at the edge.
const FARTHEST: i64 = 12;

impl Medium {
    /// Long straight steps from a cell whose current outruns the guard, over water alone.
    pub(super) fn leap(&self, all: &mut Arrivals, from: usize, front: &mut Front) {
        let (cols, rows) = (self.grid().cols as i64, self.grid().rows as i64);
        let home = self.unpadded_cell(from) as i64;
        let (col, row) = (home % cols, home / cols);
        for north in -LONGEST..=LONGEST {
            for east in -LONGEST..=LONGEST {
                let long = east.abs().max(north.abs()) > 1 && east != 0 && north != 0;
                let (there_col, there_row) = (col + east, row + north);
                let inside = there_col >= 0 && there_row >= 0 && there_col < cols && there_row < rows;
                if !long || !inside || !self.is_open_water(from, (east, north)) {
                    continue;
                }
                let to = (from as i64 + north * self.stride() as i64 + east) as usize;
                if let Some(new) = self.by_place(all, to, (from, (-east, -north))) {
                    if new.time_s < all.time_s[to] - BETTER_STRONG_S {
                        self.take(all, to, &new);
                        front.push(new.time_s, to as u32);
                    }
                }
            }
        }
    }

    /// Reaches cells beside those that are reached by the longest steps there are; whether there were any.
    pub(super) fn widen(&self, all: &mut Arrivals, front: &mut Front) -> bool {
        let open = |all: &Arrivals, at: usize| {
            all.time_s[at].is_infinite() && self.footing_at(at) == Footing::Water && !self.is_closed(at)
        };
        let steps = self.steps();
        let beside = |at: usize| steps.map(|step| (at as i64 + step) as usize);
        let mut waiting: VecDeque<usize> = (0..self.grid().len())
            .map(|cell| self.padded(cell))
            .filter(|&at| open(all, at) && self.outruns(at))
            .filter(|&at| beside(at).iter().any(|&b| all.time_s[b].is_finite()))
            .collect();
        let mut found = false;
        while let Some(at) = waiting.pop_front() {
            if !open(all, at) || !self.outruns(at) {
                continue;
            }
            let Some(new) = self.by_long_step(all, at) else { continue };
            self.take(all, at, &new);
            front.push(new.time_s, at as u32);
            waiting.extend(beside(at));
            found = true;
        }
        found
    }

    /// Whether the current of a cell is at least as fast as the guard.
    pub(super) fn outruns(&self, at: usize) -> bool {
        self.drift_at(at).length() >= self.pace_at(at)
    }

    /// The best straight step to a cell from any cell about it, over water alone.
    fn by_long_step(&self, all: &Arrivals, at: usize) -> Option<super::drift::Reached> {
        let (cols, rows) = (self.grid().cols as i64, self.grid().rows as i64);
        let home = self.unpadded_cell(at) as i64;
        let (col, row) = (home % cols, home / cols);
        let steps = (-FARTHEST..=FARTHEST).flat_map(|n| (-FARTHEST..=FARTHEST).map(move |e| (e, n)));
        let inside = |(east, north): &(i64, i64)| {
            (0..cols).contains(&(col + east)) && (0..rows).contains(&(row + north))
        };
        let each = steps.filter(inside).filter_map(|step| {
            let from = (at as i64 + step.1 * self.stride() as i64 + step.0) as usize;
            if from == at || !all.time_s[from].is_finite() {
                return None;
            }
            let new = self.by_place(all, at, (from, step))?;
            self.is_open_water(at, step).then_some(new)
        });
        each.min_by(|a, b| a.time_s.total_cmp(&b.time_s))
    }

    /// Whether every cell along a step holds water.
    fn is_open_water(&self, from: usize, (east, north): (i64, i64)) -> bool {
        let count = east.abs().max(north.abs());
        (0..=count).all(|k| {
            let part = |metres: i64| (metres as f64 * k as f64 / count as f64).round() as i64;
            let at = (from as i64 + part(north) * self.stride() as i64 + part(east)) as usize;
            self.footing_at(at) == Footing::Water && !self.is_closed(at)
        })
    }
}
