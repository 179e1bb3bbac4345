//! P2: two hundred lane passes over a million weighted places, with the index of `search::belief::cells`.
//!
//! Places, lanes and results are those of benches/peers/p2_bayes_update.py; its head is the binding definition.

use measure::{Spot, Stream, chance::box_muller, fastmath};
use search::Stretch;
use search::belief::cells::{CellOrder, Piece, Room};
use serde_json::json;
use water::Grid;

const SIDE: usize = 500;
const PLACES: usize = 1_000_000;
const LANES: u64 = 200;
const SEED: u64 = 20_240_611;
const DETECTION: f64 = 0.8;
const CELL_M: f64 = 2.0;
const HALF_LENGTH: f64 = 30.0;
const HALF_WIDTH: f64 = 6.0;

struct Lane {
    middle: Spot,
    along: Spot,
}

struct Inputs {
    east: Vec<f64>,
    north: Vec<f64>,
    weight: Vec<f64>,
    lanes: Vec<Lane>,
}

struct Outcome {
    remaining: f64,
    pods: Vec<f64>,
    entropy_bits: f64,
}

fn inputs() -> Inputs {
    let stream = Stream::from_key(SEED);
    let (mut east, mut north, mut weight) = (Vec::new(), Vec::new(), Vec::new());
    for i in 0..PLACES as u64 {
        let (a, b) = box_muller(stream.u01(3 * i), stream.u01(3 * i + 1));
        east.push(250.0 + 40.0 * a);
        north.push(250.0 + 40.0 * b);
        weight.push(0.5 + stream.u01(3 * i + 2));
    }
    let sum: f64 = weight.chunks(4096).map(|block| block.iter().sum::<f64>()).sum();
    weight.iter_mut().for_each(|w| *w /= sum);
    let stream = Stream::from_key(SEED + 1);
    let lanes = (0..LANES)
        .map(|k| {
            let u = |c: u64| stream.u01(3 * k + c);
            let heading = std::f64::consts::PI * u(2);
            Lane {
                middle: Spot::new(150.0 + 200.0 * u(0), 150.0 + 200.0 * u(1)),
                along: Spot::new(heading.cos(), heading.sin()),
            }
        })
        .collect();
    Inputs { east, north, weight, lanes }
}

/// One pass: weights inside fall by the detection; gives the mass that was inside.
#[inline(always)]
fn pass(order: &CellOrder, [east, north, weight]: &mut [Vec<f64>; 3], lane: &Lane) -> f64 {
    let reach = lane.along * HALF_LENGTH;
    let stretch =
        Stretch::Strip { from: lane.middle - reach, to: lane.middle + reach, width_m: 2.0 * HALF_WIDTH };
    let mut inside = 0.0;
    // The outline of the stretch is rounded; a hair of margin leaves every doubtful place to the exact test.
    order.walk(&stretch, 1e-9, |piece| match piece {
        Piece::Whole(range) => inside += thinned(&mut weight[range]),
        Piece::Edge(range) => {
            inside += tested(lane, &east[range.clone()], &north[range.clone()], &mut weight[range]);
        }
    });
    inside
}

/// Weights are summed in this many running sums, so that additions need not wait for one another.
const SUMS: usize = 8;

/// Multiplies all weights; gives their sum before.
#[inline(always)]
fn thinned(weights: &mut [f64]) -> f64 {
    let mut sums = [0.0; SUMS];
    let mut groups = weights.chunks_exact_mut(SUMS);
    for group in &mut groups {
        for k in 0..SUMS {
            sums[k] += group[k];
            group[k] *= 1.0 - DETECTION;
        }
    }
    for (weight, sum) in groups.into_remainder().iter_mut().zip(&mut sums) {
        *sum += *weight;
        *weight *= 1.0 - DETECTION;
    }
    sums.iter().sum()
}

/// Multiplies the weights of places inside the lane; gives their sum before.
#[inline(always)]
fn tested(lane: &Lane, east: &[f64], north: &[f64], weights: &mut [f64]) -> f64 {
    let met = |east: f64, north: f64| {
        let (dx, dy) = (east - lane.middle.east, north - lane.middle.north);
        let ahead = dx * lane.along.east + dy * lane.along.north;
        let across = dy * lane.along.east - dx * lane.along.north;
        (ahead.abs() <= HALF_LENGTH) & (across.abs() <= HALF_WIDTH)
    };
    let mut sums = [0.0; SUMS];
    let ends = weights.len() - weights.len() % SUMS;
    let (east, north) = (&east[..weights.len()], &north[..weights.len()]);
    let mut groups = weights.chunks_exact_mut(SUMS);
    for ((x, y), group) in east.chunks_exact(SUMS).zip(north.chunks_exact(SUMS)).zip(&mut groups) {
        for k in 0..SUMS {
            let met = met(x[k], y[k]);
            sums[k] += if met { group[k] } else { 0.0 };
            group[k] *= if met { 1.0 - DETECTION } else { 1.0 };
        }
    }
    for (k, weight) in groups.into_remainder().iter_mut().enumerate() {
        if met(east[ends + k], north[ends + k]) {
            sums[k] += *weight;
            *weight *= 1.0 - DETECTION;
        }
    }
    sums.iter().sum()
}

/// Room kept from one run to the next.
#[derive(Default)]
struct Desk {
    room: Room,
    sorted: [Vec<f64>; 3],
    map: Vec<f64>,
}

fn passes(inputs: &Inputs, desk: &mut Desk) -> Outcome {
    let t0 = crate::cpu_s();
    let cells = (SIDE as f64 / CELL_M).ceil() as usize;
    let grid = Grid { corner: Spot::default(), cell_m: CELL_M, cols: cells, rows: cells };
    let order = CellOrder::new(grid, &inputs.east, &inputs.north, &mut desk.room);
    let t1 = crate::cpu_s();
    for (values, sorted) in [&inputs.east, &inputs.north, &inputs.weight].into_iter().zip(&mut desk.sorted) {
        desk.room.arrange(values, sorted);
    }
    let t2 = crate::cpu_s();
    let (mut remaining, mut pods) = (1.0, Vec::with_capacity(inputs.lanes.len()));
    for lane in &inputs.lanes {
        let sorted = &mut desk.sorted;
        let inside = fastmath::wide(
            #[inline(always)]
            || pass(&order, sorted, lane),
        );
        let pod = DETECTION * inside / remaining;
        remaining *= 1.0 - pod;
        pods.push(pod);
    }
    let t3 = crate::cpu_s();
    let entropy_bits = fastmath::wide(
        #[inline(always)]
        || map_entropy(desk),
    );
    let t4 = crate::cpu_s();
    if std::env::var("P2T").is_ok() {
        eprintln!("keys {:.5} arrange {:.5} passes {:.5} map {:.5}", t1 - t0, t2 - t1, t3 - t2, t4 - t3);
    }
    Outcome { remaining, entropy_bits, pods }
}

/// Entropy of the 1 m map \[bits\]: Σ m log m over the cells, then normalised at once.
#[inline(always)]
fn map_entropy(desk: &mut Desk) -> f64 {
    let map = &mut desk.map;
    map.clear();
    map.resize(SIDE * SIDE + 1, 0.0);
    let [east, north, weight] = &desk.sorted;
    let side = SIDE as f64;
    let mut cells = [0_u32; 64];
    let groups = east.chunks(64).zip(north.chunks(64)).zip(weight.chunks(64));
    for ((east, north), weight) in groups {
        for ((cell, &x), &y) in cells.iter_mut().zip(east).zip(north) {
            let inside = (x >= 0.0) & (x < side) & (y >= 0.0) & (y < side);
            let within = fastmath::floor(y) * side + fastmath::floor(x);
            *cell = fastmath::index(if inside { within } else { side * side });
        }
        for (&cell, &w) in cells.iter().zip(weight) {
            map[cell as usize] += w;
        }
    }
    map.truncate(SIDE * SIDE);
    let (mut total, mut sum) = (0.0, 0.0);
    for row in map.chunks(SIDE) {
        let (mut mass, mut logs) = (0.0, 0.0);
        for &m in row {
            mass += m;
            // ln of an empty cell is taken of the smallest normal number and falls out by the factor.
            logs += m * fastmath::ln(m.max(f64::MIN_POSITIVE));
        }
        total += mass;
        sum += logs;
    }
    (total.ln() - sum / total) / std::f64::consts::LN_2
}

/// Times sort, passes and map, as the peers do, and prints one line.
pub fn run(threads: usize, repeats: usize) {
    let inputs = inputs();
    let mut desk = Desk::default();
    let params = json!({ "n": PLACES, "passes": LANES, "seed": SEED });
    crate::report(
        "P2_bayes_update",
        "fathomline",
        params,
        threads,
        repeats,
        || passes(&inputs, &mut desk),
        |outcome| {
            json!({
                "remaining": outcome.remaining, "entropy_bits": outcome.entropy_bits, "pod_0": outcome.pods[0],
                "pod_sum": outcome.pods.iter().sum::<f64>(),
            })
        },
    );
}
