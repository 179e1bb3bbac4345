//! One search as a list of events: what was reported, what follows from it, and what each person sees.
//!
//! Never: reads files, clocks or unseeded chance; changes an event that was recorded.

pub mod report;
pub mod screen;
