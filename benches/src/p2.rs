//! P2: two hundred lane passes over a million weighted places, with the index of `search::belief::cells`.
//!
//! Places, lanes and results are those of benches/peers/p2_bayes_update.py; its head is the binding definition.

use measure::{Spot, Stream, chance::box_muller};
use search::Stretch;
use search::belief::cells::{CellOrder, Piece};
use serde_json::json;
use water::Grid;

const SIDE: usize = 500;
const PLACES: usize = 1_000_000;
const LANES: u64 = 200;
const SEED: u64 = 20_240_611;
const DETECTION: f64 = 0.8;
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
fn pass(order: &CellOrder, [east, north, weight]: &mut [Vec<f64>; 3], lane: &Lane) -> f64 {
    let reach = lane.along * HALF_LENGTH;
    let stretch =
        Stretch::Strip { from: lane.middle - reach, to: lane.middle + reach, width_m: 2.0 * HALF_WIDTH };
    let (mut inside, keep) = (0.0, 1.0 - DETECTION);
    // The outline of the stretch is rounded; a hair of margin leaves every doubtful place to the exact test.
    order.walk(&stretch, 1e-9, |piece| match piece {
        Piece::Whole(range) => inside += thinned(&mut weight[range], keep),
        Piece::Edge(range) => {
            let (east, north, weight) = (&east[range.clone()], &north[range.clone()], &mut weight[range]);
            for i in 0..weight.len() {
                let (dx, dy) = (east[i] - lane.middle.east, north[i] - lane.middle.north);
                let ahead = dx * lane.along.east + dy * lane.along.north;
                let across = dy * lane.along.east - dx * lane.along.north;
                let met = (ahead.abs() <= HALF_LENGTH) & (across.abs() <= HALF_WIDTH);
                inside += if met { weight[i] } else { 0.0 };
                weight[i] *= if met { keep } else { 1.0 };
            }
        }
    });
    inside
}

/// Multiplies all weights and gives their sum before, in four running sums.
fn thinned(weights: &mut [f64], keep: f64) -> f64 {
    let mut sums = [0.0; 4];
    let mut fours = weights.chunks_exact_mut(4);
    for four in &mut fours {
        for k in 0..4 {
            sums[k] += four[k];
            four[k] *= keep;
        }
    }
    let rest: f64 = fours
        .into_remainder()
        .iter_mut()
        .map(|w| {
            let before = *w;
            *w *= keep;
            before
        })
        .sum();
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

fn passes(inputs: &Inputs) -> Outcome {
    let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: SIDE, rows: SIDE };
    let (order, mut sorted) = CellOrder::carrying(grid, &inputs.east, &inputs.north, &inputs.weight);
    let (mut remaining, mut pods) = (1.0, Vec::with_capacity(inputs.lanes.len()));
    for lane in &inputs.lanes {
        let pod = DETECTION * pass(&order, &mut sorted, lane) / remaining;
        remaining *= 1.0 - pod;
        pods.push(pod);
    }
    // The index has the cells of the map: each one is an unbroken run of weights.
    let mass: Vec<f64> =
        (0..grid.len()).map(|cell| sorted[2][order.cell(cell)].iter().sum::<f64>()).collect();
    let total: f64 = mass.chunks(4096).map(|block| block.iter().sum::<f64>()).sum();
    let entropy = mass.iter().filter(|m| **m > 0.0).map(|m| m / total).map(|p| -p * p.log2());
    Outcome { remaining, entropy_bits: entropy.sum(), pods }
}

/// Times sort, passes and map, as the peers do, and prints one line.
pub fn run(threads: usize, repeats: usize) {
    let inputs = inputs();
    let params = json!({ "n": PLACES, "passes": LANES, "seed": SEED });
    crate::report(
        "P2_bayes_update",
        "fathomline",
        params,
        threads,
        repeats,
        || passes(&inputs),
        |outcome| {
            json!({
                "remaining": outcome.remaining, "entropy_bits": outcome.entropy_bits, "pod_0": outcome.pods[0],
                "pod_sum": outcome.pods.iter().sum::<f64>(),
            })
        },
    );
}
