//! Ways a crew searches without a plan, put to the same checker: none may be worth more than the plan.
//!
//! A habit is run by the same teams, formed at the same moment and walking at the same pace; it only orders
//! the water otherwise. Its value is recomputed by the checker from the particles, as the plan's is.

mod common;

use common::*;
use measure::{Spot, parameters::value};
use search::{
    Method, Stretch, Sweep,
    lines::{DivePace, chances, dive_step, dive_time, pause_after, wade_line_mps},
    plan::{Leg, Plan, Request, Run, Team, check::check, plan},
};

/// A way to order the water.
#[derive(Clone, Copy, Debug)]
enum Habit {
    /// Outward square from the last seen point.
    Square,
    /// The whole of the line's water, lane after lane from one side.
    Side,
    /// The nearest lane that is not done yet.
    Nearest,
}

/// One team on its way through a habit.
struct Walk<'a> {
    world: &'a World,
    team: &'a Team,
    index: usize,
    at: Spot,
    now_s: f64,
    dives: usize,
    runs: Vec<Run>,
}

const END_S: f64 = 1800.0;

impl Walk<'_> {
    fn depth(&self, spot: Spot) -> f64 {
        let ground = &self.world.ground;
        ground.grid.cell(spot).filter(|&c| ground.is_water(c)).map_or(f64::NAN, |c| ground.depth_m[c])
    }

    /// Whether the whole width of the line is in its water, by the plainest reading.
    fn fits(&self, spot: Spot, along: Spot) -> bool {
        let low = if self.team.method == Method::Dive { value("dive_least_depth_m") } else { 0.05 };
        [-0.45, 0.0, 0.45].iter().all(|share| {
            let depth = self.depth(spot + along.left() * (share * self.team.width_m));
            (low..=self.team.depth_to_m * 0.97).contains(&depth)
        })
    }

    fn open(&self) -> bool {
        self.now_s < END_S
    }

    /// Searches from `from` to `to` where the water allows; what does not fit is passed by.
    fn strip(&mut self, from: Spot, to: Spot) {
        let Some(along) = (to - from).unit() else { return };
        let mut done_m = 0.0;
        let whole_m = from.distance(to);
        let mut first = true;
        while done_m < whole_m - 1.0 && self.open() {
            let here = from + along * done_m;
            let (seconds, length_m, advance_m) = self.step(here + along * 2.5);
            let length_m = length_m.min(whole_m - done_m);
            let there = here + along * length_m;
            if !(self.fits(here, along) && self.fits(there, along)) {
                done_m += 1.0;
                first = true;
                continue;
            }
            if first {
                let pace = value(if self.team.method == Method::Wade {
                    "transit_wade_mps"
                } else {
                    "transit_swim_mps"
                });
                let moved_s = if self.runs.is_empty() { 0.0 } else { self.at.distance(here) / pace };
                self.now_s += moved_s + value("turn_s") * 0.5 + value("order_price_s");
                first = false;
            }
            self.leg(here, there, seconds * if length_m > 1.0 { 1.0 } else { 0.5 });
            self.at = there;
            done_m += advance_m.min(length_m).max(1.0);
        }
    }

    /// Seconds of a leg, its length and how far the line has come after it.
    fn step(&self, spot: Spot) -> (f64, f64, f64) {
        let depth = self.depth(spot);
        let depth = if depth.is_finite() { depth } else { 1.0 };
        if self.team.method == Method::Wade {
            return (5.0 / wade_line_mps(depth), 5.0, 5.0);
        }
        let kit = &self.world.day.kit;
        let divers = self.world.day.crew.iter().filter(|m| m.dive_m.is_some()).count();
        let pace = DivePace::today(kit.fins as usize >= divers);
        let dive_s = dive_time(self.world.day.water_c).expect("a dive line only where dives are allowed");
        let step = dive_step(depth, self.team.members.len(), dive_s, &pace);
        let step = step.expect("water shallow enough to advance in");
        let done = self.dives % value("dives_before_rest") as usize + 1;
        (step.cycle.under_s + pause_after(dive_s, done, &pace), step.cycle.bottom_m, step.advance_m)
    }

    fn leg(&mut self, from: Spot, to: Spot, seconds: f64) {
        let spot = from.lerp(to, 0.5);
        let grip =
            if self.team.spacing_m > 1.2 { search::lines::Grip::Hands } else { search::lines::Grip::Elbows };
        let chance = chances(grip, 1.7)[self.team.method.index()];
        let sweep = Sweep {
            method: self.team.method,
            stretch: Stretch::Strip { from, to, width_m: self.team.width_m },
            steer_m: value("steer_free_m"),
            firm: chance.firm,
            rough: chance.rough,
            from_s: self.now_s,
            to_s: self.now_s + seconds,
        };
        self.now_s += seconds;
        self.dives += 1;
        self.runs.push(Run {
            team: self.index,
            from,
            to,
            width_m: self.team.width_m,
            leaves_s: sweep.from_s,
            from_s: sweep.from_s,
            to_s: sweep.to_s,
            legs: vec![Leg { sweep, depth_m: self.depth(spot) }],
            gain: 0.0,
            shore_left: true,
            under_way: false,
        });
    }

    /// Lanes side by side over everything within `half_m` of the last seen point, along the shore.
    fn lanes(&self, half_m: f64) -> Vec<(Spot, Spot)> {
        let (middle, width) = (self.world.last_seen, self.team.width_m);
        let count = (2.0 * half_m / width).ceil() as usize;
        (0..count)
            .map(|k| {
                let north = middle.north - half_m + (k as f64 + 0.5) * width;
                (Spot::new(middle.east - half_m, north), Spot::new(middle.east + half_m, north))
            })
            .collect()
    }

    fn go(&mut self, habit: Habit) {
        let middle = self.world.last_seen;
        match habit {
            Habit::Square => {
                let step = self.team.width_m;
                let (mut at, mut way) = (middle, Spot::new(1.0, 0.0));
                for k in 0..60 {
                    let to = at + way * (step * (1 + k / 2) as f64);
                    self.strip(at, to);
                    at = to;
                    way = way.left();
                }
            }
            Habit::Side => {
                for (k, (west, east)) in self.lanes(40.0).into_iter().enumerate() {
                    if k % 2 == 0 { self.strip(west, east) } else { self.strip(east, west) }
                }
            }
            Habit::Nearest => {
                // Pieces of ten metres, so that the nearest is near.
                let mut left: Vec<(Spot, Spot)> = self
                    .lanes(40.0)
                    .into_iter()
                    .flat_map(|(a, b)| {
                        (0..8).map(move |k| (a.lerp(b, k as f64 / 8.0), a.lerp(b, (k + 1) as f64 / 8.0)))
                    })
                    .collect();
                self.at = middle;
                while self.open() && !left.is_empty() {
                    let near = |lane: &(Spot, Spot)| self.at.distance(lane.0).min(self.at.distance(lane.1));
                    let best = (0..left.len())
                        .min_by(|&a, &b| near(&left[a]).total_cmp(&near(&left[b])))
                        .expect("some lane is left");
                    let (a, b) = left.remove(best);
                    let (from, to) = if self.at.distance(a) <= self.at.distance(b) { (a, b) } else { (b, a) };
                    self.strip(from, to);
                }
            }
        }
    }
}

/// What a habit is worth with the teams of a plan, first guard and poles as in the plan.
fn habit(world: &World, request: &Request, planned: &Plan, habit: Habit) -> f64 {
    let mut other = Plan { runs: Vec::new(), ..planned.clone() };
    for (index, team) in planned.teams.iter().enumerate() {
        if !matches!(team.method, Method::Wade | Method::Dive) {
            other.runs.extend(planned.runs.iter().filter(|r| r.team == index).cloned());
            continue;
        }
        let start = world.last_seen;
        let mut walk =
            Walk { world, team, index, at: start, now_s: team.formed_s, dives: 0, runs: Vec::new() };
        walk.go(habit);
        other.runs.append(&mut walk.runs);
    }
    check(&other, request).value
}

/// A bay: deep to the north-east, one vague witness.
fn bay() -> World {
    let mut world = beach(8, 1);
    world.ground = ground(140, 120, |s| (0.03 * (s.north - 6.0) + 0.012 * (s.east - 40.0)).clamp(-1.0, 4.5));
    world.last_seen = Spot::new(60.0, 40.0);
    world.belief = belief(&world.ground, &[(Spot::new(62.0, 42.0), 16.0, 1.0)], 40_000);
    world
}

/// A shelf that is waded, three heaps, five guards, a current along the shore.
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

#[test]
fn no_habit_of_a_crew_is_worth_more_than_the_plan() {
    for (name, world) in [("beach", beach(11, 40_000)), ("bay", bay()), ("shelf", shelf())] {
        let request = Request { effort: 10_000, ..world.request() };
        let planned = plan(&request);
        let review = check(&planned, &request);
        assert_eq!(review.violations, Vec::new(), "{name}");
        for way in [Habit::Square, Habit::Side, Habit::Nearest] {
            let worth = habit(&world, &request, &planned, way);
            println!("{name:6} {way:?}: {worth:.4} of {:.4} = {:.2}", review.value, worth / review.value);
            assert!(worth > 0.0, "{name} {way:?}: the habit searched nothing");
            // A particle cloud of 40,000 tells values apart to about a percent.
            assert!(worth <= 1.01 * review.value, "{name} {way:?}: {worth} beats {}", review.value);
        }
    }
}
