//! Why a line begins where it does: its next lane beside the best that lies elsewhere.

use super::{
    Choice, Plan, Run, Why,
    build::{Library, alone_before, field_of, first_ready},
    draft::{Draft, Placed, Source, evaluate},
    fill::{Field, Power, Recipe, first_runs},
    keep::pieces_of,
    lone::Piece,
    problem::{Person, Problem},
    roles::{Line, Split, shape_of},
    start::Alone,
};
use crate::Method;
use measure::Spot;

/// Other first lanes looked at.
const LOOKED_AT: usize = 4;
/// Lanes whose middles lie closer than this are the same place \[m\].
const ELSEWHERE_M: f64 = 6.0;

/// What is told of the first lane of every line that is not under way, in the plan written of a draft.
pub(super) fn why(problem: &Problem, drafted: (&Split, &Field, &Draft), plan: &Plan) -> Vec<Why> {
    let (split, field, draft) = drafted;
    let mut all = Vec::new();
    for line in (0..split.lines.len()).filter(|&line| split.lines[line].busy.is_none()) {
        let Some(first) = draft.runs.iter().find(|run| run.line == line) else { continue };
        let same = |run: &Run| run.from == first.from && run.to == first.to && run.from_s == first.from_s;
        let Some(run) = plan.runs.iter().position(same) else { continue };
        let other = elsewhere(problem, field, line, (first.from, first.to));
        all.push(Why { run, chosen: choice(problem, field, first), other });
    }
    all
}

/// The same of a plan made before and carried on, for the lane that each line begins next.
///
/// `libraries`: where lanes are looked for that it could begin with instead, the first that holds its shape; a line of a
/// shape that none holds is told without them.
pub(super) fn why_next(problem: &Problem, plan: &Plan, libraries: [&Library; 2]) -> Vec<Why> {
    let alone = |run: &Run| matches!(plan.teams[run.team].method, Method::Alone | Method::Pole);
    let runs = || plan.runs.iter().enumerate();
    let first = runs().filter(|(_, run)| run.under_way || alone(run));
    let first: Vec<Piece> = first.flat_map(|(index, _)| pieces_of(problem, plan, index)).collect();
    let mut all = Vec::new();
    for (index, team) in plan.teams.iter().enumerate() {
        let mut mine = runs().filter(|(_, run)| run.team == index);
        let Some((run, next)) = mine.next().filter(|(_, run)| !run.under_way) else { continue };
        let Some(shape) = shape_of(problem, team) else { continue };
        let line = Line {
            shape,
            members: team.members.clone(),
            leader: team.leader,
            lookout: team.lookout,
            busy: None,
        };
        let holds = |library: &&Library| library.iter().any(|(catalogue, _)| catalogue.shape == line.shape);
        let other = libraries.into_iter().find(holds).and_then(|library| {
            let lines = std::slice::from_ref(&line);
            let field = field_of(problem, lines, (first.clone(), guard(problem, plan)), library);
            elsewhere(problem, &field, 0, (next.from, next.to))
        });
        all.push(Why { run, chosen: of_run(problem, (plan, run), &first), other });
    }
    all
}

/// A first guard who is still to search alone: when they are free for a line, and what they have behind them then.
fn guard(problem: &Problem, plan: &Plan) -> Option<(Person, Option<Alone>)> {
    let waits = |run: &Run| !run.under_way && plan.teams[run.team].method == Method::Alone;
    let run = plan.runs.iter().position(waits)?;
    let who = *plan.teams[plan.runs[run].team].members.first()?;
    let piece = pieces_of(problem, plan, run).pop()?;
    Some((first_ready(problem, who, piece.to_s), Some(alone_before(problem, who, &piece))))
}

/// The best lane elsewhere that a line could begin with.
fn elsewhere(problem: &Problem, field: &Field, line: usize, (from, to): (Spot, Spot)) -> Option<Choice> {
    let power = Power::new(0.5);
    let recipe = Recipe { power: &power, noise: None };
    first_runs(problem, field, line, recipe, LOOKED_AT)
        .into_iter()
        .filter(|run| run.from.lerp(run.to, 0.5).distance(from.lerp(to, 0.5)) >= ELSEWHERE_M)
        .map(|run| choice(problem, field, &run))
        .max_by(|a, b| a.per_minute().total_cmp(&b.per_minute()))
}

/// A run of a written plan alone, after the pieces that come first.
fn of_run(problem: &Problem, (plan, index): (&Plan, usize), first: &[Piece]) -> Choice {
    let (run, own) = (&plan.runs[index], pieces_of(problem, plan, index));
    let mass = held(problem, own.iter().flat_map(|piece| &piece.cells));
    let pieces: Vec<Piece> = first.iter().cloned().chain(own).collect();
    let mut found = 0.0;
    evaluate(problem, &[], &pieces, &[], |_, gain, source| {
        if matches!(source, Source::Piece(k) if k >= first.len()) {
            found += gain;
        }
    });
    Choice { from: run.from, to: run.to, mass, found, seconds: run.to_s - run.leaves_s }
}

/// A lane alone, after the first guard and whatever is under way.
fn choice(problem: &Problem, field: &Field, run: &Placed) -> Choice {
    let catalogue = field.catalogues[run.line];
    let mut found = 0.0;
    let alone = std::slice::from_ref(run);
    evaluate(problem, &field.catalogues, &field.pieces, alone, |_, gain, source| {
        if source == Source::Run(0) {
            found += gain;
        }
    });
    let mass = held(problem, catalogue.cells_under(problem, run).iter().flatten());
    Choice { from: run.from, to: run.to, mass, found, seconds: run.to_s - run.leaves_s }
}

/// Mass of cells of which each leg covers a share.
fn held<'a>(problem: &Problem, rows: impl Iterator<Item = &'a (u32, f32)>) -> f64 {
    let mut shares = std::collections::BTreeMap::new();
    for (cell, share) in rows {
        // Dives overlap: a place counts once.
        let most: &mut f32 = shares.entry(*cell).or_default();
        *most = (*most + share).min(1.0);
    }
    shares.iter().map(|(&cell, &share)| problem.cells.mass[cell as usize] * f64::from(share)).sum()
}
