//! Quantities and how much they are worth: places in site metres, bearings, figures with their
//! standing, the register of parameters and sources, seeded chance, special functions.
//!
//! Never: reads a clock, a file, the environment or unseeded chance; knows nothing of water.
//! Start reading at [`Spot`], then [`Figure`], then [`chance`].

pub mod chance;
pub mod fastmath;
mod figure;
pub mod parameters;
mod place;
pub mod special;

pub use chance::{Seed, Stream};
pub use figure::{Figure, Noted, Standing};
pub use place::{Bearing, Spot};
