//! Simulated incidents on today's water: how long the crew needs, and what would help.
//!
//! Never: reads files, clocks or unseeded chance; says that a place is without danger.
