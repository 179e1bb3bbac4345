//! Where the plan has everybody at a moment: lines at their front, lookouts at their post.

use super::scene::{Person, SearchScene};
use super::signs::Doing;
use measure::Spot;
use search::Method;
use search::plan::{Role, Run, Team};

/// People as the plan places them now; a line is drawn at the front of the run it is in or goes to next.
pub fn from_plan(scene: &SearchScene) -> Vec<Person> {
    let mut people = Vec::new();
    for (index, team) in scene.plan.teams.iter().enumerate() {
        let own = || scene.plan.runs.iter().filter(|r| r.team == index);
        let run = own().find(|r| r.under_way && r.to_s > scene.now_s).or_else(|| own().find(|r| r.under_way));
        match run {
            Some(run) => line(scene, team, (run, front(run, scene.now_s)), &mut people),
            None if team.forms_at.is_finite() => {
                let Some(doing) = doing(team.method) else { continue };
                people.push(Person { name: crew(scene, team), spot: team.forms_at, doing });
            }
            None => {}
        }
        if let Some(lookout) = team.lookout {
            lookout_at(scene, (team, run), lookout, &mut people);
        }
    }
    for &(member, role, team) in &scene.plan.jobs {
        if role == Role::Lookout && team.is_none() {
            if let Some(spot) = post_of(scene, member) {
                people.push(Person { name: name(scene, member), spot, doing: Doing::LooksOut });
            }
        }
    }
    people
}

/// How far a run has come: 0 to 1, by the legs that have ended.
pub fn progress(run: &Run, now_s: f64) -> f64 {
    if run.legs.is_empty() {
        let whole = run.to_s - run.from_s;
        return if whole > 0.0 { ((now_s - run.from_s) / whole).clamp(0.0, 1.0) } else { 0.0 };
    }
    run.legs.iter().filter(|leg| leg.sweep.to_s <= now_s).count() as f64 / run.legs.len() as f64
}

fn front(run: &Run, now_s: f64) -> Spot {
    run.from.lerp(run.to, progress(run, now_s))
}

fn doing(method: Method) -> Option<Doing> {
    match method {
        Method::Wade => Some(Doing::Wades),
        Method::Dive | Method::Alone => Some(Doing::Dives),
        Method::Look | Method::Pole => None,
    }
}

/// One sign a searcher across the line, at most twelve; the leader's name beside the middle one.
fn line(scene: &SearchScene, team: &Team, (run, at): (&Run, Spot), people: &mut Vec<Person>) {
    let Some(doing) = doing(team.method) else { return };
    let along = (run.to - run.from).unit().unwrap_or(Spot::new(0.0, 1.0));
    let count = team.members.len().clamp(1, 12);
    let gap = if count > 1 { (0.9 * run.width_m / count as f64).max(0.0) } else { 0.0 };
    for k in 0..count {
        let off = (k as f64 - 0.5 * (count as f64 - 1.0)) * gap;
        let name = if k == count / 2 { crew(scene, team) } else { String::new() };
        people.push(Person { name, spot: at + along.left() * off, doing });
    }
}

/// A lookout at their own post, else beside the start of the line.
fn lookout_at(scene: &SearchScene, (team, run): (&Team, Option<&Run>), member: usize, to: &mut Vec<Person>) {
    let beside = run.map(|r| {
        let along = (r.to - r.from).unit().unwrap_or(Spot::new(0.0, 1.0));
        r.from - along * 4.0 + along.left() * (0.5 * r.width_m)
    });
    let spot = post_of(scene, member).or(beside).unwrap_or(team.forms_at);
    if spot.is_finite() {
        to.push(Person { name: name(scene, member), spot, doing: Doing::LooksOut });
    }
}

fn post_of(scene: &SearchScene, member: usize) -> Option<Spot> {
    let post = &scene.setting.day.crew.get(member)?.post;
    scene.setting.site.named(post).filter(|_| !post.trim().is_empty()).map(|f| f.shape.middle())
}

fn name(scene: &SearchScene, member: usize) -> String {
    scene.setting.day.crew.get(member).map(|m| m.name.clone()).unwrap_or_default()
}

/// `Tove's line, 7`, or the name alone where somebody searches alone.
pub fn crew(scene: &SearchScene, team: &Team) -> String {
    let leader = name(scene, team.leader);
    match team.members.len() {
        0 | 1 => leader,
        count if leader.is_empty() => format!("line of {count}"),
        count => format!("{leader}, line of {count}"),
    }
}
