//! Simulated incidents on today's water: how long the crew needs, and what would help.
//!
//! An [`incident`] is a hidden truth with what is told of it. It can be searched through with every report
//! and every new plan ([`chain`]), by a habit without a plan ([`habits`]), or by the first plan alone
//! ([`promise`]); [`trials`] compares them, [`today`] asks it of every bathing area.
//! Never: reads files, clocks or unseeded chance; says that a place is without danger.

pub mod bathers;
pub mod chain;
pub mod excerpt;
mod forward;
pub mod habits;
pub mod incident;
mod likely;
pub mod luck;
pub mod promise;
pub mod reach;
pub mod robust;
pub mod shares;
pub mod short;
pub mod today;
pub mod trials;
pub mod what_if;

/// Chances of finding are told for these times after the alarm \[s\].
pub const TIMES_S: [f64; 5] = [180.0, 360.0, 600.0, 1200.0, 1800.0];
