//! To be written.

/// To be written.
pub fn run(_threads: usize, _repeats: usize) {}
