//! P4: first arrival in 1,000 × 1,000 cells from each of 8 stands, and the error against refraction in two media.

use measure::Spot;
use watch::reach::{Footing, Medium, Start, strips};
use water::Grid;

const SIZE: usize = 1000;
const STANDS: usize = 8;

/// The yardstick's ground: sand, wading, swimming by depth; a groyne that nobody crosses.
fn ground(grid: &Grid) -> (Medium, Vec<bool>) {
    let depth = |x: f64, y: f64| {
        0.03 * (y - 300.0 - 25.0 * (x / 90.0).sin())
            + (-((x - 520.0).powi(2) + (y - 420.0).powi(2)) / (2.0 * 40.0 * 40.0)).exp()
    };
    let rock: Vec<bool> = (0..grid.len())
        .map(|c| {
            let at = grid.centre(c);
            (at.east - 700.0).abs() <= 2.0 && (250.0..=400.0).contains(&at.north)
        })
        .collect();
    let pace: Vec<f64> = (0..grid.len())
        .map(|c| {
            let at = grid.centre(c);
            let d = depth(at.east, at.north);
            match rock[c] {
                true => 0.0,
                false if d <= 0.0 => 4.0,
                false if d < 1.0 => 4.0 - 2.8 * d,
                false => 1.2,
            }
        })
        .collect();
    (Medium::new(*grid, &pace, &vec![Footing::Land; grid.len()], f64::INFINITY), rock)
}

/// Middles of cells at whole metres, as the peers have their nodes.
fn grid() -> Grid {
    Grid { corner: Spot::new(-0.5, -0.5), cell_m: 1.0, cols: SIZE, rows: SIZE }
}

fn stands() -> Vec<Spot> {
    (0..STANDS)
        .map(|k| 62.0 + 125.0 * k as f64)
        .map(|x| Spot::new(x, (280.0 + 25.0 * (x / 90.0).sin()).round()))
        .collect()
}

/// Times the product's march and prints what the peers print of it.
pub fn run(threads: usize, repeats: usize) {
    let grid = grid();
    let pool = match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool,
        Err(error) => {
            eprintln!("no {threads} threads: {error}");
            return;
        }
    };
    let (_, rock) = ground(&grid);
    crate::report(
        "P4_reach_time",
        "march",
        serde_json::json!({"size": SIZE, "stands": STANDS}),
        threads,
        repeats,
        || pool.install(|| arrivals(&grid)),
        |(all, least)| told(all, least, &rock),
    );
    println!("{}", snell(&grid));
}

/// Arrivals from each stand, and the first of all; laying the paces out is part of the work.
fn arrivals(grid: &Grid) -> (Vec<Vec<f64>>, Vec<f64>) {
    use rayon::prelude::*;
    let (medium, _) = ground(grid);
    let all: Vec<Vec<f64>> = stands().par_iter().map(|spot| medium.march(&Start::Spot(*spot, 0.0))).collect();
    let mut least = vec![f64::INFINITY; grid.len()];
    for times in &all {
        least.iter_mut().zip(times).for_each(|(l, t)| *l = l.min(*t));
    }
    (all, least)
}

/// What the peers print, under their keys.
fn told(all: &[Vec<f64>], least: &[f64], rock: &[bool]) -> serde_json::Value {
    let open: Vec<usize> = (0..least.len()).filter(|&c| !rock[c]).collect();
    let mut nearest = [0usize; STANDS];
    for &c in &open {
        let first = (0..STANDS).min_by(|&a, &b| all[a][c].total_cmp(&all[b][c])).unwrap_or(0);
        nearest[first] += 1;
    }
    let mean = open.iter().map(|&c| least[c]).sum::<f64>() / open.len() as f64;
    let mean_all = all.iter().map(|t| open.iter().map(|&c| t[c]).sum::<f64>()).sum::<f64>()
        / (open.len() * STANDS) as f64;
    let at = |x: usize, y: usize| least[y * SIZE + x];
    serde_json::json!({
        "mean_min_s": mean, "max_min_s": open.iter().map(|&c| least[c]).fold(0.0, f64::max),
        "t_500_420": at(500, 420), "t_690_390": at(690, 390), "t_710_390": at(710, 390),
        "cells_nearest": nearest, "mean_all": mean_all,
    })
}

/// Errors against refraction: sand below 500.5 m, water above, start at (500, 400).
fn snell(grid: &Grid) -> serde_json::Value {
    let (from, edge) = (Spot::new(500.0, 400.0), 500.5);
    let pace: Vec<f64> =
        (0..grid.len()).map(|c| if grid.centre(c).north < edge { 4.0 } else { 1.2 }).collect();
    let medium = Medium::new(*grid, &pace, &vec![Footing::Land; grid.len()], f64::INFINITY);
    let times = medium.march(&Start::Spot(from, 0.0));
    let (mut worst, mut sum, mut count) = (0.0f64, 0.0, 0usize);
    for (c, time) in times.iter().enumerate() {
        let at = grid.centre(c);
        if at.distance(from) <= 5.0 {
            continue;
        }
        let exact = if at.north < edge {
            at.distance(from) / 4.0
        } else {
            strips(&[(edge - from.north, 4.0), (at.north - edge, 1.2)], at.east - from.east).time_s
        };
        let off = (time - exact).abs();
        (worst, sum, count) = (worst.max(off), sum + off, count + 1);
    }
    serde_json::json!({
        "workload": "P4_reach_time", "variant": "snell_accuracy", "params": {"size": SIZE}, "threads": 1, "median_s": null,
        "times_s": [], "result": {"march": {"max_abs_s": worst, "mean_abs_s": sum / count as f64}},
    })
}
