//! Fills a draft run by run: the line that is free first takes the run with the most found for its time.

use super::{
    cells::Stray,
    draft::{Draft, Placed, State, evaluate_by_blocks},
    lanes::{CatLeg, Catalogue, Lane},
    lone::Piece,
    price::of_draft,
    problem::{Person, Problem},
    roles::Line,
    scan::{Bound, Pick},
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
    /// What each piece covers of blocks.
    pub spreads: Vec<Vec<(u32, f32)>>,
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
    pub exponent: f64,
    table: Vec<f64>,
}

impl Power {
    /// The table of one exponent, as long as a plan looks ahead.
    pub fn new(exponent: f64) -> Self {
        Power { exponent, table: (0..2600).map(|k| libm::pow(f64::from(k).max(1.0), -exponent)).collect() }
    }

    pub fn of(&self, seconds: f64) -> f64 {
        self.table[(seconds as usize).min(self.table.len() - 1)]
    }
}

/// Where a line is while a draft is filled.
#[derive(Clone, Debug)]
pub(super) struct Stand {
    pub free_s: f64,
    /// Not before this, after a dive.
    pub rested_s: f64,
    pub at: Spot,
    pub dives: usize,
    pub entered_s: Option<f64>,
    pub formed: bool,
    /// The way it went last, if that is known.
    pub way: Option<Spot>,
    pub done: bool,
}

/// The draft under construction.
pub(super) struct Board<'a> {
    pub problem: &'a Problem<'a>,
    pub field: &'a Field<'a>,
    pub state: State<'a>,
    pub slopes: [Vec<f64>; 5],
    pub gains: Vec<Vec<f64>>,
    pub stands: Vec<Stand>,
    pub runs: Vec<Placed>,
    pub power: &'a Power,
    pub draws: u64,
}

/// What every leg of a catalogue finds before anything is searched.
pub(super) fn first_gains(problem: &Problem, catalogue: &Catalogue) -> Vec<f64> {
    let slopes = problem.slopes(catalogue.shape.method);
    (0..catalogue.legs.len())
        .map(|leg| {
            catalogue.blocks_of(leg).iter().map(|&(b, share)| slopes[b as usize] * f64::from(share)).sum()
        })
        .collect()
}

/// Fills a draft, keeping `keep` (runs in the order they were placed); its value is that of blocks.
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
    let value = evaluate_by_blocks(problem, field, &runs);
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
    let bounds: Vec<Bound> = catalogue.lanes.iter().map(|lane| board.bound(line, lane, recipe)).collect();
    let most = |k: usize| bounds[k].most(recipe.power);
    let mut order: Vec<(f64, usize)> =
        (0..bounds.len()).map(|k| (most(k), k)).filter(|lane| lane.0 > 0.0).collect();
    order.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(&b.1)));
    // Picks by falling score; those that no lane left can beat are settled.
    let (mut picks, mut runs, mut left): (Vec<Pick>, Vec<Placed>, usize) = (Vec::new(), Vec::new(), 0);
    while runs.len() < count {
        let best = picks
            .iter()
            .enumerate()
            .max_by(|(_, a), (_, b)| a.score.total_cmp(&b.score).then(b.lane.cmp(&a.lane)));
        let settled = best.filter(|(_, pick)| order.get(left).is_none_or(|lane| pick.score > lane.0));
        if let Some((at, _)) = settled {
            let run = board.timed(line, &picks.swap_remove(at));
            let middle = run.from.lerp(run.to, 0.5);
            if runs.iter().all(|other| other.from.lerp(other.to, 0.5).distance(middle) >= APART_M) {
                runs.push(run);
            }
            continue;
        }
        let Some(&(_, index)) = order.get(left) else { break };
        left += 1;
        let mut best = None;
        board.scan_ways(line, index, bounds[index].factor, &mut best);
        picks.extend(best);
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
            state: State::new(&problem.blocks.all),
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
                slopes.extend_from_slice(problem.slopes(catalogue.shape.method));
            }
        }
        for (piece, spread) in field.pieces.iter().zip(&field.spreads) {
            for &(block, share) in spread {
                board.state.take((piece.stray(), &piece.tables), block, share);
                board.renew(block as usize);
            }
        }
        board
    }

    /// After a block was searched: new worth of it to every line, and of every leg over it.
    fn renew(&mut self, block: usize) {
        for method in Method::ALL {
            let Some(&before) = self.slopes[method.index()].get(block) else { continue };
            let after = self.state.slope(self.problem, method, block);
            self.slopes[method.index()][block] = after;
            for (line, catalogue) in self.field.catalogues.iter().enumerate() {
                if catalogue.shape.method == method {
                    for &(leg, share) in catalogue.legs_of(block) {
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
            let stray = Stray::of(Stray::DRAFT + self.runs.len(), leg, method);
            for &(block, share) in catalogue.blocks_of(leg) {
                self.state.take((stray, &self.problem.tables[method.index()]), block, share);
                self.renew(block as usize);
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
    pub fn arrives(&self, line: usize, to: Spot) -> f64 {
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
