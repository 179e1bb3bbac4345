//! To be written.

use std::process::ExitCode;

/// To be written.
#[derive(clap::Args)]
pub struct Show {}

impl Show {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        ExitCode::FAILURE
    }
}
