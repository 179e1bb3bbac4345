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
/// Side of an index cell \[m\]: smaller ones leave fewer places to test, larger ones sort faster.
const CELL_M: f64 = 2.0;
const HALF_LENGTH: f64 = 30.0;
const HALF_WIDTH: f64 = 6.0;

#[derive(Clone, Copy)]
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

/// Weights by cell: what a whole cell has lost is kept as one factor, so that passes touch only edge cells' places.
#[derive(Default)]
struct Desk {
    room: Room,
    east: Vec<f64>,
    north: Vec<f64>,
    /// Weights without their cell's factor.
    weight: Vec<f64>,
    factor: Vec<f64>,
    /// Mass of each cell now.
    mass: Vec<f64>,
    map: Vec<f64>,
}

/// One pass: weights inside fall by the detection; gives the mass that was inside.
#[inline(always)]
fn pass(order: &CellOrder, desk: &mut Desk, lane: &Lane) -> f64 {
    let reach = lane.along * HALF_LENGTH;
    let stretch =
        Stretch::Strip { from: lane.middle - reach, to: lane.middle + reach, width_m: 2.0 * HALF_WIDTH };
    let mut inside = 0.0;
    // The outline of the stretch is rounded; a hair of margin leaves every doubtful place to the exact test.
    order.walk(&stretch, 1e-9, |piece| match piece {
        Piece::Whole(cells) => {
            for (mass, factor) in desk.mass[cells.clone()].iter_mut().zip(&mut desk.factor[cells]) {
                inside += *mass;
                *mass *= 1.0 - DETECTION;
                *factor *= 1.0 - DETECTION;
            }
        }
        Piece::Edge(cells) => {
            for cell in cells {
                let of = order.cell(cell);
                if of.is_empty() {
                    continue;
                }
                let (east, north) = (&desk.east[of.clone()], &desk.north[of.clone()]);
                let met = desk.factor[cell] * tested(lane, east, north, &mut desk.weight[of]);
                desk.mass[cell] -= DETECTION * met;
                inside += met;
            }
        }
    });
    inside
}

/// Weights are summed in this many running sums, so that additions need not wait for one another.
const SUMS: usize = 8;

/// Multiplies the weights of places inside the lane; gives their sum before.
#[inline(always)]
fn tested(lane: &Lane, east: &[f64], north: &[f64], weights: &mut [f64]) -> f64 {
    let Lane { middle, along } = *lane;
    let (mut total, mut met) = (0.0, [0.0; 64]);
    for ((east, north), weights) in east.chunks(64).zip(north.chunks(64)).zip(weights.chunks_mut(64)) {
        // Plain loops without branches or running sums: the compiler makes vectors of them.
        for (((met, weight), &x), &y) in met.iter_mut().zip(weights.iter_mut()).zip(east).zip(north) {
            let (dx, dy) = (x - middle.east, y - middle.north);
            let ahead = (dx * along.east + dy * along.north).abs();
            let across = (dy * along.east - dx * along.north).abs();
            let inside = (ahead <= HALF_LENGTH) & (across <= HALF_WIDTH);
            *met = if inside { *weight } else { 0.0 };
            *weight -= DETECTION * *met;
        }
        total += sum(&met[..weights.len()]);
    }
    total
}

fn passes(inputs: &Inputs, desk: &mut Desk) -> Outcome {
    let cells = (SIDE as f64 / CELL_M).ceil() as usize;
    let grid = Grid { corner: Spot::default(), cell_m: CELL_M, cols: cells, rows: cells };
    let order = CellOrder::new(grid, &inputs.east, &inputs.north, &mut desk.room);
    desk.room.arrange(&inputs.east, &mut desk.east);
    desk.room.arrange(&inputs.north, &mut desk.north);
    desk.room.arrange(&inputs.weight, &mut desk.weight);
    desk.factor.clear();
    desk.factor.resize(grid.len() + 1, 1.0);
    desk.mass.clear();
    desk.mass.extend((0..=grid.len()).map(|cell| sum(&desk.weight[order.cell(cell)])));
    let (mut remaining, mut pods) = (1.0, Vec::with_capacity(inputs.lanes.len()));
    for lane in &inputs.lanes {
        let inside = fastmath::wide(
            #[inline(always)]
            || pass(&order, desk, lane),
        );
        let pod = DETECTION * inside / remaining;
        remaining *= 1.0 - pod;
        pods.push(pod);
    }
    let entropy_bits = fastmath::wide(
        #[inline(always)]
        || map_entropy(&order, desk),
    );
    Outcome { remaining, entropy_bits, pods }
}

#[inline(always)]
fn sum(weights: &[f64]) -> f64 {
    let mut sums = [0.0; SUMS];
    let mut groups = weights.chunks_exact(SUMS);
    for group in &mut groups {
        (0..SUMS).for_each(|k| sums[k] += group[k]);
    }
    sums.iter().sum::<f64>() + groups.remainder().iter().sum::<f64>()
}

/// Entropy of the 1 m map \[bits\]: Σ m log m over the cells, then normalised at once.
#[inline(always)]
fn map_entropy(order: &CellOrder, desk: &mut Desk) -> f64 {
    let map = &mut desk.map;
    map.clear();
    map.resize(SIDE * SIDE + 1, 0.0);
    let side = SIDE as f64;
    let mut squares = [0_u32; 64];
    for (cell, &factor) in desk.factor.iter().enumerate() {
        let of = order.cell(cell);
        let (east, north, weight) = (&desk.east[of.clone()], &desk.north[of.clone()], &desk.weight[of]);
        for ((east, north), weight) in east.chunks(64).zip(north.chunks(64)).zip(weight.chunks(64)) {
            for ((square, &x), &y) in squares.iter_mut().zip(east).zip(north) {
                let inside = (x >= 0.0) & (x < side) & (y >= 0.0) & (y < side);
                let within = fastmath::floor(y) * side + fastmath::floor(x);
                *square = fastmath::index(if inside { within } else { side * side });
            }
            for (&square, &w) in squares.iter().zip(weight) {
                map[square as usize] += w * factor;
            }
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
