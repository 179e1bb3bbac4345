//! P5: the sun's course over a summer, and the minutes and dose of glare it makes on 2,500 cells seen from one stand.

use watch::glare::{Reach, Suns, Tally, variances};
use watch::sun::{Air, Course, Station, sun_at};

/// 2024-05-27 00:00 UTC.
const BEGIN_S: f64 = 1_716_768_000.0;
const DAYS: usize = 120;
const STATION: Station = Station { lat_deg: 45.0, lon_deg: 15.0, height_m: 200.0 };
const AIR: Air = Air { pressure_hpa: 1013.25, temperature_c: 12.0 };
const DELTA_T_S: f64 = 69.2;
const EYE_M: f64 = 3.0;
const WIND_MPS: f64 = 3.0;
/// Density of facets over that of flat ones from which a cell is in glare.
const LEAST: f64 = 0.10;

fn minutes() -> Vec<f64> {
    (0..DAYS * 1440).map(|k| BEGIN_S + 60.0 * k as f64).collect()
}

fn course() -> Course {
    let span = (BEGIN_S, BEGIN_S + 86_400.0 * DAYS as f64);
    Course::over(span, STATION, AIR, DELTA_T_S).expect("a span of 2024 at 45 degrees north")
}

/// The cells, west of the stand, each with the reach of its path of light.
fn reaches(mean_square: f64) -> Vec<Reach> {
    let most_tan2 = -mean_square * LEAST.ln();
    let cell = |k: usize| {
        let (east, north) = (-2.0 * ((k % 50) as f64 + 1.0), -49.0 + 2.0 * (k / 50) as f64);
        let range = (east * east + north * north + EYE_M * EYE_M).sqrt();
        Reach { step: [-east / range, -north / range, EYE_M / range], most_tan2 }
    };
    (0..2500).map(cell).collect()
}

/// Times both jobs and prints what the peers print of them.
pub fn run(threads: usize, repeats: usize) {
    let pool = match rayon::ThreadPoolBuilder::new().num_threads(threads).build() {
        Ok(pool) => pool,
        Err(error) => {
            eprintln!("no {threads} threads: {error}");
            return;
        }
    };
    let times = minutes();
    let mean_square = variances(WIND_MPS).total;
    let steps = course().steps(&times);
    let up = Suns::new(&steps).len();
    let params = serde_json::json!({
        "days": DAYS, "daylight_minutes": up, "cells": 2500, "cell_minutes": up * 2500,
    });
    crate::report(
        "P5_glare",
        "glint",
        params.clone(),
        threads,
        repeats,
        || pool.install(|| Suns::new(&steps).tallies(&reaches(mean_square), mean_square)),
        |tallies: &Vec<Tally>| {
            let mut result = counted(&tallies.iter().map(|t| t.count).collect::<Vec<_>>());
            result["dose_total"] = tallies.iter().map(|t| t.dose).sum::<f64>().into();
            result["dose_cell_25_10"] = tallies[25 * 50 + 10].dose.into();
            result
        },
    );
    crate::report(
        "P5_glare",
        "glint_minutes",
        params,
        threads,
        repeats,
        || pool.install(|| Suns::new(&steps).counts(&reaches(mean_square))),
        |counts| counted(counts),
    );
}

/// Times the course of the sun and prints what the peers print of it.
pub fn run_sun(repeats: usize) {
    let times = minutes();
    crate::report(
        "P5_sun",
        "course",
        serde_json::json!({"days": DAYS, "minutes": times.len()}),
        1,
        repeats,
        || course().at(&times),
        |(up, around)| {
            let above = || up.iter().filter(|e| **e > 0.0);
            serde_json::json!({
                "daylight_minutes": above().count(), "el_max": above().copied().fold(0.0, f64::max),
                "el_at_720": up[720], "az_at_720": around[720], "el_sum_positive": above().sum::<f64>(),
                "worst_deg_from_spa": worst_deg(&times, up, around),
            })
        },
    );
}

/// Largest angle from the algorithm itself, at every 37th minute \[degrees\].
fn worst_deg(times: &[f64], up: &[f64], around: &[f64]) -> f64 {
    let step = |e: f64, a: f64| {
        let (e, a) = (e.to_radians(), a.to_radians());
        [e.cos() * a.sin(), e.cos() * a.cos(), e.sin()]
    };
    let gap = |k: usize| {
        let exact = sun_at(times[k], STATION, AIR, DELTA_T_S).expect("inside the span");
        let (a, b) = (step(up[k], around[k]), exact.step());
        a.iter().zip(&b).map(|(x, y)| (x - y) * (x - y)).sum::<f64>().sqrt().to_degrees()
    };
    (0..times.len()).step_by(37).map(gap).fold(0.0, f64::max)
}

fn counted(counts: &[u64]) -> serde_json::Value {
    let most = counts.iter().copied().max().unwrap_or(0);
    let at = counts.iter().position(|c| *c == most).unwrap_or(0);
    serde_json::json!({
        "minutes_total": counts.iter().sum::<u64>(), "minutes_max": most, "argmax_cell_ij": [at / 50, at % 50],
        "minutes_cell_25_10": counts[25 * 50 + 10], "minutes_cell_0_49": counts[49],
    })
}
