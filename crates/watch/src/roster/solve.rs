//! Who is on watch in which slot: one whole-number problem.

use super::{Day, Keep};
use good_lp::{
    Expression, ProblemVariables, Solution, SolverModel, Variable, WithInitialSolution, WithMipGap,
    constraint, microlp, variable,
};

/// What a missing guard at a post costs beside the other wishes.
const EMPTY_POST: f64 = 1000.0;
/// What no lookout, or a missing diver, costs.
const NO_LOOKOUT: f64 = 400.0;
const NO_DIVER: f64 = 200.0;
/// What a second place in glare left empty costs: less than a post with nobody.
const EMPTY_SECOND: f64 = 600.0;
/// Most posts of which every choice is tried.
const EXACT: usize = 12;
/// What a slot above the fair share costs.
const UNFAIR: f64 = 5.0;
/// What a change of a kept roster costs.
const CHANGE: f64 = 20.0;
/// Differences below this share of all are not worth proving.
const GAP: f32 = 0.002;

/// A variable for each guard and slot in which they are there.
type Watch = Vec<Vec<Option<Variable>>>;

/// On watch or not, for each guard and slot; and whether the solver has proven it.
pub(super) fn on_watch(day: &Day, keep: Option<Keep>) -> (Vec<Vec<bool>>, bool) {
    let first = greedy(day, keep);
    let mut variables = ProblemVariables::new();
    let watch: Watch = (0..day.guards.len())
        .map(|g| {
            (0..day.slots.len())
                .map(|s| day.guards[g].there[s].then(|| variables.add(variable().binary())))
                .collect()
        })
        .collect();
    let (rows, cost) = rows(day, keep, &watch, &mut variables);
    let told = watch.iter().zip(&first).flat_map(|(vars, on)| {
        vars.iter().zip(on).filter_map(|(v, on)| Some(((*v)?, if *on { 1.0 } else { 0.0 })))
    });
    let told: Vec<(Variable, f64)> = told.collect();
    let mut model = variables.minimise(cost).using(microlp);
    for row in rows {
        model = model.with(row);
    }
    let model = match model.with_mip_gap(GAP) {
        Ok(model) => model,
        Err(_) => return (first, false),
    };
    let Ok(solved) = model.with_initial_solution(told).solve() else { return (first, false) };
    let on = |v: &Option<Variable>| v.is_some_and(|v| solved.value(v) > 0.5);
    (watch.iter().map(|vars| vars.iter().map(on).collect()).collect(), true)
}

/// Every rule as a row, and what is to be little.
fn rows(
    day: &Day,
    keep: Option<Keep>,
    watch: &Watch,
    variables: &mut ProblemVariables,
) -> (Vec<good_lp::Constraint>, Expression) {
    let mut rows = Vec::new();
    let mut cost = Expression::from(0.0);
    for s in 0..day.slots.len() {
        let need = day.places(s).len() as f64;
        let sum = |pick: &dyn Fn(usize) -> bool| -> Expression {
            (0..watch.len()).filter(|&g| pick(g)).filter_map(|g| watch[g][s]).sum()
        };
        let all = sum(&|_| true);
        let mut short = |most: f64, price: f64, cost: &mut Expression| {
            let missing = variables.add(variable().min(0.0).max(most));
            *cost += price * missing;
            missing
        };
        let seconds = need - day.posts.len() as f64;
        let missing = short(need - seconds, EMPTY_POST, &mut cost);
        let alone = short(seconds, EMPTY_SECOND, &mut cost);
        rows.push(constraint!(all + missing + alone == need));
        let divers = (day.rules.divers as f64).min(need);
        let missing = short(divers, NO_DIVER, &mut cost);
        rows.push(constraint!(sum(&|g| day.guards[g].dives) + missing >= divers));
        let lookouts = (day.rules.lookouts.max(cover(day, s)) as f64).min(need);
        let missing = short(lookouts, NO_LOOKOUT, &mut cost);
        rows.push(constraint!(sum(&|g| day.guards[g].lookout) + missing >= lookouts));
    }
    for (g, vars) in watch.iter().enumerate() {
        for (from, count, most) in windows(day) {
            // What is over stays as it was, even where it breaks a rule; what is left of a window that has begun still counts it.
            let now = keep.map_or(from, |k| k.from.clamp(from, from + count));
            let stood = (from..now).filter(|&s| keep.is_some_and(|k| k.roster.at[g][s].is_some())).count();
            let inside: Vec<Variable> = vars[now..from + count].iter().filter_map(|v| *v).collect();
            let left = most.saturating_sub(stood);
            if inside.len() > left {
                let sum: Expression = inside.into_iter().sum();
                rows.push(constraint!(sum <= left as f64));
            }
        }
        let excess = variables.add(variable().min(0.0));
        cost += UNFAIR * excess;
        let sum: Expression = vars.iter().filter_map(|v| *v).sum();
        rows.push(constraint!(sum - excess <= fair(day, g)));
    }
    if let Some(keep) = keep {
        for (g, vars) in watch.iter().enumerate() {
            for (s, v) in vars.iter().enumerate() {
                let Some(v) = *v else { continue };
                let was = keep.roster.at[g][s].is_some();
                if s < keep.from {
                    rows.push(constraint!(v == if was { 1.0 } else { 0.0 }));
                }
                cost += if was { CHANGE * (1.0 - v) } else { CHANGE * v };
            }
        }
    } else {
        // Equal guards are told apart by a hair, so that the solver need not try them all in turn.
        for (g, vars) in watch.iter().enumerate() {
            for (s, v) in vars.iter().enumerate() {
                if let Some(v) = *v {
                    cost += 0.01 * ((g * 7 + s * 3) % 11) as f64 / 11.0 * v;
                }
            }
        }
    }
    (rows, cost)
}

/// Fewest posts from which all is seen that can be seen in a slot; past a dozen posts, by taking the best each time.
fn cover(day: &Day, slot: usize) -> usize {
    let sets: Vec<Vec<usize>> =
        day.sight(slot).into_iter().map(|(_, posts)| posts).filter(|p| !p.is_empty()).collect();
    let all = |chosen: &dyn Fn(usize) -> bool| sets.iter().all(|posts| posts.iter().any(|&p| chosen(p)));
    if day.posts.len() <= EXACT {
        let least = (0..1usize << day.posts.len()).filter(|set| all(&|p| set >> p & 1 == 1));
        return least.map(|set| set.count_ones() as usize).min().unwrap_or(0);
    }
    let (mut left, mut count) = (sets.clone(), 0);
    while !left.is_empty() {
        let sees = |p: usize| left.iter().filter(|posts| posts.contains(&p)).count();
        let best = (0..day.posts.len()).max_by_key(|&p| (sees(p), day.posts.len() - p)).expect("a post");
        left.retain(|posts| !posts.contains(&best));
        count += 1;
    }
    count
}

/// Windows of slots with the most on watch in them: stints, and the span.
pub(super) fn windows(day: &Day) -> Vec<(usize, usize, usize)> {
    let (all, rules) = (day.slots.len(), &day.rules);
    let mut windows = Vec::new();
    for from in 0..all {
        let stint = rules.stint;
        if from + stint < all {
            windows.push((from, stint + 1, stint));
        }
        let hot = rules.stint_hot;
        if from + hot < all && hot < stint && day.slots[from..=from + hot].iter().all(|s| s.hot) {
            windows.push((from, hot + 1, hot));
        }
        if from + rules.span <= all && rules.span_most < rules.span {
            windows.push((from, rules.span, rules.span_most));
        }
    }
    windows
}

/// Slots on watch that would be a guard's even share.
fn fair(day: &Day, guard: usize) -> f64 {
    let need: usize = (0..day.slots.len()).map(|s| day.places(s).len()).sum();
    let there = |g: &super::Guard| g.there.iter().filter(|t| **t).count();
    let all: usize = day.guards.iter().map(there).sum();
    (need as f64 * there(&day.guards[guard]) as f64 / all.max(1) as f64).ceil()
}

/// A roster made slot by slot, by who has stood least: where the solver begins.
fn greedy(day: &Day, keep: Option<Keep>) -> Vec<Vec<bool>> {
    let all = day.guards.len();
    let mut on = vec![vec![false; day.slots.len()]; all];
    let windows = windows(day);
    for s in 0..day.slots.len() {
        if let Some(k) = keep.filter(|k| s < k.from) {
            (0..all).for_each(|g| on[g][s] = k.roster.at[g][s].is_some() && day.guards[g].there[s]);
            continue;
        }
        let mut open: Vec<usize> = (0..all)
            .filter(|&g| day.guards[g].there[s])
            .filter(|&g| {
                windows.iter().filter(|(from, count, _)| (*from..from + count).contains(&s)).all(
                    |(from, count, most)| on[g][*from..from + count].iter().filter(|w| **w).count() < *most,
                )
            })
            .collect();
        open.sort_by_key(|&g| (on[g].iter().filter(|w| **w).count(), g));
        open.iter().take(day.places(s).len()).for_each(|&g| on[g][s] = true);
    }
    on
}
