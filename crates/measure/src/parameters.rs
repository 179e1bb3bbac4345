//! The register of parameters and sources: every default has a unit, a range, a standing and a reason.
//!
//! The tables live in data/parameters/*.toml and data/sources.toml and are built into the program.

use crate::Standing;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::sync::OnceLock;

const TABLES: &[&str] = &[
    include_str!("../../../data/parameters/glare.toml"),
    include_str!("../../../data/parameters/people.toml"),
    include_str!("../../../data/parameters/belief.toml"),
    include_str!("../../../data/parameters/lines.toml"),
    include_str!("../../../data/parameters/water.toml"),
    include_str!("../../../data/parameters/incidents.toml"),
    include_str!("../../../data/parameters/reach.toml"),
];
const SOURCES: &str = include_str!("../../../data/sources.toml");

/// A default, with what it is worth.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Parameter {
    /// The value used until the site's own measurement replaces it, in `unit`.
    pub value: f64,
    /// Unit, as shown.
    pub unit: String,
    /// Lowest value over which a plan should stay right.
    pub low: f64,
    /// Highest such value.
    pub high: f64,
    /// How the value is known.
    pub standing: Standing,
    /// Source ids in data/sources.toml; empty for common practice and assumptions.
    #[serde(default)]
    pub sources: Vec<String>,
    /// What it is, and why this value.
    pub note: String,
}

/// Where a number comes from, and how much of that source was read.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Source {
    /// Author, year, title, place.
    pub citation: String,
    /// What was read: `abstract`, `full text`, `second-hand`, `not read (from memory)`.
    pub read: String,
}

fn register() -> &'static BTreeMap<String, Parameter> {
    static REGISTER: OnceLock<BTreeMap<String, Parameter>> = OnceLock::new();
    REGISTER.get_or_init(|| {
        let mut all = BTreeMap::new();
        for table in TABLES {
            let part: BTreeMap<String, Parameter> =
                toml::from_str(table).unwrap_or_else(|e| panic!("data/parameters: {e}"));
            for (name, parameter) in part {
                let before = all.insert(name.clone(), parameter);
                assert!(before.is_none(), "parameter {name} is written twice");
            }
        }
        all
    })
}

/// The parameter called `name`.
///
/// # Panics
/// If there is none: the name is written in our own code, so that is our mistake.
pub fn parameter(name: &str) -> &'static Parameter {
    register().get(name).unwrap_or_else(|| panic!("no parameter is called {name}"))
}

/// The value of the parameter called `name`, in its unit.
///
/// # Panics
/// If there is none.
pub fn value(name: &str) -> f64 {
    parameter(name).value
}

/// All parameters by name, in alphabetical order.
pub fn all() -> impl Iterator<Item = (&'static str, &'static Parameter)> {
    register().iter().map(|(name, parameter)| (name.as_str(), parameter))
}

/// All sources by id.
pub fn sources() -> &'static BTreeMap<String, Source> {
    static ALL: OnceLock<BTreeMap<String, Source>> = OnceLock::new();
    ALL.get_or_init(|| toml::from_str(SOURCES).unwrap_or_else(|e| panic!("data/sources.toml: {e}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_parameter_is_in_its_range_and_names_living_sources() {
        for (name, p) in all() {
            assert!(
                p.low <= p.value && p.value <= p.high,
                "{name}: {} not in {}..{}",
                p.value,
                p.low,
                p.high
            );
            assert!(!p.unit.is_empty() && !p.note.is_empty(), "{name} lacks unit or note");
            if p.standing == Standing::Published {
                assert!(!p.sources.is_empty(), "{name} is called published but names no source");
            }
            for id in &p.sources {
                let source = sources().get(id).unwrap_or_else(|| panic!("{name}: no source {id}"));
                assert!(
                    p.standing != Standing::Published || !source.read.starts_with("not read"),
                    "{name} is called published but {id} was not read"
                );
            }
        }
    }
}
