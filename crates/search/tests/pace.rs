//! How long plans take: `cargo test --release -p search --test pace -- --ignored --nocapture`.

mod common;

use common::*;
use search::plan::{Request, check::check, plan};
use std::time::Instant;

#[test]
#[ignore = "measures time: run it in a release build on a quiet machine"]
fn a_first_plan_takes_a_tenth_of_a_second() {
    for people in [3, 6, 8, 11] {
        let world = beach(people, 200_000);
        for effort in [1, Request::FIRST_EFFORT, 300, 3000] {
            let request = Request { effort, ..world.request() };
            let mut best = f64::INFINITY;
            let mut made = plan(&request);
            for _ in 0..if effort < 100 { 5 } else { 1 } {
                let start = Instant::now();
                made = plan(&request);
                best = best.min(start.elapsed().as_secs_f64());
            }
            let start = Instant::now();
            let review = check(&made, &request);
            println!(
                "{people:2} people, effort {effort:4}: {:6.1} ms, {} plans, value {:.4} (particles {:.4}), ceiling {:.4}, {} runs, check {:.0} ms",
                1e3 * best,
                made.evaluations,
                made.value,
                review.value,
                made.ceiling,
                made.runs.len(),
                1e3 * start.elapsed().as_secs_f64()
            );
            assert!(effort > 100 || best < 1.0, "{best} s");
        }
    }
}
