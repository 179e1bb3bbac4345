//! A draft of a plan: runs of lines and pieces of lone guards, and what it is worth on cells.

use super::{
    cells::{Cells, MissTable, Stray},
    fill::Field,
    lanes::Catalogue,
    lone::Piece,
    problem::Problem,
};
use crate::Method;
use measure::Spot;

/// What has been found so far of each cell, or of each block.
#[derive(Clone, Debug)]
pub(super) struct State<'a> {
    cells: &'a Cells,
    /// Passes for certain that would miss as often.
    passes: Vec<[f32; 5]>,
    /// What passed over it last, its method's passes before, and how much of the place it covers.
    strays: Vec<(Stray, f32, f32)>,
    /// Chance that every contact so far missed a person who is not hidden.
    touch: Vec<f64>,
    /// The same for looking and poles.
    other: Vec<f64>,
}

impl<'a> State<'a> {
    /// Nothing searched yet in this plan.
    pub fn new(cells: &'a Cells) -> Self {
        State {
            cells,
            passes: cells.passes.iter().map(|row| row.map(|k| k as f32)).collect(),
            strays: vec![(Stray::NONE, 0.0, 0.0); cells.len()],
            touch: vec![1.0; cells.len()],
            other: vec![1.0; cells.len()],
        }
    }

    /// Covers a share of a cell once; gives the share of what it can find there that is missed again.
    #[inline]
    pub fn kept(&mut self, (stray, tables): (Stray, &[MissTable; 2]), cell: u32, share: f32) -> f64 {
        let at = cell as usize;
        let table = &tables[usize::from(self.cells.rough[at])];
        let passes = &mut self.passes[at][stray.method().index()];
        let before = table.at(f64::from(*passes));
        let row = &mut self.strays[at];
        if row.0 != stray {
            *row = (stray, *passes, 0.0);
        }
        row.2 += share;
        let after = table.and_strip(f64::from(row.1), f64::from(row.2)).min(before);
        *passes = table.passes(after, f64::from(row.1)) as f32;
        if before > 0.0 { after / before } else { 1.0 }
    }

    /// Covers a share of a cell once; gives the mass newly found.
    #[inline]
    pub fn take(&mut self, how: (Stray, &[MissTable; 2]), cell: u32, share: f32) -> f64 {
        let method = how.0.method();
        let cells = self.cells;
        let at = cell as usize;
        let kept = self.kept(how, cell, share);
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
        let cells = self.cells;
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
    /// The same, valued on the cells.
    pub fn on_cells(self, problem: &Problem, field: &Field) -> Self {
        let value = evaluate(problem, &field.catalogues, &field.pieces, &self.runs, |_, _, _| {});
        Draft { value, ..self }
    }

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

/// What a draft is worth on the cells: legs and pieces by the moment of finding, each credited what it newly finds.
///
/// `found` is told (s, mass, whose) of each, in that order.
pub(super) fn evaluate(
    problem: &Problem,
    catalogues: &[&Catalogue],
    pieces: &[Piece],
    runs: &[Placed],
    found: impl FnMut(f64, f64, Source),
) -> f64 {
    let covers: Vec<Vec<Vec<(u32, f32)>>> =
        runs.iter().map(|run| catalogues[run.line].cells_under(problem, run)).collect();
    let cover = |source: Source, leg: usize| match source {
        Source::Piece(k) => pieces[k].cells.as_slice(),
        Source::Run(k) => &covers[k][leg - runs[k].legs.0.min(runs[k].legs.1)],
    };
    in_order(problem, &problem.cells, (catalogues, pieces, runs), cover, found)
}

/// The same by blocks: enough to tell which drafts are worth a second look.
pub(super) fn evaluate_by_blocks(problem: &Problem, field: &Field, runs: &[Placed]) -> f64 {
    let cover = |source: Source, leg: usize| match source {
        Source::Piece(k) => field.spreads[k].as_slice(),
        Source::Run(k) => field.catalogues[runs[k].line].blocks_of(leg),
    };
    let parts = (field.catalogues.as_slice(), field.pieces.as_slice(), runs);
    in_order(problem, &problem.blocks.all, parts, cover, |_, _, _| {})
}

/// What pieces and legs find, in the order they end, of cells or blocks.
fn in_order<'a>(
    problem: &Problem,
    cells: &Cells,
    (catalogues, pieces, runs): (&[&Catalogue], &[Piece], &[Placed]),
    cover: impl Fn(Source, usize) -> &'a [(u32, f32)],
    mut found: impl FnMut(f64, f64, Source),
) -> f64 {
    let mut events: Vec<(f64, Source, usize)> =
        pieces.iter().enumerate().map(|(k, p)| (p.to_s, Source::Piece(k), 0)).collect();
    for (k, run) in runs.iter().enumerate() {
        events.extend(run.order().zip(&run.times).map(|(leg, &(_, to_s))| (to_s, Source::Run(k), leg)));
    }
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut state = State::new(cells);
    let mut value = 0.0;
    for (at_s, source, leg) in events {
        let how = match source {
            Source::Piece(k) => (pieces[k].stray(), &pieces[k].tables),
            Source::Run(k) => {
                let method = catalogues[runs[k].line].shape.method;
                (Stray::of(Stray::DRAFT + k, leg, method), &problem.tables[method.index()])
            }
        };
        let gain: f64 = cover(source, leg).iter().map(|&(cell, share)| state.take(how, cell, share)).sum();
        found(at_s, gain, source);
        value += gain * problem.weight.at(at_s);
    }
    value
}
