//! First arrival where the water moves: every step is a straight crossing with the current of its cell.
//!
//! A cell is reached from the line between two of its eight neighbours, where the sum of the arrival there and of
//! the crossing from there is least. Along that line the arrival is a cubic through the times and slopes of both
//! ends, so that a bent front stays bent. Cells are settled in the order of their times; where the current is
//! strong a later neighbour may still better an earlier cell, and then it does.
//! Start reading at [`Medium::march_drift`].

use super::crossing::{Crossing, crossing};
use super::front::Front;
use super::march::{Footing, Medium, Start};
use measure::Spot;

/// From this share of the own pace a current counts as strong: settled cells are tried again.
const STRONG: f64 = 0.6;
/// A later time must be better by so much to be worth telling the neighbours again \[s\]; in a strong current more.
const BETTER_S: f64 = 1e-9;
pub(super) const BETTER_STRONG_S: f64 = 1e-3;
/// Fronts at both ends of a line that differ by more than the angle of this cosine meet in a crease: no cubic there.
const CREASE: f64 = 0.87;
/// Where the current outruns the guard, slopes above this times the slowness of the own pace, or that differ by more than this
/// share, lie at the edge of what can be reached.
const STEEP: f64 = 2.0;
const UNLIKE: f64 = 0.1;
/// Slopes above this times the slowness of the own pace are those of a way that is all but held up, in any current.
const STEEPEST: f64 = 30.0;
/// Most looks for the least arrival along a line; four are usual.
const LOOKS: usize = 20;
/// Tries along a line where the current denies part of it.
const TRIES: usize = 8;

/// Times and slopes while a march goes on.
pub(super) struct Arrivals {
    pub(super) time_s: Vec<f64>,
    /// Gradient of the time \[s/m\]; not a number where unknown.
    pub(super) slope: Vec<Spot>,
}

/// Neighbours by turning round a cell: east, north-east, north …
const ROUND: [(i64, i64); 8] = [(1, 0), (1, 1), (0, 1), (-1, 1), (-1, 0), (-1, -1), (0, -1), (1, -1)];

/// How a cell is reached.
pub(super) struct Reached {
    pub(super) time_s: f64,
    /// Own heading on the last step, and how long that took \[s\]; no number for a climb.
    heading: Spot,
    step_s: f64,
}

impl Medium {
    /// First arrival in every cell of moving water; see [`Medium::march`].
    pub(super) fn march_drift(&self, start: &Start) -> Vec<f64> {
        let size = self.padded_len();
        let mut all =
            Arrivals { time_s: vec![f64::INFINITY; size], slope: vec![Spot::new(f64::NAN, f64::NAN); size] };
        let mut front = self.front();
        let exact = self.begin(start, &mut all, &mut front);
        self.spread(&mut all, &mut front, &exact);
        // From cells at the edge of what a faster current leaves, the march goes on.
        while self.widen(&mut all, &mut front) {
            self.spread(&mut all, &mut front, &exact);
        }
        // Where no current is strong, the march itself follows the bend of the front.
        if (0..size).any(|at| !self.is_closed(at) && self.is_strong(at)) {
            self.look_again(&mut all, &exact);
        }
        if (0..size).any(|at| !self.is_closed(at) && self.outruns(at)) {
            self.pull_straight(&mut all, start, &exact);
        }
        let mut times_s = self.unpadded(&all.time_s);
        // Who begins where the current carries them off at once is in that cell all the same, if not in its middle.
        if let Start::Spot(spot, at_s) = start {
            let home = self.grid().cell(*spot).filter(|&home| !self.is_wall(home));
            home.into_iter().for_each(|home| {
                times_s[home] = if times_s[home].is_finite() { times_s[home] } else { *at_s }
            });
        }
        times_s
    }

    /// Marches on from everything in the front.
    fn spread(&self, all: &mut Arrivals, front: &mut Front, exact: &[usize]) {
        let steps = self.steps();
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
                if let Some(new) = self.best(all, (to, (turn + 4) % 8), (&steps, now_s, !self.is_strong(to)))
                {
                    if new.time_s < all.time_s[to] - better_s {
                        self.take(all, to, &new);
                        front.push(new.time_s, to as u32);
                    }
                }
            }
            if self.outruns(from) {
                self.leap(all, from, front);
            }
        }
    }

    /// Notes an arrival, with the slope of the time there.
    pub(super) fn take(&self, all: &mut Arrivals, at: usize, new: &Reached) {
        all.time_s[at] = new.time_s;
        // The heading is that of the middle of the step; where the current changes it has turned since.
        let slope = self.slope_of(at, new.heading);
        let [east, north] = self.change_at(at);
        let turned = slope - Spot::new(east.dot(slope), north.dot(slope)) * (0.5 * new.step_s);
        let length = turned.length();
        all.slope[at] = if length > 0.0 { self.slope_of(at, turned * (1.0 / length)) } else { slope };
    }

    /// How the current changes to the east and to the north \[1/s\]; not at all beside other ground.
    pub(super) fn change_at(&self, at: usize) -> [Spot; 2] {
        [1, self.stride()].map(|step| {
            let (low, high) = (at - step, at + step);
            let same = |other: usize| self.footing_at(other) == self.footing_at(at) && !self.is_closed(other);
            if !same(low) || !same(high) {
                return Spot::default();
            }
            (self.drift_at(high) - self.drift_at(low)) * (0.5 / self.grid().cell_m)
        })
    }

    /// From a cell to each of its neighbours, by turning round it.
    pub(super) fn steps(&self) -> [i64; 8] {
        ROUND.map(|(east, north)| north * self.stride() as i64 + east)
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
            let current = (self.drift_at(at) + self.drift_near(*spot)) * 0.5;
            let straight = crossing(way, self.pace_at(at), current).filter(|c| c.time_s > 0.0);
            if let Some(Crossing { time_s, heading }) = straight {
                let new = Reached { time_s: all.time_s[at], heading, step_s: time_s };
                self.take(all, at, &new);
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
    /// Only what was reached by `now_s` counts; lines bend where `bends` allows.
    pub(super) fn best(
        &self,
        all: &Arrivals,
        (to, turn): (usize, usize),
        (steps, now_s, bends): (&[i64; 8], f64, bool),
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
            let line =
                Line::new(self, all, (to, bends), ((place(turn), ROUND[turn]), (beside, ROUND[other])));
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
        let heading = Spot::new(f64::NAN, f64::NAN);
        (onto && time_s.is_finite()).then_some(Reached { time_s, heading, step_s: 0.0 })
    }

    pub(super) fn by_place(
        &self,
        all: &Arrivals,
        to: usize,
        (from, step): (usize, (i64, i64)),
    ) -> Option<Reached> {
        let way = Spot::new(-step.0 as f64, -step.1 as f64) * self.grid().cell_m;
        let (pace, current) = self.between(from, to);
        let straight = crossing(way, pace, current)?;
        let time_s = all.time_s[from] + straight.time_s;
        Some(Reached { time_s, heading: straight.heading, step_s: straight.time_s })
            .filter(|r| r.time_s.is_finite())
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

/// The line between two cells near a cell, from which it may be reached.
pub(super) struct Line {
    /// From the cell to the first end, and from there to the second \[m\].
    first: Spot,
    along: Spot,
    /// Arrival along the line: cubic in the share of the way.
    cubic: [f64; 4],
    pace_mps: f64,
    /// Mean current on the way from the first end, and how much more it is from the second.
    current: Spot,
    more: Spot,
}

type End = (usize, (i64, i64));

impl Line {
    /// The line that `to` is reached from; bent as the front is where `bends` allows.
    pub(super) fn new(
        medium: &Medium,
        all: &Arrivals,
        (to, bends): (usize, bool),
        (a, b): (End, End),
    ) -> Line {
        let h = medium.grid().cell_m;
        let spot = |(east, north): (i64, i64)| Spot::new(east as f64, north as f64) * h;
        let (first, along) = (spot(a.1), spot(b.1) - spot(a.1));
        let (ta, tb) = (all.time_s[a.0], all.time_s[b.0]);
        let (ga, gb) = (all.slope[a.0], all.slope[b.0]);
        let (da, db) = (ga.dot(along), gb.dot(along));
        // Slopes that a later, better time has left behind do not hold the chord between them; and in a strong
        // current, where settled cells are bettered, only the straight line is sure never to give too little.
        let held = tb - ta >= da.min(db) && tb - ta <= da.max(db);
        let (la, lb) = (ga.length(), gb.length());
        // At the edge of what a faster current leaves, the time rises ever more steeply: no cubic follows it there.
        // Nor beside that water, nor where the way on is all but held up: there the slopes are no guide to what lies between.
        let (hard, most) = (la.max(lb) * medium.pace_at(to), UNLIKE * h * la.max(lb));
        let edge = [to, a.0, b.0].into_iter().any(|at| medium.outruns(at));
        let steep = hard > STEEPEST || edge && (hard > STEEP || (db - da).abs() > most);
        let cubic = if held && bends && !steep && ga.dot(gb) >= CREASE * la * lb {
            [ta, da, 3.0 * (tb - ta) - 2.0 * da - db, 2.0 * (ta - tb) + da + db]
        } else {
            [ta, tb - ta, 0.0, 0.0]
        };
        let ((pa, current), (pb, other)) = (medium.between(a.0, to), medium.between(b.0, to));
        let pace_mps = if pa == pb { pa } else { 2.0 * pa * pb / (pa + pb) };
        Line { first, along, cubic, pace_mps, current, more: other - current }
    }

    /// Arrival by way of the place at share `s`, with its slope along the line and the crossing; `None` where the current denies it.
    fn at(&self, s: f64) -> Option<(f64, f64, Crossing)> {
        let way = -(self.first + self.along * s);
        let current = self.current + self.more * s;
        let straight = crossing(way, self.pace_mps, current)?;
        let [c0, c1, c2, c3] = self.cubic;
        let time_s = c0 + s * (c1 + s * (c2 + s * c3)) + straight.time_s;
        let push = straight.heading * (1.0 / (self.pace_mps + current.dot(straight.heading)).max(1e-9));
        // Farther along, the way is longer by the line and the current helps by what it is more.
        let slope = c1 + s * (2.0 * c2 + 3.0 * s * c3) - push.dot(self.along + self.more * straight.time_s);
        Some((time_s, slope, straight))
    }

    fn reached(&self, s: f64) -> Option<Reached> {
        let (time_s, _, straight) = self.at(s)?;
        Some(Reached { time_s, heading: straight.heading, step_s: straight.time_s })
    }

    /// The least arrival over the line, where it lies between the ends; an end is tried by itself.
    pub(super) fn least(&self) -> Option<Reached> {
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
