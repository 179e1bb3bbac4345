//! The peers' Python, kept in benches/peers/.venv, and their runs.

use super::yardsticks::{Record, Yardstick, pool};
use crate::shell;
use std::fs;
use std::path::{Path, PathBuf};

const NEEDS: &str =
    "the peers need Python 3.11 or later with its venv module, and a package index that pip can reach";

/// The Python of the peers' own environment, made on first use and whenever requirements.txt has changed.
pub fn python() -> Result<PathBuf, String> {
    let folder = shell::root().join("benches/peers");
    let home = folder.join(".venv");
    let python = home.join("bin/python");
    let wanted =
        fs::read_to_string(folder.join("requirements.txt")).map_err(|e| format!("requirements.txt: {e}"))?;
    let stamp = home.join("installed.txt");
    if python.exists() && fs::read_to_string(&stamp).is_ok_and(|installed| installed == wanted) {
        return Ok(python);
    }
    if !shell::found("python3", "--version") {
        return Err(format!("python3 is not on the PATH: {NEEDS}"));
    }
    eprintln!("making benches/peers/.venv …");
    shell::run(shell::program("python3").args(["-m", "venv"]).arg(&home))
        .map_err(|e| format!("{e}; {NEEDS}"))?;
    let mut install = shell::program(&python);
    install.args(["-m", "pip", "install", "--quiet", "-r", "benches/peers/requirements.txt"]);
    shell::run(&mut install).map_err(|e| format!("{e}; {NEEDS}"))?;
    fs::write(&stamp, wanted).map_err(|e| format!("{}: {e}", stamp.display()))?;
    Ok(python)
}

/// Runs every peer variant of a yardstick once.
pub fn measure(
    python: &Path,
    yardstick: &Yardstick,
    threads: usize,
    repeats: usize,
    into: &mut Vec<Record>,
) -> Result<(), String> {
    let mut variants: Vec<&str> =
        yardstick.rivals.iter().flat_map(|rivals| rivals.variants).copied().collect();
    variants.push(yardstick.judge);
    variants.extend(yardstick.also);
    variants.sort_unstable();
    variants.dedup();
    for variant in variants {
        let mut command = shell::program(python);
        command.current_dir(shell::root().join("benches/peers")).arg(yardstick.script);
        // Else numba starts a thread a core all the same, and the idle ones take time from the one that works.
        command.env("NUMBA_NUM_THREADS", threads.to_string());
        command.args([
            "--variant",
            variant,
            "--threads",
            &threads.to_string(),
            "--repeats",
            &repeats.to_string(),
        ]);
        pool(&shell::output(&mut command)?, into)?;
    }
    Ok(())
}

/// What this machine moves, by the peers' own measure.
pub fn bandwidth(python: &Path, threads: usize) -> Result<Vec<Record>, String> {
    let mut command = shell::program(python);
    command.current_dir(shell::root().join("benches/peers")).arg("membw.py");
    command.args(["--threads", &threads.to_string(), "--repeats", "7"]);
    let mut all = Vec::new();
    pool(&shell::output(&mut command)?, &mut all)?;
    Ok(all)
}
