//! `cargo xtask test`: everything that .ci/run runs, in one go, with one count at the end.

use crate::{shell, tidy, types, web};
use std::process::Command;
use std::time::Instant;

/// What passed and what failed so far.
#[derive(Default)]
struct Tally {
    passed: usize,
    failed: usize,
    lines: Vec<String>,
}

impl Tally {
    /// Runs one step that passes or fails as a whole.
    fn step(&mut self, name: &str, work: impl FnOnce() -> Result<(), String>) {
        println!("\n== {name}");
        let begin = Instant::now();
        let outcome = work();
        let took = begin.elapsed().as_secs_f64();
        match outcome {
            Ok(()) => {
                self.passed += 1;
                self.lines.push(format!("passed  {name} ({took:.0} s)"));
            }
            Err(text) => {
                eprintln!("{text}");
                self.failed += 1;
                self.lines
                    .push(format!("FAILED  {name} ({took:.0} s): {}", text.lines().next().unwrap_or("")));
            }
        }
    }

    /// Runs the tests of the workspace, counting each test by itself.
    fn tests(&mut self, name: &str, command: &mut Command) {
        println!("\n== {name}");
        let begin = Instant::now();
        let (mut passed, mut failed, mut ignored) = (0, 0, 0);
        let done = shell::watch(command, |line| {
            println!("{line}");
            if line.starts_with("test result: ") {
                passed += counted(line, "passed");
                failed += counted(line, "failed");
                ignored += counted(line, "ignored");
            }
        });
        // A test that does not compile, or a test program that dies, is counted as one failure.
        let sound = matches!(done, Ok(true));
        if !sound && failed == 0 {
            failed = 1;
        }
        self.passed += passed;
        self.failed += failed;
        let word = if failed == 0 { "passed" } else { "FAILED" };
        self.lines.push(format!(
            "{word}  {name} ({:.0} s): {passed} passed, {failed} failed, {ignored} kept for `cargo xtask calibrate`",
            begin.elapsed().as_secs_f64()
        ));
    }
}

/// The number before `word` in a line such as `test result: ok. 12 passed; 0 failed; …`.
fn counted(line: &str, word: &str) -> usize {
    let words: Vec<&str> = line.split([' ', ';']).filter(|part| !part.is_empty()).collect();
    words.windows(2).find(|pair| pair[1] == word).and_then(|pair| pair[0].parse().ok()).unwrap_or(0)
}

/// Runs every step to its end, whatever the others gave, and fails if one failed.
pub fn run() -> Result<(), String> {
    let begin = Instant::now();
    let in_ci = std::env::var("CI").is_ok_and(|value| value == "true" || value == "1");
    let before = status();
    let mut tally = Tally::default();
    tally.step("what the tests need", needs);
    // First, since the program carries them inside it.
    tally.step("screens built", web::build);
    tally.step("format", || shell::run(&mut shell::cargo("fmt --all --check")));
    tally.step("clippy, warnings denied", || {
        shell::run(&mut shell::cargo("clippy --workspace --all-targets --locked -- -D warnings"))
    });
    tally.tests("tests", &mut shell::cargo("test --workspace --locked --no-fail-fast"));
    // Two hundred kills: the quick twenty are among the tests above.
    let kills = "test --locked --package fathomline --test desk_kill -- --ignored --test-threads 1";
    tally.tests("the desk killed two hundred times", &mut shell::cargo(kills));
    tally.step("the browser's types are fresh", types::check);
    tally.step("docs build, warnings denied", || {
        let mut doc = shell::cargo("doc --workspace --no-deps --locked --document-private-items");
        shell::run(doc.env("RUSTDOCFLAGS", "-D warnings"))
    });
    tally.step("screens: types and unit tests", web::check);
    tally.step("browser tests", web::browse);
    tally.step("tidy", tidy::run);
    tally.step("short fuzz of every parser", fuzz);
    if in_ci {
        tally.step("tree is clean", || unchanged(before));
    }

    println!("\n== summary");
    for line in &tally.lines {
        println!("{line}");
    }
    println!("wall time {:.0} s", begin.elapsed().as_secs_f64());
    println!("{} passed, {} failed", tally.passed, tally.failed);
    // The count is the last line, whatever it says.
    if tally.failed == 0 { Ok(()) } else { Err(String::new()) }
}

/// Says what is there, and fetches the two parts of Rust that a lean installation lacks.
fn needs() -> Result<(), String> {
    print!("{}", shell::output(shell::program("rustc").arg("--version"))?);
    let lacking: Vec<&str> = [("rustfmt", "fmt"), ("clippy", "clippy")]
        .iter()
        // Asked for their version only: run bare, the one would build and the other would format the tree.
        .filter(|(_, command)| !shell::found(&format!("cargo-{command}"), "--version"))
        .map(|(part, _)| *part)
        .collect();
    if !lacking.is_empty() {
        println!("adding {}", lacking.join(" and "));
        shell::run(shell::program("rustup").args(["component", "add"]).args(&lacking))
            .map_err(|e| format!("{e}; install {} by hand", lacking.join(" and ")))?;
    }
    println!(
        "the tests need Rust 1.85 or later with rustfmt and clippy, node 20.19 or later with npm, and chromium"
    );
    Ok(())
}

/// A seeded short fuzz of every parser; the same inputs every time.
fn fuzz() -> Result<(), String> {
    if !shell::has_package(&shell::metadata(false)?, "fuzz") {
        return Err("the workspace has no package called fuzz: parsers go unfuzzed".into());
    }
    // Not in release: overflow checks and debug assertions belong in a fuzz, and the parts are built already.
    shell::run(&mut shell::cargo("run --quiet --locked --package fuzz -- all 2000 1"))
}

/// What git says of the tree; `None` outside a checkout.
fn status() -> Option<String> {
    shell::output(&mut shell::git("status --porcelain")).ok()
}

/// Fails if the tests left anything behind or changed a tracked file.
fn unchanged(before: Option<String>) -> Result<(), String> {
    match (before, status()) {
        (Some(before), Some(after)) if before == after => Ok(()),
        (Some(_), Some(after)) => Err(format!("the tests changed the tree:\n{after}")),
        _ => {
            println!("not a git checkout: nothing to compare");
            Ok(())
        }
    }
}

#[cfg(test)]
mod tests {
    use super::counted;

    #[test]
    fn counts_are_read_from_cargos_own_line() {
        let line = "test result: FAILED. 12 passed; 3 failed; 1 ignored; 0 measured; 0 filtered out; finished in 0.1s";
        assert_eq!((counted(line, "passed"), counted(line, "failed"), counted(line, "ignored")), (12, 3, 1));
        assert_eq!(counted("running 4 tests", "passed"), 0);
    }
}
