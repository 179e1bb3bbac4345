//! P1: a million bodies drift, sink and scatter into a 1 m map, with the kernels of `search::belief::sink`.
//!
//! World, numbers and steps are those of benches/peers/p1_drift_sink.py; its head is the binding definition.

use measure::{Spot, Stream, fastmath};
use rayon::prelude::*;
use search::belief::basin::{Bottom, DepthGrid};
use search::belief::sink::{LANES, Lanes, Row};
use serde_json::json;
use water::Grid;

const SIDE: usize = 500;
const BODIES: usize = 1_000_000;
const SEED: u64 = 20_240_611;
const START: (f64, f64) = (250.0, 160.0);
const CURRENT: (f64, f64) = (0.25, 0.05);

struct World(DepthGrid);

impl Bottom for World {
    const SHORED: bool = false;
    #[inline(always)]
    fn depths(&self, east: &Row, north: &Row, depth_m: &mut Row) {
        self.0.read(east, north, depth_m);
    }
    fn is_water(&self, _: Spot) -> bool {
        true
    }
}

fn world() -> World {
    let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: SIDE, rows: SIDE };
    let depth_m: Vec<f64> = (0..grid.len())
        .map(|cell| {
            let Spot { east, north } = grid.centre(cell);
            let off = (east - 265.0).powi(2) + (north - 170.0).powi(2);
            (0.025 * (north - 40.0)).max(0.0) + 2.5 * (-off / 450.0).exp()
        })
        .collect();
    World(DepthGrid::new(&grid, &depth_m))
}

/// Bodies `first` to `end`, counted into `map`.
#[inline(always)]
fn count_bodies(world: &World, march: bool, first: usize, end: usize, map: &mut [u32]) {
    let stream = Stream::from_key(SEED);
    let still =
        Lanes { current_east: [CURRENT.0; LANES], current_north: [CURRENT.1; LANES], ..Lanes::default() };
    for base in (first..end).step_by(LANES) {
        let mut lanes = still.clone();
        let (mut way_east, mut way_north) = ([0.0; LANES], [0.0; LANES]);
        let (mut right, mut up) = ([0.0; LANES], [0.0; LANES]);
        for j in 0..LANES {
            let u = |k: u64| stream.u01(6 * (base + j) as u64 + k);
            let (a, b) = fastmath::normal_pair(u(0), u(1));
            lanes.east[j] = START.0 + 6.0 * a;
            lanes.north[j] = START.1 + 6.0 * b;
            let seconds = 20.0 + 40.0 * u(2);
            way_east[j] = CURRENT.0 * seconds;
            way_north[j] = CURRENT.1 * seconds;
            lanes.slowness[j] = 1.0 / (0.3 + 0.3 * u(3));
            (right[j], up[j]) = fastmath::normal_pair(u(4), u(5));
        }
        lanes.carry(world, &way_east, &way_north, 1);
        if march {
            lanes.sink(world, 20);
        } else {
            lanes.sink_level(world);
        }
        lanes.scatter(world, 0.3, &right, &up);
        let side = SIDE as f64;
        let mut cells = [0_u32; LANES];
        for j in 0..LANES {
            let (x, y) = (lanes.east[j], lanes.north[j]);
            let inside = (x >= 0.0) & (x < side) & (y >= 0.0) & (y < side);
            let cell = fastmath::floor(y) * side + fastmath::floor(x);
            cells[j] = fastmath::index(if inside { cell } else { side * side });
        }
        for &cell in &cells[..LANES.min(end - base)] {
            map[cell as usize] += 1;
        }
    }
}

fn counts(world: &World, march: bool, threads: usize) -> Vec<u32> {
    let blocks: Vec<Vec<u32>> = (0..threads)
        .into_par_iter()
        .map(|block| {
            // The last entry counts those outside.
            let mut map = vec![0_u32; SIDE * SIDE + 1];
            let (first, end) = (BODIES * block / threads, BODIES * (block + 1) / threads);
            fastmath::wide(
                #[inline(always)]
                || count_bodies(world, march, first, end, &mut map),
            );
            map
        })
        .collect();
    let mut total = blocks[0].clone();
    for block in &blocks[1..] {
        total.iter_mut().zip(block).for_each(|(sum, count)| *sum += count);
    }
    total.truncate(SIDE * SIDE);
    total
}

fn summary(counts: &[u32]) -> serde_json::Value {
    let inside: f64 = counts.iter().map(|&c| f64::from(c)).sum();
    let place = |cell: usize| ((cell % SIDE) as f64 + 0.5, (cell / SIDE) as f64 + 0.5);
    let mean = |of: &dyn Fn(f64, f64) -> f64| {
        counts
            .iter()
            .enumerate()
            .map(|(cell, &c)| f64::from(c) * of(place(cell).0, place(cell).1))
            .sum::<f64>()
            / inside
    };
    let (mean_x, mean_y) = (mean(&|x, _| x), mean(&|_, y| y));
    let entropy: f64 =
        counts.iter().filter(|c| **c > 0).map(|&c| f64::from(c) / inside).map(|p| -p * p.log2()).sum();
    let checksum: u64 =
        counts.iter().enumerate().map(|(cell, &c)| u64::from(c) * (cell as u64 % 9973 + 1)).sum();
    json!({
        "inside": inside, "mean_x": mean_x, "mean_y": mean_y,
        "sd_x": mean(&|x, _| (x - mean_x).powi(2)).sqrt(), "sd_y": mean(&|_, y| (y - mean_y).powi(2)).sqrt(),
        "entropy_bits": entropy, "checksum": checksum,
    })
}

/// Times both modes and prints one line for each.
pub fn run(threads: usize, repeats: usize) {
    let world = world();
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool of threads");
    for (mode, march) in [("analytic", false), ("march", true)] {
        let params = json!({ "n": BODIES, "mode": mode, "seed": SEED });
        let work = || pool.install(|| counts(&world, march, threads));
        crate::report("P1_drift_sink", "fathomline", params, threads, repeats, work, |c| summary(c));
    }
}
