//! The orders given before, if a new plan gains too little to disturb anybody (models P7).

use super::{
    Plan, Role, Run,
    draft::{Source, evaluate},
    lone::{Piece, under_way},
    price::of_plan,
    problem::Problem,
    write::tell_times,
};
use crate::Method;
use measure::parameters::value;
use water::Cover;

/// The plan before, carried on by the clock and priced on today's belief, where `fresh` gains less than the
/// register's share of it; `None` where there is nothing to keep, people came or went, or a line cannot carry on.
pub(super) fn kept(problem: &Problem, fresh: &Plan) -> Option<Plan> {
    let before = problem.request.before?;
    let told = |member: usize| before.jobs.iter().any(|job| job.0 == member);
    if !before.runs.iter().any(|run| waits(problem, run)) || problem.people.iter().any(|p| !told(p.member)) {
        return None;
    }
    let mut plan = carried_on(problem, before)?;
    plan.notes.clone_from(&fresh.notes);
    plan.gaps.clone_from(&fresh.gaps);
    price(problem, &mut plan);
    plan.priced = of_plan(problem, &plan);
    plan.price = plan.priced.orders + plan.priced.quarter_turns;
    let gain = (fresh.value - fresh.price) - (plan.value - plan.price);
    (gain < value("keep_threshold") * plan.value).then_some(plan)
}

/// Teams, jobs and runs of the plan before; each team's runs moved to when it is free.
fn carried_on(problem: &Problem, before: &Plan) -> Option<Plan> {
    let now_s = problem.request.now_s;
    let live: Vec<&Run> = before.runs.iter().filter(|run| run.under_way || waits(problem, run)).collect();
    let used: Vec<usize> =
        (0..before.teams.len()).filter(|&k| live.iter().any(|run| run.team == k)).collect();
    let place = |team: usize| used.iter().position(|&k| k == team);
    let mut plan = Plan { now_s, last_seen: problem.request.last_seen, ..Plan::default() };
    plan.teams = used.iter().map(|&k| before.teams[k].clone()).collect();
    for &index in &used {
        let team = &before.teams[index];
        let runs = || live.iter().copied().filter(|run| run.team == index);
        let busy_s = runs().filter(|run| run.under_way).map(|run| run.to_s).reduce(f64::max);
        let first_s = runs().filter(|run| !run.under_way).map(|run| run.leaves_s).reduce(f64::min);
        let late_s = match (first_s, busy_s) {
            (None, _) => 0.0,
            (Some(first_s), Some(busy_s)) => busy_s - first_s,
            (Some(first_s), None) => {
                let free = |k: &usize| problem.person(*k).map(|p| p.from_s);
                let all: Option<Vec<f64>> = team.members.iter().chain(&team.lookout).map(free).collect();
                (all?.into_iter().fold(now_s, f64::max) - first_s).max(0.0)
            }
        };
        for run in runs() {
            let place = place(index)?;
            let moved = if run.under_way { run.clone() } else { later(run, late_s) };
            plan.runs.push(Run { team: place, ..moved });
        }
    }
    plan.runs.sort_by(|a, b| a.from_s.total_cmp(&b.from_s).then(a.team.cmp(&b.team)));
    for &(member, role, team) in &before.jobs {
        let there = problem.person(member).is_some()
            || team.is_some_and(|k| before.teams[k].members.contains(&member));
        if there {
            let team = team.and_then(place);
            // The first guard's search is over, and so is the job of a team that has nothing left to do.
            let over = team.is_none() && !matches!(role, Role::Lead | Role::Gate | Role::Standby);
            if over || plan.jobs.contains(&(member, role, team)) {
                continue;
            }
            plan.jobs.push((member, role, team));
        }
    }
    let idle: Vec<usize> =
        problem.people.iter().map(|p| p.member).filter(|k| plan.jobs.iter().all(|j| j.0 != *k)).collect();
    plan.jobs.extend(idle.into_iter().map(|k| (k, Role::Standby, None)));
    let busy = |k: usize| plan.jobs.iter().any(|j| j.0 == k && j.1 != Role::Standby);
    let busy: Vec<usize> = problem.people.iter().map(|p| p.member).filter(|&k| busy(k)).collect();
    plan.jobs.retain(|j| j.1 != Role::Standby || !busy.contains(&j.0));
    Some(plan)
}

/// Whether a run is still to be begun; one whose time is over without being under way is done.
fn waits(problem: &Problem, run: &Run) -> bool {
    !run.under_way && run.to_s > problem.request.now_s
}

fn later(run: &Run, by_s: f64) -> Run {
    let mut run = run.clone();
    run.leaves_s += by_s;
    run.from_s += by_s;
    run.to_s += by_s;
    for leg in &mut run.legs {
        leg.sweep.from_s += by_s;
        leg.sweep.to_s += by_s;
    }
    run
}

/// What a run of a written plan still searches, leg by leg.
pub(super) fn pieces_of(problem: &Problem, plan: &Plan, run: usize) -> Vec<Piece> {
    let ground = problem.setting().ground;
    let under = |slot: u32| ground.cover[problem.cells.index[slot as usize] as usize] == Cover::Under;
    let mut pieces = under_way(problem, &[(&plan.runs[run], &plan.teams[plan.runs[run].team])]);
    for piece in &mut pieces {
        if piece.method == Method::Pole {
            piece.cells.retain(|&(slot, _)| under(slot));
        }
        piece.run.0 = run + 1;
    }
    pieces
}

/// Value, gains and chances by time on today's belief.
fn price(problem: &Problem, plan: &mut Plan) {
    let pieces: Vec<Piece> = (0..plan.runs.len()).flat_map(|run| pieces_of(problem, plan, run)).collect();
    let mut events = Vec::new();
    let mut gains = vec![0.0; plan.runs.len()];
    plan.value = evaluate(problem, &[], &pieces, &[], |at_s, gain, source| {
        events.push((at_s, gain));
        if let Source::Piece(k) = source {
            gains[pieces[k].run.0 - 1] += gain;
        }
    });
    for (run, gain) in plan.runs.iter_mut().zip(gains).filter(|(run, _)| !run.under_way) {
        run.gain = gain;
    }
    tell_times(problem.request.now_s, &events, plan);
}
