//! Orders read aloud: who, from where to where, which way, how far, what at the end.

mod common;

use common::*;
use search::{
    orders::{BREATH_WORDS, Order, cautions, clock, orders},
    plan::plan,
};
use water::Units;

fn told(world: &World) -> Vec<Order> {
    let request = world.request();
    orders(&plan(&request), &world.setting(), request.alarm_at_s)
}

/// Words after the call by name.
fn breath(order: &Order) -> usize {
    order.words.strip_prefix(&order.to).unwrap_or(&order.words).split_whitespace().count() - 1
}

#[test]
fn orders_of_three_begin_with_the_marker_and_name_everybody() {
    let world = beach(3, 20_000);
    let all = told(&world);
    assert!(all[0].words.contains("Drop the marker"), "{}", all[0].words);
    assert!(all[0].words.contains("last seen point"));
    assert_eq!(all[1].to, "Ruth");
    assert!(all[1].words.contains("call 112"), "{}", all[1].words);
}

// shows: PL-13
#[test]
fn an_order_is_one_breath() {
    for people in [2, 3, 5, 8, 11] {
        for order in told(&beach(people, 20_000)) {
            assert!(breath(&order) <= BREATH_WORDS, "{}: {}", breath(&order), order.words);
            assert!(!order.lines.is_empty() && order.lines.iter().all(|l| !l.is_empty()));
        }
    }
}

#[test]
fn feet_are_spoken_where_the_site_wants_feet() {
    let mut world = beach(5, 20_000);
    world.site.units = Units::Feet;
    let all = told(&world);
    assert!(all.iter().any(|o| o.words.contains("feet")), "{all:?}");
    assert!(all.iter().all(|o| !o.words.contains("metre")), "{all:?}");
}

// shows: PL-13
#[test]
fn no_order_says_stop_safe_or_clear_of_the_person() {
    for people in [0, 1, 2, 3, 6, 11] {
        let world = beach(people, 20_000);
        let request = world.request();
        let plan = plan(&request);
        let mut all: Vec<String> =
            orders(&plan, &world.setting(), 0.0).into_iter().map(|o| o.words).collect();
        assert!(!all.is_empty(), "{people} people: no order");
        all.extend(cautions(&plan, &world.setting()));
        all.extend(plan.notes.clone());
        for words in all {
            let low = words.to_lowercase();
            assert!(
                !low.contains("stop") && !low.contains("safe") && !low.contains("not in the water"),
                "{words}"
            );
        }
    }
}

#[test]
fn the_clock_turns_over_midnight() {
    assert_eq!(clock(86_390.0, 15.0), "00:00:05");
    assert_eq!(clock(52_720.0, 9.4), "14:38:49");
}

// Nobody finds "east -12, north 8"; a bearing word and a distance from a named place can be walked.
#[test]
fn a_site_without_marks_is_spoken_of_from_its_origin() {
    let mut site = beach(3, 20_000).site;
    site.features.retain(|feature| feature.kind == water::Kind::Water);
    let near = |east: f64, north: f64| search::orders::near(&site, measure::Spot::new(east, north));
    assert_eq!(near(-12.0, 12.0), "17 metres north-west of the site's origin");
    assert_eq!(near(0.4, 0.3), "the site's origin");
}
