//! From a last-seen point to orders: drift and sinking, belief, lines and lanes, plan, checker, words.
//!
//! Data goes one way: site, day and [`Alarm`] → [`belief`] → [`plan`] → [`orders`]; reports change the belief.
//! Never: reads a clock or a file, prints, or says stop, safe or clear.
//! Start reading at [`alarm`], then [`belief`], then [`plan`], then [`orders`].

pub mod alarm;
pub mod belief;
pub mod course;
pub mod lines;
pub mod orders;
pub mod path;
pub mod physics;
pub mod plan;
mod setting;
pub mod sighting;
pub mod survival;
pub mod sweep;
pub mod theory;
pub mod told;
pub mod zero;

pub use alarm::{Alarm, AlarmKind, Missing, Seen, Sighting, WitnessClass};
pub use setting::Setting;
pub use sweep::{Detection, Method, Passes, Stretch, Sweep};
