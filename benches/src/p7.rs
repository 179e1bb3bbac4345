//! P7: 5,000 scattered soundings to a 500 × 500 depth grid by natural neighbours, building the triangulation included.

use measure::Spot;
use water::{Grid, Surface};

const SOUNDINGS: u64 = 5_000;
const SIZE: usize = 500;

/// Number `counter` of the yardsticks' shared stream: splitmix64 from the peers' seed, top 53 bits, in [0, 1).
fn shared_u01(counter: u64) -> f64 {
    const SEED: u64 = 20_240_611;
    let mut z = SEED.wrapping_add((counter + 1).wrapping_mul(0x9E37_79B9_7F4A_7C15));
    z = (z ^ (z >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    z ^= z >> 31;
    (z >> 11) as f64 * (1.0 / 9_007_199_254_740_992.0)
}

/// The bottom the soundings are taken from.
fn true_depth(x: f64, y: f64) -> f64 {
    (0.02 * (y - 30.0)).max(0.0) + 1.5 * (-((x - 300.0).powi(2) + (y - 250.0).powi(2)) / 1800.0).exp()
        - 0.8 * (-((x - 150.0).powi(2) + (y - 350.0).powi(2)) / 800.0).exp()
        + 0.3 * (x / 25.0).sin() * (y / 30.0).cos()
}

/// Times the product's surface and prints what the peers print of it.
pub fn run(threads: usize, repeats: usize) {
    let soundings: Vec<(Spot, f64)> = (0..SOUNDINGS)
        .map(|i| (500.0 * shared_u01(2 * i), 500.0 * shared_u01(2 * i + 1)))
        .map(|(x, y)| (Spot::new(x, y), true_depth(x, y)))
        .collect();
    let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: SIZE, rows: SIZE };
    let pool = match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool,
        Err(error) => {
            eprintln!("no {threads} threads: {error}");
            return;
        }
    };
    crate::report(
        "P7_depth_surface",
        "sibson",
        serde_json::json!({"n": SOUNDINGS, "size": SIZE, "seed": 20_240_611}),
        threads,
        repeats,
        || pool.install(|| Surface::through(&soundings).on_grid(&grid, |_| true)),
        |depths| agreement(&grid, depths),
    );
}

/// Cells inside the hull and how far they are from the true bottom, under the peers' keys.
fn agreement(grid: &Grid, depths: &[f64]) -> serde_json::Value {
    let (mut inside, mut squares, mut worst, mut sum) = (0usize, 0.0, 0.0f64, 0.0);
    for (cell, depth) in depths.iter().enumerate().filter(|(_, depth)| depth.is_finite()) {
        let spot = grid.centre(cell);
        let error = depth - true_depth(spot.east, spot.north);
        inside += 1;
        squares += error * error;
        worst = worst.max(error.abs());
        sum += depth;
    }
    serde_json::json!({
        "inside": inside, "rmse": (squares / inside as f64).sqrt(), "max_abs": worst, "sum": sum,
        "cell_250_250": depths[SIZE / 2 * SIZE + SIZE / 2],
    })
}
