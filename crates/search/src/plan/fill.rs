//! Fills a draft run by run: the line that is free first takes the run with the most found for its time.

use super::{
    draft::{Draft, Placed, State, evaluate},
    lanes::{CatLeg, Catalogue, Lane},
    lone::Piece,
    price::of_draft,
    problem::{Person, Problem},
    roles::Line,
    start::Start,
};
use crate::Method;
use measure::{Spot, Stream};

/// Least share of the mass on the bottom that is worth an order: below it a line holds and the search is widened.
pub(super) const LEAST_GAIN: f64 = 2e-3;
/// Longest run looked at \[legs\].
pub(super) const LEGS_MOST: usize = 16;

/// A split with the lanes of its lines and the pieces that come first.
#[derive(Clone, Debug)]
pub(super) struct Field<'a> {
    pub lines: &'a [Line],
    pub catalogues: Vec<&'a Catalogue>,
    pub pieces: Vec<Piece>,
    /// When and where each member of each line is free.
    pub ready: Vec<Vec<Person>>,
    /// Where each line stands before its first new run.
    pub starts: Vec<Start>,
    /// Found by a whole pass of each leg before anything is searched, by line.
    pub gains: Vec<&'a [f64]>,
}

/// How a draft is filled.
#[derive(Clone, Copy, Debug)]
pub(super) struct Recipe<'a> {
    /// Power of time in gain / time^e.
    pub power: &'a Power,
    /// Spread of the noise on scores, and its chance.
    pub noise: Option<(f64, Stream)>,
}

/// time^−e by whole seconds.
#[derive(Clone, Debug)]
pub(super) struct Power {
    exponent: f64,
    table: Vec<f64>,
}

impl Power {
    /// The table of one exponent, as long as a plan looks ahead.
    pub fn new(exponent: f64) -> Self {
        Power { exponent, table: (0..2600).map(|k| libm::pow(f64::from(k).max(1.0), -exponent)).collect() }
    }

    fn of(&self, seconds: f64) -> f64 {
        self.table[(seconds as usize).min(self.table.len() - 1)]
    }
}

/// Where a line is while a draft is filled.
#[derive(Clone, Debug)]
struct Stand {
    free_s: f64,
    /// Not before this, after a dive.
    rested_s: f64,
    at: Spot,
    dives: usize,
    entered_s: Option<f64>,
    formed: bool,
    /// The way it went last, if that is known.
    way: Option<Spot>,
    done: bool,
}

/// The draft under construction.
struct Board<'a> {
    problem: &'a Problem<'a>,
    field: &'a Field<'a>,
    state: State,
    slopes: [Vec<f64>; 5],
    gains: Vec<Vec<f64>>,
    stands: Vec<Stand>,
    runs: Vec<Placed>,
    power: &'a Power,
    draws: u64,
}

/// What no run of a lane can beat: it finds no more than the whole lane, in no less time than it takes to begin.
struct Bound {
    /// Noise of the lane.
    factor: f64,
    total: f64,
    /// Highest found a second of any leg.
    rate: f64,
    by_gain: f64,
}

impl Bound {
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
struct Pick {
    lane: usize,
    legs: (usize, usize),
    forth: bool,
    from_s: f64,
    score: f64,
}

/// What every leg of a catalogue finds before anything is searched.
pub(super) fn first_gains(problem: &Problem, catalogue: &Catalogue) -> Vec<f64> {
    let slopes = &problem.slopes[catalogue.shape.method.index()];
    (0..catalogue.legs.len())
        .map(|leg| {
            catalogue.cells_of(leg).iter().map(|&(c, share)| slopes[c as usize] * f64::from(share)).sum()
        })
        .collect()
}

/// Fills a draft, keeping `keep` (runs in the order they were placed).
pub(super) fn fill(problem: &Problem, field: &Field, keep: &[Placed], recipe: Recipe) -> Draft {
    let mut board = Board::new(problem, field, recipe);
    for run in keep {
        board.place(run.clone());
    }
    loop {
        let open = (0..field.lines.len()).filter(|&k| !board.stands[k].done);
        let Some(line) =
            open.min_by(|&a, &b| board.stands[a].free_s.total_cmp(&board.stands[b].free_s).then(a.cmp(&b)))
        else {
            break;
        };
        match board.best(line, recipe) {
            Some(pick) => {
                let run = board.timed(line, &pick);
                board.place(run);
            }
            None => board.stands[line].done = true,
        }
    }
    let mut runs = board.runs;
    runs.sort_by(|a, b| a.from_s.total_cmp(&b.from_s).then(a.line.cmp(&b.line)));
    let value = evaluate(problem, &field.catalogues, &field.pieces, &runs, |_, _, _| {});
    let price = of_draft(problem, field, &runs);
    Draft { runs, value, price }
}

/// Up to `count` first runs for one line, best first, each well apart from the better ones.
pub(super) fn first_runs(
    problem: &Problem,
    field: &Field,
    line: usize,
    recipe: Recipe,
    count: usize,
) -> Vec<Placed> {
    /// Middles closer than this are one place \[m\].
    const APART_M: f64 = 6.0;
    let mut board = Board::new(problem, field, recipe);
    let catalogue = field.catalogues[line];
    let mut picks: Vec<Pick> = Vec::new();
    for (index, lane) in catalogue.lanes.iter().enumerate() {
        let Bound { by_gain, factor, .. } = board.bound(line, lane, recipe);
        if by_gain <= 0.0 {
            continue;
        }
        let mut best = None;
        for forth in [true, false] {
            if if forth { lane.forth } else { lane.back } {
                board.scan(line, (index, lane), forth, factor, &mut best);
            }
        }
        picks.extend(best);
    }
    picks.sort_by(|a, b| b.score.total_cmp(&a.score).then(a.lane.cmp(&b.lane)));
    let mut runs: Vec<Placed> = Vec::new();
    for pick in picks {
        let run = board.timed(line, &pick);
        let middle = run.from.lerp(run.to, 0.5);
        if runs.iter().all(|other| other.from.lerp(other.to, 0.5).distance(middle) >= APART_M) {
            runs.push(run);
        }
        if runs.len() == count {
            break;
        }
    }
    runs
}

impl<'a> Board<'a> {
    fn new(problem: &'a Problem<'a>, field: &'a Field<'a>, recipe: Recipe<'a>) -> Self {
        let stands = field
            .starts
            .iter()
            .map(|start| Stand {
                free_s: start.free_s,
                rested_s: start.rested_s,
                at: start.at.unwrap_or_default(),
                dives: start.dives,
                entered_s: start.entered_s,
                formed: start.is_formed(),
                way: None,
                done: false,
            })
            .collect();
        let mut board = Board {
            problem,
            field,
            state: State::new(problem),
            slopes: Default::default(),
            gains: field.gains.iter().map(|g| g.to_vec()).collect(),
            stands,
            runs: Vec::new(),
            power: recipe.power,
            draws: 0,
        };
        for catalogue in &field.catalogues {
            let slopes = &mut board.slopes[catalogue.shape.method.index()];
            if slopes.is_empty() {
                slopes.clone_from(&problem.slopes[catalogue.shape.method.index()]);
            }
        }
        for piece in &field.pieces {
            for &(cell, share) in &piece.cells {
                board.state.take(problem, (piece.method, &piece.tables), cell, share);
                board.renew(cell as usize);
            }
        }
        board
    }

    /// After a cell was searched: new worth of it to every line, and of every leg over it.
    fn renew(&mut self, cell: usize) {
        for method in Method::ALL {
            let Some(&before) = self.slopes[method.index()].get(cell) else { continue };
            let after = self.state.slope(self.problem, method, cell);
            self.slopes[method.index()][cell] = after;
            for (line, catalogue) in self.field.catalogues.iter().enumerate() {
                if catalogue.shape.method == method {
                    for &(leg, share) in catalogue.legs_of(cell) {
                        self.gains[line][leg as usize] += (after - before) * f64::from(share);
                    }
                }
            }
        }
    }

    fn place(&mut self, run: Placed) {
        let catalogue = self.field.catalogues[run.line];
        let method = catalogue.shape.method;
        for leg in run.order() {
            for &(cell, share) in catalogue.cells_of(leg) {
                self.state.take(self.problem, (method, &self.problem.tables[method.index()]), cell, share);
                self.renew(cell as usize);
            }
        }
        let stand = &mut self.stands[run.line];
        stand.free_s = run.to_s;
        stand.rested_s = run.to_s;
        if method == Method::Dive {
            stand.dives += run.times.len();
            stand.rested_s =
                run.to_s + self.problem.rules.pause_s[stand.dives.min(self.problem.rules.dives_most())];
            stand.dives %= self.problem.rules.dives_most();
        }
        stand.at = run.to;
        stand.formed = true;
        let along = catalogue.lanes[run.lane].along;
        stand.way = Some(if run.forth { along } else { along * -1.0 });
        stand.entered_s = stand.entered_s.or(Some(run.from_s));
        self.runs.push(run);
    }

    /// When a line that is to start at a place can begin to search there.
    fn arrives(&self, line: usize, to: Spot) -> f64 {
        let (problem, stand) = (self.problem, &self.stands[line]);
        let rules = &problem.rules;
        if !stand.formed {
            let gathered = self.field.ready[line]
                .iter()
                .map(|p| p.from_s + rules.reaction_s + p.at.distance(to) / rules.gather_mps)
                .fold(problem.request.now_s, f64::max);
            let formed_s = (problem.request.now_s + rules.form_s).max(gathered + rules.order_s);
            return formed_s.max(stand.rested_s);
        }
        let shape = &self.field.lines[line].shape;
        let moved = stand.at.distance(to) / problem.transit_mps(shape.method);
        (stand.free_s + rules.order_s + problem.pivot_s(shape.width_m()) + moved).max(stand.rested_s)
    }

    /// The best run for a line now: the likeliest lane is scanned first, then all whose bound beats what was found.
    fn best(&mut self, line: usize, recipe: Recipe) -> Option<Pick> {
        let catalogue = self.field.catalogues[line];
        let bounds: Vec<Bound> = catalogue.lanes.iter().map(|lane| self.bound(line, lane, recipe)).collect();
        let likely = (0..bounds.len()).max_by(|&a, &b| {
            let rank = |k: usize| bounds[k].by_gain * bounds[k].rate;
            rank(a).total_cmp(&rank(b)).then(b.cmp(&a))
        })?;
        let mut best: Option<Pick> = None;
        for index in std::iter::once(likely).chain(0..bounds.len()) {
            let bound = &bounds[index];
            let least = best.as_ref().map_or(0.0, |b| b.score);
            if bound.by_gain <= least || bound.by_rate(recipe.power) <= least {
                continue;
            }
            let lane = &catalogue.lanes[index];
            for forth in [true, false] {
                if if forth { lane.forth } else { lane.back } {
                    self.scan(line, (index, lane), forth, bound.factor, &mut best);
                }
            }
        }
        best
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
    fn bound(&mut self, line: usize, lane: &Lane, recipe: Recipe) -> Bound {
        let catalogue = self.field.catalogues[line];
        let factor = match recipe.noise {
            Some((spread, stream)) => {
                self.draws += 1;
                1.0 + spread * stream.u01(self.draws)
            }
            None => 1.0,
        };
        let (mut total, mut rate) = (0.0_f64, 0.0_f64);
        for leg in lane.first..lane.past {
            let gain = self.gains[line][leg];
            total += gain;
            rate = rate.max(gain / catalogue.legs[leg].seconds);
        }
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
        let mut window: f64 = (0..count.min(LEGS_MOST)).map(|k| self.gains[line][at(k)]).sum();
        for start in 0..count {
            let most = window;
            window -= self.gains[line][at(start)];
            if start + LEGS_MOST < count {
                window += self.gains[line][at(start + LEGS_MOST)];
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
            let past = count.min(start + LEGS_MOST);
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
            }) || self.field.pieces.iter().any(|piece| meets(piece.strip(), (piece.from_s, piece.to_s)));
        let begin = leg_place(lane, &catalogue.legs[pick.legs.0], pick.forth);
        !clash
            && if self.stands[line].formed {
                self.problem.may_pass(self.stands[line].at, begin)
            } else {
                self.field.ready[line].iter().all(|p| self.problem.may_pass(p.at, begin))
            }
    }

    /// The run with the times of its legs.
    fn timed(&self, line: usize, pick: &Pick) -> Placed {
        let catalogue = self.field.catalogues[line];
        let lane = &catalogue.lanes[pick.lane];
        let stand = &self.stands[line];
        let mut run = Placed {
            line,
            lane: pick.lane,
            legs: pick.legs,
            forth: pick.forth,
            leaves_s: stand.free_s,
            from_s: pick.from_s,
            to_s: pick.from_s,
            times: Vec::new(),
            from: leg_place(lane, &catalogue.legs[pick.legs.0], pick.forth),
            to: leg_place(lane, &catalogue.legs[pick.legs.1], !pick.forth),
        };
        let (mut at_s, mut dives) = (pick.from_s, stand.dives);
        for leg in run.order() {
            if catalogue.shape.method == Method::Dive {
                if !run.times.is_empty() {
                    at_s += self.problem.rules.pause_s[dives];
                }
                dives += 1;
            }
            let end_s = at_s + catalogue.legs[leg].seconds;
            run.times.push((at_s, end_s));
            at_s = end_s;
        }
        run.to_s = at_s;
        run
    }
}

/// Pause due after so many dives of one line, turns and reliefs included; none after none.
pub(super) fn pause_of(problem: &Problem, dives: usize) -> f64 {
    let most = problem.rules.dives_most();
    if dives == 0 { 0.0 } else { problem.rules.pause_s[(dives - 1) % most + 1] }
}

/// Where a leg begins when gone along its lane (`forth`) or against it.
pub(super) fn leg_place(lane: &Lane, leg: &CatLeg, forth: bool) -> Spot {
    lane.origin + lane.along * if forth { leg.from_m } else { leg.to_m }
}

/// Whether two strips (ends of the middle line, width) come closer than `apart`: separating axes of the grown strips.
pub(super) fn strips_meet(a: (Spot, Spot, f64), b: (Spot, Spot, f64), apart: f64) -> bool {
    let (grown_a, grown_b) = (grow(a, 0.5 * apart), grow(b, 0.5 * apart));
    let gap = grown_b.0 - grown_a.0;
    [grown_a.1, grown_a.1.left(), grown_b.1, grown_b.1.left()].into_iter().all(|axis| {
        let reach = |(_, along, half, wide): (Spot, Spot, f64, f64)| {
            half * along.dot(axis).abs() + wide * along.cross(axis).abs()
        };
        gap.dot(axis).abs() < reach(grown_a) + reach(grown_b)
    })
}

/// Middle, direction, half length and half width of a strip grown by `by` on every side.
fn grow((from, to, width): (Spot, Spot, f64), by: f64) -> (Spot, Spot, f64, f64) {
    let along = (to - from).unit().unwrap_or(Spot::new(1.0, 0.0));
    (from.lerp(to, 0.5), along, 0.5 * from.distance(to) + by, 0.5 * width + by)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strips_keep_apart_edge_to_edge() {
        let a = (Spot::new(0.0, 0.0), Spot::new(0.0, 10.0), 4.0);
        assert!(strips_meet(a, (Spot::new(3.9, 0.0), Spot::new(3.9, 10.0), 0.0), 2.0));
        assert!(!strips_meet(a, (Spot::new(4.1, 0.0), Spot::new(4.1, 10.0), 0.0), 2.0));
        assert!(strips_meet(a, (Spot::new(-5.0, 5.0), Spot::new(5.0, 5.0), 1.0), 2.0), "crossing");
        assert!(!strips_meet(a, (Spot::new(-5.0, 13.0), Spot::new(5.0, 13.0), 1.0), 2.0));
    }
}
