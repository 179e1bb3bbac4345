//! The turns of a search: out and back, practice that becomes real, found, somebody else, several missing, command passes.

mod desk;

use desk::Desk;
use incident::report::{CareStep, Comer, Report, Role, Where, WhyLeft, WhyOut};
use incident::screen::{LaneState, Stage};
use measure::Spot;
use search::{AlarmKind, Method};

fn running(desk: &Desk) -> Vec<(usize, [u64; 4])> {
    let lanes = desk.screen("a").map.lanes;
    let of =
        |l: &incident::screen::Lane| [l.from.east, l.from.north, l.to.east, l.to.north].map(f64::to_bits);
    // A first guard's own moment ends by the clock, when the line forms.
    let line = |l: &&incident::screen::Lane| l.state == LaneState::Running && l.method != "alone";
    lanes.iter().filter(line).map(|l| (l.order, of(l))).collect()
}

#[test]
fn new_facts_leave_running_orders_as_they_are() {
    let (mut desk, _) = Desk::at_work(11);
    let before = running(&desk);
    assert!(before.len() >= 2);
    let facts = [
        desk::place(2, Spot::new(10.0, 40.0)),
        desk::ago(2, 200.0, 260.0),
        Report::KindTold { kind: AlarmKind::SeenGoingUnder },
        Report::MissingTold {
            missing: 1,
            height_m: Some(1.1),
            swimmer: Some(false),
            words: Some("Boy, 9".into()),
        },
        Report::CurrentMeasured { from: Spot::new(-5.0, 20.0), to: Spot::new(-5.0, 32.0), seconds: 60.0 },
        Report::ShoreChecked { place: Some("Changing rooms".into()) },
        Report::SurfaceLooked,
        Report::Contact { order: None, note: "a log".into() },
        Report::PeopleCame { people: vec![comer("Aiko", None), comer("", Some(4))] },
    ];
    for fact in facts {
        desk.wait(2);
        desk.send("a", fact);
        let now = running(&desk);
        assert!(before.iter().all(|lane| now.contains(lane)), "{before:?} {now:?}");
    }
    let screen = desk.screen("a");
    assert!(screen.missing[0].words.starts_with("Boy, 9") && screen.map.seen.len() == 2);
    assert!(
        screen.people.iter().any(|p| p.name == "Aiko") && screen.people.iter().any(|p| p.name == "tag 4")
    );
    let looked: Vec<bool> = screen.ashore.iter().map(|place| place.looked_ms.is_some()).collect();
    assert_eq!(looked.iter().filter(|l| **l).count(), 1);
}

fn comer(name: &str, tag: Option<u32>) -> Comer {
    Comer {
        name: name.into(),
        height_m: Some(1.7),
        wade: true,
        dive_m: Some(4.0),
        lookout: true,
        tag,
        at: None,
    }
}

#[test]
fn all_out_and_back_in() {
    let (mut desk, dive) = Desk::at_work(11);
    desk.role("g", Role::Gate);
    desk.send("g", Report::AllOut { why: WhyOut::Thunder });
    let screen = desk.screen("a");
    assert_eq!((screen.stage, screen.say.len()), (Stage::AllOut, 0));
    assert!(screen.first_words.lines[1].contains("Not counted out yet"), "{:?}", screen.first_words);
    desk.send("a", Report::CountedOut { people: vec![] });
    assert!(desk.screen("a").first_words.lines[1].starts_with("Every searcher is counted out"));
    // A lane that was held up is reported late, with its metres.
    desk.send("a", Report::StoppedHere { order: dive.order, metres: Some(5.0) });
    assert_eq!(desk.refused("g", Report::BackIn), "I104");
    desk.wait(300);
    desk.send("a", Report::BackIn);
    let screen = desk.screen("a");
    assert_eq!(screen.stage, Stage::Searching);
    assert!(!screen.say.is_empty());
}

#[test]
fn what_is_told_while_everybody_is_out_gives_orders_when_they_go_back_in() {
    let mut desk = Desk::new(6);
    desk.send("a", Report::SwimmerMissing { practice: false });
    desk.send("a", Report::AllOut { why: WhyOut::Thunder });
    desk.send("a", desk::place(1, Spot::new(-12.0, 24.0)));
    desk.send("a", desk::ago(1, 60.0, 120.0));
    let screen = desk.screen("a");
    assert_eq!((screen.stage, screen.say.len()), (Stage::AllOut, 0));
    desk.wait(240);
    desk.send("a", Report::BackIn);
    let screen = desk.screen("a");
    assert_eq!(screen.stage, Stage::Searching);
    assert!(!screen.say.is_empty() && screen.map.dots.len() == 600);
}

#[test]
fn practice_becomes_real_and_searchers_are_counted_first() {
    let mut desk = Desk::new(8);
    desk.send("a", Report::SwimmerMissing { practice: true });
    assert!(desk.screen("a").practice && desk.screen("a").shouts[0].contains("practice"));
    desk.send("a", desk::place(1, Spot::new(-12.0, 24.0)));
    desk.send("a", desk::ago(1, 0.0, 60.0));
    desk.say_all("a");
    desk.wait(120);
    desk.role("v", Role::Viewer);
    desk.send("v", Report::ThisIsReal);
    for device in ["a", "v"] {
        let screen = desk.screen(device);
        assert!(!screen.practice && screen.first_words.over == "THIS IS REAL", "{:?}", screen.first_words);
        assert!(screen.say.is_empty());
    }
    assert_eq!(desk.refused("v", Report::ThisIsReal), "I108");
    desk.send("a", Report::CountedOut { people: vec![] });
    let screen = desk.screen("a");
    assert_eq!(screen.stage, Stage::Searching);
    assert!(screen.log.iter().any(|line| line.words.starts_with("PRACTICE")), "the entry is kept");
}

#[test]
fn found_somebody_else_then_them() {
    let (mut desk, _) = Desk::at_work(11);
    desk.send("a", Report::SurfaceLooked);
    let shares = desk.screen("a").shares;
    desk.send("a", Report::Found { missing: None });
    let screen = desk.screen("a");
    assert_eq!(screen.stage, Stage::Found);
    assert!(
        screen
            .care
            .as_ref()
            .is_some_and(|care| !care.still_in.is_empty() && care.of == "1 of 1 missing found")
    );
    assert_eq!(screen.first_words.lines[0], "Surfaced");
    desk.send("a", Report::NotThem);
    let screen = desk.screen("a");
    assert_eq!((screen.stage, screen.care.is_none()), (Stage::Searching, true));
    assert_eq!(screen.shares, shares, "everything is kept");
    desk.wait(100);
    desk.send("a", Report::Found { missing: Some(1) });
    desk.send("a", Report::Care { step: CareStep::Surfaced, done: true });
    desk.send("a", Report::Care { step: CareStep::Surfaced, done: false });
    assert!(desk.screen("a").care.unwrap().steps[0].at_ms.is_none());
    for step in [CareStep::Surfaced, CareStep::OutOfWater, CareStep::Identified, CareStep::HandedOver] {
        desk.wait(20);
        desk.send("a", Report::Care { step, done: true });
    }
    assert_eq!(desk.screen("a").stage, Stage::Found);
    desk.send("a", Report::CountedOut { people: vec![] });
    let screen = desk.screen("a");
    assert_eq!((screen.stage, screen.ended_at_ms.is_some()), (Stage::Ended, true));
    // The next alarm is another incident of the same log.
    desk.wait(600);
    desk.three_touches("a");
    assert_eq!(desk.state.incidents, 2);
    assert!(desk.screen("a").say.len() > 2 && desk.screen("a").missing.len() == 1);
}

#[test]
fn several_missing_are_searched_for_together_and_one_by_one() {
    let (mut desk, _) = Desk::at_work(11);
    let lone = desk.screen("a");
    assert_eq!(desk.refused("a", missing(3)), "I110");
    desk.send("a", missing(2));
    let Report::Sighting { number, class, stood, went_under, talked_with, ago, .. } = desk::sighting(2)
    else {
        unreachable!()
    };
    let place = Some(Where::Point { spot: Spot::new(-45.0, 40.0), error_m: Some(3.0) });
    desk.send(
        "a",
        Report::Sighting { number, place, ago, class, stood, went_under, talked_with, missing: Some(2) },
    );
    desk.send("a", desk::ago(2, 60.0, 90.0));
    let both = desk.screen("a");
    let near = |screen: &incident::Screen| {
        screen
            .map
            .dots
            .iter()
            .filter(|d| (f64::from(d[0]) + 45.0).hypot(f64::from(d[1]) - 40.0) < 15.0)
            .count()
    };
    let (few, many) = (near(&lone), near(&both));
    assert!(many > few + 100, "about half of the dots stand for the second: {few} then {many}");
    let sum: f64 = both.shares.iter().map(|s| s.share).sum();
    assert!((sum - 1.0).abs() < 1e-9);
    desk.send("a", Report::Found { missing: Some(2) });
    let screen = desk.screen("a");
    assert_eq!(screen.stage, Stage::Searching, "one is missing still");
    assert!(screen.care.is_some() && near(&screen) < few + 50);
    assert_eq!(desk.refused("a", Report::Found { missing: Some(2) }), "I110");
    desk.send("a", Report::FoundAshore { missing: 1, place: Some("Kiosk".into()) });
    assert_eq!(desk.state.incident.as_ref().unwrap().still_missing(), 0);
}

fn missing(number: u32) -> Report {
    Report::MissingTold { missing: number, height_m: None, swimmer: None, words: None }
}

#[test]
fn command_passes_and_no_more_orders_come_from_here() {
    let (mut desk, dive) = Desk::at_work(11);
    desk.wait(300);
    desk.send("a", Report::Services { here: false });
    desk.send("a", Report::Services { here: true });
    desk.send("a", Report::CommandPassed { to: "Fire officer".into() });
    let screen = desk.screen("a");
    assert_eq!((screen.stage, screen.say.len()), (Stage::CommandPassed, 0));
    assert!(screen.first_words.over.contains("Fire officer"));
    assert!(screen.first_words.lines[0].starts_with("Count out before divers or boats go in"));
    assert_eq!(desk.refused("a", Report::SaidIt { order: dive.order }), "I107");
    assert_eq!(desk.refused("a", Report::Widen), "I107");
    desk.send("a", Report::CountedOut { people: vec![] });
    desk.send("a", Report::Note { words: "boat launched".into() });
    desk.send("a", desk::place(3, Spot::new(0.0, 30.0)));
    desk.send("a", Report::Found { missing: Some(1) });
    let screen = desk.screen("a");
    assert_eq!(screen.stage, Stage::CommandPassed);
    assert!(screen.care.is_some() && screen.say.is_empty());
    desk.send("a", Report::StoodDown { reason: "handed to the services".into() });
    assert_eq!(desk.screen("a").stage, Stage::Ended);
}

#[test]
fn a_search_is_spread_only_when_somebody_says_so() {
    let (mut desk, _) = Desk::at_work(11);
    let before = desk.screen("a").map.dots;
    desk.send("a", Report::Widen);
    let after = desk.screen("a").map.dots;
    assert_ne!(before, after);
    let far = |dots: &[[f32; 2]]| dots.iter().filter(|d| (d[0] + 12.0).hypot(d[1] - 24.0) > 25.0).count();
    assert!(far(&after) > far(&before), "{} then {}", far(&before), far(&after));
}

#[test]
fn who_drops_out_leaves_the_line_and_the_lead_hears_it() {
    let (mut desk, dive) = Desk::at_work(11);
    let lookout = dive.lookout.expect("a dive line has a lookout");
    desk.send("a", Report::PeopleLeft { people: vec![lookout], why: WhyLeft::Unwell });
    let screen = desk.screen("a");
    let name = desk.names.person(lookout);
    assert!(
        screen.said.iter().any(|w| w.contains(&name) && w.contains("without a lookout")),
        "{:?}",
        screen.said
    );
    assert!(!screen.lines.iter().any(|line| line.order == dive.order));
}

#[test]
fn nobody_saw_them_and_nobody_knows_when() {
    let mut desk = Desk::new(3);
    desk.send("a", Report::SwimmerMissing { practice: false });
    let Report::Sighting { number, class, stood, went_under, talked_with, missing, .. } = desk::sighting(1)
    else {
        unreachable!()
    };
    let ago = Some(incident::report::Ago { from_s: 0.0, to_s: 3600.0 });
    desk.send(
        "a",
        Report::Sighting {
            number,
            place: Some(Where::Nowhere),
            ago,
            class,
            stood,
            went_under,
            talked_with,
            missing,
        },
    );
    let screen = desk.screen("a");
    assert_eq!(screen.stage, Stage::Searching);
    assert!(!screen.say.is_empty() && screen.map.dots.len() == 600);
    assert!(screen.said.iter().any(|w| w.contains("nobody saw them")), "{:?}", screen.said);
}

#[test]
fn three_guards_and_one_device() {
    let mut desk = Desk::new(3);
    let quiet = desk.screen("a").first_words;
    assert_eq!(quiet.lines[0], "In charge: Ines");
    desk.three_touches("a");
    let screen = desk.screen("a");
    assert!(screen.first_words.over.starts_with("Say next, to"), "{:?}", screen.first_words);
    let may = &screen.you.may;
    for name in ["said_it", "headcount", "lane_walked", "all_out", "found", "people_came", "command_passed"] {
        assert!(may.iter().any(|m| m == name), "one device does everything: {name} is not in {may:?}");
    }
    desk.say_all("a");
    let screen = desk.screen("a");
    assert!(screen.quiet_until_ms.is_some_and(|ms| ms > desk.now_ms + 30_000), "{:?}", screen.quiet_until_ms);
    let words = &screen.first_words;
    assert!(
        words.over.starts_with("Nothing to say until") || words.over == "Nothing to say now",
        "{words:?}"
    );
    assert!(
        desk.state
            .incident
            .as_ref()
            .unwrap()
            .orders
            .values()
            .all(|k| { k.shown.method != Some(Method::Dive) || k.shown.lookout.is_some() })
    );
}
