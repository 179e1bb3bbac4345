//! Who may import whom (ARCHITECTURE.md, rooms), and what a pure crate may never stand on.

use super::{Found, PURE};
use crate::shell;
use serde_json::Value;
use std::collections::BTreeSet;

/// Every package of the house with those of the house that it may import.
const ARROWS: [(&str, &[&str]); 10] = [
    ("measure", &[]),
    ("water", &["measure"]),
    ("search", &["measure", "water"]),
    ("watch", &["measure", "water"]),
    ("readiness", &["measure", "water", "search", "watch"]),
    ("incident", &["measure", "water", "search", "watch", "readiness"]),
    ("fathomline", &["measure", "water", "search", "watch", "readiness", "incident"]),
    ("yardsticks", &["measure", "water", "search", "watch", "readiness"]),
    ("fuzz", &["measure", "water", "search", "incident", "fathomline"]),
    ("xtask", &[]),
];

/// Packages that bring an async runtime, sockets, a store, or the system's randomness.
const IMPURE: [&str; 12] = [
    "tokio",
    "async-std",
    "async-io",
    "smol",
    "mio",
    "socket2",
    "hyper",
    "reqwest",
    "ureq",
    "rusqlite",
    "sqlx",
    "getrandom",
];

/// Checks the arrows between the packages and what lies under the pure ones.
pub fn check(found: &mut Found) -> Result<(), String> {
    let metadata = shell::metadata(true)?;
    let packages = metadata["packages"].as_array().ok_or("cargo metadata lists no packages")?;
    let members: BTreeSet<&str> = strings(&metadata["workspace_members"]).collect();
    let ours: Vec<&Value> =
        packages.iter().filter(|p| p["id"].as_str().is_some_and(|id| members.contains(id))).collect();
    let names: BTreeSet<&str> = ours.iter().filter_map(|p| p["name"].as_str()).collect();
    for package in &ours {
        let name = package["name"].as_str().unwrap_or("");
        let Some((_, allowed)) = ARROWS.iter().find(|(known, _)| *known == name) else {
            found.fault(name, 0, "no room is known for this package; give it a place in xtask/src/tidy/arrows.rs and ARCHITECTURE.md");
            continue;
        };
        for other in
            package["dependencies"].as_array().into_iter().flatten().filter_map(|d| d["name"].as_str())
        {
            if names.contains(other) && !allowed.contains(&other) {
                found.fault(
                    name,
                    0,
                    format!(
                        "imports {other}, against the direction of the rooms; move the code or turn the arrow"
                    ),
                );
            }
        }
        if PURE.contains(&name) {
            for (path, bad) in impure_under(&metadata, package) {
                found.fault(
                    name,
                    0,
                    format!(
                        "a pure crate stands on {bad} (by {path}); leave out that library or its feature"
                    ),
                );
            }
        }
    }
    Ok(())
}

fn strings(value: &Value) -> impl Iterator<Item = &str> {
    value.as_array().into_iter().flatten().filter_map(Value::as_str)
}

/// The impure packages reached from `package` by ordinary dependencies, each with one way to it.
fn impure_under(metadata: &Value, package: &Value) -> Vec<(String, String)> {
    let nodes = metadata["resolve"]["nodes"].as_array().map_or(&[][..], Vec::as_slice);
    let name_of = |id: &str| {
        let packages = metadata["packages"].as_array().map_or(&[][..], Vec::as_slice);
        packages.iter().find(|p| p["id"] == id).and_then(|p| p["name"].as_str()).unwrap_or("?").to_string()
    };
    let mut seen = BTreeSet::new();
    let mut open = vec![(package["id"].as_str().unwrap_or("").to_string(), String::new())];
    let mut bad = Vec::new();
    while let Some((id, way)) = open.pop() {
        if !seen.insert(id.clone()) {
            continue;
        }
        let name = name_of(&id);
        if IMPURE.contains(&name.as_str()) {
            bad.push((way, name));
            continue;
        }
        let way = if way.is_empty() { name } else { format!("{way} > {name}") };
        let Some(node) = nodes.iter().find(|node| node["id"] == id.as_str()) else { continue };
        for next in node["deps"].as_array().into_iter().flatten() {
            let ordinary =
                next["dep_kinds"].as_array().is_none_or(|kinds| kinds.iter().any(|k| k["kind"].is_null()));
            if let (true, Some(id)) = (ordinary, next["pkg"].as_str()) {
                open.push((id.to_string(), way.clone()));
            }
        }
    }
    bad
}
