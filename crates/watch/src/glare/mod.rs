//! Glare of the sun on water: the path of light, what it hides, and for how many minutes of a season.
//!
//! Mean glint of many waves under a clear sky. Not in it: single flashes, boat wake, whitecaps, swell.
//! Start reading at [`glint`], then [`Suns`].

mod glint;
mod optics;
mod sky;
mod slopes;
mod suns;

pub use glint::{Beam, Glint, Look, Step, Surface, Thresholds, glare_ratio, glint, veil_ratio, widest_tan2};
pub use optics::{Fresnel, LookAt, LookIn, fresnel, look_in, reflectance, water_index};
pub use sky::{Daylight, daylight, veil_per_lux};
pub use slopes::{Slopes, Variances, Wind, variances};
pub use suns::{Reach, Suns, Tally};

#[cfg(test)]
mod tests;
