//! Reach: how soon a guard is anywhere on the water, from every post and by every way.
//!
//! Start reading at [`Medium`], then [`Reach`].

mod again;
mod arrivals;
mod back;
mod cone;
mod crossing;
mod drift;
mod entry;
mod front;
mod march;
mod paces;
mod route;
mod source;
mod straight;
mod terrain;
mod trace;
mod zones;

pub use arrivals::{Arrival, Gear, Post, PostReach, Reach, Setting, WayReach};
pub use back::{Crossover, WayBack, ways_back};
pub use crossing::{Crossing, RunSwim, Strips, crossing, run_swim, strips};
pub use entry::{Edge, Entries, Entry, entries};
pub use march::{Footing, Medium, Start};
pub use paces::{Paces, Way};
pub use route::{Doing, Leg, Route};
pub use source::linear_time_s;
pub use terrain::Terrain;
pub use zones::{Zone, ZoneReach, over_zone, zones};
