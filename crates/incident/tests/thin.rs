//! The way from the first touch to the end of a lane.

mod desk;

use desk::Desk;
use incident::report::Report;
use incident::screen::{LaneState, Stage};
use search::Method;

#[test]
fn three_touches_give_orders_in_either_order() {
    for time_first in [false, true] {
        let mut desk = Desk::new(11);
        assert_eq!(desk.screen("a").stage, Stage::Quiet);
        desk.send("a", Report::SwimmerMissing { practice: false });
        let screen = desk.screen("a");
        assert_eq!((screen.stage, screen.say.len()), (Stage::Asking, 0));
        assert!(
            !screen.shouts.is_empty() && screen.map.dots.len() == 600,
            "a first thought is there at once"
        );
        let (a, b) = (desk::place(1, measure::Spot::new(-12.0, 24.0)), desk::ago(1, 60.0, 120.0));
        let (a, b) = if time_first { (b, a) } else { (a, b) };
        desk.wait(4);
        desk.send("a", a);
        assert_eq!(desk.screen("a").stage, Stage::Asking);
        desk.wait(3);
        desk.send("a", b);
        let screen = desk.screen("a");
        assert_eq!(screen.stage, Stage::Searching);
        assert!(
            screen.say.len() >= 4 && screen.first_words.over.starts_with("Say next, to "),
            "{:?}",
            screen.say
        );
        assert!(screen.map.outlines.iter().all(|o| !o.rings.is_empty()));
    }
}

#[test]
fn said_walked_and_counted() {
    let mut desk = Desk::new(11);
    desk.three_touches("a");
    let orders: Vec<usize> = desk.screen("a").say.iter().map(|say| say.order).collect();
    for order in orders {
        desk.wait(5);
        // Only what waits may be said; a plan made anew may have replaced what was on the list before.
        if desk.screen("a").say.iter().any(|say| say.order == order) {
            desk.send("a", Report::SaidIt { order });
        }
    }
    let find = |desk: &Desk, method| {
        let known = desk.state.incident.as_ref().unwrap().orders.values();
        known
            .filter(|k| k.said_ms.is_some() && k.shown.method == Some(method))
            .map(|k| k.shown.clone())
            .next()
    };
    let wade = find(&desk, Method::Wade).expect("somebody wades");
    let dive = find(&desk, Method::Dive).expect("somebody dives");
    desk.now_ms = dive.leaves_ms.max(wade.leaves_ms) + 60_000;
    desk.send("a", Report::TheyAreDown { order: dive.order });
    desk.wait(12);
    desk.send("a", Report::Headcount { order: dive.order, up: Some(dive.people.len() as u32) });
    let strip =
        desk.screen("a").lines.into_iter().find(|line| line.order == dive.order).expect("the line is shown");
    assert_eq!(strip.done, 1);
    desk.now_ms = wade.ends_ms;
    desk.send("a", Report::LaneWalked { order: wade.order });
    let lane = desk.screen("a").map.lanes.into_iter().find(|lane| lane.order == wade.order).unwrap();
    assert_eq!(lane.state, LaneState::Searched);
    assert_eq!(incident::chain::verify(desk.lines.iter().map(String::as_str)).unwrap().seq, desk.state.seq);
}
