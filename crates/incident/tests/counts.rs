//! Headcounts: hidden numbers, absurd values, short counts on every device.

mod desk;

use desk::Desk;
use incident::report::{Report, Role};
use incident::screen::Stage;
use search::Method;

#[test]
fn the_expected_number_is_nowhere_for_whoever_types() {
    let (mut desk, dive) = Desk::at_work(11);
    desk.role("b", Role::Recorder);
    // A whole count before: its number must not be left on any screen either.
    for _ in 0..2 {
        desk.send("a", Report::TheyAreDown { order: dive.order });
        desk.wait(15);
        for device in ["a", "b"] {
            let screen = desk.screen(device);
            let strip = screen.lines.iter().find(|line| line.order == dive.order).expect("the line is shown");
            assert!(strip.down_since_ms.is_some() && strip.people.is_empty());
            assert!(strip.facts.iter().all(|(name, _)| !name.starts_with("Left to right")));
            assert!(strip.card.under.is_empty() && strip.card.over.is_empty());
            assert!(screen.people.iter().all(|p| p.words.is_empty() && !p.in_water), "{:?}", screen.people);
            assert!(screen.say.iter().all(|say| say.order != dive.order));
            let heads =
                |text: &str| text.contains("heads up") || text.contains("all 2") || text.contains("Count 2");
            assert!(!screen.log.iter().any(|line| heads(&line.words)), "{:?}", screen.log);
            assert!(!screen.say.iter().flat_map(|say| &say.words.lines).any(|line| heads(line)));
        }
        assert!(desk.screen("b").first_words.lines[0].starts_with("What number does"));
        desk.send("b", Report::Headcount { order: dive.order, up: Some(dive.people.len() as u32) });
        desk.wait(15);
    }
}

#[test]
fn absurd_counts_are_refused_without_telling_the_number() {
    let (mut desk, dive) = Desk::at_work(11);
    desk.send("a", Report::TheyAreDown { order: dive.order });
    let many = dive.people.len() as u32 + 1;
    let sent = |up| Report::Headcount { order: dive.order, up: Some(up) };
    for up in [many, 200, u32::MAX] {
        let refusal = desk.try_send("a", sent(up), None).expect_err("too many heads");
        assert_eq!(refusal.code, "I126");
        let words = format!("{refusal}");
        assert!(!words.contains(&format!(" {} ", dive.people.len())), "{words}");
    }
    let wade = desk.line(Method::Wade);
    assert_eq!(desk.refused("a", Report::Headcount { order: wade.order, up: Some(1) }), "I125");
    assert_eq!(desk.refused("a", Report::Headcount { order: 77, up: Some(1) }), "I120");
}

#[test]
fn a_count_that_is_not_called_is_asked_for() {
    let (mut desk, dive) = Desk::at_work(11);
    desk.role("b", Role::Recorder);
    desk.send("b", Report::TheyAreDown { order: dive.order });
    desk.wait(41);
    desk.send("b", Report::Headcount { order: dive.order, up: None });
    for device in ["a", "b"] {
        let screen = desk.screen(device);
        assert!(screen.first_words.over.starts_with("COUNT OVERDUE"), "{:?}", screen.first_words);
        assert!(screen.said[0].starts_with("count overdue"));
    }
    desk.send("b", Report::Headcount { order: dive.order, up: Some(dive.people.len() as u32) });
    assert!(!desk.screen("a").first_words.over.starts_with("COUNT"));
}

#[test]
fn a_short_count_holds_everybody_until_every_face_is_seen() {
    let (mut desk, dive) = Desk::at_work(11);
    desk.role("b", Role::Recorder);
    desk.role("g", Role::Gate);
    desk.role("v", Role::Viewer);
    desk.send("b", Report::TheyAreDown { order: dive.order });
    desk.wait(20);
    desk.send("b", Report::Headcount { order: dive.order, up: Some(dive.people.len() as u32 - 1) });
    for device in ["a", "b", "g", "v"] {
        let screen = desk.screen(device);
        assert_eq!(screen.stage, Stage::CountShort, "{device}");
        let short = screen.short.expect("on every device");
        assert_eq!(short.faces.len(), dive.people.len());
        assert!(screen.say.is_empty() && screen.first_words.over == "STOP");
        assert!(screen.lines.iter().all(|line| line.standing_by == (line.order != dive.order)));
    }
    // A count that comes out full lifts nothing: faces do.
    desk.send("b", Report::Headcount { order: dive.order, up: Some(dive.people.len() as u32) });
    assert_eq!(desk.screen("a").stage, Stage::CountShort);
    assert_eq!(desk.refused("a", Report::ShortLifted { order: dive.order }), "I128");
    assert_eq!(desk.refused("b", Report::TheyAreDown { order: dive.order }), "I108");
    let (last, rest) = dive.people.split_last().unwrap();
    for &person in rest {
        desk.send("g", Report::FaceSeen { person, seen: true });
    }
    let screen = desk.screen("a");
    let name = desk.names.person(*last);
    assert_eq!(screen.first_words.lines[0], format!("{name} not seen yet."));
    let orders = screen.short.unwrap().orders;
    assert!(orders.len() >= 3 && orders[0].lines[0].contains(&name), "{orders:?}");
    assert_eq!(desk.refused("a", Report::ShortLifted { order: dive.order }), "I128");
    desk.send("g", Report::FaceSeen { person: *last, seen: true });
    assert_eq!(desk.refused("g", Report::ShortLifted { order: dive.order }), "I104");
    desk.send("b", Report::ShortLifted { order: dive.order });
    let screen = desk.screen("a");
    assert_eq!((screen.stage, screen.short.is_none()), (Stage::Searching, true));
    // The dive that was short counts for nothing.
    let strip = screen.lines.iter().find(|line| line.order == dive.order).unwrap();
    assert_eq!(strip.done, 0);
}
