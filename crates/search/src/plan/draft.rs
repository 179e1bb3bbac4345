//! A draft of a plan: runs of lines and pieces of lone guards, and what it is worth on cells.

use super::{cells::MissTable, lanes::Catalogue, lone::Piece, problem::Problem};
use crate::Method;
use measure::Spot;

/// What has been found of each cell so far.
#[derive(Clone, Debug)]
pub(super) struct State {
    passes: Vec<[f32; 5]>,
    /// Chance that every contact so far missed a person who is not hidden.
    touch: Vec<f64>,
    /// The same for looking and poles.
    other: Vec<f64>,
}

impl State {
    /// Nothing searched yet in this plan.
    pub fn new(problem: &Problem) -> Self {
        let cells = &problem.cells;
        State {
            passes: cells.passes.iter().map(|row| row.map(|k| k as f32)).collect(),
            touch: vec![1.0; cells.len()],
            other: vec![1.0; cells.len()],
        }
    }

    /// Covers a share of a cell once; gives the mass newly found.
    #[inline]
    pub fn take(&mut self, problem: &Problem, how: (Method, &[MissTable; 2]), cell: u32, share: f32) -> f64 {
        let (method, tables) = how;
        let cells = &problem.cells;
        let at = cell as usize;
        let table = &tables[usize::from(cells.rough[at])];
        let k = self.passes[at][method.index()];
        let kept = table.at(f64::from(k + share)) / table.at(f64::from(k));
        self.passes[at][method.index()] = k + share;
        let (hidden, mass) = (cells.hidden[at], cells.mass[at]);
        let open = (1.0 - hidden) * self.touch[at];
        if method.by_contact() {
            self.touch[at] *= kept;
            mass * open * (1.0 - kept) * self.other[at]
        } else {
            let found = mass * (hidden + open) * self.other[at] * (1.0 - kept);
            self.other[at] *= kept;
            found
        }
    }

    /// What a whole further pass of a method would find in a cell.
    #[inline]
    pub fn slope(&self, problem: &Problem, method: Method, at: usize) -> f64 {
        let cells = &problem.cells;
        let table = &problem.tables[method.index()][usize::from(cells.rough[at])];
        let take = table.slope(f64::from(self.passes[at][method.index()]));
        let open = (1.0 - cells.hidden[at]) * self.touch[at];
        let within = if method.by_contact() { open } else { cells.hidden[at] + open };
        cells.mass[at] * within * self.other[at] * take
    }
}

/// A run of a draft.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Placed {
    /// Which line.
    pub line: usize,
    /// Which lane of its catalogue.
    pub lane: usize,
    /// Legs of the lane in the order they are searched: first and last index.
    pub legs: (usize, usize),
    /// Whether the lane is gone along its direction.
    pub forth: bool,
    pub leaves_s: f64,
    pub from_s: f64,
    pub to_s: f64,
    /// Begin and end of each leg.
    pub times: Vec<(f64, f64)>,
    pub from: Spot,
    pub to: Spot,
}

impl Placed {
    /// Leg indices in the order they are searched.
    pub fn order(&self) -> impl Iterator<Item = usize> + use<> {
        let (a, b) = self.legs;
        (0..=a.abs_diff(b)).map(move |k| if b >= a { a + k } else { a - k })
    }
}

/// A draft of a plan for one split of the people.
#[derive(Clone, Debug, Default)]
pub(super) struct Draft {
    pub runs: Vec<Placed>,
    /// What it finds, weighted.
    pub value: f64,
    /// What its orders are priced at.
    pub price: f64,
}

impl Draft {
    /// What drafts are compared by.
    pub fn worth(&self) -> f64 {
        self.value - self.price
    }
}

/// Who finds: a piece or a run, by index.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Source {
    Piece(usize),
    Run(usize),
}

/// What a draft is worth: legs and pieces by the moment of finding, each credited what it newly finds.
///
/// `found` is told (s, mass, whose) of each, in that order.
pub(super) fn evaluate(
    problem: &Problem,
    catalogues: &[&Catalogue],
    pieces: &[Piece],
    runs: &[Placed],
    mut found: impl FnMut(f64, f64, Source),
) -> f64 {
    let mut events: Vec<(f64, Source, usize)> =
        pieces.iter().enumerate().map(|(k, p)| (p.to_s, Source::Piece(k), 0)).collect();
    for (k, run) in runs.iter().enumerate() {
        events.extend(run.order().zip(&run.times).map(|(leg, &(_, to_s))| (to_s, Source::Run(k), leg)));
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut state = State::new(problem);
    let mut value = 0.0;
    for (at_s, source, leg) in events {
        let gain: f64 = match source {
            Source::Piece(k) => pieces[k]
                .cells
                .iter()
                .map(|&(cell, share)| state.take(problem, (pieces[k].method, &pieces[k].tables), cell, share))
                .sum(),
            Source::Run(k) => {
                let catalogue = catalogues[runs[k].line];
                let method = catalogue.shape.method;
                let how = (method, &problem.tables[method.index()]);
                catalogue
                    .cells_of(leg)
                    .iter()
                    .map(|&(cell, share)| state.take(problem, how, cell, share))
                    .sum()
            }
        };
        found(at_s, gain, source);
        value += gain * problem.weight.at(at_s);
    }
    value
}
