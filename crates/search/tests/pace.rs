//! How long plans take: `cargo test --release -p search --test pace -- --ignored --nocapture`.

mod common;

use common::*;
use search::plan::{Request, check::check, plan};
use std::time::Instant;

/// CPU seconds of all threads of this process so far (Linux), so that a busy machine does not blur the figure.
fn cpu_s() -> f64 {
    let Ok(tasks) = std::fs::read_dir("/proc/self/task") else { return f64::NAN };
    tasks
        .flatten()
        .filter_map(|task| std::fs::read_to_string(task.path().join("schedstat")).ok())
        .filter_map(|text| text.split_whitespace().next()?.parse::<f64>().ok())
        .sum::<f64>()
        * 1e-9
}

#[test]
#[ignore = "measures time: run it in a release build on a quiet machine"]
fn a_first_plan_takes_a_tenth_of_a_second() {
    for people in [3, 6, 8, 11] {
        let world = beach(people, 200_000);
        for effort in [1, 10_000, Request::SECOND_EFFORT, 160_000] {
            let request = Request { effort, ..world.request() };
            let (mut best, mut cpu) = (f64::INFINITY, f64::INFINITY);
            let mut made = plan(&request);
            for _ in 0..if effort == 1 { 3 } else { 1 } {
                let (start, spent) = (Instant::now(), cpu_s());
                made = plan(&request);
                cpu = cpu.min(cpu_s() - spent);
                best = best.min(start.elapsed().as_secs_f64());
            }
            let start = Instant::now();
            let review = check(&made, &request);
            println!(
                "{people:2} people, effort {effort:6}: {:6.1} ms ({:6.1} ms CPU), {:6} plans, value {:.4} (particles {:.4}), ceiling {:.4}, {} runs, check {:.0} ms",
                1e3 * best,
                1e3 * cpu,
                made.evaluations,
                made.value,
                review.value,
                made.ceiling,
                made.runs.len(),
                1e3 * start.elapsed().as_secs_f64()
            );
            assert!(effort > 1 || best < 1.0, "{best} s");
        }
    }
}
