//! To be written.

use std::process::ExitCode;

/// To be written.
#[derive(clap::Args)]
pub struct Explain {}

impl Explain {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        ExitCode::FAILURE
    }
}
