//! What cells say of a plan is what particles say: random beaches, crews and sightings, particles of the plan's own and fresh ones.

mod common;

use common::*;
use measure::{Seed, Spot, chance::Draws};
use rayon::prelude::*;
use search::plan::{Request, check::check, plan};
use water::{Bed, Kind, Shape};

/// Beaches tried; `FATHOMLINE_BEACHES` asks for more.
fn count() -> u64 {
    #[allow(clippy::disallowed_methods)] // a test is told its size from outside, as proptest is
    std::env::var("FATHOMLINE_BEACHES").ok().and_then(|text| text.parse().ok()).unwrap_or(16)
}

/// So many that the chance of a fresh draw is about a percent of the least value looked at.
const PARTICLES: usize = 120_000;

/// A sloping or humped beach with one to three heaps of belief, its crew, and the same belief drawn afresh.
fn random_beach(number: u64) -> (World, search::belief::Belief) {
    let mut draws = Seed(number).stream("beaches").draws();
    let (slope, turn) = (draws.between(0.015, 0.08), draws.between(-0.3, 0.3));
    let hump = Spot::new(draws.between(0.0, 150.0), draws.between(20.0, 120.0));
    let height = draws.between(-2.0, 1.5);
    let mut ground = ground(150, 120, |s| {
        let off = s.distance(hump);
        let even = (s.north + turn * (s.east - 75.0) - 5.0) * slope;
        (even - height * (-off * off / 300.0).exp()).clamp(-1.0, 7.0)
    });
    if draws.u01() < 0.4 {
        let edge = draws.between(30.0, 120.0);
        for cell in 0..ground.grid.len() {
            if ground.grid.centre(cell).east > edge {
                ground.bed[cell] = Bed::Weed;
            }
        }
    }
    let inside = |draws: &mut Draws| Spot::new(draws.between(15.0, 135.0), draws.between(15.0, 55.0));
    let last_seen = inside(&mut draws);
    let heaps: Vec<(Spot, f64, f64)> = (0..1 + draws.index(3))
        .map(|k| {
            let near = last_seen + Spot::new(draws.normal(), draws.normal()) * 12.0;
            (if k == 0 { last_seen } else { near }, draws.between(3.0, 14.0), 0.4)
        })
        .collect();
    let mut features = marks();
    if draws.u01() < 0.3 {
        let way = Spot::new(draws.between(-1.0, 1.0), 1.0) * 30.0;
        features.push(feature("Rope", Kind::Rope, Shape::Line(vec![last_seen - way, last_seen + way])));
    }
    let mut people = crew(3 + draws.index(10));
    for member in &mut people {
        member.height_m = draws.between(1.5, 1.95);
        member.dive_m = (draws.u01() < 0.8).then(|| draws.between(2.0, 5.0));
    }
    let own = belief_by(&ground, &heaps, PARTICLES, Seed(number));
    let fresh = belief_by(&ground, &heaps, PARTICLES, Seed(number + 1_000_000));
    let world = World {
        site: site(features),
        crew: at_hand(people.len(), Spot::new(40.0, 6.0)),
        day: day(people),
        flow: water::Flow::Still,
        belief: own,
        last_seen,
        ground,
    };
    (world, fresh)
}

/// Value on cells over that on particles, less one: the plan's own particles, and fresh ones; `None` where nothing is worth a lane.
fn apart(number: u64) -> Option<(f64, f64)> {
    let (world, fresh) = random_beach(number);
    let effort = if number % 2 == 0 { Request::FIRST_EFFORT } else { 12_000 };
    let request = Request { effort, seed: Seed(number), ..world.request() };
    let made = plan(&request);
    let over = |belief| made.value / check(&made, &Request { belief, ..request }).value - 1.0;
    (made.value > 0.03).then(|| (over(&world.belief), over(&fresh)))
}

// shows: PL-3
#[test]
fn cells_value_plans_as_particles_do() {
    let all: Vec<(f64, f64)> = (0..count()).into_par_iter().filter_map(apart).collect();
    assert!(2 * all.len() as u64 > count(), "only {} beaches with a plan", all.len());
    for (name, pick) in [("own", 0), ("fresh", 1)] {
        let mut off: Vec<f64> = all.iter().map(|pair| if pick == 0 { pair.0 } else { pair.1 }).collect();
        let mean = off.iter().sum::<f64>() / off.len() as f64;
        off.iter_mut().for_each(|x| *x = x.abs());
        off.sort_by(f64::total_cmp);
        let at = |share: f64| off[((off.len() - 1) as f64 * share) as usize];
        println!(
            "{name} particles, {} beaches: mean {:+.2} %, half within {:.2} %, 95 % within {:.2} %, worst {:.2} %",
            off.len(),
            100.0 * mean,
            100.0 * at(0.5),
            100.0 * at(0.95),
            100.0 * at(1.0)
        );
        assert!(at(1.0) <= 0.04, "{name}: {:.4}", at(1.0));
    }
}
