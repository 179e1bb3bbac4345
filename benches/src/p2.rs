//! P2: two hundred lane passes over a million weighted places, with the index of `search::belief::cells`.
//!
//! Places, lanes and results are those of benches/peers/p2_bayes_update.py; its head is the binding definition.

use measure::{Spot, Stream, chance::box_muller, fastmath};
use search::Stretch;
use search::belief::cells::{CellOrder, GROUP, Group, Outline, Piece, STEPS, Sorted};
use serde_json::json;
use std::ops::Range;
use water::Grid;

const SIDE: usize = 500;
const PLACES: usize = 1_000_000;
const LANES: u64 = 200;
const SEED: u64 = 20_240_611;
const DETECTION: f64 = 0.8;
const HALF_LENGTH: f64 = 30.0;
const HALF_WIDTH: f64 = 6.0;
/// Side of the order's cells \[m\]: smaller ones take longer to fill, larger ones leave more places to test at every edge.
const CELL: usize = 4;

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

/// Places by cell; what a whole cell has lost is kept as one factor, so that passes touch only edge cells' weights.
#[derive(Default)]
struct Desk {
    /// Weights without their cell's factor.
    sorted: Sorted,
    factor: Vec<f64>,
    /// Sum of a cell's weights without the factor; not a number until it was asked for.
    held: Vec<f64>,
    /// Cells that the lane meets, and whether they lie in it wholly.
    visits: Vec<(usize, bool)>,
}

/// One pass: weights inside fall by the detection; gives the mass that was inside.
#[inline(always)]
fn pass(order: &CellOrder, desk: &mut Desk, inputs: &Inputs, lane: &Lane) -> f64 {
    let reach = lane.along * HALF_LENGTH;
    let stretch =
        Stretch::Strip { from: lane.middle - reach, to: lane.middle + reach, width_m: 2.0 * HALF_WIDTH };
    // The outline of the stretch is rounded; a hair of margin leaves every doubtful place to the exact test.
    let Some(shape) = Outline::new(&stretch, 1e-9) else { return 0.0 };
    let mut visits = std::mem::take(&mut desk.visits);
    visits.clear();
    order.walk(&shape, |piece| match piece {
        Piece::Whole(cells) => visits.extend(cells.map(|cell| (cell, true))),
        Piece::Edge(cells) => visits.extend(cells.map(|cell| (cell, false))),
    });
    let mut inside = 0.0;
    for (k, &(cell, whole)) in visits.iter().enumerate() {
        if let Some(&(next, false)) = visits.get(k + 1) {
            desk.sorted.ask_for(order.cell(next));
        }
        if whole {
            if desk.held[cell].is_nan() {
                desk.held[cell] = desk.sorted.sum(order.cell(cell));
            }
            inside += desk.factor[cell] * desk.held[cell];
            desk.factor[cell] *= 1.0 - DETECTION;
            continue;
        }
        let mut sums = [0.0; GROUP];
        let open = order.sift(
            &shape,
            cell,
            &mut desk.sorted,
            #[inline(always)]
            |_, group, sides| lower(group, sides.inside, &mut sums),
        );
        if open {
            settle(order, (&shape, cell), &mut desk.sorted, (inputs, lane), &mut sums);
        }
        let met: f64 = sums.iter().sum();
        inside += desk.factor[cell] * met;
        desk.held[cell] -= DETECTION * met;
    }
    desk.visits = visits;
    inside
}

/// Tests exactly whom the order could not tell inside from outside.
#[cold]
fn settle(
    order: &CellOrder,
    (shape, cell): (&Outline, usize),
    sorted: &mut Sorted,
    (inputs, lane): (&Inputs, &Lane),
    sums: &mut [f64; GROUP],
) {
    order.sift(shape, cell, sorted, |_, group, sides| {
        let inside = std::array::from_fn(|k| {
            let from = group.from(k);
            let met = sides.open[k] != 0 && lane.holds(inputs.east[from], inputs.north[from]);
            -i32::from(met)
        });
        lower(group, inside, sums);
    });
}

/// Lowers the weights inside, and adds to `sums` what they were, in as many parts as a vector holds.
#[inline(always)]
fn lower(group: &mut Group, inside: [i32; GROUP], sums: &mut [f64; GROUP]) {
    let mut met = [0.0; GROUP];
    for k in 0..GROUP {
        met[k] = f64::from_bits(group.weight[k].to_bits() & i64::from(inside[k]) as u64);
    }
    for k in 0..GROUP {
        sums[k] += met[k];
    }
    for k in 0..GROUP {
        group.weight[k] -= DETECTION * met[k];
    }
}

impl Lane {
    fn holds(&self, east: f64, north: f64) -> bool {
        let (dx, dy) = (east - self.middle.east, north - self.middle.north);
        let ahead = (dx * self.along.east + dy * self.along.north).abs();
        let across = (dy * self.along.east - dx * self.along.north).abs();
        (ahead <= HALF_LENGTH) & (across <= HALF_WIDTH)
    }
}

fn passes(inputs: &Inputs, desk: &mut Desk) -> Outcome {
    let grid = Grid { corner: Spot::default(), cell_m: CELL as f64, cols: SIDE / CELL, rows: SIDE / CELL };
    let places = [&inputs.east[..], &inputs.north, &inputs.weight];
    let order = CellOrder::new(grid, places, &mut desk.sorted);
    desk.factor.clear();
    desk.factor.resize(order.grid().len() + 1, 1.0);
    desk.held.clear();
    desk.held.resize(order.grid().len() + 1, f64::NAN);
    let (mut remaining, mut pods) = (1.0, Vec::with_capacity(inputs.lanes.len()));
    for lane in &inputs.lanes {
        let inside = fastmath::wide(
            #[inline(always)]
            || pass(&order, desk, inputs, lane),
        );
        let pod = DETECTION * inside / remaining;
        remaining *= 1.0 - pod;
        pods.push(pod);
    }
    let map = map(&order, desk);
    let entropy_bits = fastmath::wide(
        #[inline(always)]
        || map_entropy(&map),
    );
    Outcome { remaining, entropy_bits, pods }
}

/// Mass of every cell of 1 m; places outside the grid are left out.
fn map(order: &CellOrder, desk: &Desk) -> Vec<f64> {
    let mut map = vec![0.0; SIDE * SIDE];
    let per_metre = STEPS as usize / CELL;
    for cell in 0..order.grid().len() {
        let of = order.cell(cell);
        if of.is_empty() {
            continue;
        }
        // Two sets of sums, taken in turns: neighbours often fall on one metre, and need not wait for each other.
        let mut masses = [[0.0; CELL * CELL]; 2];
        let mut add = |group: &Group, slots: Range<usize>| {
            for slot in slots {
                let [east, north] = group.steps(slot);
                masses[slot % 2][north / per_metre % CELL * CELL + east / per_metre % CELL] +=
                    group.weight[slot];
            }
        };
        let (lead, kept) = (of.start % GROUP, (of.end - 1) % GROUP + 1);
        match desk.sorted.groups(&of) {
            [] => {}
            [only] => add(only, lead..kept),
            [first, between @ .., last] => {
                add(first, lead..GROUP);
                between.iter().for_each(|group| add(group, 0..GROUP));
                add(last, 0..kept);
            }
        }
        let (col, row) = (cell % order.grid().cols * CELL, cell / order.grid().cols * CELL);
        for metre in 0..CELL * CELL {
            let mass = masses[0][metre] + masses[1][metre];
            map[(row + metre / CELL) * SIDE + col + metre % CELL] = desk.factor[cell] * mass;
        }
    }
    map
}

#[inline(always)]
fn sum(weights: &[f64]) -> f64 {
    let mut sums = [0.0; GROUP];
    let mut groups = weights.chunks_exact(GROUP);
    for group in &mut groups {
        for k in 0..GROUP {
            sums[k] += group[k];
        }
    }
    sums.iter().sum::<f64>() + groups.remainder().iter().sum::<f64>()
}

/// Entropy of the 1 m map \[bits\]: Σ m log m over its cells, then normalised at once.
#[inline(always)]
fn map_entropy(map: &[f64]) -> f64 {
    let (mut total, mut whole) = (0.0, 0.0);
    let mut logs = [0.0; SIDE];
    for row in map.chunks(SIDE) {
        // Empty ends of a row add nothing.
        let Some(start) = row.iter().position(|&mass| mass > 0.0) else { continue };
        let row = &row[start..row.iter().rposition(|&mass| mass > 0.0).map_or(start, |last| last + 1)];
        // ln of an empty cell is taken of the smallest normal number and falls out by the factor.
        for (log, &mass) in logs.iter_mut().zip(row) {
            *log = mass * fastmath::ln(mass.max(f64::MIN_POSITIVE));
        }
        total += sum(row);
        whole += sum(&logs[..row.len()]);
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
