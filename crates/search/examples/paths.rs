use measure::chance::Seed;
use search::path::{Instance, Options, Telling, from_json, solve};
use serde_json::Value;
use std::time::Instant;

fn random(seed: u64, side: usize, steps: usize, searchers: usize, kind: u64) -> Instance {
    let mut d = Seed(seed).stream("instance").draws();
    let n = side * side;
    let mut p = vec![0.0; n];
    let humps: Vec<[f64; 4]> = (0..1 + d.index(4))
        .map(|_| [d.u01() * side as f64, d.u01() * side as f64, 0.8 + 2.5 * d.u01(), 0.2 + d.u01()])
        .collect();
    for c in 0..n {
        let (r, k) = ((c / side) as f64, (c % side) as f64);
        p[c] = 0.02
            + humps
                .iter()
                .map(|h| h[3] * (-((r - h[0]).powi(2) + (k - h[1]).powi(2)) / (2.0 * h[2] * h[2])).exp())
                .sum::<f64>();
        if kind % 2 == 1 {
            p[c] *= 0.6 + 0.8 * d.u01();
        }
    }
    let s: f64 = p.iter().sum();
    p.iter_mut().for_each(|x| *x /= s);
    let q = (0..n).map(|_| if kind / 2 % 2 == 1 { 0.35 + 0.55 * d.u01() } else { 0.7 }).collect();
    let tau = [f64::INFINITY, 30.0, 12.0][(kind / 4 % 3) as usize];
    Instance {
        id: format!("r{side}-{steps}-{searchers}-{seed}"),
        rows: side,
        cols: side,
        prior: p,
        contact: q,
        weight: (0..steps).map(|t| (-(t as f64) / tau).exp()).collect(),
        starts: (0..searchers).map(|_| n - 1 - d.index(side)).collect(),
        blocked: vec![false; n],
        king: false,
        stay: seed % 3 == 0,
        wandering: None,
        telling: Telling::PerSearcher,
    }
}

fn main() {
    let mut list: Vec<(Instance, f64)> = Vec::new();
    let which = std::env::args().nth(1).unwrap_or_default();
    let effort: u64 =
        std::env::args().nth(2).and_then(|s| s.parse().ok()).unwrap_or(Options::default().effort);
    let prove = std::env::args().nth(3).is_none();
    let read = |f: &str| -> Value { serde_json::from_str(&std::fs::read_to_string(f).unwrap()).unwrap() };
    if which == "files" {
        for x in read("tests/data/paths/searcher-path-instances.json")["instances"].as_array().unwrap() {
            list.push((from_json(x).unwrap(), x["result"]["optimal_value"].as_f64().unwrap()));
        }
        for x in read("tests/data/paths/plan_instances.json")["instances"].as_array().unwrap() {
            list.push((from_json(x).unwrap(), x["optimal_value"].as_f64().unwrap()));
        }
    } else if which.ends_with("json") {
        for x in read(&which).as_array().unwrap() {
            list.push((from_json(x).unwrap(), f64::NAN));
        }
    } else {
        let n: Vec<usize> = which.split(',').map(|x| x.parse().unwrap()).collect();
        for k in 0..n[3] as u64 {
            list.push((random(k + 1, n[0], n[1], n[2], k), f64::NAN));
        }
    }
    let all = Instant::now();
    for (i, opt) in &list {
        let t = Instant::now();
        let s = solve(i, Options { effort, seed: Seed(1), prove });
        println!(
            "{:14} value {:.9} /opt {:.6} (diff {:+.1e}) ceiling/value {:.5} proven {} moves {:>9} {:.3} s",
            i.id,
            s.value,
            s.value / opt,
            s.value - opt,
            s.ceiling / s.value,
            s.proven,
            s.moves,
            t.elapsed().as_secs_f64()
        );
    }
    println!("total {:.3} s", all.elapsed().as_secs_f64());
}
