//! Why a line begins where it does: its first lane beside the best that lies elsewhere.

use super::{
    Choice, Plan, Run, Why,
    draft::{Draft, Placed, Source},
    fill::{Field, Power, Recipe, first_runs},
    problem::Problem,
    roles::Split,
};

/// Other first lanes looked at.
const LOOKED_AT: usize = 4;
/// Lanes whose middles lie closer than this are the same place \[m\].
const ELSEWHERE_M: f64 = 6.0;

/// What is told of the first lane of every line that is not under way, in the plan written of a draft.
pub(super) fn why(problem: &Problem, drafted: (&Split, &Field, &Draft), plan: &Plan) -> Vec<Why> {
    let (split, field, draft) = drafted;
    let power = Power::new(0.5);
    let recipe = Recipe { power: &power, noise: None };
    let mut all = Vec::new();
    for line in (0..split.lines.len()).filter(|&line| split.lines[line].busy.is_none()) {
        let Some(first) = draft.runs.iter().find(|run| run.line == line) else { continue };
        let same = |run: &Run| run.from == first.from && run.to == first.to && run.from_s == first.from_s;
        let Some(run) = plan.runs.iter().position(same) else { continue };
        let middle = |run: &Placed| run.from.lerp(run.to, 0.5);
        let other = first_runs(problem, field, line, recipe, LOOKED_AT)
            .into_iter()
            .filter(|run| middle(run).distance(middle(first)) >= ELSEWHERE_M)
            .map(|run| choice(problem, field, &run))
            .max_by(|a, b| a.per_minute().total_cmp(&b.per_minute()));
        all.push(Why { run, chosen: choice(problem, field, first), other });
    }
    all
}

/// A lane alone, after the first guard and whatever is under way.
fn choice(problem: &Problem, field: &Field, run: &Placed) -> Choice {
    let catalogue = field.catalogues[run.line];
    let mut found = 0.0;
    super::draft::evaluate(
        problem,
        &field.catalogues,
        &field.pieces,
        std::slice::from_ref(run),
        |_, gain, source| {
            if source == Source::Run(0) {
                found += gain;
            }
        },
    );
    let mut shares = std::collections::BTreeMap::new();
    for (cell, share) in catalogue.cells_under(problem, run).iter().flatten() {
        // Dives overlap: a place counts once.
        let most: &mut f32 = shares.entry(*cell).or_default();
        *most = (*most + share).min(1.0);
    }
    let mass =
        shares.iter().map(|(&cell, &share)| problem.cells.mass[cell as usize] * f64::from(share)).sum();
    Choice { from: run.from, to: run.to, mass, found, seconds: run.to_s - run.leaves_s }
}
