//! `cargo xtask calibrate`: are the stated chances true? Hidden truths, drawn and then looked for.

use crate::shell;

/// Runs the calibration tests in release, the slow ones too, and lets them print their bands.
pub fn run() -> Result<(), String> {
    if !shell::root().join("crates/search/tests/calibration.rs").exists() {
        return Err("crates/search/tests/calibration.rs is not there: nothing to calibrate".into());
    }
    shell::run(&mut shell::cargo(
        "test --release --locked --package search --test calibration -- --include-ignored --nocapture --test-threads 1",
    ))?;
    shell::run(&mut shell::cargo(
        "test --release --locked --package readiness --test trials --test today -- --include-ignored --nocapture --test-threads 1",
    ))
}
