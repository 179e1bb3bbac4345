//! Lines of searchers and other ways of searching: width, pace, chance of contact, limits (models L).

mod contact;
mod dive;
mod wade;

pub use contact::contact;
pub use dive::{DiveCycle, DivePace, dive_cycle, line_advance};
pub use wade::{Advice, wade_limit, wade_line_mps};
