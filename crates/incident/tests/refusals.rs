//! What cannot be is refused with a code, a reason and the way out; every code is explained.

mod desk;

use desk::Desk;
use incident::report::{Ago, Comer, Report, Role, Sent, Where};
use incident::{State, decide};
use measure::{Bearing, Spot};

#[test]
fn what_cannot_be_is_refused() {
    let mut desk = Desk::new(11);
    assert_eq!(desk.refused("a", Report::AllOut { why: incident::report::WhyOut::Cold }), "I105");
    desk.three_touches("a");
    assert_eq!(desk.refused("a", Report::SwimmerMissing { practice: false }), "I106");
    let place = |place: Where| {
        let Report::Sighting { number, ago, class, stood, went_under, talked_with, missing, .. } =
            desk::sighting(2)
        else {
            unreachable!()
        };
        Report::Sighting { number, place: Some(place), ago, class, stood, went_under, talked_with, missing }
    };
    let far = Where::Point { spot: Spot::new(1e9, f64::NAN), error_m: None };
    assert_eq!(desk.refused("a", place(far)), "I116");
    assert_eq!(desk.refused("a", place(Where::Mark { name: "Jeti".into() })), "I117");
    assert_eq!(desk.refused("a", place(Where::Area { name: "Jetty end".into() })), "I117");
    let bearing = Where::Bearing { from: "Jetty".into(), bearing: Bearing::new(340.0), range_m: Some(-3.0) };
    assert_eq!(desk.refused("a", place(bearing)), "I116");
    assert_eq!(desk.refused("a", desk::ago(2, 100.0, 50.0)), "I115");
    assert_eq!(desk.refused("a", desk::ago(2, f64::NAN, 50.0)), "I115");
    assert_eq!(desk.refused("a", desk::ago(0, 0.0, 50.0)), "I114");
    assert_eq!(desk.refused("a", Report::MetresWalked { order: 2, metres: 4000.0 }), "I127");
    assert_eq!(desk.refused("a", Report::SaidIt { order: 500 }), "I120");
    assert_eq!(desk.refused("a", Report::LaneWalked { order: 901 }), "I124");
    let still = Report::CurrentMeasured { from: Spot::default(), to: Spot::new(9.0, 0.0), seconds: 0.0 };
    assert_eq!(desk.refused("a", still), "I112");
    assert_eq!(desk.refused("a", Report::Note { words: " \n ".into() }), "I113");
    assert_eq!(desk.refused("a", Report::CountedOut { people: vec![9999] }), "I130");
    let giant = Comer {
        name: "Giant".into(),
        height_m: Some(3.0),
        wade: true,
        dive_m: None,
        lookout: false,
        tag: None,
        at: None,
    };
    assert_eq!(desk.refused("a", Report::PeopleCame { people: vec![giant] }), "I111");
    desk.role("r", Role::Recorder);
    assert_eq!(desk.refused("r", Report::Widen), "I104");
    desk.role("v", Role::Viewer);
    assert_eq!(desk.refused("v", Report::Found { missing: None }), "I104");
}

#[test]
fn times_that_cannot_be_are_refused() {
    let mut desk = Desk::new(11);
    desk.three_touches("a");
    let at = |ms: i64| (Report::SurfaceLooked, Some(desk::ALARM_MS + ms));
    for ms in [-1000, 3_600_000, -90_000_000] {
        let (report, when) = at(ms);
        assert_eq!(desk.try_send("a", report, when).unwrap_err().code, "I102");
    }
    // A phone's clock that runs half a minute ahead is no reason to lose its report.
    let (report, _) = at(0);
    let when = Some(desk.now_ms + 30_000);
    desk.try_send("a", report, when).unwrap();
    assert_eq!(desk.entries.iter().rev().find(|e| e.device == "a").unwrap().happened_at_ms, desk.now_ms);
}

#[test]
fn a_deputy_takes_over_from_any_device() {
    let mut desk = Desk::new(11);
    desk.three_touches("a");
    desk.role("a", Role::Lead);
    desk.role("b", Role::Recorder);
    assert_eq!(desk.refused("b", Report::Widen), "I104");
    desk.role("b", Role::Lead);
    assert_eq!((desk.state.sender("a").role, desk.state.sender("b").role), (Role::Deputy, Role::Lead));
    assert!(desk.screen("c").log.iter().any(|line| line.words.ends_with("takes the lead")));
    desk.send("b", Report::Widen);
}

#[test]
fn report_numbers_are_plain() {
    let sent = |id: &str| Sent { report_id: id.into(), happened_at_ms: None, report: Report::SurfaceLooked };
    for id in ["", "a b", "<x>", &"x".repeat(65)] {
        let state = State::default();
        assert_eq!(decide(&state, &state.sender("a"), &sent(id), 0).unwrap_err().code, "I101");
    }
    let state = State::default();
    assert_eq!(decide(&state, &state.sender("a"), &sent("a-1"), 0).unwrap_err().code, "I103");
}

#[test]
fn every_code_is_explained() {
    let page = include_str!("../../../docs/problems.md");
    let source = [
        include_str!("../src/decide/mod.rs"),
        include_str!("../src/decide/roles.rs"),
        include_str!("../src/decide/told.rs"),
        include_str!("../src/decide/lines.rs"),
        include_str!("../src/decide/people.rs"),
        include_str!("../src/decide/ends.rs"),
    ]
    .concat();
    let mut codes: Vec<&str> = source
        .match_indices("\"I1")
        .map(|(at, _)| &source[at + 1..at + 5])
        .filter(|code| code[1..].bytes().all(|b| b.is_ascii_digit()))
        .collect();
    codes.sort_unstable();
    codes.dedup();
    assert!(codes.len() > 15);
    for code in codes {
        assert!(page.contains(&format!("| {code} |")), "docs/problems.md does not explain {code}");
    }
}

#[test]
fn a_sighting_is_put_right_by_its_number() {
    let mut desk = Desk::new(11);
    desk.three_touches("a");
    let before = desk.screen("a").map.seen[0].spot;
    desk.wait(20);
    desk.send("a", desk::place(1, Spot::new(5.0, 30.0)));
    let screen = desk.screen("a");
    assert_eq!(screen.map.seen.len(), 1);
    assert_ne!(screen.map.seen[0].spot, before);
    let Report::Sighting { ago, .. } = desk::ago(1, 30.0, 40.0) else { unreachable!() };
    assert_eq!(ago, Some(Ago { from_s: 30.0, to_s: 40.0 }));
}
