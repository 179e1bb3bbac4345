//! The drafts that are improved: the best of each way to begin, bettered round by round until the effort is spent.
//!
//! The same rounds come whatever the effort, and only what is worth more takes a place, so that more effort
//! never gives a plan worth less. Every draft that takes a place in a round has stood up to the check.

use super::{
    draft::{Draft, Placed},
    fill::{Field, Power, Recipe, fill, first_runs},
    improve::{Improver, Stir},
    problem::Problem,
};
use measure::Stream;
use rayon::prelude::*;

/// Powers of time tried for the first fills.
pub(super) const POWERS: [f64; 5] = [0.6, 0.4, 0.8, 0.5, 1.0];
/// Powers drawn from when a plan is cut and refilled.
const REFILL_POWERS: [f64; 6] = [0.35, 0.5, 0.6, 0.7, 0.85, 1.0];
/// Evaluations that a greedy fill takes as long as.
pub(super) const FILL_TRIALS: u64 = 100;
/// Drafts kept.
const KEPT: usize = 8;
/// First runs tried for each line.
const FIRSTS: usize = 12;
/// Drafts changed side by side in a round: fixed, so that the plan does not depend on the number of threads.
const BATCH: u64 = 4;
/// Rounds of small changes before wide ones.
const CALM_ROUNDS: u64 = 4;

/// Drafts with their split, in falling order of value.
#[derive(Clone, Debug)]
pub(super) struct Pool {
    pub drafts: Vec<(usize, Draft)>,
    /// Whole plans evaluated.
    pub spent: u64,
}

/// Whether a draft of a split stands up to the check.
type Sound<'a> = dyn Fn(usize, &Draft) -> bool + Sync + 'a;

impl Pool {
    /// Fills the likely splits with every power.
    pub fn begin(problem: &Problem, fields: &[Field], spent: u64) -> Self {
        let powers = POWERS.map(Power::new);
        let mut drafts: Vec<(usize, Draft)> = (0..fields.len() * POWERS.len())
            .into_par_iter()
            .map(|k| {
                let (split, power) = (k / POWERS.len(), &powers[k % POWERS.len()]);
                (split, fill(problem, &fields[split], &[], Recipe { power, noise: None }))
            })
            .collect();
        let spent = spent + drafts.len() as u64 * FILL_TRIALS;
        sort(&mut drafts);
        drafts.truncate(KEPT);
        let drafts = drafts.into_par_iter().map(|(k, draft)| (k, draft.on_cells(problem, &fields[k])));
        let mut drafts: Vec<(usize, Draft)> = drafts.collect();
        sort(&mut drafts);
        Pool { drafts, spent }
    }

    /// Betters the drafts until the effort is spent.
    pub fn improve(&mut self, problem: &Problem, fields: &[Field], sound: &Sound) {
        let refused = self.drafts.clone();
        self.drafts.retain(|(split, draft)| sound(*split, draft));
        if self.drafts.is_empty() {
            self.drafts = refused;
            return;
        }
        self.begin_elsewhere(problem, fields, sound);
        let improvers: Vec<Improver> = fields.iter().map(|field| Improver::new(problem, field)).collect();
        let powers = REFILL_POWERS.map(Power::new);
        let stream = problem.request.seed.stream("plan refill");
        let mut round = 0;
        while self.spent < problem.request.effort {
            let stir = if round < CALM_ROUNDS { Stir::CALM } else { Stir::WIDE };
            let tries: Vec<(usize, Draft)> = (0..BATCH)
                .into_par_iter()
                .map(|k| {
                    let stream = stream_of(stream, round * BATCH + k);
                    let at = self.pick(k, stream.u01(u64::MAX));
                    let (split, parent) = &self.drafts[at];
                    // Every other one is cut and refilled first: changes alone seldom leave a basin.
                    let start = if k % 2 == 1 {
                        refill(problem, &fields[*split], (parent, &powers), stream_of(stream, 1))
                    } else {
                        parent.clone()
                    };
                    (at, improvers[*split].improve(&start, stir, stream_of(stream, 2)))
                })
                .collect();
            self.spent += BATCH * stir.trials + BATCH / 2 * FILL_TRIALS;
            let parents: Vec<usize> = self.drafts.iter().map(|d| d.0).collect();
            for (at, draft) in tries {
                self.offer(parents[at], draft, sound);
            }
            round += 1;
        }
    }

    /// First runs at places well apart, for every line of the best split, each filled on from there.
    fn begin_elsewhere(&mut self, problem: &Problem, fields: &[Field], sound: &Sound) {
        let power = Power::new(0.5);
        let recipe = Recipe { power: &power, noise: None };
        let mut starts: Vec<(usize, Placed)> = Vec::new();
        let mut splits: Vec<usize> = self.drafts.iter().map(|d| d.0).collect();
        splits.dedup();
        for &split in splits.iter().take(1) {
            let field = &fields[split];
            let lines = (0..field.lines.len()).filter(|&k| field.lines[k].busy.is_none());
            let runs = lines.flat_map(|line| first_runs(problem, field, line, recipe, FIRSTS));
            starts.extend(runs.map(|run| (split, run)));
        }
        let filled: Vec<(usize, Draft)> = starts
            .par_iter()
            .map(|(split, run)| {
                let field = &fields[*split];
                (*split, fill(problem, field, std::slice::from_ref(run), recipe).on_cells(problem, field))
            })
            .collect();
        self.spent += (filled.len() + splits.len().min(1)) as u64 * FILL_TRIALS;
        for (split, draft) in filled {
            self.offer(split, draft, sound);
        }
    }

    /// Which draft is changed: the best half of the time, the others the less the worse they are.
    fn pick(&self, place: u64, draw: f64) -> usize {
        let last = self.drafts.len() - 1;
        if place < 2 { 0 } else { ((draw * draw) * self.drafts.len() as f64) as usize }.min(last)
    }

    /// Takes a draft in if it is worth more than the worst kept, is none of the others, and is sound.
    fn offer(&mut self, split: usize, draft: Draft, sound: &Sound) {
        let full = self.drafts.len() >= KEPT;
        let worst = self.drafts.last().map_or(0.0, |d| d.1.worth());
        let known = self.drafts.iter().any(|d| d.0 == split && d.1.worth() == draft.worth());
        if known || draft.worth().is_nan() || (full && draft.worth() <= worst) || !sound(split, &draft) {
            return;
        }
        self.drafts.push((split, draft));
        sort(&mut self.drafts);
        self.drafts.truncate(KEPT);
    }
}

fn stream_of(stream: Stream, number: u64) -> Stream {
    Stream::from_key(stream.bits(number))
}

/// Best first; ties to the split listed first.
pub(super) fn sort(drafts: &mut [(usize, Draft)]) {
    drafts.sort_by(|a, b| b.1.worth().total_cmp(&a.1.worth()).then(a.0.cmp(&b.0)));
}

/// Cuts one line, or all, at a random run and fills the rest again.
fn refill(problem: &Problem, field: &Field, from: (&Draft, &[Power]), stream: Stream) -> Draft {
    let (incumbent, powers) = from;
    let mut draws = stream.draws();
    let lines = field.lines.len().max(1);
    let which = draws.index(lines + 1);
    let cut_s = if incumbent.runs.is_empty() {
        0.0
    } else {
        incumbent.runs[draws.index(incumbent.runs.len())].from_s
    };
    let power = &powers[draws.index(powers.len())];
    let noise = Some((draws.between(0.0, 0.5), stream_of(stream, 1 << 40)));
    let keep: Vec<Placed> = incumbent
        .runs
        .iter()
        .filter(|run| run.from_s < cut_s || (which < lines && run.line != which))
        .cloned()
        .collect();
    fill(problem, field, &keep, Recipe { power, noise }).on_cells(problem, field)
}
