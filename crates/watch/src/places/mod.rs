//! Best places: where to put posts, boards and fins so that what they are worth to the water is greatest.
//!
//! A place is worth something to every cell, and a cell counts the best of the places chosen. The optimum is proven: a
//! general solver bounds from above what any choice can reach, and the gap is told.
//! Start reading at [`best_places`].

mod cuts;
mod shore;

pub use shore::{Wanted, candidates, reach_benefit};

use cuts::Master;

/// What places are worth where.
#[derive(Clone, Copy)]
pub struct Worth<'a> {
    /// For each candidate, what it is worth in each cell, 0 to 1.
    pub benefit: &'a [Vec<f64>],
    /// How much each cell counts, such as the bathers in it; not negative.
    pub weight: &'a [f64],
    /// What each cell has already without any of them; none: nothing.
    pub base: Option<&'a [f64]>,
}

/// A choice of places, and how good any could be.
#[derive(Clone, Debug, PartialEq)]
pub struct Choice {
    /// Candidates chosen, in ascending order.
    pub chosen: Vec<usize>,
    /// What they are worth, 0 to 1: the weighted mean over the cells.
    pub value: f64,
    /// What no choice of so many places exceeds.
    pub ceiling: f64,
    /// Rounds of the solver.
    pub rounds: usize,
}

/// The one move that gains most.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Move {
    /// Candidate given up.
    pub from: usize,
    /// Candidate taken instead.
    pub to: usize,
    /// What the layout is worth then.
    pub value: f64,
}

/// A gap below this counts as none.
const NOTHING: f64 = 1e-9;
/// Most rounds of the solver.
const ROUNDS: usize = 60;

impl Worth<'_> {
    /// Sum of the weights; 1 where there is none, so that nothing is divided by zero.
    fn total(&self) -> f64 {
        let sum: f64 = self.weight.iter().sum();
        if sum > 0.0 { sum } else { 1.0 }
    }

    /// What a cell has from the base.
    #[inline]
    fn base_at(&self, cell: usize) -> f64 {
        self.base.map_or(0.0, |b| b[cell])
    }

    /// What a layout is worth: the weighted mean over the cells of the best of its places there.
    ///
    /// # Inputs
    /// - `layout`: candidates
    pub fn of(&self, layout: &[usize]) -> f64 {
        let best =
            |cell: usize| layout.iter().map(|&j| self.benefit[j][cell]).fold(self.base_at(cell), f64::max);
        let all = (0..self.weight.len()).map(|cell| self.weight[cell] * best(cell));
        // From 0, since a sum over nothing is −0.
        all.fold(0.0, |sum, one| sum + one) / self.total()
    }

    /// The one move that makes a layout better; `None` where none does.
    pub fn best_move(&self, layout: &[usize]) -> Option<Move> {
        let now = self.of(layout);
        let mut best: Option<Move> = None;
        for (k, &from) in layout.iter().enumerate() {
            let mut rest = layout.to_vec();
            rest.remove(k);
            let have: Vec<f64> = (0..self.weight.len())
                .map(|c| rest.iter().map(|&j| self.benefit[j][c]).fold(self.base_at(c), f64::max))
                .collect();
            for to in (0..self.benefit.len()).filter(|to| !layout.contains(to)) {
                let sum: f64 =
                    (0..have.len()).map(|c| self.weight[c] * have[c].max(self.benefit[to][c])).sum();
                let value = sum / self.total();
                if value > now + NOTHING && best.is_none_or(|b| value > b.value + NOTHING) {
                    best = Some(Move { from, to, value });
                }
            }
        }
        best
    }

    /// Places one by one, each the best yet, then moves as long as one gains.
    fn climbed(&self, count: usize) -> Vec<usize> {
        let mut layout: Vec<usize> = Vec::new();
        while layout.len() < count {
            let value = |to: usize| self.of(&[layout.as_slice(), &[to]].concat());
            let open = (0..self.benefit.len()).filter(|to| !layout.contains(to));
            let Some((to, _)) =
                open.map(|to| (to, value(to))).fold(None, |best: Option<(usize, f64)>, (to, v)| match best {
                    Some((_, least)) if v <= least + NOTHING => best,
                    _ => Some((to, v)),
                })
            else {
                break;
            };
            layout.push(to);
        }
        while let Some(step) = self.best_move(&layout) {
            let at = layout.iter().position(|&j| j == step.from).expect("it is one of them");
            layout[at] = step.to;
        }
        layout.sort_unstable();
        layout
    }
}

/// The best places among candidates, with what no choice can exceed. Model `places`, docs/models/places.md.
///
/// # Inputs
/// - `worth`: what each candidate is worth in each cell, and how much each cell counts
/// - `count`: how many are chosen; all where there are not more
///
/// # Gives
/// The best choice found, its value and a ceiling proven by the solver; equal where the optimum is proven.
///
/// # Source
/// facility location by outer approximation (cutting planes from the sorted benefits): textbook; microlp solves
/// the linear and the whole-number master problems
pub fn best_places(worth: &Worth, count: usize) -> Choice {
    let all = worth.benefit.len();
    if count >= all || count == 0 {
        let chosen: Vec<usize> = (0..all.min(count)).collect();
        let value = worth.of(&chosen);
        return Choice { chosen, value, ceiling: value, rounds: 0 };
    }
    let mut chosen = worth.climbed(count);
    let mut value = worth.of(&chosen);
    let mut master = Master::new(worth, count);
    let mut ceiling = master.loosest();
    master.cut(&indicator(&chosen, all));
    let mut whole = false;
    let mut rounds = 0;
    while rounds < ROUNDS && ceiling - value > NOTHING {
        rounds += 1;
        let Some((bound, open)) = master.solve(whole) else { break };
        ceiling = ceiling.min(bound.max(value));
        let deeper = master.cut(&open);
        if whole {
            let found: Vec<usize> = (0..all).filter(|&j| open[j] > 0.5).collect();
            let found_value = worth.of(&found);
            if found_value > value + NOTHING {
                (chosen, value) = (found, found_value);
            }
        }
        // When the linear problem has nothing more to say, places become whole.
        if !deeper || rounds == ROUNDS / 2 {
            if whole {
                break;
            }
            whole = true;
        }
    }
    Choice { chosen, value, ceiling: ceiling.max(value), rounds }
}

fn indicator(chosen: &[usize], all: usize) -> Vec<f64> {
    (0..all).map(|j| if chosen.contains(&j) { 1.0 } else { 0.0 }).collect()
}

#[cfg(test)]
mod tests;
