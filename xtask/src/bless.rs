//! `cargo xtask bless`: accept what the program says today as the golden texts.
//!
//! A golden test compares with a file, and writes that file instead when the environment holds `BLESS=1`.

use crate::shell;

/// Runs the tests whose name holds `golden` with `BLESS=1`, then shows which texts changed.
pub fn run() -> Result<(), String> {
    shell::run(shell::cargo("test --workspace --locked golden").env("BLESS", "1"))?;
    let changed = shell::output(&mut shell::git("status --porcelain --untracked-files=all"))?;
    let golden: Vec<&str> = changed.lines().filter(|line| line.contains("golden")).collect();
    if golden.is_empty() {
        println!("no golden text changed");
        return Ok(());
    }
    println!("golden texts that changed; read each one before it is committed:");
    for line in golden {
        println!("  {line}");
    }
    shell::run(&mut shell::git("--no-pager diff --stat"))
}
