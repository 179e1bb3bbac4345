//! Ways a crew searches without a plan, put to the same checker: none may be worth more than the plan.
//!
//! A habit is run by the same teams, formed at the same moment and walking at the same pace; it only orders
//! the water otherwise. Its value is recomputed by the checker from the particles, as the plan's is.

#[path = "../../search/tests/common/mod.rs"]
mod common;

use common::*;
use measure::Spot;
use readiness::habits::{Habit, Patch, by_habit};
use search::plan::{Request, check::check, plan};

/// A bay: deep to the north-east, one vague witness.
fn bay() -> World {
    let mut world = beach(8, 1);
    world.ground = ground(140, 120, |s| (0.03 * (s.north - 6.0) + 0.012 * (s.east - 40.0)).clamp(-1.0, 4.5));
    world.last_seen = Spot::new(60.0, 40.0);
    world.belief = belief(&world.ground, &[(Spot::new(62.0, 42.0), 16.0, 1.0)], 40_000);
    world
}

/// A shelf that is waded, three heaps, five guards.
fn shelf() -> World {
    let mut world = beach(5, 1);
    world.ground = ground(160, 90, |s| ((s.north - 4.0) * 0.03).clamp(-1.0, 2.4));
    world.last_seen = Spot::new(80.0, 28.0);
    let heaps = [
        (Spot::new(80.0, 28.0), 7.0, 0.5),
        (Spot::new(110.0, 30.0), 9.0, 0.3),
        (Spot::new(50.0, 40.0), 8.0, 0.2),
    ];
    world.belief = belief(&world.ground, &heaps, 40_000);
    world
}

// shows: TR-5
#[test]
fn no_habit_of_a_crew_is_worth_more_than_the_plan() {
    for (name, world) in [("beach", beach(11, 40_000)), ("bay", bay()), ("shelf", shelf())] {
        let request = Request { effort: 10_000, ..world.request() };
        let planned = plan(&request);
        let review = check(&planned, &request);
        assert_eq!(review.violations, Vec::new(), "{name}");
        let patch = Patch::about(&request.setting, &[], world.last_seen);
        for way in Habit::ALL {
            let other = by_habit(&request.setting, (&planned, 1.7), &patch, (way, Request::AHEAD_S));
            let worth = check(&other, &request).value;
            println!("{name:6} {way:?}: {worth:.4} of {:.4} = {:.2}", review.value, worth / review.value);
            assert!(worth > 0.0, "{name} {way:?}: the habit searched nothing");
            // A particle cloud of 40,000 tells values apart to about a percent.
            assert!(worth <= 1.01 * review.value, "{name} {way:?}: {worth} beats {}", review.value);
        }
    }
}

// shows: TR-6
#[test]
fn habits_keep_depths_times_and_the_pace_of_the_plan() {
    let world = beach(11, 20_000);
    let request = world.request();
    let planned = plan(&request);
    let patch = Patch::about(&request.setting, &[], world.last_seen);
    let turn_s = search::lines::water_turn(world.day.water_c);
    for way in Habit::ALL {
        let other = by_habit(&request.setting, (&planned, 1.7), &patch, (way, 1200.0));
        assert_eq!(other.teams, planned.teams, "{way:?}: the same people");
        for (index, team) in other.teams.iter().enumerate() {
            let mut free_s = team.formed_s;
            for run in other.runs.iter().filter(|run| run.team == index) {
                let leg = run.legs[0];
                assert!(leg.depth_m <= team.depth_to_m + 1e-9, "{way:?}: {} m deep", leg.depth_m);
                assert!(run.from_s >= free_s - 1e-9, "{way:?}: in two places at once");
                free_s = run.to_s;
            }
            let lines = matches!(team.method, search::Method::Wade | search::Method::Dive);
            // The last leg may run over by its own length, no longer than a dive and its relief.
            assert!(
                !lines || free_s <= (team.formed_s + turn_s).min(1200.0) + 400.0,
                "{way:?}: until {free_s}"
            );
        }
    }
}
