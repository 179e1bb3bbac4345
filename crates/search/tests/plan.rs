//! Plans for whole waters: base case, larger crews, ceilings, the checker, determinism.

mod common;

use common::*;
use search::{
    Method,
    plan::{Plan, Role, Run, check::check, plan},
};

/// Plans, lets the checker replay it, and compares its figures with the raw particles.
fn checked(world: &World) -> Plan {
    let request = world.request();
    let plan = plan(&request);
    let review = check(&plan, &request);
    assert_eq!(review.violations, Vec::new());
    assert!(plan.value <= plan.ceiling * (1.0 + 1e-12), "{} over {}", plan.value, plan.ceiling);
    assert!(
        (review.value - plan.value).abs() <= 0.04 * plan.value + 1e-9,
        "cells {} particles {}",
        plan.value,
        review.value
    );
    plan
}

fn team_of(plan: &Plan, method: Method) -> Option<&search::plan::Team> {
    plan.teams.iter().find(|team| team.method == method)
}

// shows: PL-3, PL-4
#[test]
fn three_guards_one_device_lead_watches_and_calls() {
    let world = beach(3, 40_000);
    let plan = checked(&world);
    assert!(plan.jobs.contains(&(0, Role::Lead, None)));
    assert!(plan.jobs.iter().any(|job| job.1 == Role::First));
    assert!(plan.value > 0.0);
    // In the water: nobody but the other two, and dives only under the eyes of the lead.
    for team in &plan.teams {
        assert!(!team.members.contains(&0), "{team:?}");
        assert!(team.method != Method::Dive || team.lookout == Some(0), "{team:?}");
    }
    assert!(plan.gaps.iter().any(|gap| gap.why.contains("under the Raft")), "{:?}", plan.gaps);
}

// shows: PL-3
#[test]
fn eleven_guards_wade_and_dive_at_once() {
    let world = beach(11, 200_000);
    let plan = checked(&world);
    let dive = team_of(&plan, Method::Dive).unwrap_or_else(|| panic!("a dive line: {:?}", plan.notes));
    assert!(dive.lookout.is_some());
    assert!(team_of(&plan, Method::Wade).is_some());
    assert!(plan.found_by[2].1 > 0.2, "{:?}", plan.found_by);
}

#[test]
fn more_effort_is_never_worth_less_and_threads_change_nothing() {
    let world = beach(6, 20_000);
    let made = |effort: u64, threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("threads");
        pool.install(|| plan(&search::plan::Request { effort, ..world.request() }))
    };
    let ladder = [1, 4_000, 12_000, 30_000].map(|effort| made(effort, 2));
    for pair in ladder.windows(2) {
        let worth = |plan: &Plan| plan.value - plan.price;
        assert!(worth(&pair[1]) >= worth(&pair[0]) - 1e-12, "{} after {}", worth(&pair[1]), worth(&pair[0]));
        assert!(pair[1].evaluations >= pair[0].evaluations);
    }
    assert!(ladder[3].value > ladder[0].value, "effort bought nothing: {}", ladder[0].value);
    let alone = made(12_000, 1);
    assert_eq!(alone.value.to_bits(), ladder[2].value.to_bits());
    assert_eq!(alone.runs, ladder[2].runs);
}

// shows: PL-17
#[test]
fn fins_are_given_to_whole_lines_and_never_more_than_there_are() {
    for pairs in [0, 2, 3, 5, 12] {
        let mut world = beach(9, 20_000);
        world.day.kit.fins = pairs;
        let plan = checked(&world);
        let worn: usize = plan.teams.iter().filter(|team| team.fins).map(|team| team.members.len()).sum();
        assert!(worn <= pairs as usize, "{worn} of {pairs}");
        let said = search::orders::orders(&plan, &world.setting(), 0.0);
        for team in plan.teams.iter().filter(|team| team.method == Method::Dive) {
            assert!(team.fins || team.members.len() > (pairs as usize - worn), "{team:?} of {pairs} pairs");
            let named =
                said.iter().any(|order| order.words.contains("fins on") && order.people == team.members);
            assert_eq!(named, team.fins, "{pairs}");
        }
        let request = world.request();
        let mut many = plan.clone();
        many.teams.iter_mut().for_each(|team| team.fins = true);
        let broken = check(&many, &request).violations;
        assert!(pairs >= 9 || broken.iter().any(|one| one.rule == "kit"), "{broken:?}");
    }
}

// shows: PL-18
#[test]
fn a_plan_says_why_each_line_begins_where_it_does() {
    let plan = checked(&beach(9, 30_000));
    assert!(!plan.why.is_empty() && plan.why.len() <= plan.teams.len());
    for why in &plan.why {
        let run = &plan.runs[why.run];
        assert_eq!((why.chosen.from, why.chosen.to), (run.from, run.to));
        assert!(why.chosen.found > 0.0 && why.chosen.found <= why.chosen.mass * (1.0 + 1e-9), "{why:?}");
        assert!((why.chosen.seconds - (run.to_s - run.leaves_s)).abs() < 1e-9);
        let other = why.other.expect("a beach has other places to begin");
        assert!(other.from.lerp(other.to, 0.5).distance(run.from.lerp(run.to, 0.5)) >= 6.0);
    }
    // Further orders have a price, and the first of each line has none.
    assert!(plan.price > 0.0 && plan.price < 0.1 * plan.value, "{} of {}", plan.price, plan.value);
}

/// A moment later, nothing new: what was begun goes on, and what was ordered stays ordered.
#[test]
fn without_news_the_orders_stay() {
    let world = beach(8, 30_000);
    let first = plan(&search::plan::Request { effort: 8_000, ..world.request() });
    let now_s = 20.0;
    let mut before = first.clone();
    assert!(before.runs.iter().all(|run| run.to_s > now_s), "nothing is done yet");
    for run in &mut before.runs {
        run.under_way = run.leaves_s <= now_s;
    }
    let bound = |k: usize| {
        let mine = |run: &&search::plan::Run| {
            run.under_way
                && (before.teams[run.team].members.contains(&k) || before.teams[run.team].lookout == Some(k))
        };
        before.runs.iter().find(mine).map(|run| (run.to_s, run.to))
    };
    let mut later = world.clone();
    for crew in &mut later.crew {
        let (from_s, at) = bound(crew.member).unwrap_or((now_s, crew.at));
        (crew.from_s, crew.at) = (from_s.max(now_s), at);
    }
    let again = |world: &World| {
        let request = search::plan::Request {
            now_s,
            before: Some(&before),
            effort: 8_000,
            seed: measure::Seed(99),
            ..world.request()
        };
        let plan = plan(&request);
        assert_eq!(check(&plan, &request).violations, Vec::new());
        plan
    };
    let waiting = |plan: &Plan| -> Vec<(measure::Spot, measure::Spot)> {
        plan.runs.iter().filter(|run| !run.under_way).map(|run| (run.from, run.to)).collect()
    };
    assert!(waiting(&before).len() > 2);
    assert_eq!(waiting(&again(&later)), waiting(&before));
    // A new witness far from what was ordered is worth a change.
    later.belief = belief(&later.ground, &[(measure::Spot::new(120.0, 20.0), 6.0, 1.0)], 30_000);
    assert_ne!(waiting(&again(&later)), waiting(&before));
}

// shows: PL-18
#[test]
fn orders_that_stay_say_why_each_line_begins_its_next_lane() {
    let world = beach(9, 30_000);
    let first = plan(&search::plan::Request { effort: 8_000, ..world.request() });
    let lines = |run: &&Run| matches!(first.teams[run.team].method, Method::Wade | Method::Dive);
    let next = |run: &Run| first.runs.iter().find(|later| later.team == run.team && later.from_s >= run.to_s);
    // The moment at which the first line is at the end of a lane and has another to begin.
    let ended = first.runs.iter().filter(lines).filter(|run| next(run).is_some());
    let done = ended.min_by(|a, b| a.to_s.total_cmp(&b.to_s)).expect("a line with two lanes");
    let (next, now_s) = (next(done).expect("another lane"), done.to_s);
    let mut later = world.clone();
    let mut before = first.clone();
    for run in &mut before.runs {
        run.under_way = run.leaves_s < now_s && run.to_s > now_s;
        let made = |leg: &&search::plan::Leg| leg.sweep.to_s <= now_s;
        run.legs.iter().filter(made).for_each(|leg| later.belief.apply(&leg.sweep));
        if run.under_way {
            run.legs.retain(|leg| leg.sweep.to_s > now_s);
        }
    }
    for crew in &mut later.crew {
        let in_it = |run: &&Run| first.teams[run.team].members.contains(&crew.member);
        let with = |run: &&Run| in_it(run) || first.teams[run.team].lookout == Some(crew.member);
        let begun = || first.runs.iter().filter(|run| run.leaves_s < now_s);
        let last = begun().filter(with).max_by(|a, b| a.to_s.total_cmp(&b.to_s));
        (crew.from_s, crew.at) = last.map_or((now_s, crew.at), |run| (run.to_s.max(now_s), run.to));
        let spent = |method: Method| {
            let mine = || begun().filter(in_it);
            let dives = mine().filter(|run| first.teams[run.team].method == Method::Dive);
            search::plan::Spent {
                method,
                ended_s: mine().map(|run| run.to_s).fold(0.0, f64::max),
                dives: dives.map(|run| run.legs.len()).sum(),
                since_s: mine().map(|run| run.from_s).fold(now_s, f64::min),
            }
        };
        crew.spent = last.filter(in_it).map(|run| spent(first.teams[run.team].method));
    }
    let request = search::plan::Request { now_s, before: Some(&before), effort: 8_000, ..later.request() };
    let kept = plan(&request);
    assert_eq!(check(&kept, &request).violations, Vec::new());
    let waiting = |plan: &Plan| -> Vec<(measure::Spot, measure::Spot)> {
        let waits = |run: &&Run| !run.under_way && run.to_s > now_s;
        plan.runs.iter().filter(waits).map(|run| (run.from, run.to)).collect()
    };
    assert_eq!(waiting(&kept), waiting(&before), "the orders stay");
    let told = |why: &&search::plan::Why| (why.chosen.from, why.chosen.to) == (next.from, next.to);
    let why = kept.why.iter().find(told).unwrap_or_else(|| panic!("of {next:?}: {:?}", kept.why));
    let run = &kept.runs[why.run];
    assert!(!run.under_way && (run.from, run.to) == (next.from, next.to));
    assert!(why.chosen.found > 0.0 && why.chosen.found <= why.chosen.mass * (1.0 + 1e-9), "{why:?}");
    assert!((why.chosen.seconds - (run.to_s - run.leaves_s)).abs() < 1e-9 && why.chosen.seconds > 0.0);
    let other = why.other.expect("a beach has other places to go on");
    assert!(other.from.lerp(other.to, 0.5).distance(run.from.lerp(run.to, 0.5)) >= 6.0 && other.found > 0.0);
    // Told of the lane that each line begins next, and of no line under way.
    for why in &kept.why {
        let mine = |run: &&Run| run.team == kept.runs[why.run].team;
        let soonest = kept.runs.iter().filter(mine).min_by(|a, b| a.from_s.total_cmp(&b.from_s));
        assert!(soonest.is_some_and(|run| !run.under_way && *run == kept.runs[why.run]), "{why:?}");
    }
}
