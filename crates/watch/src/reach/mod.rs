//! Reach: how soon a guard is anywhere on the water, from every post and by every way.
//!
//! Start reading at [`Medium`], then [`Reach`].

mod arrivals;
mod crossing;
mod drift;
mod front;
mod march;
mod paces;
mod source;
mod terrain;

pub use arrivals::{Arrival, Gear, Post, PostReach, Reach, Setting, WayReach};
pub use crossing::{Crossing, RunSwim, Strips, crossing, run_swim, strips};
pub use march::{Footing, Medium, Start};
pub use paces::{Paces, Way};
pub use source::linear_time_s;
pub use terrain::Terrain;
