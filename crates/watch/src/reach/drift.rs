//! First arrival where the water moves: every step is a straight crossing with the current of its cell.
//!
//! A cell is reached from the line between two of its eight neighbours, where the sum of the arrival there and of
//! the crossing from there is least. Along that line the arrival is a cubic through the times and slopes of both
//! ends, so that a bent front stays bent. Cells are settled in the order of their times; where the current is
//! strong a later neighbour may still better an earlier cell, and then it does.
//! Start reading at [`Medium::march_drift`].

use super::crossing::crossing;
use super::front::Front;
use super::march::{Footing, Medium, Start};
use measure::Spot;

/// From this share of the own pace a current counts as strong: settled cells are tried again.
const STRONG: f64 = 0.6;
/// A later time must be better by so much to be worth telling the neighbours again \[s\]; in a strong current more.
const BETTER_S: f64 = 1e-9;
const BETTER_STRONG_S: f64 = 1e-3;
/// Fronts at both ends of a line that differ by more than the angle of this cosine meet in a crease: no cubic there.
const CREASE: f64 = 0.87;
/// Most looks for the least arrival along a line; four are usual.
const LOOKS: usize = 20;
/// Tries along a line where the current denies part of it.
const TRIES: usize = 8;

/// Times and slopes while a march goes on.
struct Arrivals {
    time_s: Vec<f64>,
    /// Gradient of the time \[s/m\]; not a number where unknown.
    slope: Vec<Spot>,
}

impl Arrivals {
    fn take(&mut self, at: usize, new: &Reached) {
        self.time_s[at] = new.time_s;
        self.slope[at] = new.slope;
    }
}

/// Neighbours by turning round a cell: east, north-east, north …
const ROUND: [(i64, i64); 8] = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];

/// Longest side of the steps tried where the current outruns the guard: there the eight neighbours are too few
/// directions for the narrow cone that is left.
const LONGEST: i64 = 4;

/// A cell as seen from the line that reaches it.
struct Reached {
    time_s: f64,
    slope: Spot,
}

impl Medium {
    /// First arrival in every cell of moving water; see [`Medium::march`].
    pub(super) fn march_drift(&self, start: &Start) -> Vec<f64> {
        let size = self.padded_len();
        let mut all =
            Arrivals { time_s: vec![f64::INFINITY; size], slope: vec![Spot::new(f64::NAN, f64::NAN); size] };
        let mut front = self.front();
        let exact = self.begin(start, &mut all, &mut front);
        let steps = ROUND.map(|(east, north)| north * self.stride() as i64 + east);
        while let Some((bits, from)) = front.pop() {
            let from = from as usize;
            let now_s = all.time_s[from];
            if !Front::is_of(bits, now_s) {
                continue;
            }
            for (turn, step) in steps.iter().enumerate() {
                let to = (from as i64 + step) as usize;
                let settled = all.time_s[to] <= now_s && !self.is_strong(to);
                if settled || self.is_closed(to) || exact.binary_search(&to).is_ok() {
                    continue;
                }
                // Seen from `to`, `from` lies the other way round.
                let better_s = if all.time_s[to] <= now_s { BETTER_STRONG_S } else { BETTER_S };
                if let Some(new) = self.best(&all, (to, (turn + 4) % 8), (&steps, now_s)) {
                    if new.time_s < all.time_s[to] - better_s {
                        all.take(to, &new);
                        front.push(new.time_s, to as u32);
                    }
                }
            }
            if self.drift_at(from).length() >= self.pace_at(from) {
                self.leap(&mut all, from, &mut front);
            }
        }
        self.unpadded(&all.time_s)
    }

    /// Long straight steps from a cell whose current outruns the guard, over water alone.
    fn leap(&self, all: &mut Arrivals, from: usize, front: &mut Front) {
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
                        all.take(to, &new);
                        front.push(new.time_s, to as u32);
                    }
                }
            }
        }
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

    /// Settles the start; gives the cells that must not be changed, in order.
    fn begin(&self, start: &Start, all: &mut Arrivals, front: &mut Front) -> Vec<usize> {
        for (cell, at_s) in self.settled(start) {
            let at = self.padded(cell);
            if at_s < all.time_s[at] && !self.is_closed(at) {
                all.time_s[at] = at_s;
                front.push(at_s, at as u32);
            }
        }
        let Start::Spot(spot, _) = start else { return Vec::new() };
        let exact: Vec<usize> = (0..all.time_s.len()).filter(|&at| all.time_s[at].is_finite()).collect();
        for &at in &exact {
            let way = self.grid().centre(self.unpadded_cell(at)) - *spot;
            if let Some(straight) =
                crossing(way, self.pace_at(at), self.drift_at(at)).filter(|c| c.time_s > 0.0)
            {
                all.slope[at] = self.slope_of(at, straight.heading);
            }
        }
        exact
    }

    /// Gradient of the time where one arrives with a heading: `n / (v + u·n)`.
    fn slope_of(&self, at: usize, heading: Spot) -> Spot {
        heading * (1.0 / (self.pace_at(at) + self.drift_at(at).dot(heading)).max(1e-9))
    }

    fn is_strong(&self, at: usize) -> bool {
        self.drift_at(at).length() > STRONG * self.pace_at(at)
    }

    /// The best arrival at `to` by way of the neighbour at `turn`: alone, or with those beside it.
    fn best(
        &self,
        all: &Arrivals,
        (to, turn): (usize, usize),
        (steps, now_s): (&[i64; 8], f64),
    ) -> Option<Reached> {
        let place = |turn: usize| (to as i64 + steps[turn]) as usize;
        if !self.may_step(place(turn), to, (to, turn, steps)) {
            return self.climb(all, place(turn), to);
        }
        let mut best = self.by_place(all, to, (place(turn), ROUND[turn]));
        for other in [(turn + 1) % 8, (turn + 7) % 8] {
            let beside = place(other);
            if all.time_s[beside] > now_s || !self.may_step(beside, to, (to, other, steps)) {
                continue;
            }
            let line = Line::new(self, all, to, ((place(turn), ROUND[turn]), (beside, ROUND[other])));
            if let Some(new) = line.least() {
                if best.as_ref().is_none_or(|b| new.time_s < b.time_s) {
                    best = Some(new);
                }
            }
        }
        best
    }

    /// Whether one goes straight from `from` to `to`, which sees it at `turn`: between two blocked cells nobody slips through.
    fn may_step(&self, from: usize, to: usize, (_, turn, steps): (usize, usize, &[i64; 8])) -> bool {
        if !self.steps_onto(from, to) {
            return false;
        }
        let beside = |turn: usize| (to as i64 + steps[turn % 8]) as usize;
        turn % 2 == 0 || [turn + 1, turn + 7].iter().any(|&t| self.steps_onto(from, beside(t)))
    }

    fn climb(&self, all: &Arrivals, from: usize, to: usize) -> Option<Reached> {
        let onto = self.footing_at(from) == Footing::Water && self.footing_at(to) == Footing::Deck;
        let time_s = all.time_s[from] + 0.5 * (self.cross_at(from) + self.cross_at(to)) + self.climb_s();
        (onto && time_s.is_finite()).then_some(Reached { time_s, slope: Spot::new(f64::NAN, f64::NAN) })
    }

    fn by_place(&self, all: &Arrivals, to: usize, (from, step): (usize, (i64, i64))) -> Option<Reached> {
        let way = Spot::new(-step.0 as f64, -step.1 as f64) * self.grid().cell_m;
        let (pace, current) = self.between(from, to);
        let straight = crossing(way, pace, current)?;
        let time_s = all.time_s[from] + straight.time_s;
        Some(Reached { time_s, slope: self.slope_of(to, straight.heading) })
    }

    /// Pace and current on the way between two cells: the mean slowness, the mean current.
    fn between(&self, a: usize, b: usize) -> (f64, Spot) {
        let (pa, pb) = (self.pace_at(a), self.pace_at(b));
        if pa == pb && self.drift_at(a) == self.drift_at(b) {
            return (pa, self.drift_at(a));
        }
        (2.0 * pa * pb / (pa + pb), (self.drift_at(a) + self.drift_at(b)) * 0.5)
    }
}

/// The line between two neighbours of a cell, from which it may be reached.
struct Line<'a> {
    medium: &'a Medium,
    to: usize,
    /// From the cell to the first end, and from there to the second \[m\].
    first: Spot,
    along: Spot,
    /// Arrival along the line: cubic in the share of the way.
    cubic: [f64; 4],
    pace_mps: f64,
    current: Spot,
}

type End = (usize, (i64, i64));

impl<'a> Line<'a> {
    fn new(medium: &'a Medium, all: &Arrivals, to: usize, (a, b): (End, End)) -> Line<'a> {
        let h = medium.grid().cell_m;
        let spot = |(east, north): (i64, i64)| Spot::new(east as f64, north as f64) * h;
        let (first, along) = (spot(a.1), spot(b.1) - spot(a.1));
        let (ta, tb) = (all.time_s[a.0], all.time_s[b.0]);
        let (ga, gb) = (all.slope[a.0], all.slope[b.0]);
        let (da, db) = (ga.dot(along), gb.dot(along));
        // Slopes that a later, better time has left behind do not hold the chord between them; and in a strong
        // current, where settled cells are bettered, only the straight line is sure never to give too little.
        let held = tb - ta >= da.min(db) && tb - ta <= da.max(db);
        let cubic = if held && !medium.is_strong(to) && ga.dot(gb) >= CREASE * ga.length() * gb.length() {
            [ta, da, 3.0 * (tb - ta) - 2.0 * da - db, 2.0 * (ta - tb) + da + db]
        } else {
            [ta, tb - ta, 0.0, 0.0]
        };
        let ((pa, ua), (pb, ub)) = (medium.between(a.0, to), medium.between(b.0, to));
        let (pace_mps, current) =
            if pa == pb { (pa, (ua + ub) * 0.5) } else { (2.0 * pa * pb / (pa + pb), (ua + ub) * 0.5) };
        Line { medium, to, first, along, cubic, pace_mps, current }
    }

    /// Arrival by way of the place at share `s`, with its slope along the line and the heading; `None` where the current denies it.
    fn at(&self, s: f64) -> Option<(f64, f64, Spot)> {
        let way = -(self.first + self.along * s);
        let straight = crossing(way, self.pace_mps, self.current)?;
        let [c0, c1, c2, c3] = self.cubic;
        let time_s = c0 + s * (c1 + s * (c2 + s * c3)) + straight.time_s;
        let push = straight.heading * (1.0 / (self.pace_mps + self.current.dot(straight.heading)).max(1e-9));
        let slope = c1 + s * (2.0 * c2 + 3.0 * s * c3) - push.dot(self.along);
        Some((time_s, slope, straight.heading))
    }

    fn reached(&self, s: f64) -> Option<Reached> {
        let (time_s, _, heading) = self.at(s)?;
        Some(Reached { time_s, slope: self.medium.slope_of(self.to, heading) })
    }

    /// The least arrival over the line, where it lies between the ends; an end is tried by itself.
    fn least(&self) -> Option<Reached> {
        let (Some(low), Some(high)) = (self.at(0.0), self.at(1.0)) else { return self.least_denied() };
        if low.1 >= 0.0 || high.1 <= 0.0 {
            return None;
        }
        // The slope rises through 0 once: false position, the end that stays twice counting half.
        let (mut a, mut fa, mut b, mut fb) = (0.0, low.1, 1.0, high.1);
        let (mut s, mut side) = (0.5, 0.0);
        for _ in 0..LOOKS {
            s = (a * fb - b * fa) / (fb - fa);
            let Some((_, f, _)) = self.at(s) else { return self.least_denied() };
            if f.abs() < 1e-9 * (high.1 - low.1) {
                break;
            }
            if f < 0.0 {
                (a, fa) = (s, f);
                fb *= if side < 0.0 { 0.5 } else { 1.0 };
            } else {
                (b, fb) = (s, f);
                fa *= if side > 0.0 { 0.5 } else { 1.0 };
            }
            side = f;
        }
        self.reached(s)
    }

    /// The same where part of the line is denied: the best of several places.
    fn least_denied(&self) -> Option<Reached> {
        let tries = (0..=TRIES).filter_map(|k| self.reached(k as f64 / TRIES as f64));
        tries.min_by(|a, b| a.time_s.total_cmp(&b.time_s))
    }
}
