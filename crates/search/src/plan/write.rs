//! Writes a draft as a plan: teams, jobs, runs with their legs, value, ceiling, chances by time.

use super::{
    Leg, Plan, Role, Run, Team,
    build::pole,
    ceiling::ceiling,
    cover::steer_m,
    draft::{Draft, Placed, Source, evaluate},
    fill::Field,
    lanes::Catalogue,
    lone::Piece,
    posts::Posts,
    problem::Problem,
    roles::{Line, Split},
};
use crate::{Method, Stretch, Sweep};

/// Moments after now at which the chance found is told \[s\].
const FOUND_AT_S: [f64; 4] = [180.0, 360.0, 600.0, 1200.0];

/// The plan of a draft; without one, the posts alone and what is under way.
pub(super) fn write(problem: &Problem, posts: &Posts, draft: Option<(&Split, &Field, &Draft)>) -> Plan {
    let mut plan = Plan {
        now_s: problem.request.now_s,
        last_seen: problem.request.last_seen,
        unseen: false,
        teams: Vec::new(),
        jobs: Vec::new(),
        runs: Vec::new(),
        value: 0.0,
        price: 0.0,
        why: Vec::new(),
        ceiling: 0.0,
        found_by: Vec::new(),
        reaches: Vec::new(),
        evaluations: 0,
        gaps: Vec::new(),
        notes: Vec::new(),
    };
    let frozen = keep_under_way(problem, &mut plan);
    if let Some(lead) = posts.lead {
        plan.jobs.push((lead, Role::Lead, None));
    }
    plan.jobs.extend(posts.gate.iter().map(|&k| (k, Role::Gate, None)));
    let mut owners = Vec::new();
    if let Some((split, field, draft)) = draft {
        owners = add_teams(problem, split, field, draft, &frozen, &mut plan);
    } else {
        plan.jobs.extend(posts.pool.iter().chain(&posts.volunteers).map(|&k| (k, Role::Standby, None)));
    }
    price(problem, draft, &owners, &mut plan);
    let idle: Vec<usize> =
        problem.people.iter().map(|p| p.member).filter(|k| plan.jobs.iter().all(|j| j.0 != *k)).collect();
    plan.jobs.extend(idle.into_iter().map(|k| (k, Role::Standby, None)));
    plan.ceiling = ceiling(problem, posts);
    plan.runs.sort_by(|a, b| a.from_s.total_cmp(&b.from_s).then(a.team.cmp(&b.team)));
    plan
}

/// Copies teams and runs under way; gives (index before, index now) of each team.
fn keep_under_way(problem: &Problem, plan: &mut Plan) -> Vec<(usize, usize)> {
    let Some(before) = problem.request.before else { return Vec::new() };
    let mut frozen = Vec::new();
    for (index, team) in problem.frozen() {
        frozen.push((index, plan.teams.len()));
        for job in before.jobs.iter().filter(|job| job.2 == Some(index)) {
            plan.jobs.push((job.0, job.1, Some(plan.teams.len())));
        }
        plan.teams.push(team.clone());
    }
    for run in before.runs.iter().filter(|run| run.under_way) {
        let team = frozen.iter().find(|f| f.0 == run.team).map_or(0, |f| f.1);
        plan.runs.push(Run { team, ..run.clone() });
    }
    frozen
}

/// Adds the teams, jobs and runs of a draft; gives for each run of the plan who finds in it.
fn add_teams(
    problem: &Problem,
    split: &Split,
    field: &Field,
    draft: &Draft,
    frozen: &[(usize, usize)],
    plan: &mut Plan,
) -> Vec<(usize, Source)> {
    let mut owners = Vec::new();
    let mut piece_at = problem.request.before.map_or(0, |before| {
        let live = |run: &&Run| run.under_way;
        before
            .runs
            .iter()
            .filter(live)
            .flat_map(|r| &r.legs)
            .filter(|l| l.sweep.to_s > problem.request.now_s)
            .count()
    });
    if let Some((first, watcher)) = split.first {
        let alone = field.pieces.get(piece_at).filter(|p| p.method == Method::Alone);
        plan.jobs.push((first, Role::First, alone.map(|_| plan.teams.len())));
        if let Some(piece) = alone {
            let watcher = watcher.filter(|&k| problem.person(k).is_some_and(|p| p.from_s <= piece.from_s));
            if let Some(watcher) = watcher {
                plan.jobs.push((watcher, Role::Lookout, Some(plan.teams.len())));
            }
            owners.push((plan.runs.len(), Source::Piece(piece_at)));
            add_piece(problem, (first, watcher), piece, plan);
            piece_at += 1;
        }
    }
    if let Some((who, pieces)) = pole(problem, split, &field.pieces[..piece_at]) {
        plan.jobs.push((who, Role::Searcher, Some(plan.teams.len())));
        let team = plan.teams.len();
        for (k, piece) in pieces.iter().enumerate() {
            owners.push((plan.runs.len(), Source::Piece(piece_at + k)));
            add_piece(problem, (who, None), piece, plan);
            // All pieces of one pole are one team's.
            plan.teams.truncate(team + 1);
            if let Some(run) = plan.runs.last_mut() {
                run.team = team;
            }
        }
    }
    add_lines(problem, (split, field, draft), frozen, &mut owners, plan);
    let standing: Vec<usize> =
        split.spare.iter().copied().filter(|k| plan.jobs.iter().all(|j| j.0 != *k)).collect();
    plan.jobs.extend(standing.into_iter().map(|k| (k, Role::Standby, None)));
    // A standby who has another job after all is not standing by.
    let busy: Vec<usize> = plan.jobs.iter().filter(|j| j.1 != Role::Standby).map(|j| j.0).collect();
    plan.jobs.retain(|j| j.1 != Role::Standby || !busy.contains(&j.0));
    owners
}

/// Adds the lines of a draft with their runs.
fn add_lines(
    problem: &Problem,
    drafted: (&Split, &Field, &Draft),
    frozen: &[(usize, usize)],
    owners: &mut Vec<(usize, Source)>,
    plan: &mut Plan,
) {
    let (split, field, draft) = drafted;
    for (k, line) in split.lines.iter().enumerate() {
        let runs: Vec<(usize, &Placed)> =
            draft.runs.iter().enumerate().filter(|(_, r)| r.line == k).collect();
        let team = match line.busy {
            Some(busy) => frozen.iter().find(|f| f.0 == busy.team).map_or(0, |f| f.1),
            None => plan.teams.len(),
        };
        if runs.is_empty() && line.busy.is_none() {
            plan.jobs.extend(line.members.iter().chain(&line.lookout).map(|&m| (m, Role::Standby, None)));
            continue;
        }
        if line.busy.is_none() {
            let formed = field.starts[k].is_formed();
            add_line(line, runs[0].1, team, plan);
            // It goes on from where it stands.
            plan.teams[team].formed_s = if formed { problem.request.now_s } else { runs[0].1.from_s };
        }
        for (index, placed) in runs {
            owners.push((plan.runs.len(), Source::Run(index)));
            plan.runs.push(written(problem, field.catalogues[k], placed, team));
        }
    }
}

fn add_line(line: &Line, first: &Placed, team: usize, plan: &mut Plan) {
    for &member in &line.members {
        let role = if member == line.leader { Role::LineLeader } else { Role::Searcher };
        plan.jobs.push((member, role, Some(team)));
    }
    plan.jobs.extend(line.lookout.map(|k| (k, Role::Lookout, Some(team))));
    plan.teams.push(Team {
        method: line.shape.method,
        members: line.members.clone(),
        leader: line.leader,
        lookout: line.lookout,
        spacing_m: line.shape.spacing_m,
        width_m: line.shape.width_m(),
        depth_from_m: 0.0,
        depth_to_m: line.shape.limits_m.iter().copied().fold(0.0, f64::max),
        fins: line.shape.fins,
        formed_s: first.from_s,
        forms_at: first.from,
    });
}

fn add_piece(problem: &Problem, who: (usize, Option<usize>), piece: &Piece, plan: &mut Plan) {
    let (from, to, width_m) = match piece.stretch {
        Stretch::Disc { centre, radius_m } => (centre, centre, 2.0 * radius_m),
        Stretch::Strip { from, to, width_m } => (from, to, width_m),
    };
    let leaves_s = problem.person(who.0).map_or(problem.request.now_s, |p| p.from_s);
    plan.runs.push(Run {
        team: plan.teams.len(),
        from,
        to,
        width_m,
        leaves_s: leaves_s.min(piece.from_s),
        from_s: piece.from_s,
        to_s: piece.to_s,
        legs: vec![Leg { sweep: piece.sweep(), depth_m: piece.depth_m }],
        gain: 0.0,
        shore_left: true,
        under_way: false,
    });
    plan.teams.push(Team {
        method: piece.method,
        members: vec![who.0],
        leader: who.0,
        lookout: who.1,
        spacing_m: width_m,
        width_m,
        depth_from_m: 0.0,
        depth_to_m: piece.depth_m,
        fins: false,
        formed_s: piece.from_s,
        forms_at: from,
    });
}

/// A run in words of the plan.
fn written(problem: &Problem, catalogue: &Catalogue, placed: &Placed, team: usize) -> Run {
    let lane = &catalogue.lanes[placed.lane];
    let method = catalogue.shape.method;
    let chances = problem.chances[method.index()];
    let width_m = catalogue.shape.width_m();
    let legs = placed
        .order()
        .zip(&placed.times)
        .map(|(k, &(from_s, to_s))| {
            let leg = catalogue.legs[k];
            let (near, far) = (lane.origin + lane.along * leg.from_m, lane.origin + lane.along * leg.to_m);
            let (from, to) = if placed.forth { (near, far) } else { (far, near) };
            Leg {
                sweep: Sweep {
                    method,
                    stretch: Stretch::Strip { from, to, width_m },
                    steer_m: steer_m(leg.roped),
                    firm: chances.firm,
                    rough: chances.rough,
                    from_s,
                    to_s,
                },
                depth_m: leg.depth_m,
            }
        })
        .collect();
    Run {
        team,
        from: placed.from,
        to: placed.to,
        width_m,
        leaves_s: placed.leaves_s,
        from_s: placed.from_s,
        to_s: placed.to_s,
        legs,
        gain: 0.0,
        // Members are listed from the shore side; the lane says on which hand the shore lies going forth.
        shore_left: lane.shore_left == placed.forth,
        under_way: false,
    }
}

/// Value, gains of runs, and chances by time.
fn price(
    problem: &Problem,
    draft: Option<(&Split, &Field, &Draft)>,
    owners: &[(usize, Source)],
    plan: &mut Plan,
) {
    let mut events: Vec<(f64, f64)> = Vec::new();
    let mut gains = vec![0.0; plan.runs.len()];
    if let Some((_, field, draft)) = draft {
        plan.price = draft.price;
        plan.value =
            evaluate(problem, &field.catalogues, &field.pieces, &draft.runs, |at_s, gain, source| {
                events.push((at_s, gain));
                if let Some(&(run, _)) = owners.iter().find(|owner| owner.1 == source) {
                    gains[run] += gain;
                }
            });
    }
    for (run, gain) in plan.runs.iter_mut().zip(gains) {
        if !run.under_way {
            run.gain = gain;
        }
    }
    tell_times(problem.request.now_s, &events, plan);
}

/// Chances by time, from the finds in the order they come: (s, mass).
pub(super) fn tell_times(now_s: f64, events: &[(f64, f64)], plan: &mut Plan) {
    plan.found_by = FOUND_AT_S
        .iter()
        .map(|&after_s| {
            (
                after_s,
                events
                    .iter()
                    .filter(|e| e.0 <= now_s + after_s)
                    .map(|e| e.1)
                    .fold(0.0, |a, b| a + b)
                    .min(1.0),
            )
        })
        .collect();
    plan.reaches = [0.5, 0.8]
        .iter()
        .map(|&share| {
            let mut sum = 0.0;
            let at = events.iter().find(|e| {
                sum += e.1;
                sum >= share
            });
            (share, at.map(|e| e.0))
        })
        .collect();
}
