//! Searcher paths: our exact search on the peers' twelve instances.

use search::path::{Instance, Options, Solved, from_json, solve};
use serde_json::{Value, json};

const INSTANCES: &str = include_str!("../../tests/data/paths/plan_instances.json");

/// Moves of the search that asks for no proof.
const SOON: u64 = 100_000;

/// Solves the twelve instances to proof, and with little effort and no proof asked; reports the total time, each value, and
/// the largest difference from the value in the file.
pub fn run(threads: usize, repeats: usize) {
    let file: Value = serde_json::from_str(INSTANCES).expect("the instance file is JSON");
    let items = file["instances"].as_array().expect("a list of instances");
    let read = |item: &Value| from_json(item).unwrap_or_else(|problems| panic!("{}", problems.join("; ")));
    let instances: Vec<Instance> = items.iter().map(read).collect();
    let soon = Options { effort: SOON, prove: false, ..Options::default() };
    for (variant, options) in [("exact", Options::default()), ("soon", soon)] {
        let work = || instances.iter().map(|i| solve(i, options)).collect::<Vec<_>>();
        let result = |solved: &Vec<Solved>| told(&instances, solved, items);
        crate::report(
            "P6_plan",
            variant,
            json!({"instances": instances.len()}),
            threads,
            repeats,
            work,
            result,
        );
    }
}

fn told(instances: &[Instance], solved: &[Solved], items: &[Value]) -> Value {
    let mut result = serde_json::Map::new();
    let mut largest = 0.0f64;
    for ((instance, found), item) in instances.iter().zip(solved).zip(items) {
        largest = largest.max((found.value - item["optimal_value"].as_f64().unwrap_or(f64::NAN)).abs());
        let line = json!({"value": found.value, "moves": found.moves, "proven": found.proven});
        result.insert(instance.id.clone(), line);
    }
    result.insert("max_abs_diff_vs_file".into(), json!(largest));
    result.insert("sum".into(), json!(solved.iter().map(|found| found.value).sum::<f64>()));
    Value::Object(result)
}
