//! Plans on three waters: the first plan's time, what a second finds of what a minute finds, trials a second, cells against
//! fresh particles.

use crate::waters::{Case, cases};
use search::plan::{
    Request,
    check::{check, promise},
    plan, valued,
};
use serde_json::json;

/// Effort by which the pace of improving is measured.
const PACED: u64 = 160_000;

/// Prints one line for each water and figure; a minute of one core for each is spent on the last.
pub fn run(threads: usize, repeats: usize) {
    let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().expect("a pool of threads");
    for case in cases() {
        pool.install(|| measure(&case, threads, repeats));
    }
}

fn measure(case: &Case, threads: usize, repeats: usize) {
    let belief = case.belief(1);
    let params = json!({ "water": case.name });
    let first = || plan(&case.request(&belief, Request::FIRST_EFFORT));
    crate::report("plan", "first", params.clone(), threads, repeats, first, |p| {
        json!({
            "value": p.value, "ceiling": p.ceiling, "runs": p.runs.len(), "evaluations": p.evaluations,
            "found_by_cells": p.found_by, "promised": promise(p, &case.request(&belief, 1)),
        })
    });
    let (quick, quick_s) = timed(case, &belief, 1);
    let (paced, paced_s) = timed(case, &belief, PACED);
    let rate = (paced.evaluations - quick.evaluations) as f64 / (paced_s - quick_s);
    // Effort that takes so many seconds on one core, the first plan among them.
    let effort = |seconds: f64| (quick.evaluations as f64 + rate * (seconds - quick_s).max(0.0)) as u64;
    let (one, one_s) = timed(case, &belief, effort(1.0));
    let (minute, minute_s) = timed(case, &belief, effort(60.0));
    // Fresh particles: another seed of the same alarm, priced by the checker.
    let fresh = case.belief(1001);
    let over = |made: &search::plan::Plan| made.value / check(made, &case.request(&fresh, 1)).value;
    let line = json!({
        "workload": "plan", "variant": "quality", "params": params, "threads": threads,
        "median_s": one_s, "min_s": one_s, "cpu_median_s": one_s, "times_s": [one_s],
        "result": {
            "changes_tried_per_cpu_s": rate,
            "whole_plans_valued_per_cpu_s": valued_per_s(case, &belief),
            "second": {
                "value": one.value, "cpu_s": one_s, "evaluations": one.evaluations,
                "promised": promise(&one, &case.request(&fresh, 1)),
            },
            "minute": { "value": minute.value, "cpu_s": minute_s, "evaluations": minute.evaluations },
            "second_of_minute": one.value / minute.value,
            "cells_over_fresh_particles": { "second": over(&one), "minute": over(&minute) },
        },
    });
    println!("{line}");
}

/// A plan of so much effort and the seconds on a core it took.
fn timed(case: &Case, belief: &search::belief::Belief, effort: u64) -> (search::plan::Plan, f64) {
    let before = crate::cpu_s();
    let made = plan(&case.request(belief, effort));
    (made, crate::cpu_s() - before)
}

/// Plans valued whole on the cells in a second of one core: changes that a rule refuses take time and are not counted.
fn valued_per_s(case: &Case, belief: &search::belief::Belief) -> f64 {
    let request = case.request(belief, 1);
    let spent = |changes: u64| {
        let before = crate::cpu_s();
        (valued(&request, changes), crate::cpu_s() - before)
    };
    // Both set up alike: the difference is changes alone.
    let ((few, few_s), (many, many_s)) = (spent(20_000), spent(140_000));
    (many - few) as f64 / (many_s - few_s)
}
