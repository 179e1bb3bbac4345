//! The course of a search: numbers keep, what is under way keeps, odd reports change nothing, heads come first.

mod common;

use common::*;
use measure::{Bearing, Seed, Spot};
use proptest::prelude::*;
use search::{
    Alarm, AlarmKind, Method, Missing, Seen, Sighting, WitnessClass,
    course::{Course, State, Told},
    plan::Role,
    told::{Happening, Newcomer, Report},
};

fn sighting(by: &str, east: f64, north: f64) -> Sighting {
    Sighting {
        by: by.into(),
        class: WitnessClass::Guard,
        seen: Seen::Point { spot: Spot::new(east, north), error_m: Some(6.0), stood: None },
        heading: None::<Bearing>,
        from_s: -150.0,
        to_s: -90.0,
        went_under: true,
        talked_with: Vec::new(),
    }
}

fn told(reports: Vec<Report>, now_s: Option<f64>) -> Told {
    Told {
        alarm: Alarm {
            kind: AlarmKind::SeenGoingUnder,
            at_s: 52_327.0,
            missing: Missing { height_m: 1.4, swimmer: Some(false) },
            sightings: vec![sighting("Tom", 70.0, 34.0)],
        },
        reports,
        now_s,
        seed: Seed(3),
        particles: 3_000,
        effort: 1,
    }
}

fn reports(list: &[(f64, Happening)]) -> Vec<Report> {
    list.iter()
        .enumerate()
        .map(|(k, (at_s, happening))| Report { at_s: *at_s, happening: happening.clone(), line: k + 1 })
        .collect()
}

fn follow(world: &World, list: &[(f64, Happening)], now_s: Option<f64>) -> Course {
    Course::follow(&world.setting(), &told(reports(list), now_s))
}

fn open(course: &Course, method: Method) -> &search::course::Begun {
    let found = course.begun.iter().find(|b| b.team.method == method && b.ended_s.is_none());
    found.unwrap_or_else(|| panic!("no {method:?} line is under way: {:?}", course.begun.len()))
}

/// A moment by which the first lines have left.
const LEFT_S: f64 = 60.0;

#[test]
fn a_dive_that_is_short_holds_every_order_until_the_recount() {
    let world = beach(7, 3_000);
    let start = follow(&world, &[], Some(LEFT_S));
    let line = open(&start, Method::Dive);
    let (number, down) = (line.number, line.team.members.len());
    let made = |up| Happening::DiveMade { order: number, up: Some(up) };
    let short = follow(&world, &[(70.0, made(down - 1))], None);
    assert_eq!(short.state, State::CountShort { order: number, up: down - 1, down });
    assert!(short.orders(&world.setting()).is_empty());
    assert!(short.sweeps.is_empty(), "a dive that is short counts for nothing");
    let back = follow(&world, &[(70.0, made(down - 1)), (80.0, Happening::BackIn)], None);
    assert!(matches!(back.state, State::CountShort { .. }), "nobody goes in on an open count");
    let out = Happening::AllOut { reason: "thunder".into() };
    let both = follow(&world, &[(70.0, made(down - 1)), (80.0, out), (90.0, Happening::BackIn)], None);
    assert!(matches!(both.state, State::CountShort { .. }), "all out does not clear a count");
    let cleared = follow(&world, &[(70.0, made(down - 1)), (85.0, made(down))], None);
    assert_eq!(cleared.state, State::Searching);
    assert!(cleared.said.iter().any(|s| s.contains("recount")), "{:?}", cleared.said);
}

#[test]
fn the_kth_dive_counts_the_kth_leg_and_the_last_one_ends_the_order() {
    let world = beach(7, 3_000);
    let start = follow(&world, &[], Some(LEFT_S));
    let line = open(&start, Method::Dive);
    let (number, down, legs) = (line.number, line.team.members.len(), line.run.legs.clone());
    let list: Vec<(f64, Happening)> = (0..legs.len())
        .map(|k| (70.0 + 20.0 * k as f64, Happening::DiveMade { order: number, up: Some(down) }))
        .collect();
    for k in 0..legs.len() {
        let course = follow(&world, &list[..=k], None);
        let stretches: Vec<_> = course.sweeps.iter().map(|s| s.stretch).collect();
        let expect: Vec<_> = legs[..=k].iter().map(|l| l.sweep.stretch).collect();
        assert_eq!(stretches, expect, "after dive {}", k + 1);
        let begun = course.begun.iter().find(|b| b.number == number).expect("the order");
        assert_eq!(begun.ended_s.is_some(), k + 1 == legs.len());
    }
}

#[test]
fn posts_are_said_once() {
    let world = beach(7, 3_000);
    let start = follow(&world, &[], None);
    let at_once = start.orders(&world.setting());
    assert!(at_once.iter().any(|o| o.post == Some(Role::First)));
    assert!(at_once.iter().any(|o| o.post == Some(Role::Lead)));
    let moving = follow(&world, &[], Some(LEFT_S));
    let number = moving.begun.iter().find(|b| b.team.method != Method::Alone).expect("a line").number;
    let later = follow(&world, &[(120.0, Happening::LaneWalked { order: number })], None);
    for order in later.orders(&world.setting()) {
        assert!(order.post != Some(Role::First), "the marker again: {}", order.words);
        assert!(!order.words.contains("call 112"), "the call again: {}", order.words);
    }
}

#[test]
fn newcomers_are_told_and_the_lead_stays() {
    let world = beach(7, 3_000);
    let lead = |c: &Course| c.plan.jobs.iter().find(|j| j.1 == Role::Lead).map(|j| j.0);
    let before = follow(&world, &[], None);
    let came = Newcomer {
        member: water::Member { lead: true, lookout: true, ..member("Zoe", 1.7) },
        at: Some("Tower".into()),
    };
    let after = follow(&world, &[(90.0, Happening::PeopleCame(vec![came.clone(), came]))], None);
    assert_eq!(lead(&before), lead(&after));
    assert_eq!(after.day.crew.len(), 8, "nobody is added twice");
    assert!(after.plan.jobs.iter().any(|j| j.0 == 7), "{:?}", after.plan.jobs);
}

#[test]
fn a_line_that_is_too_small_comes_out() {
    let world = beach(5, 3_000);
    let start = follow(&world, &[], Some(LEFT_S));
    let line = start.begun.iter().find(|b| b.team.members.len() > 1).expect("a line").clone();
    let name = |k: usize| world.day.crew[k].name.clone();
    let names: Vec<String> = line.team.members[1..].iter().map(|&k| name(k)).collect();
    let after = follow(&world, &[(LEFT_S, Happening::PeopleLeft(names.clone()))], None);
    let begun = after.begun.iter().find(|b| b.number == line.number).expect("the order");
    assert!(begun.ended_s.is_some() && begun.stopped_short);
    assert_eq!(begun.run, line.run, "what was ordered stays on record");
    assert!(after.said.iter().any(|s| s.contains("too few")), "{:?}", after.said);
    for gone in line.team.members[1..].iter() {
        assert!(after.plan.jobs.iter().all(|j| j.0 != *gone), "{} is planned with", name(*gone));
    }
}

#[test]
fn an_unknown_order_changes_nothing() {
    let world = beach(7, 3_000);
    let plain = follow(&world, &[(50.0, Happening::ShoreChecked)], None);
    let odd = follow(
        &world,
        &[(50.0, Happening::ShoreChecked), (50.0, Happening::DiveMade { order: 99, up: Some(2) })],
        None,
    );
    assert_eq!(plain.begun.len(), odd.begun.len());
    assert_eq!(plain.plan, odd.plan);
    assert!(odd.said.iter().any(|s| s.contains("order 99")), "{:?}", odd.said);
}

#[test]
fn a_witness_who_puts_it_right_counts_once_and_moves_the_marker() {
    let world = beach(5, 3_000);
    let other = Happening::Witness(sighting("tom", 95.0, 55.0));
    let course = follow(&world, &[(40.0, other)], None);
    assert_eq!(course.alarm.sightings.len(), 1);
    assert!(course.said.iter().any(|s| s.contains("move the marker")), "{:?}", course.said);
    let third = follow(&world, &[(40.0, Happening::Witness(sighting("Kim", 71.0, 34.0)))], None);
    assert_eq!(third.alarm.sightings.len(), 2);
}

#[test]
fn long_after_the_last_word_lanes_are_overdue_and_orders_are_for_now() {
    let world = beach(5, 3_000);
    let course = follow(&world, &[], Some(7_200.0));
    assert!(course.said.iter().any(|s| s.contains("no word for")), "{:?}", course.said);
    assert!(course.orders(&world.setting()).iter().all(|order| order.at_s >= 7_200.0));
}

/// Everything a screen shows of a search.
fn shown(course: &Course, world: &World) -> String {
    let Course { plan, state, now_s, numbers, begun, sweeps, .. } = course;
    format!(
        "{plan:?} {state:?} {now_s} {numbers:?} {begun:?} {sweeps:?} {:?}",
        course.orders(&world.setting())
    )
}

// shows: PL-16
#[test]
fn report_by_report_is_the_same_search_as_the_replay_from_the_start() {
    let world = beach(8, 3_000);
    let list = [
        (70.0, Happening::Contact { order: Some(2), note: "a bottle".into() }),
        (95.0, Happening::SurfaceLooked),
        (140.0, Happening::DiveMade { order: 2, up: None }),
        (150.0, Happening::ShoreChecked),
        (210.0, Happening::Witness(sighting("Kay", 80.0, 40.0))),
        (300.0, Happening::LaneWalked { order: 3 }),
        (320.0, Happening::PeopleLeft(vec!["Ben".into()])),
        (400.0, Happening::AllOut { reason: "thunder".into() }),
        (500.0, Happening::BackIn),
        (640.0, Happening::StoppedHere { order: 4, metres: Some(6.0) }),
    ];
    let setting = world.setting();
    let told = told(reports(&list), Some(700.0));
    let mut live = Course::open(&setting, &told);
    for (k, report) in told.reports.iter().enumerate() {
        // A screen that asks in between, twice, changes nothing.
        live.pass_to(report.at_s - 11.0);
        live.pass_to(report.at_s - 11.0);
        live.report(&setting, &told, report);
        let replay = Course::follow(
            &setting,
            &Told { reports: told.reports[..=k].to_vec(), now_s: None, ..told.clone() },
        );
        // What is overdue is said by the replay alone, for its own last moment.
        assert!(live.said.iter().all(|line| replay.said.contains(line)));
        assert_eq!(shown(&live, &world), shown(&replay, &world), "after report {}", k + 1);
    }
}

fn happening() -> impl Strategy<Value = Happening> {
    let order = 1_usize..9;
    prop_oneof![
        order.clone().prop_map(|order| Happening::LaneWalked { order }),
        (order.clone(), 0_usize..7).prop_map(|(order, up)| Happening::DiveMade { order, up: Some(up) }),
        order.clone().prop_map(|order| Happening::DiveMade { order, up: None }),
        (order.clone(), 0.0..40.0_f64)
            .prop_map(|(order, m)| Happening::StoppedHere { order, metres: Some(m) }),
        order.clone().prop_map(|order| Happening::StoppedHere { order, metres: None }),
        order.prop_map(|order| Happening::Contact { order: Some(order), note: "a log".into() }),
        Just(Happening::ShoreChecked),
        Just(Happening::SurfaceLooked),
        (40.0..110.0_f64, 5.0..90.0_f64).prop_map(|(e, n)| Happening::Witness(sighting("Kim", e, n))),
        Just(Happening::PeopleCame(vec![Newcomer { member: member("Zoe", 1.7), at: None }])),
        (0_usize..6).prop_map(|k| Happening::PeopleLeft(vec![crew(6)[k].name.clone()])),
        Just(Happening::AllOut { reason: "thunder".into() }),
        Just(Happening::BackIn),
        Just(Happening::BackIn),
        Just(Happening::Found),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 12, ..ProptestConfig::default() })]

    /// Any reports: no panic, masses sum to one, and what has begun is the same in every longer file.
    #[test]
    fn numbers_and_orders_under_way_are_the_same_in_every_longer_file(
        steps in prop::collection::vec((0.0..90.0_f64, happening()), 1..7),
        late_s in 0.0..400.0_f64,
    ) {
        let world = beach(6, 1_500);
        let mut at_s = 0.0;
        let list: Vec<(f64, Happening)> = steps
            .into_iter()
            .map(|(step_s, what)| { at_s += step_s; (at_s, what) })
            .collect();
        let whole = follow(&world, &list, Some(at_s + late_s));
        let m = whole.belief.masses;
        prop_assert!((m.bottom + m.afloat + m.ashore + m.elsewhere - 1.0).abs() < 1e-12);
        for k in 0..list.len() {
            // With a `now` between this report and the next, too: somebody looked at the orders then.
            let next_s = list.get(k).map_or(at_s, |(s, _)| *s);
            let part = follow(&world, &list[..k], Some(next_s));
            for begun in &part.begun {
                let same = whole.begun.iter().find(|b| b.number == begun.number);
                prop_assert!(same.is_some_and(|b| b.run == begun.run), "order {} changed", begun.number);
            }
        }
        let mut numbers: Vec<usize> = whole.begun.iter().map(|b| b.number).collect();
        numbers.sort_unstable();
        numbers.dedup();
        prop_assert_eq!(numbers.len(), whole.begun.len());
    }
}
