//! To be written.

use std::process::ExitCode;

/// To be written.
#[derive(clap::Args)]
pub struct Plan {}

impl Plan {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        ExitCode::FAILURE
    }
}
