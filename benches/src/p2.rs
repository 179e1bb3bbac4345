//! P2: two hundred lane passes over a million weighted places, with the index of `search::belief::cells`.
//!
//! Places, lanes and results are those of benches/peers/p2_bayes_update.py; its head is the binding definition.

use measure::{Spot, Stream, chance::box_muller, fastmath};
use search::Stretch;
use search::belief::cells::{CellOrder, Piece, Sorted};
use serde_json::json;
use water::Grid;

const SIDE: usize = 500;
const PLACES: usize = 1_000_000;
const LANES: u64 = 200;
const SEED: u64 = 20_240_611;
const DETECTION: f64 = 0.8;
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
    /// Places by cell; weights without their cell's factor.
    sorted: Sorted,
    factor: Vec<f64>,
    /// Mass of each cell now.
    mass: Vec<f64>,
    /// What a pass met, place by place.
    met: Vec<f64>,
}

/// One pass: weights inside fall by the detection; gives the mass that was inside.
#[inline(always)]
fn pass(order: &CellOrder, desk: &mut Desk, lane: &Lane) -> f64 {
    let reach = lane.along * HALF_LENGTH;
    let stretch =
        Stretch::Strip { from: lane.middle - reach, to: lane.middle + reach, width_m: 2.0 * HALF_WIDTH };
    let mut inside = 0.0;
    // The outline of the stretch is rounded; a hair of margin leaves every doubtful place to the exact test.
    order.walk(
        &stretch,
        1e-9,
        #[inline(always)]
        |piece| match piece {
            Piece::Whole(cells) => {
                for (mass, factor) in desk.mass[cells.clone()].iter_mut().zip(&mut desk.factor[cells]) {
                    inside += *mass;
                    *mass *= 1.0 - DETECTION;
                    *factor *= 1.0 - DETECTION;
                }
            }
            Piece::Edge(cells) => {
                let of = order.particles(&cells);
                let base = of.start;
                let (east, north) = (&desk.sorted.east[of.clone()], &desk.sorted.north[of.clone()]);
                if desk.met.len() < of.len() {
                    desk.met.resize(of.len(), 0.0);
                }
                lane.test(east, north, &mut desk.sorted.weight[of], &mut desk.met);
                for cell in cells {
                    let of = order.cell(cell);
                    inside += desk.factor[cell] * sum(&desk.met[of.start - base..of.end - base]);
                    desk.mass[cell] = desk.factor[cell] * sum(&desk.sorted.weight[of]);
                }
            }
        },
    );
    inside
}

/// Sums run in this many parts, as many as a vector holds, so that additions need not wait for one another.
const STEP: usize = 4;

impl Lane {
    /// Multiplies the weights of places inside the lane; `met` takes what each of those was before, and zero for others.
    ///
    /// A plain loop without branches or running sums: the compiler makes vectors of it.
    #[inline(always)]
    fn test(&self, east: &[f64], north: &[f64], weights: &mut [f64], met: &mut [f64]) {
        for (((met, weight), &x), &y) in met.iter_mut().zip(weights.iter_mut()).zip(east).zip(north) {
            let (dx, dy) = (x - self.middle.east, y - self.middle.north);
            let ahead = (dx * self.along.east + dy * self.along.north).abs();
            let across = (dy * self.along.east - dx * self.along.north).abs();
            let inside = (ahead <= HALF_LENGTH) & (across <= HALF_WIDTH);
            *met = if inside { *weight } else { 0.0 };
            *weight -= DETECTION * *met;
        }
    }
}

fn passes(inputs: &Inputs, desk: &mut Desk) -> Outcome {
    let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: SIDE, rows: SIDE };
    let places = [&inputs.east[..], &inputs.north, &inputs.weight];
    let order = CellOrder::new(grid, places, &mut desk.sorted);
    desk.factor.clear();
    desk.factor.resize(grid.len() + 1, 1.0);
    desk.mass.clear();
    fastmath::wide(
        #[inline(always)]
        || {
            desk.mass.extend((0..grid.len() + 1).map(
                #[inline(always)]
                |cell| sum(&desk.sorted.weight[order.cell(cell)]),
            ))
        },
    );
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
        || map_entropy(&desk.mass[..grid.len()]),
    );
    Outcome { remaining, entropy_bits, pods }
}

#[inline(always)]
fn sum(weights: &[f64]) -> f64 {
    let mut sums = [0.0; STEP];
    let mut groups = weights.chunks_exact(STEP);
    for group in &mut groups {
        for k in 0..STEP {
            sums[k] += group[k];
        }
    }
    sums.iter().sum::<f64>() + groups.remainder().iter().sum::<f64>()
}

/// Entropy of the 1 m map \[bits\], whose cells are those of the index: Σ m log m over them, then normalised at once.
#[inline(always)]
fn map_entropy(map: &[f64]) -> f64 {
    let (mut total, mut whole) = (0.0, 0.0);
    let mut logs = [0.0; SIDE];
    for row in map.chunks(SIDE) {
        // ln of an empty cell is taken of the smallest normal number and falls out by the factor.
        for (log, &mass) in logs.iter_mut().zip(row) {
            *log = mass * fastmath::ln(mass.max(f64::MIN_POSITIVE));
        }
        total += sum(row);
        whole += sum(&logs);
    }
    (total.ln() - whole / total) / std::f64::consts::LN_2
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
