//! Lines of searchers and other ways of searching: width, pace, chance of contact, limits (models L).

mod alone;
mod chances;
mod contact;
mod dive;
mod limits;
mod look;
mod wade;

pub use alone::{lone_chance, pole_chance};
pub use chances::{Chances, Grip, chances};
pub use contact::contact;
pub(crate) use dive::dive_steps;
pub use dive::{DiveCycle, DivePace, DiveStep, dive_cycle, dive_step, line_advance, pause_after};
pub use limits::{dive_depth, dive_time, wade_depth, water_turn};
pub use look::look_half_width;
pub use wade::{Advice, wade_limit, wade_line_mps};
