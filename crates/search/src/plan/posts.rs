//! Posts that are the same in every split: lead, gate and shore check, who may search (models L5).
//!
//! Three guards and one device is the base case: the lead is lookout and caller, one or two search.

use super::{Role, problem::Problem};
use crate::lines::{dive_depth, wade_depth};

/// Up to so many guards the lead is lookout and caller as well.
const SMALL_CREW: usize = 4;
/// From so many guards on one of them goes to the gate when nobody else can.
const GATE_CREW: usize = 6;

/// Posts that are the same in every split.
#[derive(Clone, Debug, Default)]
pub(super) struct Posts {
    pub lead: Option<usize>,
    /// Whether the lead watches the water as well.
    pub lead_watches: bool,
    pub gate: Vec<usize>,
    /// Guards who may search or watch.
    pub pool: Vec<usize>,
    /// Volunteers who may stand between two guards.
    pub volunteers: Vec<usize>,
    pub notes: Vec<String>,
}

impl Posts {
    /// The same for those who are free by a moment, and who comes later.
    pub fn by(&self, problem: &Problem, until_s: f64) -> (Posts, Vec<usize>) {
        let there = |k: &&usize| problem.person(**k).is_some_and(|p| p.from_s <= until_s);
        let (pool, mut later): (Vec<usize>, Vec<usize>) = self.pool.iter().partition(there);
        let (volunteers, helpers): (Vec<usize>, Vec<usize>) = self.volunteers.iter().partition(there);
        later.extend(helpers);
        (Posts { pool, volunteers, notes: Vec::new(), gate: self.gate.clone(), ..*self }, later)
    }
}

/// Whether somebody is of the guards: not a volunteer, and may do something that a guard does.
pub(super) fn is_guard(problem: &Problem, index: usize) -> bool {
    let m = problem.member(index);
    !m.volunteer && (m.wade || m.dive_m.is_some() || m.lookout || m.lead || m.board)
}

/// How much of a searcher somebody is: what posts out of the water cost.
pub(super) fn searching(problem: &Problem, index: usize) -> f64 {
    let limits = &problem.setting().site.limits;
    let m = problem.member(index);
    dive_depth(m, limits).unwrap_or(0.0) + wade_depth(m, limits).unwrap_or(0.0)
}

/// Fills the posts: lead, gate and shore check; the rest may search.
pub(super) fn posts(problem: &Problem) -> Posts {
    let mut posts = Posts::default();
    let busy: Vec<usize> = problem
        .frozen()
        .iter()
        .flat_map(|(_, team)| team.members.iter().copied().chain(team.lookout))
        .collect();
    let (guards, others): (Vec<usize>, Vec<usize>) =
        problem.people.iter().map(|p| p.member).partition(|&k| is_guard(problem, k));
    let free: Vec<usize> = guards.iter().copied().filter(|k| !busy.contains(k)).collect();
    posts.lead = lead(problem, &free, &guards);
    let here = guards.iter().filter(|&&k| !problem.is_late(k)).count();
    let small = here <= SMALL_CREW;
    if let Some(lead) = posts.lead {
        posts.lead_watches = small && problem.member(lead).lookout && !busy.contains(&lead);
        if !problem.member(lead).lead {
            posts.notes.push(format!("nobody here is named to lead; {} leads", problem.member(lead).name));
        }
    }
    // Whoever was sent to the gate stays there.
    let sent = |k: &usize| {
        let jobs = problem.request.before.map_or(&[][..], |plan| &plan.jobs);
        jobs.iter().any(|job| job.0 == *k && job.1 == Role::Gate)
    };
    posts.pool = free.into_iter().filter(|k| Some(*k) != posts.lead && !sent(k)).collect();
    // Whoever is not a guard goes to the gate first; volunteers beyond the first may stand in a line.
    let mut others: Vec<usize> = others.into_iter().filter(|k| !busy.contains(k)).collect();
    others.sort_by_key(|&k| (problem.is_late(k), problem.member(k).volunteer, k));
    posts.gate = guards
        .iter()
        .chain(&others)
        .copied()
        .filter(|&k| if is_guard(problem, k) || problem.member(k).volunteer { sent(&k) } else { true })
        .filter(|k| Some(*k) != posts.lead && !busy.contains(k))
        .collect();
    let mut volunteers: Vec<usize> = others.into_iter().filter(|k| !posts.gate.contains(k)).collect();
    let unmanned = |gate: &[usize]| gate.iter().all(|&k| problem.is_late(k));
    if posts.gate.is_empty() && !volunteers.is_empty()
        || unmanned(&posts.gate) && volunteers.first().is_some_and(|&k| !problem.is_late(k))
    {
        posts.gate.push(volunteers.remove(0));
    }
    posts.volunteers = volunteers;
    if posts.gate.is_empty() && guards.len() >= GATE_CREW && posts.pool.len() > 3 {
        let least = posts.pool.iter().copied().min_by(|&a, &b| {
            let late = problem.is_late(a).cmp(&problem.is_late(b));
            late.then(searching(problem, a).total_cmp(&searching(problem, b))).then(b.cmp(&a))
        });
        posts.gate.extend(least);
        posts.pool.retain(|k| !posts.gate.contains(k));
    }
    posts
}

/// Who leads: the lead of the plan before; else who may lead and watch; the least searcher among equals.
fn lead(problem: &Problem, free: &[usize], guards: &[usize]) -> Option<usize> {
    let before = problem.request.before.and_then(|plan| {
        plan.jobs.iter().find(|job| job.1 == Role::Lead).map(|job| job.0).filter(|k| guards.contains(k))
    });
    before.or_else(|| {
        free.iter().copied().min_by(|&a, &b| {
            let rank = |k: usize| {
                let m = problem.member(k);
                // Whoever comes later than a line forms leads only if nobody else can.
                let late =
                    problem.person(k).is_none_or(|p| p.from_s > problem.request.now_s + problem.rules.form_s);
                (late, !(m.lead && m.lookout), !m.lead, !m.lookout)
            };
            rank(a)
                .cmp(&rank(b))
                .then(searching(problem, a).total_cmp(&searching(problem, b)))
                .then(a.cmp(&b))
        })
    })
}
