//! Plans with people as they are: who comes later, who has dived already, who is cold, who is short, who drops out.

mod common;

use common::*;
use measure::{Seed, Spot};
use search::{
    Alarm, AlarmKind, Method, Missing, Seen, Sighting, WitnessClass,
    course::{Course, Told},
    plan::{Plan, Request, check::check, plan},
    told::{Happening, Newcomer, Report},
};
use std::collections::BTreeMap;

/// A plan that the checker finds nothing wrong with.
fn sound(world: &World) -> Plan {
    let request = world.request();
    let plan = plan(&request);
    assert_eq!(check(&plan, &request).violations, Vec::new());
    plan
}

/// When the first line of a method begins to search.
fn first_line_s(plan: &Plan) -> f64 {
    let lines = plan.runs.iter().filter(|run| plan.teams[run.team].members.len() > 1);
    lines.map(|run| run.from_s).fold(f64::INFINITY, f64::min)
}

fn told(world: &World, effort: u64) -> Told {
    let seen = Seen::Point { spot: world.last_seen, error_m: Some(7.0), stood: None };
    Told {
        alarm: Alarm {
            kind: AlarmKind::SeenGoingUnder,
            at_s: 52_327.0,
            missing: Missing { height_m: 1.4, swimmer: Some(false) },
            sightings: vec![Sighting {
                by: "Tom".into(),
                class: WitnessClass::Guard,
                seen,
                heading: None,
                from_s: -150.0,
                to_s: -90.0,
                went_under: true,
                talked_with: Vec::new(),
            }],
        },
        reports: Vec::new(),
        now_s: None,
        seed: Seed(3),
        particles: 4_000,
        effort,
    }
}

/// A search in which every lane and every dive is reported at the end of its time, for so long; `meanwhile` is
/// reported when its time has come.
fn carried_out(world: &World, until_s: f64, meanwhile: &[(f64, Happening)]) -> Course {
    let (setting, told) = (world.setting(), told(world, 1));
    let mut course = Course::open(&setting, &told);
    let mut rest = meanwhile.iter();
    let mut news = rest.next();
    loop {
        let due = |b: &&search::course::Begun| b.ended_s.is_none();
        let next = course.begun.iter().filter(due).min_by(|a, b| a.run.to_s.total_cmp(&b.run.to_s));
        let begins = course.plan.runs.iter().filter(|r| !r.under_way && r.leaves_s > course.now_s);
        let begins_s = begins.map(|run| run.leaves_s).fold(f64::INFINITY, f64::min);
        let ends_s = next.map_or(f64::INFINITY, |b| b.run.to_s.max(course.now_s));
        if let Some((at_s, happening)) = news.filter(|(at_s, _)| *at_s <= ends_s.min(begins_s)) {
            course.report(&setting, &told, &Report { at_s: *at_s, happening: happening.clone(), line: 1 });
            news = rest.next();
            continue;
        }
        let at_s = ends_s.min(begins_s);
        if !at_s.is_finite() || at_s > until_s {
            course.pass_to(until_s);
            return course;
        }
        match next.filter(|_| ends_s <= begins_s) {
            Some(begun) => {
                let happening = Happening::LaneWalked { order: begun.number };
                course.report(&setting, &told, &Report { at_s, happening, line: 1 });
            }
            None => course.pass_to(at_s),
        }
    }
}

/// Every dive of everybody, in the order they begin: (from, to) by crew index.
fn dives(course: &Course) -> BTreeMap<usize, Vec<(f64, f64)>> {
    let mut all: BTreeMap<usize, Vec<(f64, f64)>> = BTreeMap::new();
    for begun in course.begun.iter().filter(|b| b.team.method == Method::Dive) {
        for &who in &begun.team.members {
            let legs = begun.run.legs.iter().map(|leg| (leg.sweep.from_s, leg.sweep.to_s));
            all.entry(who).or_default().extend(legs);
        }
    }
    all.values_mut().for_each(|one| one.sort_by(|a, b| a.0.total_cmp(&b.0)));
    all
}

// shows: PL-20
#[test]
fn nobody_waits_for_one_who_comes_later() {
    let mut world = beach(8, 20_000);
    world.crew[7].from_s = 600.0;
    let plan = sound(&world);
    let mut without = world.clone();
    without.crew[7].out = true;
    let alone = sound(&without);
    assert!(first_line_s(&plan) <= first_line_s(&alone) + 5.0, "a line waits {:.0} s", first_line_s(&plan));
    assert!(plan.value >= 0.99 * alone.value, "{} with, {} without", plan.value, alone.value);
    assert!(plan.jobs.iter().any(|job| job.0 == 7), "{:?}", plan.jobs);
    assert!(plan.notes.iter().any(|note| note.contains("Ben 14:48:40")), "{:?}", plan.notes);
}

// shows: PL-20
#[test]
fn those_who_come_at_five_minutes_search_from_then() {
    let mut world = beach(9, 20_000);
    for crew in &mut world.crew[6..] {
        crew.from_s = 300.0;
    }
    let plan = sound(&world);
    let theirs =
        |run: &&search::plan::Run| plan.teams[run.team].members.iter().any(|who| (6..9).contains(who));
    let first_s = plan.runs.iter().filter(theirs).map(|run| run.from_s).fold(f64::INFINITY, f64::min);
    assert!((300.0..500.0).contains(&first_s), "they begin at {first_s:.0} s");
    assert!(first_line_s(&plan) < 120.0, "a line waits {:.0} s", first_line_s(&plan));
    let mut without = world.clone();
    without.crew[6..].iter_mut().for_each(|crew| crew.out = true);
    assert!(plan.value > sound(&without).value);
    // Nobody is called before they are there.
    for order in search::orders::orders(&plan, &world.setting(), 0.0) {
        let late = order.people.iter().any(|who| (6..9).contains(who));
        assert!(!late || order.run.is_none() || order.at_s >= 300.0, "{:?}", order);
    }
}

// shows: PL-20
#[test]
fn those_who_come_are_in_a_line_by_the_end_of_the_lane() {
    let came = |name: &str| Newcomer { member: member(name, 1.7), at: Some("Tower".into()) };
    let world = beach(5, 10);
    let news = [(200.0, Happening::PeopleCame(vec![came("Zoe"), came("Yan")]))];
    let course = carried_out(&world, 700.0, &news);
    let searched = course.begun.iter().any(|b| b.team.members.iter().any(|&who| who >= 5));
    assert!(searched, "{:?}", course.begun.iter().map(|b| b.team.members.clone()).collect::<Vec<_>>());
}

// shows: PL-21
#[test]
fn dives_are_counted_from_plan_to_plan() {
    for (people, water_c) in [(4, 21.0), (6, 18.0)] {
        let mut world = beach(people, 10);
        world.day.water_c = water_c;
        // Deep water, so that there is nothing to do but dive.
        world.ground = ground(150, 120, |s| if s.north < 8.0 { -0.5 } else { 2.0 });
        let course = carried_out(&world, 1_700.0, &[]);
        let all = dives(&course);
        assert!(all.values().any(|one| one.len() > 9), "{people}: too few dives to show anything: {all:?}");
        for (who, one) in all {
            let mut made = 0;
            for pair in one.windows(2) {
                let (under_s, rest_s) = (pair[0].1 - pair[0].0, pair[1].0 - pair[0].1);
                made = if rest_s >= 300.0 - 1e-6 { 0 } else { made + 1 };
                assert!(made < 8, "{who} dives nine times and more without relief");
                let least_s = if made >= 5 { 2.0 * under_s } else { under_s.max(20.0) };
                assert!(
                    made == 0 || rest_s >= least_s - 1e-6,
                    "{who} rests {rest_s:.0} s, due {least_s:.0} s"
                );
            }
        }
    }
}

// shows: PL-21
#[test]
fn a_turn_in_cold_water_ends_from_plan_to_plan() {
    let mut world = beach(7, 10);
    world.day.water_c = 12.0;
    let course = carried_out(&world, 1_500.0, &[]);
    for who in 0..7 {
        // Who poles stands on a dock, out of the water.
        let wet = |b: &&search::course::Begun| b.team.method != Method::Pole;
        let mine = course.begun.iter().filter(|b| b.team.members.contains(&who)).filter(wet);
        let mut spans: Vec<(f64, f64)> = mine.map(|b| (b.run.from_s, b.run.to_s)).collect();
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut since_s = f64::NAN;
        for (k, &(from_s, to_s)) in spans.iter().enumerate() {
            if k == 0 || from_s - spans[k - 1].1 >= 600.0 {
                since_s = from_s;
            }
            assert!(to_s - since_s <= 600.0 + 1e-6, "{who} is in for {:.0} s: {spans:?}", to_s - since_s);
        }
    }
}

/// Somebody tired: what their line does under way stands, and they are in nothing that is planned anew.
#[test]
fn one_who_drops_out_is_in_no_new_run() {
    let world = beach(7, 20_000);
    let mut before = sound(&world);
    let now_s = 110.0;
    for run in &mut before.runs {
        run.under_way = run.from_s <= now_s && run.to_s > now_s;
    }
    let busy = before.runs.iter().find(|r| r.under_way && before.teams[r.team].members.len() > 1);
    let gone = before.teams[busy.expect("a line is under way").team].members[0];
    let mut crew = world.crew.clone();
    crew[gone].out = true;
    let request = Request { now_s, before: Some(&before), crew: &crew, ..world.request() };
    let next = plan(&request);
    assert_eq!(check(&next, &request).violations, Vec::new());
    let sent = |run: &search::plan::Run| !run.under_way && next.teams[run.team].members.contains(&gone);
    assert!(!next.runs.iter().any(sent), "{:?}", next.runs);
    // And the checker would see it.
    let request = Request { crew: &crew, now_s: 0.0, ..world.request() };
    let mut bad = before.clone();
    bad.runs.iter_mut().for_each(|run| run.under_way = false);
    assert!(check(&bad, &request).violations.iter().any(|v| v.rule == "person"));
}

// shows: PL-10, PL-22
#[test]
fn the_tallest_wade_outermost_and_a_swap_is_seen() {
    let mut world = beach(8, 20_000);
    for (k, m) in world.day.crew.iter_mut().enumerate() {
        m.height_m = [1.7, 1.7, 1.95, 1.52, 1.66, 1.8, 1.48, 1.75][k];
        m.dive_m = None;
    }
    world.site.limits.wade_depth_m = 2.0;
    let plan = sound(&world);
    let mut seen = 0;
    for (index, team) in plan.teams.iter().enumerate().filter(|(_, t)| t.method == Method::Wade) {
        let height = |k: &usize| world.day.crew[*k].height_m;
        assert!(team.members.windows(2).all(|pair| height(&pair[0]) <= height(&pair[1])), "{team:?}");
        let mut swapped = plan.clone();
        swapped.teams[index].members.reverse();
        let broken = check(&swapped, &world.request()).violations;
        seen += usize::from(broken.iter().any(|v| v.rule == "depth"));
    }
    assert!(seen > 0, "no lane lies where the short may not stand");
    assert!(plan.last_seen == Spot::new(70.0, 34.0));
}

/// A line that has ended its lane is called by its leader, and does not form again.
#[test]
fn a_line_that_stands_goes_on_without_forming() {
    let mut seen = 0;
    for crew in 5..=11 {
        let world = beach(crew, 10);
        let (setting, told) = (world.setting(), told(&world, 1));
        let mut course = Course::open(&setting, &told);
        course.pass_to(100.0);
        let open = course.begun.iter().filter(|b| b.ended_s.is_none() && b.team.members.len() > 1);
        let line = open.min_by(|a, b| a.run.to_s.total_cmp(&b.run.to_s)).expect("a line under way").clone();
        let at_s = line.run.to_s;
        let happening = Happening::LaneWalked { order: line.number };
        course.report(&setting, &told, &Report { at_s, happening, line: 1 });
        let leader = &world.day.crew[line.team.leader].name;
        let (plan, members) = (&course.plan, &line.team.members);
        let on = plan.runs.iter().find(|run| !run.under_way && plan.teams[run.team].members == *members);
        // Where other lines are worth more now, it is parted; then there is nothing to see here.
        let Some(next) = on else { continue };
        seen += 1;
        assert!(next.from_s < at_s + 60.0, "it begins {:.0} s later", next.from_s - at_s);
        let said = course.orders(&setting);
        let own = said.iter().find(|o| o.people == *members && o.run.is_some()).expect("its order");
        let again = own.words.starts_with(&format!("{leader}'s line: the same lane again."));
        assert!(again || own.words.starts_with(&format!("{leader}'s line: next lane.")), "{}", own.words);
    }
    assert!(seen > 1, "only {seen} lines searched on");
}
