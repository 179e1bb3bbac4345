//! First orders for a place: the same every time, only what is done first, kept until the live plan is worth more.

mod common;

use common::*;
use measure::{Seed, Spot};
use search::{
    plan::{Request, check::check, plan},
    zero::{Morning, Place, Stands, at_posts, cells, hold, order_zero},
};

const MORNING: Morning = Morning { alarm_at_s: 52_200.0, missing_height_m: 1.4, seed: Seed(5) };

// shows: PL-19
#[test]
fn a_card_holds_the_first_lane_of_each_line_and_is_the_same_every_time() {
    let world = beach(8, 10);
    let place = Place::cell(Spot::new(70.0, 30.0));
    let card = order_zero(&world.setting(), &place, MORNING);
    assert!(card.orders[0].words.contains("Drop the marker"), "{}", card.orders[0].words);
    let mut teams: Vec<usize> =
        card.orders.iter().filter_map(|order| order.run).map(|run| card.plan.runs[run].team).collect();
    let lines = teams.len();
    teams.sort_unstable();
    teams.dedup();
    assert!(lines > 1 && teams.len() == lines, "one order a line: {teams:?}");
    assert_eq!(card, order_zero(&world.setting(), &place, MORNING));
    // Nobody on the map, nobody in the crew: a card all the same.
    let empty = order_zero(&beach(0, 10).setting(), &Place::cell(Spot::new(-500.0, 9.0)), MORNING);
    assert!(!empty.orders.is_empty());
}

// shows: PL-19
#[test]
fn a_card_stands_until_the_live_plan_is_worth_more_or_somebody_is_missing() {
    let world = beach(8, 10);
    let place = Place::cell(Spot::new(70.0, 30.0));
    let card = order_zero(&world.setting(), &place, MORNING);
    let crew = at_posts(&world.setting());
    let live = |spot: Spot, spread: f64, crew: &[search::plan::Crew]| {
        let belief = belief(&world.ground, &[(spot, spread, 1.0)], 20_000);
        let request = Request { belief: &belief, crew, last_seen: spot, ..world.request() };
        let made = plan(&request);
        assert_eq!(check(&made, &request).violations, Vec::new());
        hold(&card, &made, &request)
    };
    // Far from the card: depart, with the gain.
    match live(Spot::new(120.0, 40.0), 6.0, &crew).stands {
        Stands::Depart { gain, why } => assert!(gain > 0.1 && !why.is_empty(), "{gain} {why}"),
        keep @ Stands::Keep { .. } => panic!("{keep:?}"),
    }
    // Somebody of the card is not there.
    let mut fewer = crew.clone();
    fewer[card.plan.teams[0].members[0]].out = true;
    let held = live(Spot::new(70.0, 30.0), 8.0, &fewer);
    assert!(matches!(held.stands, Stands::Depart { gain, .. } if gain.is_infinite()) && held.plan.is_none());
    // Its own belief: it stands.
    let request = Request { crew: &crew, last_seen: place.last_seen, ..world.request() };
    assert_eq!(check(&card.plan, &request).violations, Vec::new());
    let held = hold(&card, &card.plan, &request);
    assert!(matches!(held.stands, Stands::Keep { .. }), "{:?}", held.stands);
    // What stands begins with the card's own lanes, none of them begun yet, and passes every check as a new plan.
    let plan = held.plan.unwrap();
    assert_eq!(check(&plan, &request).violations, Vec::new());
    for run in &card.first(0.0).runs {
        assert!(plan.runs.iter().any(|other| other.legs == run.legs && !other.under_way), "{run:?}");
    }
    // Called a minute late, every moment is a minute later.
    let late = card.first(60.0);
    assert!(late.runs.iter().zip(&card.first(0.0).runs).all(|(a, b)| a.from_s == b.from_s + 60.0));
    let later = Request { now_s: 60.0, ..request };
    assert_eq!(check(&late, &later).violations, Vec::new());
}

#[test]
fn cells_are_the_wet_ones_within_the_outline() {
    let world = beach(3, 10);
    let water::Shape::Area(rings) = square(20.0, 0.0, 40.0) else { panic!("a square is an area") };
    let all = cells(&world.setting(), &rings);
    // Four columns of four rows, of which the lowest, at 5 m, is on the edge of the land or on it.
    assert!((12..=16).contains(&all.len()), "{all:?}");
    assert!(all.iter().all(|spot| (20.0..60.0).contains(&spot.east) && spot.north < 40.0));
    assert!(cells(&world.setting(), &[]).is_empty());
}
