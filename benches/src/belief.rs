//! The belief of an alarm: start with two witnesses, one sweep, the regions, on water of 300 × 200 m.

#[path = "../../crates/search/tests/basin/mod.rs"]
mod basin;

use measure::{Seed, Spot};
use search::belief::Belief;
use search::{Detection, Method, Stretch, Sweep, WitnessClass};
use serde_json::json;
use water::Flow;

const PARTICLES: usize = 200_000;

/// Times the three and prints one line for each.
pub fn run(threads: usize, repeats: usize) {
    let mut lake = basin::lake(300, 200);
    lake.flow = Flow::Uniform { velocity: Spot::new(0.15, 0.02), covariance: [4e-4, 0.0, 4e-4] };
    let told = basin::alarm(vec![
        basin::pointed("friend", WitnessClass::Companion, (150.0, 90.0), 8.0, -90.0),
        basin::pointed("guard", WitnessClass::Guard, (180.0, 80.0), 10.0, -60.0),
    ]);
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool of threads");
    let params = json!({ "particles": PARTICLES, "cells": lake.ground.grid.len() });
    let start = || pool.install(|| Belief::start(&lake.setting(), &told, Seed(1), PARTICLES).value);
    let shown = |b: &Belief| json!({ "bottom": b.masses.bottom, "east": b.spread().0.east });
    crate::report("belief", "start", params.clone(), threads, repeats, start, shown);
    let belief = start();
    let sweep = Sweep {
        method: Method::Dive,
        stretch: Stretch::Strip { from: Spot::new(140.0, 85.0), to: Spot::new(200.0, 85.0), width_m: 9.0 },
        steer_m: 2.5,
        firm: Detection::undrilled(0.6),
        rough: Detection::undrilled(0.6),
        from_s: 300.0,
        to_s: 600.0,
    };
    let apply = || {
        let mut after = belief.clone();
        after.apply(&sweep);
        after
    };
    crate::report("belief", "clone and apply", params.clone(), threads, repeats, apply, shown);
    let regions = || belief.regions(&lake.ground.grid, &[0.5, 0.8, 0.95]);
    crate::report("belief", "regions", params, threads, repeats, regions, |r| json!(r[2].area_m2));
}
