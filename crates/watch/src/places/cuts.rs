//! The master problem: which places, under cuts that bound what cells can have.
//!
//! For any level r, a cell's best is at most r plus what the chosen places have above r. Summed over a group of cells, each
//! with its own level, that is one linear cut. The levels that bite at a solution are those at which its places, the
//! best first, add up to one.

use super::Worth;
use good_lp::{Expression, ProblemVariables, Solution, SolverModel, Variable, constraint, microlp, variable};

/// A linear bound of one group: constant and one factor a candidate.
struct Cut {
    group: usize,
    constant: f64,
    factor: Vec<f64>,
}

/// The problem solved again and again.
pub(super) struct Master<'a> {
    worth: &'a Worth<'a>,
    count: usize,
    /// Cells by the candidate that is best in them.
    groups: Vec<Vec<usize>>,
    /// Candidates of each cell that are worth more than its base, the best first.
    order: Vec<Vec<u32>>,
    cuts: Vec<Cut>,
    /// What each group was told to have at the last solution.
    told: Vec<f64>,
}

/// A cut must take off at least so much to be kept, as a share of all.
const DEEP: f64 = 1e-10;

impl<'a> Master<'a> {
    pub(super) fn new(worth: &'a Worth<'a>, count: usize) -> Master<'a> {
        let all = worth.benefit.len();
        let mut groups = vec![Vec::new(); all];
        let mut order = Vec::with_capacity(worth.weight.len());
        for cell in 0..worth.weight.len() {
            let base = worth.base_at(cell);
            let mut better: Vec<u32> =
                (0..all as u32).filter(|&j| worth.benefit[j as usize][cell] > base).collect();
            better.sort_by(|&a, &b| {
                worth.benefit[b as usize][cell].total_cmp(&worth.benefit[a as usize][cell]).then(a.cmp(&b))
            });
            groups[better.first().map_or(0, |&j| j as usize)].push(cell);
            order.push(better);
        }
        groups.retain(|cells| !cells.is_empty());
        let told = vec![f64::INFINITY; groups.len()];
        Master { worth, count, groups, order, cuts: Vec::new(), told }
    }

    /// What all candidates together would be worth.
    pub(super) fn loosest(&self) -> f64 {
        self.worth.of(&(0..self.worth.benefit.len()).collect::<Vec<_>>())
    }

    /// Adds the cuts that bite at a solution; whether one of them takes anything off.
    pub(super) fn cut(&mut self, open: &[f64]) -> bool {
        let (worth, total) = (self.worth, self.worth.total());
        let mut deeper = false;
        for group in 0..self.groups.len() {
            let mut cut = Cut { group, constant: 0.0, factor: vec![0.0; open.len()] };
            for &cell in &self.groups[group] {
                let level = self.level(cell, open);
                let share = worth.weight[cell] / total;
                cut.constant += share * level;
                for &j in &self.order[cell] {
                    let above = worth.benefit[j as usize][cell] - level;
                    if above <= 0.0 {
                        break;
                    }
                    cut.factor[j as usize] += share * above;
                }
            }
            let bound = cut.constant + cut.factor.iter().zip(open).map(|(f, y)| f * y).sum::<f64>();
            if bound < self.told[group] - DEEP {
                deeper = true;
                self.cuts.push(cut);
            }
        }
        deeper
    }

    /// The benefit at which the places of a cell, the best first, add up to one.
    fn level(&self, cell: usize, open: &[f64]) -> f64 {
        let mut sum = 0.0;
        for &j in &self.order[cell] {
            sum += open[j as usize];
            if sum >= 1.0 - 1e-9 {
                return self.worth.benefit[j as usize][cell];
            }
        }
        self.worth.base_at(cell)
    }

    /// What the cuts allow at most, and the places that reach it; whole places where asked.
    pub(super) fn solve(&mut self, whole: bool) -> Option<(f64, Vec<f64>)> {
        let all = self.worth.benefit.len();
        let mut variables = ProblemVariables::new();
        let place = if whole { variable().binary() } else { variable().min(0.0).max(1.0) };
        let open: Vec<Variable> = variables.add_vector(place, all);
        let has: Vec<Variable> = variables.add_vector(variable().min(0.0).max(1.0), self.groups.len());
        let worth: Expression = has.iter().sum();
        let mut model = variables.maximise(worth).using(microlp);
        let sum: Expression = open.iter().sum();
        model = model.with(constraint!(sum <= self.count as f64));
        for cut in &self.cuts {
            let mut bound = Expression::from(cut.constant);
            for (factor, place) in cut.factor.iter().zip(&open).filter(|(f, _)| **f > 1e-13) {
                bound += *factor * *place;
            }
            model = model.with(constraint!(has[cut.group] <= bound));
        }
        let solved = model.solve().ok()?;
        self.told = has.iter().map(|&v| solved.value(v)).collect();
        let bound: f64 = self.told.iter().sum();
        // The solver keeps its rows to about 1e-9 each; the bound stays one all the same.
        let slack = 1e-9 * (1.0 + self.groups.len() as f64);
        Some((bound + slack, open.iter().map(|&v| solved.value(v)).collect()))
    }
}
