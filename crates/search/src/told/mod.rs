//! What people tell, as text: sightings, who is missing, and reports from the water.
//!
//! One row of `key=value` words on the command line and one JSON object a line in a report file carry the
//! same keys. Everything is checked here, all problems at once; past this door compute cannot fail.
//! Start reading at [`Fields`], then [`sighting`], then [`reports`].

mod fields;
mod missing;
mod report;
mod seen;
mod times;

pub use fields::Fields;
pub use missing::missing;
pub use report::{Happening, Newcomer, Report, reports};
pub use seen::sighting;
pub use times::{clock_gap_s, clock_s, clock_text};
