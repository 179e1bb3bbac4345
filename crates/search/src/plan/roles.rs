//! How those who may search are split over lines: lookouts, first guard, divers, waders, looker, who is spare (models L5).

use super::{
    Role, Run, Team,
    lanes::{Shape, look_shape},
    posts::{Posts, is_guard, searching},
    problem::{Person, Problem},
};
use crate::{
    Method,
    lines::{dive_depth, wade_depth},
};
use measure::{Spot, parameters::value};

/// Up to so many searchers, one of them may dive alone rather than nobody.
const SMALL_POOL: usize = 3;
/// Longest lines: voices and eyes reach no farther.
const DIVERS_MOST: usize = 8;
const WADERS_MOST: usize = 12;

/// A line whose run is under way, or that has dived already.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Busy {
    /// When its run ends \[s\].
    pub free_s: f64,
    pub at: Spot,
    /// Dives made in this turn.
    pub dives: usize,
    /// Since when in the water \[s\].
    pub entered_s: f64,
    /// Index of the team in the plan before.
    pub team: usize,
    /// Whether it ends with what is under way: somebody of it cannot go on.
    pub over: bool,
}

/// A line of a split.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Line {
    pub shape: Shape,
    /// Crew indices, shore side first.
    pub members: Vec<usize>,
    pub leader: usize,
    pub lookout: Option<usize>,
    pub busy: Option<Busy>,
}

/// One way to split the people.
#[derive(Clone, Debug)]
pub(super) struct Split {
    pub lines: Vec<Line>,
    /// First guard: crew index, and the named watcher if there is one.
    pub first: Option<(usize, Option<usize>)>,
    /// Whoever has no place in a line: pole looks, standby.
    pub spare: Vec<usize>,
}

/// All splits worth comparing; with `extra` 1 also those that keep one guard back for a pole or a look from above.
///
/// Who comes only later is waited for, or stands by until a plan is made with them, or forms a line of their own.
pub(super) fn splits(problem: &Problem, posts: &Posts, extra: usize) -> Vec<Split> {
    let mut all = Vec::new();
    let base = frozen_lines(problem);
    if posts.lead.is_none() || (posts.pool.is_empty() && base.is_empty()) {
        return all;
    }
    for until_s in waits(problem, posts) {
        let (now, later) = posts.by(problem, until_s);
        let first = all.len();
        divide(problem, &now, (&base, extra), &mut all);
        if later.is_empty() {
            continue;
        }
        for k in first..all.len() {
            let own = later_lines(problem, &later, &all[k]);
            all[k].spare.extend(&later);
            for lines in own {
                let mut split = all[k].clone();
                split.spare.retain(|k| lines.iter().all(|l| !l.members.contains(k) && l.lookout != Some(*k)));
                split.lines.extend(lines);
                all.push(split);
            }
        }
    }
    all.dedup_by(|a, b| a.lines == b.lines && a.spare == b.spare);
    all
}

/// Most moments of somebody's coming that a plan may wait for.
const WAITS_MOST: usize = 3;

/// Until when lines may wait for their people: not at all, or until each of the first who come later, or for all.
fn waits(problem: &Problem, posts: &Posts) -> Vec<f64> {
    let mut comes: Vec<f64> = posts
        .pool
        .iter()
        .chain(&posts.volunteers)
        .filter_map(|&k| problem.person(k))
        .map(|p| p.from_s.max(problem.prompt_s()))
        .collect();
    comes.sort_by(f64::total_cmp);
    // Within half a minute of each other is together.
    let mut all: Vec<f64> = Vec::new();
    for at_s in comes {
        match all.last_mut() {
            Some(last) if at_s <= *last + 30.0 => *last = at_s,
            _ => all.push(at_s),
        }
    }
    if all.len() > WAITS_MOST {
        all.drain(WAITS_MOST - 1..all.len() - 1);
    }
    if all.is_empty() { vec![f64::INFINITY] } else { all }
}

/// Lines that those who come later form among themselves: waders, or divers with a lookout of their own and waders.
fn later_lines(problem: &Problem, later: &[usize], split: &Split) -> Vec<Vec<Line>> {
    let (guards, helpers): (Vec<usize>, Vec<usize>) = later.iter().partition(|&&k| is_guard(problem, k));
    let helpers = Posts { volunteers: helpers, ..Posts::default() };
    let mut all = Vec::new();
    let (wading, _) = waders(problem, &helpers, &guards, (1, 0));
    if !wading.is_empty() {
        all.push(wading);
    }
    // A lookout of theirs, or one who would stand by.
    let Some(lookout) = guards.iter().chain(&split.spare).copied().find(|&k| problem.member(k).lookout)
    else {
        return all;
    };
    let pool: Vec<usize> = guards.iter().copied().filter(|&k| k != lookout).collect();
    let divers = order_divers(problem, &pool);
    if divers.len() >= 2 {
        let (diving, rest) = take_divers(&divers, &pool, divers.len().min(DIVERS_MOST));
        let fins = diving.len() <= fins_left(problem, &split.lines);
        let mut lines = vec![dive_line(problem, (diving, fins), lookout)];
        lines.extend(waders(problem, &helpers, &rest, (1, 0)).0);
        all.push(lines);
    }
    all
}

/// The splits of those who are waited for.
fn divide(problem: &Problem, posts: &Posts, with: (&[Line], usize), all: &mut Vec<Split>) {
    let (base, extra) = with;
    for dive_lines in 0..=2 {
        let Some((watchers, pool)) = post_lookouts(problem, posts, dive_lines) else { break };
        let may_dive = order_divers(problem, &pool);
        for divers in diver_counts(dive_lines, may_dive.len(), pool.len()) {
            let (diving, rest) = take_divers(&may_dive, &pool, divers);
            for (wade_lines, reserve) in [(1, 0), (2, 0), (0, 0), (1, 1)] {
                // Nobody in a wading line is worth a try only where few are there; one held back only where many are.
                let few = pool.len() <= SMALL_POOL;
                if reserve > extra || (reserve > 0 && (few || dive_lines > 1)) || (wade_lines == 0 && !few) {
                    continue;
                }
                let mut lines = base.to_vec();
                for (k, group) in deal(&diving, dive_lines).into_iter().enumerate() {
                    let fins = group.len() <= fins_left(problem, &lines);
                    lines.push(dive_line(problem, (group, fins), watchers[k]));
                }
                let (waders, mut spare) = waders(problem, posts, &rest, (wade_lines, reserve));
                if waders.is_empty() && (wade_lines > 1 || reserve > 0) {
                    continue;
                }
                lines.extend(waders);
                spare.retain(|k| lines.iter().all(|line| !line.members.contains(k)));
                all.push(finish(problem, posts, lines, spare, &watchers));
            }
        }
    }
}

/// Lines under way keep their people, lookout and place.
fn frozen_lines(problem: &Problem) -> Vec<Line> {
    let Some(before) = problem.request.before else { return Vec::new() };
    problem
        .frozen()
        .into_iter()
        .filter(|(_, team)| matches!(team.method, Method::Wade | Method::Dive))
        .filter_map(|(index, team)| {
            let runs: Vec<_> = before.runs.iter().filter(|r| r.team == index).collect();
            let running: Vec<_> = runs.iter().filter(|r| r.under_way).collect();
            let last = running.iter().max_by(|a, b| a.to_s.total_cmp(&b.to_s));
            let dives =
                runs.iter().filter(|r| r.under_way || r.to_s <= problem.request.now_s).map(|r| r.legs.len());
            let spent = || team.members.iter().filter_map(|&k| problem.spent(k));
            let counted = spent().map(|s| s.dives.min(problem.rules.dives_most())).max();
            let dives = if team.method == Method::Dive { counted.unwrap_or_else(|| dives.sum()) } else { 0 };
            // Who searched alone at the marker first has been in the water since then.
            let shares = |r: &&Run| before.teams[r.team].members.iter().any(|k| team.members.contains(k));
            let begun = before.runs.iter().filter(|r| r.under_way).filter(shares);
            let begun_s = begun.map(|r| r.from_s).fold(team.formed_s, f64::min);
            Some(Line {
                shape: shape_of(problem, team)?,
                members: team.members.clone(),
                leader: team.leader,
                lookout: team.lookout,
                busy: Some(Busy {
                    free_s: last.map_or(problem.request.now_s, |r| r.to_s),
                    at: last.map_or(team.forms_at, |r| r.to),
                    dives,
                    entered_s: spent().map(|s| s.since_s).reduce(f64::min).unwrap_or(begun_s),
                    team: index,
                    over: team.members.iter().chain(&team.lookout).any(|&k| problem.person(k).is_none()),
                }),
            })
        })
        .collect()
}

/// The shape of the line that a team of a written plan is; `None` of who searches alone or with a pole.
pub(super) fn shape_of(problem: &Problem, team: &Team) -> Option<Shape> {
    let limits = &problem.setting().site.limits;
    let members = || team.members.iter().map(|&k| problem.member(k));
    let limits_m = match team.method {
        Method::Wade => members().map(|m| wade_depth(m, limits).unwrap_or(0.0)).collect(),
        Method::Dive => members().map(|m| dive_depth(m, limits).unwrap_or(0.0)).collect(),
        Method::Look => vec![look_shape(problem.setting().day.secchi_m)?.1],
        Method::Alone | Method::Pole => return None,
    };
    Some(Shape { method: team.method, limits_m, spacing_m: team.spacing_m, fins: team.fins })
}

/// A lookout for each dive line, and who is left; `None` if there are not enough.
fn post_lookouts(problem: &Problem, posts: &Posts, dive_lines: usize) -> Option<(Vec<usize>, Vec<usize>)> {
    let mut pool = posts.pool.clone();
    let mut watchers = Vec::new();
    if posts.lead_watches && dive_lines > 0 {
        watchers.extend(posts.lead);
    }
    while watchers.len() < dive_lines {
        let least = pool
            .iter()
            .copied()
            .filter(|&k| problem.member(k).lookout)
            .min_by(|&a, &b| searching(problem, a).total_cmp(&searching(problem, b)).then(a.cmp(&b)))?;
        pool.retain(|&k| k != least);
        watchers.push(least);
    }
    Some((watchers, pool))
}

/// Who may dive, deepest first; among equals those who may not wade, then the shorter.
fn order_divers(problem: &Problem, pool: &[usize]) -> Vec<usize> {
    let limits = &problem.setting().site.limits;
    let mut divers: Vec<usize> =
        pool.iter().copied().filter(|&k| dive_depth(problem.member(k), limits).is_some()).collect();
    let key = |k: usize| {
        let m = problem.member(k);
        (-dive_depth(m, limits).unwrap_or(0.0), wade_depth(m, limits).unwrap_or(0.0))
    };
    divers.sort_by(|&a, &b| {
        let (p, q) = (key(a), key(b));
        p.0.total_cmp(&q.0).then(p.1.total_cmp(&q.1)).then(a.cmp(&b))
    });
    if problem.rules.dive_s.is_none() { Vec::new() } else { divers }
}

/// How many dive, for so many dive lines; one alone, under the eyes of a named watcher, only where few are there.
fn diver_counts(dive_lines: usize, divers: usize, pool: usize) -> Vec<usize> {
    let least = if pool <= SMALL_POOL { 1 } else { 2 };
    match dive_lines {
        0 => vec![0],
        1 => (least..=divers.min(DIVERS_MOST)).collect(),
        _ => (4..=divers.min(2 * DIVERS_MOST)).step_by(2).collect(),
    }
}

fn take_divers(ordered: &[usize], pool: &[usize], count: usize) -> (Vec<usize>, Vec<usize>) {
    let diving = ordered[..count].to_vec();
    let rest = pool.iter().copied().filter(|k| !diving.contains(k)).collect();
    (diving, rest)
}

/// Deals people into so many groups, turn by turn, so that the groups are alike.
fn deal(people: &[usize], groups: usize) -> Vec<Vec<usize>> {
    (0..groups).map(|g| people.iter().copied().skip(g).step_by(groups.max(1)).collect()).collect()
}

/// Pairs of fins that no line wears yet: a line is given fins for all or for nobody, since it goes as its slowest goes.
fn fins_left(problem: &Problem, lines: &[Line]) -> usize {
    let worn: usize = lines.iter().filter(|line| line.shape.fins).map(|line| line.members.len()).sum();
    (problem.setting().day.kit.fins as usize).saturating_sub(worn)
}

fn dive_line(problem: &Problem, divers: (Vec<usize>, bool), lookout: usize) -> Line {
    let (mut members, fins) = divers;
    let limits = &problem.setting().site.limits;
    let limit = |k: usize| dive_depth(problem.member(k), limits).unwrap_or(0.0);
    members.sort_by(|&a, &b| limit(a).total_cmp(&limit(b)).then(a.cmp(&b)));
    Line {
        shape: Shape {
            method: Method::Dive,
            limits_m: members.iter().map(|&k| limit(k)).collect(),
            spacing_m: value("spacing_dive_m"),
            fins,
        },
        leader: leader(problem, &members),
        members,
        lookout: Some(lookout),
        busy: None,
    }
}

/// Who leads a line: the first guard of it who may lead, else the first guard of it.
fn leader(problem: &Problem, members: &[usize]) -> usize {
    let guards = || members.iter().copied().filter(|&k| !problem.member(k).volunteer);
    guards().find(|&k| problem.member(k).lead).or_else(|| guards().next()).unwrap_or(members[0])
}

/// Wading lines of the rest, volunteers between two guards, and who is left over.
fn waders(problem: &Problem, posts: &Posts, rest: &[usize], want: (usize, usize)) -> (Vec<Line>, Vec<usize>) {
    let (lines, reserve) = want;
    let limits = &problem.setting().site.limits;
    let limit = |k: usize| wade_depth(problem.member(k), limits).unwrap_or(0.0);
    let mut able: Vec<usize> = rest.iter().copied().filter(|&k| limit(k) > 0.0).collect();
    able.sort_by(|&a, &b| limit(a).total_cmp(&limit(b)).then(a.cmp(&b)));
    able.drain(..reserve.min(able.len()));
    able.truncate(WADERS_MOST * lines);
    let mut volunteers = posts.volunteers.clone();
    if lines == 0 || able.len() < 2 * lines || (lines == 2 && able.len() + volunteers.len() < 6) {
        return (Vec::new(), rest.to_vec());
    }
    let mut all = Vec::new();
    for guards in deal(&able, lines) {
        let room = guards.len() - 1;
        let count = room.min(volunteers.len()).min(WADERS_MOST.saturating_sub(guards.len()));
        let mut between: Vec<usize> = volunteers.drain(..count).collect();
        let mut members = Vec::new();
        for guard in guards {
            members.push(guard);
            // Shore side first: they stand where it is shallow.
            if !between.is_empty() {
                members.push(between.remove(0));
            }
        }
        all.push(Line {
            shape: Shape {
                method: Method::Wade,
                limits_m: members.iter().map(|&k| limit(k)).collect(),
                spacing_m: problem.grip.spacing_m(),
                fins: false,
            },
            leader: leader(problem, &members),
            members,
            lookout: None,
            busy: None,
        });
    }
    (all, rest.iter().copied().filter(|k| !able.contains(k)).chain(volunteers).collect())
}

/// Adds the first guard, and a looker where the water is clear enough.
fn finish(
    problem: &Problem,
    posts: &Posts,
    mut lines: Vec<Line>,
    spare: Vec<usize>,
    watchers: &[usize],
) -> Split {
    let mut spare: Vec<usize> = spare;
    let searching: Vec<usize> = lines
        .iter()
        .filter(|l| l.busy.is_none())
        .flat_map(|l| l.members.iter().copied())
        .chain(spare.iter().copied())
        .collect();
    // With no dive line to watch, a lead who may be lookout watches the first guard for the moment they are alone.
    let watcher = watchers.first().copied().or(posts.lead.filter(|&k| {
        posts.lead_watches || (problem.member(k).lookout && lines.iter().all(|l| l.lookout != Some(k)))
    }));
    let first = if problem.request.before.is_some_and(|plan| plan.jobs.iter().any(|job| job.1 == Role::First))
    {
        None
    } else {
        nearest(problem, &searching).map(|k| (k, watcher))
    };
    let day = problem.setting().day;
    let kit = kit_for(problem, Method::Look, 0);
    let looker = spare.iter().copied().find(|&k| {
        let m = problem.member(k);
        kit && Some(k) != first.map(|f| f.0)
            && !m.volunteer
            && ((m.board && day.kit.boards > 0) || (m.dive_m.is_some() && day.kit.masks > 0))
    });
    if let (Some(looker), Some((half_m, depth_m))) = (looker, look_shape(day.secchi_m)) {
        spare.retain(|&k| k != looker);
        lines.push(Line {
            shape: Shape {
                method: Method::Look,
                limits_m: vec![depth_m],
                spacing_m: 2.0 * half_m,
                fins: false,
            },
            members: vec![looker],
            leader: looker,
            lookout: watcher.or(posts.lead),
            busy: None,
        });
    }
    Split { lines, first, spare }
}

/// Whether a mask, board or pole is left for one more who looks or poles, beside `looking` who look in this split.
pub(super) fn kit_for(problem: &Problem, method: Method, looking: usize) -> bool {
    let kit = &problem.setting().day.kit;
    let (masks, boards, poles) = (kit.masks as usize, kit.boards as usize, kit.poles as usize);
    let frozen = problem.frozen();
    let under_way = |by: Method| frozen.iter().filter(|(_, team)| team.method == by).count();
    let (mut look, mut pole) = (looking + under_way(Method::Look), under_way(Method::Pole));
    if method == Method::Look {
        look += 1
    } else {
        pole += 1
    }
    look <= masks + boards && pole <= masks + poles && look + pole <= masks + boards + poles
}

/// The guard who is first at the last seen point.
fn nearest(problem: &Problem, among: &[usize]) -> Option<usize> {
    let pace = problem.rules.gather_mps;
    let arrives = |p: &Person| p.from_s + p.at.distance(problem.request.last_seen) / pace;
    among
        .iter()
        .filter(|&&k| is_guard(problem, k) && searching(problem, k) > 0.0)
        .filter_map(|&k| problem.person(k))
        .filter(|p| p.spent.is_none() && problem.may_pass(p.at, problem.request.last_seen))
        .min_by(|a, b| arrives(a).total_cmp(&arrives(b)).then(a.member.cmp(&b.member)))
        .map(|p| p.member)
}
