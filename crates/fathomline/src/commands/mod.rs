//! One file a command; each reads files, calls the pure crates, and prints what they give.

mod alarm_plan;
pub mod explain;
mod loaded;
mod water_check;
mod water_reach;
mod water_show;

use std::process::ExitCode;

/// Exit code for input that cannot be used; the problems are on standard error.
pub const BAD_INPUT: u8 = 2;

/// Commands of the Water room.
#[derive(clap::Subcommand)]
pub enum Water {
    /// Check a site folder: every problem at once, with place, value, rule and remedy.
    Check(water_check::Check),
    /// Show a site: depth, bands, area, volume, distance to soundings; picture and numbers.
    Show(water_show::Show),
    /// Show how soon guards are anywhere: times by zone, routes, entries, the way back; picture and numbers.
    Reach(water_reach::ReachCommand),
}

impl Water {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self {
            Water::Check(command) => command.run(),
            Water::Show(command) => command.run(),
            Water::Reach(command) => command.run(),
        }
    }
}

/// Commands of the Alarm room.
#[derive(clap::Subcommand)]
pub enum Alarm {
    /// From a last-seen point to orders.
    Plan(Box<alarm_plan::Plan>),
}

impl Alarm {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self {
            Alarm::Plan(command) => command.run(),
        }
    }
}
