//! Scans lanes for the run that finds most for its time: bounds first, so that most lanes are never walked.

use super::{
    fill::{Board, LEAST_GAIN, LEGS_MOST, Power, Recipe, leg_place, strips_meet},
    lanes::{Catalogue, Lane},
};
use crate::Method;
use measure::Spot;

/// What no run of a lane can beat: it finds no more than the best stretch as long as a run may be, in no less
/// time than it takes to begin.
pub(super) struct Bound {
    /// Noise of the lane.
    pub factor: f64,
    total: f64,
    /// Highest found a second of any leg.
    rate: f64,
    pub by_gain: f64,
}

impl Bound {
    /// What no run of the lane can beat, by either bound.
    pub(super) fn most(&self, power: &Power) -> f64 {
        self.by_gain.min(self.by_rate(power))
    }

    /// The other bound: gain/time^e = gain^(1−e) (gain/time)^e, and no run has a higher rate than its best leg.
    fn by_rate(&self, power: &Power) -> f64 {
        if self.total <= 0.0 {
            return 0.0;
        }
        let most = libm::pow(self.total, 1.0 - power.exponent) * libm::pow(self.rate, power.exponent);
        // A twentieth more, since weights are tabulated by whole seconds.
        1.05 * self.factor * most
    }
}

/// A run that may be taken.
pub(super) struct Pick {
    pub lane: usize,
    pub legs: (usize, usize),
    pub forth: bool,
    pub from_s: f64,
    pub score: f64,
}

impl Board<'_> {
    /// The best run for a line now: the likeliest lane is scanned first, then all whose bound beats what was found.
    pub(super) fn best(&mut self, line: usize, recipe: Recipe) -> Option<Pick> {
        let catalogue = self.field.catalogues[line];
        let bounds: Vec<Bound> = catalogue.lanes.iter().map(|lane| self.bound(line, lane, recipe)).collect();
        let likely = (0..bounds.len()).max_by(|&a, &b| {
            let rank = |k: usize| bounds[k].by_gain * bounds[k].rate;
            rank(a).total_cmp(&rank(b)).then(b.cmp(&a))
        })?;
        let mut best: Option<Pick> = None;
        self.scan_ways(line, likely, bounds[likely].factor, &mut best);
        let least = best.as_ref().map_or(0.0, |b| b.score);
        // Highest bound first: the best is found early, and rules out most of the others.
        let mut order: Vec<(f64, usize)> = (0..bounds.len())
            .filter(|&k| k != likely && bounds[k].by_gain > least)
            .map(|k| (bounds[k].most(recipe.power), k))
            .filter(|lane| lane.0 > least)
            .collect();
        order.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
        for (most, index) in order {
            if best.as_ref().is_some_and(|b| most <= b.score) {
                break;
            }
            self.scan_ways(line, index, bounds[index].factor, &mut best);
        }
        best
    }

    /// Tries every run of a lane, both ways where it may be gone both ways.
    pub(super) fn scan_ways(&self, line: usize, index: usize, factor: f64, best: &mut Option<Pick>) {
        let lane = &self.field.catalogues[line].lanes[index];
        for forth in [true, false] {
            if if forth { lane.forth } else { lane.back } {
                self.scan(line, (index, lane), forth, factor, best);
            }
        }
    }

    /// Longest run of a line now \[legs\].
    fn longest(&self, line: usize) -> usize {
        if self.field.catalogues[line].shape.method == Method::Dive {
            self.problem.rules.dives_most().saturating_sub(self.stands[line].dives).clamp(1, LEGS_MOST)
        } else {
            LEGS_MOST
        }
    }

    /// Seconds from when a line is free to the first moment it can search.
    fn soonest_s(&self, line: usize) -> f64 {
        let rules = &self.problem.rules;
        if !self.stands[line].formed {
            return (self.problem.request.now_s + rules.form_s - self.stands[line].free_s).max(0.0);
        }
        rules.order_s + self.problem.pivot_s(self.field.lines[line].shape.width_m())
    }

    /// What no run of a lane can beat; zero if nothing in it is worth an order.
    pub(super) fn bound(&mut self, line: usize, lane: &Lane, recipe: Recipe) -> Bound {
        let catalogue = self.field.catalogues[line];
        let factor = match recipe.noise {
            Some((spread, stream)) => {
                self.draws += 1;
                1.0 + spread * stream.u01(self.draws)
            }
            None => 1.0,
        };
        let (gains, legs) =
            (&self.gains[line][lane.first..lane.past], &catalogue.legs[lane.first..lane.past]);
        let longest = self.longest(line);
        let (mut window, mut total, mut rate) = (0.0_f64, 0.0_f64, 0.0_f64);
        for (k, (&gain, leg)) in gains.iter().zip(legs).enumerate() {
            window += gain - if k >= longest { gains[k - longest] } else { 0.0 };
            total = total.max(window);
            rate = rate.max(gain / leg.seconds);
        }
        // A hair above, for the rounding of the moving sum.
        total *= 1.0 + 1e-9;
        if total.is_nan() || total < LEAST_GAIN * self.problem.cells.total || total <= 0.0 {
            return Bound { factor, total: 0.0, rate: 0.0, by_gain: 0.0 };
        }
        Bound { factor, total, rate, by_gain: factor * total * recipe.power.of(self.soonest_s(line)) }
    }

    /// Tries every run of a lane in one direction.
    fn scan(&self, line: usize, lane: (usize, &Lane), forth: bool, factor: f64, best: &mut Option<Pick>) {
        let (index, lane) = lane;
        let catalogue = self.field.catalogues[line];
        let (problem, stand, power) = (self.problem, &self.stands[line], self.power);
        let count = lane.past - lane.first;
        let least = count.min(2);
        let limit_s =
            stand.entered_s.map_or(f64::INFINITY, |s| s + problem.rules.turn_limit_s).min(problem.end_s);
        let at = |k: usize| if forth { lane.first + k } else { lane.past - 1 - k };
        let way = if forth { lane.along } else { lane.along * -1.0 };
        let price = if stand.formed { problem.prices.of((stand.way, way)) } else { 0.0 };
        // No run finds more than its longest stretch, in less time than it takes to begin.
        let soonest = factor * power.of(self.soonest_s(line));
        let longest = self.longest(line);
        let mut window: f64 = (0..count.min(longest)).map(|k| self.gains[line][at(k)]).sum();
        for start in 0..count {
            let most = window;
            window -= self.gains[line][at(start)];
            if start + longest < count {
                window += self.gains[line][at(start + longest)];
            }
            let found = best.as_ref().map_or(0.0, |b| b.score);
            // A hair above, for the rounding of the moving sum.
            if soonest * most * (1.0 + 1e-9) <= found {
                continue;
            }
            let begin = leg_place(lane, &catalogue.legs[at(start)], forth);
            let from_s = self.arrives(line, begin);
            if from_s >= limit_s || factor * most * (1.0 + 1e-9) * power.of(from_s - stand.free_s) <= found {
                continue;
            }
            let past = count.min(start + longest);
            let limit_s = limit_s.min(from_s + problem.rules.turn_limit_s);
            let (mut end_s, mut gain, mut dives) = (from_s, 0.0, stand.dives);
            for k in start..past {
                let leg = at(k);
                if catalogue.shape.method == Method::Dive {
                    if k > start {
                        if dives >= problem.rules.dives_most() {
                            break;
                        }
                        end_s += problem.rules.pause_s[dives];
                    }
                    dives += 1;
                }
                end_s += catalogue.legs[leg].seconds;
                if end_s > limit_s {
                    break;
                }
                gain += self.gains[line][leg];
                if k + 1 - start < least {
                    continue;
                }
                let score = factor * (gain - price) * power.of(end_s - stand.free_s);
                if gain >= LEAST_GAIN * problem.cells.total && score > best.as_ref().map_or(0.0, |b| b.score)
                {
                    let pick = Pick { lane: index, legs: (at(start), leg), forth, from_s, score };
                    if self.allowed(line, lane, &pick, end_s) {
                        *best = Some(pick);
                    }
                }
            }
        }
    }

    /// Whether a run keeps apart from every other line at work meanwhile, and its way there from no-go ground.
    fn allowed(&self, line: usize, lane: &Lane, pick: &Pick, to_s: f64) -> bool {
        let catalogue = self.field.catalogues[line];
        let ends = |legs: (usize, usize), catalogue: &Catalogue, lane: &Lane| {
            let (a, b) = (catalogue.legs[legs.0.min(legs.1)], catalogue.legs[legs.0.max(legs.1)]);
            (lane.origin + lane.along * a.from_m, lane.origin + lane.along * b.to_m)
        };
        let own = ends(pick.legs, catalogue, lane);
        let width = catalogue.shape.width_m();
        let apart = self.problem.rules.apart_m;
        let meets = |other: (Spot, Spot, f64), span: (f64, f64)| {
            span.0 < to_s + 1.0
                && pick.from_s < span.1 + 1.0
                && strips_meet((own.0, own.1, width), other, apart)
        };
        let clash =
            self.runs.iter().filter(|run| run.line != line).any(|run| {
                let theirs = self.field.catalogues[run.line];
                let (a, b) = ends(run.legs, theirs, &theirs.lanes[run.lane]);
                meets((a, b, theirs.shape.width_m()), (run.from_s, run.to_s))
            }) || self.field.pieces.iter().any(|piece| meets(piece.outline(), (piece.from_s, piece.to_s)));
        let begin = leg_place(lane, &catalogue.legs[pick.legs.0], pick.forth);
        !clash
            && if self.stands[line].formed {
                self.problem.may_pass(self.stands[line].at, begin)
            } else {
                self.field.ready[line].iter().all(|p| self.problem.may_pass(p.at, begin))
            }
    }
}
