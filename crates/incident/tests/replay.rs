//! A thought is a function of the log: followed live, followed late or replayed, it is the same.

mod desk;

use desk::{Desk, SMALL, tarn_with};
use incident::report::{Report, WhyOut};
use incident::{State, Thinker, Thought, Water, chain};
use measure::Spot;

/// A search of a few minutes with late entries, a short count, all out, a second witness.
fn story() -> Desk {
    let (mut desk, dive) = Desk::at_work(11);
    desk.send("a", Report::TheyAreDown { order: dive.order });
    desk.wait(14);
    desk.send("a", Report::Headcount { order: dive.order, up: Some(dive.people.len() as u32 - 1) });
    for &person in &dive.people {
        desk.send("b", Report::FaceSeen { person, seen: true });
    }
    desk.send("a", Report::ShortLifted { order: dive.order });
    desk.wait(30);
    desk.send("a", desk::place(2, Spot::new(-3.0, 35.0)));
    desk.send("a", desk::ago(2, 200.0, 240.0));
    let wade = desk.line(search::Method::Wade);
    desk.now_ms = desk.now_ms.max(wade.ends_ms) + 90_000;
    // Typed late from a paper slate, with its own time.
    desk.try_send("a", Report::LaneWalked { order: wade.order }, Some(wade.ends_ms)).unwrap();
    desk.send("a", Report::AllOut { why: WhyOut::Cold });
    desk.wait(120);
    desk.send("a", Report::BackIn);
    desk.wait(20);
    desk.send("a", Report::Note { words: "wind has dropped".into() });
    desk
}

fn bits(thought: &Thought) -> String {
    format!("{thought:?}")
}

#[test]
fn every_prefix_of_the_log_gives_the_thought_that_was_live() {
    let live = story();
    let (site, day) = tarn_with(11);
    let water = Water::new(site, day.stage_m);
    let mut state = State::default();
    let mut slow = Thinker::new(water.clone(), SMALL);
    let lines = live.lines.len();
    for (k, line) in live.lines.iter().enumerate() {
        state.apply(&chain::entry(line).unwrap());
        // Somebody who looks in now and then sees what one sees who looked all the time.
        if k % 7 == 3 || k + 1 == lines {
            let late = slow.follow(&state, 0);
            let fresh = Thinker::new(water.clone(), SMALL).follow(&state, 0);
            assert_eq!(bits(&late), bits(&fresh), "entry {}", k + 1);
        }
    }
    assert_eq!(state.head, live.state.head);
    let mut thinker = Thinker::new(water, SMALL);
    assert_eq!(bits(&thinker.follow(&state, 0)), bits(&live.thought));
    let again = Desk::screen(&live, "a");
    let replayed =
        incident::screen(&state, &thinker.follow(&state, 0), &state.sender("a"), &live.names, live.now_ms);
    assert_eq!(serde_json::to_string(&again).unwrap(), serde_json::to_string(&replayed).unwrap());
}

#[test]
fn a_lane_typed_late_counts_from_when_it_was_walked() {
    let live = story();
    let screen = live.screen("a");
    let line = screen.log.iter().find(|line| line.words.contains("lane walked")).expect("it is in the log");
    assert!(line.recorded_ms.is_some_and(|at| at - line.happened_ms == 90_000), "{line:?}");
    let walked = live.entries.iter().find_map(|entry| match entry.event {
        incident::Event::LaneWalked { order } => Some(order),
        _ => None,
    });
    let lane = screen.map.lanes.iter().find(|lane| Some(lane.order) == walked).unwrap();
    assert_eq!(lane.state, incident::screen::LaneState::Searched);
}

#[test]
fn a_log_altered_anywhere_is_seen_at_the_first_line_that_does_not_hold() {
    let live = story();
    let lines: Vec<&str> = live.lines.iter().map(String::as_str).collect();
    let head = chain::verify(lines.iter().copied()).unwrap();
    assert_eq!((head.seq, head.digest), (live.state.seq, live.state.head));
    assert_eq!(chain::head_code(&head.digest), live.screen("a").head_code);
    for k in [0, 5, lines.len() / 2] {
        let altered = lines[k].replacen("\"recorded_at_ms\":1", "\"recorded_at_ms\":2", 1);
        assert_ne!(altered, lines[k]);
        let mut copy = lines.clone();
        copy[k] = &altered;
        let broken = chain::verify(copy.iter().copied()).unwrap_err();
        assert_eq!(broken.line, k + 2, "the line after the altered one does not follow from it");
        let mut short = lines.clone();
        short.remove(k);
        assert_eq!(chain::verify(short.iter().copied()).unwrap_err().line, k + 1);
    }
    let cut = chain::verify(lines[..4].iter().copied()).unwrap();
    assert_ne!(chain::head_code(&cut.digest), live.screen("a").head_code, "a log cut short has another code");
}

#[test]
fn names_can_be_forgotten_and_the_chain_still_holds() {
    let live = story();
    let whole = live.lines.join("\n");
    for name in ["Ines", "Oskar", "Leila", "Wren"] {
        assert!(!whole.contains(name), "{name} stands in the log");
    }
    let nobody = incident::Names::default();
    let screen = incident::screen(&live.state, &live.thought, &live.state.sender("a"), &nobody, live.now_ms);
    let text = serde_json::to_string(&screen).unwrap();
    assert!(text.contains("guard ") && text.contains("missing person 1") && !text.contains("Ines"));
    assert!(chain::verify(live.lines.iter().map(String::as_str)).is_ok());
}

#[test]
fn numbers_stay_small_through_many_plans_and_never_mean_two_orders_that_were_heard() {
    let mut desk = Desk::new(9);
    desk.three_touches("a");
    let lanes = |desk: &Desk| -> std::collections::BTreeMap<usize, [u64; 4]> {
        let cards = desk.thought.cards.values().filter(|card| card.stand != incident::think::Stand::Replaced);
        let ends = |run: &search::plan::Run| {
            [run.from.east, run.from.north, run.to.east, run.to.north].map(f64::to_bits)
        };
        cards.filter_map(|card| card.run.as_ref().map(|(run, _)| (card.number, ends(run)))).collect()
    };
    let first = lanes(&desk).len();
    let mut heard: std::collections::BTreeMap<usize, [u64; 4]> = Default::default();
    for k in 0..20_u32 {
        // What is on the list to be said may be read aloud now.
        let now = lanes(&desk);
        for say in desk.screen("a").say.iter().filter(|say| say.due_ms <= desk.now_ms + 90_000) {
            if let Some(lane) = now.get(&say.order) {
                let known = heard.entry(say.order).or_insert(*lane);
                assert_eq!(known, lane, "order {} was heard for another lane", say.order);
            }
        }
        desk.wait(4);
        desk.send(
            "a",
            desk::place(2, Spot::new(-10.0 + f64::from(k % 5) * 4.0, 20.0 + f64::from(k % 3) * 8.0)),
        );
        desk.send("a", desk::ago(2, 100.0, 130.0 + f64::from(k)));
    }
    let last = lanes(&desk);
    let highest = *last.keys().max().unwrap();
    let spent = heard.len();
    assert!(
        highest <= first.max(last.len()) + spent,
        "{highest} of {} lanes, {spent} heard, after 40 plans",
        last.len()
    );
    // A touch for what the number stood for a moment ago is refused, not counted for what it stands for now.
    let reused = desk.state.incident.as_ref().unwrap().orders.values().find_map(|known| {
        known.other_until_ms.filter(|_| !known.withdrawn).map(|until| (known.shown.order, until))
    });
    let (order, until_ms) = reused.expect("a number went to another lane in twenty plans");
    let refused = desk.try_send("a", Report::SaidIt { order }, Some(until_ms - 500)).unwrap_err();
    assert_eq!(refused.code, "I121");
    desk.wait(5);
    desk.send("a", Report::SaidIt { order });
}
