//! Allocation: best spread of effort over a 500 × 500 map for 50 amounts of effort.
//!
//! Variant `pos`: 50 levels and chances found, bound by arithmetic on one core. Variant `maps`: the 50 maps of
//! coverage as well, 100 MB written into memory that the caller keeps, bound by memory bandwidth; the peer asks
//! for new memory each time. Variant `maps_new` does so too, and is bound by the system's clearing of pages.

use search::theory::{effort_maps, levels};
use serde_json::json;
use std::cell::RefCell;

const SIDE: usize = 500;

/// Runs both variants on both priors; the work is one thread's.
pub fn run(_threads: usize, repeats: usize) {
    let efforts: Vec<f64> = (1..=50).map(|k| 20.0 * f64::from(k * k)).collect();
    for (name, p) in [("circular", circular()), ("mixture", mixture())] {
        let params = json!({ "size": SIDE, "prior": name, "levels": efforts.len() });
        let worst = (name == "circular").then(|| {
            let all = levels(&p, &efforts);
            all.iter().zip(&efforts).map(|(l, e)| (l.pos - closed(*e)).abs()).fold(0.0, f64::max)
        });
        let result = |all: &[search::theory::Level]| {
            json!({
                "pos_0": all[0].pos, "pos_9": all[9].pos, "pos_24": all[24].pos, "pos_49": all[49].pos,
                "lam_24": all[24].log_level.exp(), "max_abs_err_vs_closed_form": worst,
            })
        };
        crate::report(
            "P3_allocation",
            "pos",
            params.clone(),
            1,
            repeats,
            || levels(&p, &efforts),
            |all| result(all),
        );
        let size = p.len() * efforts.len();
        let checked = |all: &[search::theory::Level], maps: &[f64]| {
            let mut result = result(all);
            let spent = |k: usize| maps[k * p.len()..(k + 1) * p.len()].iter().sum::<f64>();
            let off = (0..efforts.len()).map(|k| (spent(k) / efforts[k] - 1.0).abs()).fold(0.0, f64::max);
            result["max_rel_effort_error"] = json!(off);
            result
        };
        let kept = RefCell::new(vec![0.0; size]);
        let work = || effort_maps(&p, &efforts, &mut kept.borrow_mut());
        crate::report("P3_allocation", "maps", params.clone(), 1, repeats, work, |all| {
            checked(all, &kept.borrow())
        });
        let work = || {
            let mut maps = vec![0.0; size];
            (effort_maps(&p, &efforts, &mut maps), maps)
        };
        crate::report("P3_allocation", "maps_new", params, 1, repeats, work, |(all, maps)| {
            checked(all, maps)
        });
    }
}

/// Chance found in the infinite plane, σ = 40 m.
fn closed(effort: f64) -> f64 {
    search::theory::circular_normal_effort(40.0, effort).1
}

fn on_cells(density: impl Fn(f64, f64) -> f64) -> Vec<f64> {
    let mut p: Vec<f64> =
        (0..SIDE * SIDE).map(|k| density((k % SIDE) as f64 + 0.5, (k / SIDE) as f64 + 0.5)).collect();
    let total: f64 = p.iter().sum();
    p.iter_mut().for_each(|p| *p /= total);
    p
}

fn circular() -> Vec<f64> {
    on_cells(|x, y| (-((x - 250.0).powi(2) + (y - 250.0).powi(2)) / (2.0 * 40.0 * 40.0)).exp())
}

fn mixture() -> Vec<f64> {
    let normal = |x: f64, y: f64, middle: (f64, f64), sigma: (f64, f64)| {
        let (u, v) = ((x - middle.0) / sigma.0, (y - middle.1) / sigma.1);
        (-u * u / 2.0 - v * v / 2.0).exp() / (2.0 * std::f64::consts::PI * sigma.0 * sigma.1)
    };
    on_cells(|x, y| {
        if (x - 250.0).powi(2) + (y - 300.0).powi(2) < 900.0 {
            return 0.0;
        }
        let even = if x <= 400.0 { 1.0 / (400.0 * 500.0) } else { 0.0 };
        0.5 * normal(x, y, (200.0, 220.0), (25.0, 40.0))
            + 0.3 * normal(x, y, (300.0, 260.0), (15.0, 15.0))
            + 0.2 * even
    })
}
