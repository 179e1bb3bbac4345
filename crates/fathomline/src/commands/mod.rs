//! One file a command; each reads files, calls the pure crates, and prints what they give.

mod alarm_plan;
pub mod explain;
pub mod loaded;
mod options;
mod practice_robust;
mod practice_trials;
mod records;
mod roster_kept;
mod roster_sight;
mod serve;
mod simulated;
mod today_readiness;
mod today_roster;
mod today_zero;
mod water_check;
mod water_glare;
mod water_places;
mod water_reach;
mod water_show;

pub use records::Records;
pub use serve::Serve;

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
    /// Show glare: which water cannot be watched from which post, and when.
    Glare(Box<water_glare::Glare>),
    /// Show how soon guards are anywhere: times by zone, routes, entries, the way back; picture and numbers.
    Reach(water_reach::ReachCommand),
    /// Show where posts, boards and fins serve the water best, with today's layout beside it.
    Places(Box<water_places::Places>),
}

impl Water {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self {
            Water::Check(command) => command.run(),
            Water::Show(command) => command.run(),
            Water::Glare(command) => command.run(),
            Water::Reach(command) => command.run(),
            Water::Places(command) => command.run(),
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

/// Commands of the Practice room.
#[derive(clap::Subcommand)]
pub enum Practice {
    /// Search for hidden truths with plans and with habits; hold promises against what came true.
    Trials(Box<practice_trials::TruthTrials>),
    /// What plans lose when the world is not as they take it.
    Robust(practice_robust::Robust),
}

impl Practice {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self {
            Practice::Trials(command) => command.run(),
            Practice::Robust(command) => command.run(),
        }
    }
}

/// Commands of the Today room.
#[derive(clap::Subcommand)]
pub enum Today {
    /// How long it would take to be there and to find somebody, zone by zone; what would help.
    Readiness(today_readiness::ReadinessOf),
    /// First orders for every zone and ten-metre cell, before anybody is missing.
    Zero(today_zero::Cards),
    /// Who stands at which post in which half-hour; conflicts named; calendar and table out.
    Roster(Box<today_roster::RosterOf>),
}

impl Today {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self {
            Today::Readiness(command) => command.run(),
            Today::Zero(command) => command.run(),
            Today::Roster(command) => command.run(),
        }
    }
}
