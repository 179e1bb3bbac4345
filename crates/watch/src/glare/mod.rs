//! Glare of the sun on water: the path of light, what it hides, and for how many minutes of a season.
//!
//! Mean glint of many waves under a clear sky. Not in it: single flashes, boat wake, whitecaps, swell.
//! Start reading at [`glint()`], then [`Season`].

mod glint;
mod optics;
mod season;
mod sky;
mod slopes;
mod suns;
mod words;

pub use glint::{
    Beam, Glint, Look, Step, Surface, Thresholds, glare_ratio, glint, lean_at, veil_ratio, widest_tan2,
};
pub use optics::{Fresnel, LookAt, LookIn, fresnel, look_in, reflectance, water_index};
pub use season::{HALF_HOURS, Moment, PostSeason, Scene, Season, Share, half_hour};
pub use sky::{Daylight, daylight, veil_per_lux};
pub use slopes::{Slopes, Variances, Wind, variances};
pub use suns::{Reach, Suns, Tally};
pub use words::{Loss, losses};

#[cfg(test)]
pub mod season_tests;
#[cfg(test)]
mod tests;
