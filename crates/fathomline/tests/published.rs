//! The one harness of tests/published: every check against the same code that `explain` and the product run.

use fathomline::explain;
use measure::{Spot, parameters, special};
use search::{Detection, theory};
use serde::Deserialize;
use serde_json::{Map, Value, json};
use std::collections::BTreeSet;
use std::path::PathBuf;
use watch::reach;

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    check: Vec<Check>,
}

/// One value that a model must reproduce; every field must be written.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Check {
    id: String,
    rule: String,
    model: String,
    inputs: Map<String, Value>,
    expect: Map<String, Value>,
    unit: String,
    tolerance: f64,
    tolerance_why: String,
    source: String,
    place: String,
    standing: String,
    seen: String,
}

const STANDINGS: [&str; 5] = [
    "published",
    "published, read second-hand",
    "recomputed by us",
    "common practice",
    "from memory, unverified",
];

fn folder() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/published")
}

fn checks() -> Vec<Check> {
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder()).unwrap().map(|f| f.unwrap().path()).collect();
    files.retain(|f| f.extension().is_some_and(|e| e == "toml"));
    files.sort();
    let read = |f: PathBuf| {
        let text = std::fs::read_to_string(&f).unwrap();
        toml::from_str::<File>(&text).unwrap_or_else(|e| panic!("{}: {e}", f.display())).check
    };
    files.into_iter().flat_map(read).collect()
}

// shows: FR-3, SN-4
#[test]
fn every_published_value_is_reproduced() {
    let checks = checks();
    assert!(checks.len() > 150, "only {} checks were found", checks.len());
    let mut failures = Vec::new();
    for check in &checks {
        let got = result(check);
        assert!(!check.expect.is_empty(), "{} expects nothing", check.id);
        for (key, expect) in &check.expect {
            let value =
                got.get(key).unwrap_or_else(|| panic!("{}: {} gives no {key}", check.id, check.model));
            if !near(value, expect, check.tolerance) {
                failures.push(format!("{} {key}: {value} not {expect} within {}", check.id, check.tolerance));
            }
        }
    }
    assert!(
        failures.is_empty(),
        "{} of {} checks fail:\n{}",
        failures.len(),
        checks.len(),
        failures.join("\n")
    );
}

#[test]
fn every_check_says_where_it_comes_from() {
    let mut ids = BTreeSet::new();
    for c in checks() {
        for (name, text) in [
            ("id", &c.id),
            ("rule", &c.rule),
            ("model", &c.model),
            ("unit", &c.unit),
            ("tolerance_why", &c.tolerance_why),
            ("source", &c.source),
            ("place", &c.place),
            ("seen", &c.seen),
        ] {
            assert!(!text.trim().is_empty(), "{}: {name} is empty", c.id);
        }
        // A part of the source that looks like an id must be one: one lower-case word with a year.
        for word in c.source.split("; ").filter(|part| part.ends_with(|x: char| x.is_ascii_digit())) {
            let id = word.chars().all(|x| x.is_ascii_lowercase() || x.is_ascii_digit() || x == '-');
            assert!(!id || parameters::sources().contains_key(word), "{}: no source {word}", c.id);
        }
        assert!(c.tolerance >= 0.0 && c.tolerance.is_finite(), "{}", c.id);
        assert!(STANDINGS.contains(&c.standing.as_str()), "{}: no standing is called {:?}", c.id, c.standing);
        assert!(ids.insert(c.id.clone()), "{} is written twice", c.id);
        assert!(
            c.standing != "published" || !c.seen.starts_with("not read"),
            "{}: published means read",
            c.id
        );
    }
}

#[test]
fn every_model_of_the_calculator_is_checked() {
    let checked: BTreeSet<String> = checks().into_iter().map(|c| c.model).collect();
    for model in explain::models() {
        assert!(checked.contains(model.name), "{} has no check in tests/published", model.name);
    }
}

#[test]
fn every_rule_of_a_check_is_on_a_page() {
    let pages = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../docs/models");
    let read = |f: std::io::Result<std::fs::DirEntry>| std::fs::read_to_string(f.unwrap().path()).unwrap();
    let text: String = std::fs::read_dir(pages).unwrap().map(read).collect();
    for c in checks() {
        assert!(text.contains(&format!("**{}**", c.rule)), "{}: no page has rule {}", c.id, c.rule);
    }
}

/// Whether two values are the same but for `tolerance` in every number.
fn near(got: &Value, expect: &Value, tolerance: f64) -> bool {
    match (got, expect) {
        (Value::Array(a), Value::Array(b)) => {
            a.len() == b.len() && a.iter().zip(b).all(|(a, b)| near(a, b, tolerance))
        }
        (Value::Number(a), Value::Number(b)) => {
            (a.as_f64().unwrap() - b.as_f64().unwrap()).abs() <= tolerance
        }
        _ => got == expect,
    }
}

/// What the model of a check gives, through `explain` where it is one of its models.
fn result(check: &Check) -> Value {
    if check.model.contains("::") {
        return function(&check.model, &Inputs(&check.inputs));
    }
    let model = explain::model(&check.model).unwrap_or_else(|e| panic!("{}: {e}", check.id));
    let text = Value::Object(check.inputs.clone()).to_string();
    let mut answer = explain::evaluate(model, &text).unwrap_or_else(|e| panic!("{}: {e:?}", check.id));
    answer["result"].take()
}

/// Inputs of a function, by name.
struct Inputs<'a>(&'a Map<String, Value>);

impl Inputs<'_> {
    fn number(&self, name: &str) -> f64 {
        self.0[name].as_f64().unwrap()
    }

    fn count(&self, name: &str) -> usize {
        self.0[name].as_u64().unwrap() as usize
    }

    fn list(&self, name: &str) -> Vec<f64> {
        self.0[name].as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()
    }

    fn rows(&self, name: &str) -> Vec<Vec<f64>> {
        let rows = self.0[name].as_array().unwrap().iter();
        rows.map(|row| row.as_array().unwrap().iter().map(|x| x.as_f64().unwrap()).collect()).collect()
    }
}

/// Functions of the theory that are no models of the calculator.
fn function(name: &str, inputs: &Inputs) -> Value {
    let number = |name: &str| inputs.number(name);
    match name {
        "glare::water_index" => json!({ "n": watch::glare::water_index(number("wavelength_um")) }),
        "glare::variances" => {
            let of = watch::glare::variances(number("wind_mps"));
            json!({ "total": of.total, "along": of.along, "across": of.across })
        }
        "theory::inverse_cube_width" => json!({ "width": theory::inverse_cube_width(number("k")) }),
        "theory::lanes" => {
            let coverage = theory::inverse_cube_width(number("k")) / number("spacing");
            json!({ "pod": theory::inverse_cube(coverage) })
        }
        "theory::any_look" => json!({ "found": theory::any_look(&inputs.list("q")) }),
        "theory::overlapped" => json!({ "found": theory::overlapped(number("q"), number("overlap")) }),
        "theory::searches" => searches(inputs),
        "theory::mean_effort" => json!({ "effort_m2": theory::mean_effort(number("sigma_m")) }),
        "theory::timely_find" => {
            json!({ "value": theory::timely_find(number("sigma_m"), number("rate_m2ps"), number("decay_s")) })
        }
        "theory::normal_cells" => normal_cells(inputs),
        "theory::pointwise_ceiling" => pointwise_ceiling(inputs),
        "theory::drifted_sigma" => {
            let (sigma, current) = (number("sigma_m"), number("current_sigma_mps"));
            json!({ "sigma_m": theory::drifted_sigma(sigma, current, number("diffusion_m2ps"), number("seconds")) })
        }
        "theory::brier_parts" => brier_parts(inputs),
        "theory::rank_of" => {
            let (p, truth) = (inputs.list("p"), inputs.count("truth"));
            let rank = theory::rank_of(&p, truth);
            json!({
                "low": rank.low, "high": rank.high, "opened": rank.opened, "log_score": rank.log_score,
                "rating": rank.rating, "brier": theory::brier_many(&p, truth),
            })
        }
        "theory::region_share" => json!({ "share": theory::region_share(number("alpha"), number("ratio")) }),
        "theory::binomial_two_sided" => {
            let (hits, tries) = (inputs.count("hits") as u32, inputs.count("tries") as u32);
            json!({ "p_value": theory::binomial_two_sided(hits, tries, number("p")) })
        }
        "theory::uniform_gap" => json!({ "gap": theory::uniform_gap(&inputs.list("u")) }),
        "measure::beta_miss" => {
            let detection = Detection { a: number("a"), b: number("b") };
            let miss = [1.0, 2.0, 3.0].map(|k| detection.miss(k));
            json!({ "mean": detection.mean(), "miss": miss })
        }
        "measure::rearmost_mean" => json!({ "mean": special::rearmost_mean(inputs.count("n")) }),
        "measure::rearmost_median" => rearmost_median(inputs),
        "measure::rearmost_lognormal" => rearmost_lognormal(inputs),
        "watch::crossing_denied" => {
            let spot = |name: &str| Spot::new(inputs.list(name)[0], inputs.list(name)[1]);
            let way = reach::crossing(spot("displacement"), number("speed_mps"), spot("current"));
            json!({ "denied": way.is_none() })
        }
        "watch::linear_time" => {
            let paces = (number("from_mps"), number("to_mps"));
            json!({ "time_s": reach::linear_time_s(number("distance_m"), paces.0, paces.1, number("gradient")) })
        }
        other => panic!("no function is called {other}"),
    }
}

/// Chance found by several searches one after another.
fn searches(inputs: &Inputs) -> Value {
    let (mut p, mut rest, mut missed) = (inputs.list("p"), inputs.number("rest"), 1.0);
    for d in inputs.rows("d") {
        let after = theory::fruitless(&p, &d, rest).unwrap();
        missed *= 1.0 - after.pos;
        (p, rest) = (after.posterior, after.rest);
    }
    json!({ "found": 1.0 - missed })
}

/// Best effort over square cells of a circular normal.
fn normal_cells(inputs: &Inputs) -> Value {
    let (sigma, side, half) = (inputs.number("sigma_m"), inputs.number("cell_m"), inputs.number("half_m"));
    let n = (2.0 * half / side).round() as usize;
    let edge = |k: usize| special::normal_cdf((k as f64 * side - half) / sigma);
    let share: Vec<f64> = (0..n).map(|k| edge(k + 1) - edge(k)).collect();
    let cells: Vec<theory::Cell> = (0..n * n)
        .map(|k| theory::Cell { p: share[k % n] * share[k / n], area_m2: side * side, sweep_width_m: 1.0 })
        .collect();
    json!({ "pos": theory::optimal_effort(&cells, inputs.number("effort_m2")).pos })
}

/// V(T) P*(T) + ∫ P* (−V') dt for kinds that begin at different times, Simpson's rule between their begins.
fn pointwise_ceiling(inputs: &Inputs) -> Value {
    let (p, rate) = (inputs.list("p"), inputs.rows("rate"));
    let (begin, speed) = (inputs.list("begin"), inputs.list("speed"));
    let (horizon, decay) = (inputs.number("horizon"), inputs.number("decay"));
    let best = |t: f64| {
        let time: Vec<f64> = begin.iter().zip(&speed).map(|(b, s)| s * (t - b).max(0.0)).collect();
        theory::mixed_effort(&p, &rate, &time).pos
    };
    let term = |t: f64| best(t) * (-t / decay).exp() / decay;
    let mut ends = begin.clone();
    ends.push(horizon);
    let mut sum = best(horizon) * (-horizon / decay).exp();
    for pair in ends.windows(2) {
        let n = 200;
        let h = (pair[1] - pair[0]) / f64::from(n);
        for k in 0..=n {
            let weight = if k == 0 || k == n { 1.0 } else { f64::from(2 + 2 * (k % 2)) };
            sum += weight * term(pair[0] + h * f64::from(k)) * h / 3.0;
        }
    }
    json!({ "weighted": sum })
}

fn brier_parts(inputs: &Inputs) -> Value {
    let forecasts: Vec<(f64, bool)> =
        inputs.list("stated").into_iter().zip(inputs.list("came").iter().map(|came| *came > 0.5)).collect();
    let parts = theory::brier_parts(&forecasts);
    json!({
        "score": parts.score, "reliability": parts.reliability, "resolution": parts.resolution,
        "uncertainty": parts.uncertainty,
    })
}

/// Median of the rearmost of n, and the chance that it is past a mark.
fn rearmost_median(inputs: &Inputs) -> Value {
    let (n, mean, sd) = (inputs.number("n"), inputs.number("mean_m"), inputs.number("sd_m"));
    let below = -(-(2.0_f64.ln()) / n).exp_m1();
    let share = (1.0 - special::normal_cdf((inputs.number("above_m") - mean) / sd)).powf(n);
    json!({ "median_m": mean + sd * special::normal_quantile(below), "share_above": share })
}

/// Mean of the rearmost of n log-normal ways, ∫ (1 − F)^n, and the mean of one.
fn rearmost_lognormal(inputs: &Inputs) -> Value {
    let (n, median, sd) = (inputs.number("n"), inputs.number("median_m"), inputs.number("log_sd"));
    let mean_of = |n: f64| {
        let (steps, far) = (40_000, 40.0);
        let h = far / f64::from(steps);
        let term = |x: f64| (1.0 - special::normal_cdf((x / median).ln() / sd)).powf(n);
        (1..steps).map(|k| term(h * f64::from(k)) * f64::from(2 + 2 * (k % 2))).sum::<f64>() * h / 3.0
            + h / 3.0
    };
    json!({ "rearmost_m": mean_of(n), "mean_m": mean_of(1.0) })
}
