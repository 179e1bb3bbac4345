//! `cargo xtask tidy`: the house rules that no compiler checks (ARCHITECTURE.md).
//!
//! Each file here is one rule. A rule gives faults, with the place and the way out; nothing is repaired by itself.

mod arrows;
mod docstrings;
mod links;
mod names;
mod places;
mod purity;
mod register;
mod rules;
mod size;
mod source;

use source::Tree;

/// Crates that read no clock, file, environment, socket or unseeded chance, and print nothing.
const PURE: [&str; 6] = ["measure", "water", "search", "watch", "readiness", "incident"];

/// What the rules found.
#[derive(Default)]
pub struct Found {
    faults: Vec<String>,
    doubts: Vec<String>,
}

impl Found {
    /// Something that must be put right.
    fn fault(&mut self, place: &str, line: usize, text: impl AsRef<str>) {
        self.faults.push(spoken(place, line, text.as_ref()));
    }

    /// Something to look at; does not fail.
    fn doubt(&mut self, place: &str, line: usize, text: impl AsRef<str>) {
        self.doubts.push(spoken(place, line, text.as_ref()));
    }
}

fn spoken(place: &str, line: usize, text: &str) -> String {
    if line == 0 { format!("{place}: {text}") } else { format!("{place}:{line}: {text}") }
}

/// Runs every rule over the tracked files and fails if one found a fault.
pub fn run() -> Result<(), String> {
    let tree = Tree::read()?;
    let mut found = Found::default();
    arrows::check(&mut found)?;
    purity::check(&tree, &mut found);
    size::check(&tree, &mut found)?;
    names::check(&tree, &mut found);
    docstrings::check(&tree, &mut found);
    rules::check(&tree, &mut found);
    register::check(&tree, &mut found)?;
    places::check(&tree, &mut found);
    links::check(&tree, &mut found);
    for doubt in &found.doubts {
        println!("doubt: {doubt}");
    }
    for fault in &found.faults {
        println!("fault: {fault}");
    }
    println!(
        "tidy: {} files, {} of them Rust; {} faults, {} doubts",
        tree.files.len(),
        tree.sources.len(),
        found.faults.len(),
        found.doubts.len()
    );
    if found.faults.is_empty() { Ok(()) } else { Err(format!("tidy found {} faults", found.faults.len())) }
}
