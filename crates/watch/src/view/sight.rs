//! How one eye sees every spot: open or not, how far, how flat, how small a head, how deep.

use super::{Post, Spots, Tops};
use crate::glare::{Daylight, fresnel};
use measure::parameters::value;
use rayon::prelude::*;

/// How one eye sees one spot.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Whether nothing stands in the way.
    pub open: bool,
    /// Level distance \[m\].
    pub distance_m: f64,
    /// Size of a head there \[minutes of arc\].
    pub arcmin: f64,
    /// Look from the vertical \[degrees\].
    pub view_zenith_deg: f64,
}

impl Sight {
    /// Whether the spot is open to the eye and within the limit of useful watch.
    pub fn watched(&self, limit_m: f64) -> bool {
        self.open && self.distance_m <= limit_m
    }
}

/// How one post sees every spot.
#[derive(Clone, Debug, PartialEq)]
pub struct Sights {
    /// In the order of the spots.
    pub each: Vec<Sight>,
}

/// How posts see the spots.
///
/// # Inputs
/// - `posts` · `spots` · `tops`: what stands in the way
///
/// # Gives
/// One for each post, in their order.
pub fn sights(posts: &[Post], spots: &Spots, tops: &Tops) -> Vec<Sights> {
    let head_m = value("head_m");
    let of_post = |post: &Post| {
        let one = |spot: &measure::Spot| {
            let distance_m = post.spot.distance(*spot);
            let (arcmin, view_zenith_deg) = head_angle(head_m, distance_m, post.eye_m);
            Sight { open: tops.sees(post, *spot), distance_m, arcmin, view_zenith_deg }
        };
        Sights { each: spots.places.par_iter().map(one).collect() }
    };
    posts.iter().map(of_post).collect()
}

/// How large a thing looks, and how flat the look is.
///
/// Model `head_angle`, docs/models/view.md.
///
/// # Inputs
/// - `size_m` · `distance_m`: level · `eye_m`: over the water
///
/// # Gives
/// (minutes of arc, degrees from the vertical).
///
/// # Source
/// geometry
pub fn head_angle(size_m: f64, distance_m: f64, eye_m: f64) -> (f64, f64) {
    let range_m = distance_m.hypot(eye_m);
    let angle = 2.0 * libm::atan2(0.5 * size_m, range_m);
    (angle.to_degrees() * 60.0, libm::atan2(distance_m, eye_m).to_degrees())
}

/// Chance that one scan notices a head without glare, by its size alone.
///
/// # Source
/// assumed: no published curve was found
pub fn notice(arcmin: f64) -> f64 {
    let share = arcmin / value("notice_arcmin");
    value("notice_chance") * (share * share).clamp(0.0, 1.0)
}

/// The light under water, and over it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Clarity {
    /// Secchi depth \[m\].
    pub secchi_m: f64,
    /// Daylight.
    pub light: Daylight,
}

/// Depth down to which a pale body can be made out from a post, without glint \[m\].
///
/// # Inputs
/// - `view_zenith_deg`: look from the vertical · `clarity`
///
/// # Gives
/// Zero past the flat look, in opaque water, at night, and where the sky's mirror alone drowns it.
///
/// # Source
/// coarse loss of contrast: through the surface, then exp(−(c + K) way); preisendorfer-1986, poole-atkins-1929 from memory
pub fn look_depth(view_zenith_deg: f64, clarity: &Clarity) -> f64 {
    let usable = clarity.secchi_m > 0.0 && clarity.light.beam_lx > 0.0;
    if !usable || view_zenith_deg.is_nan() || view_zenith_deg >= value("flat_look_deg") {
        return 0.0;
    }
    let surface = fresnel(view_zenith_deg, value("refractive_index"));
    let water = clarity.light.water_cdm2;
    let through = (1.0 - surface.r) * water / (water + surface.r * clarity.light.sky_cdm2);
    let contrast = value("contrast_sunken") * through;
    let loss = (value("secchi_beam") + value("secchi_diffuse")) / clarity.secchi_m;
    let way_m = libm::log(contrast / value("contrast_threshold")) / loss;
    (way_m * libm::cos(surface.refracted_deg.to_radians())).max(0.0)
}
