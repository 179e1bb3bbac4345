//! The mean glint of the sun on one spot as one eye sees it, against the background there.

use super::optics::reflectance;
use super::sky::{Daylight, daylight, veil_per_lux};
use super::slopes::Slopes;
use measure::parameters::value;
use serde::Serialize;

/// How much the glare takes away.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Step {
    /// The sun is down: no glare of it.
    NoSun,
    /// Not noticed.
    Clear,
    /// Noticed.
    Slight,
    /// Contrast halved or worse.
    Impaired,
    /// A person just under the surface is lost.
    UnderHidden,
    /// A head over the surface is lost.
    HeadHidden,
}

impl Step {
    /// The step in words.
    pub fn words(self) -> &'static str {
        match self {
            Step::NoSun => "no sun",
            Step::Clear => "clear",
            Step::Slight => "slight",
            Step::Impaired => "impaired",
            Step::UnderHidden => "a person just under is hidden",
            Step::HeadHidden => "a head is hidden",
        }
    }
}

/// From which ratio of glare to background each step begins.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Thresholds {
    /// Noticed.
    pub slight: f64,
    /// Contrast halved.
    pub impaired: f64,
    /// A person just under the surface falls below the least contrast.
    pub under: f64,
    /// A head does.
    pub head: f64,
}

impl Thresholds {
    /// From the register: an object of contrast C is lost where C / (1 + ratio) falls below the least contrast.
    pub fn usual() -> Thresholds {
        let least = value("contrast_threshold");
        Thresholds {
            slight: value("glare_slight"),
            impaired: value("glare_impaired"),
            under: value("contrast_under") / least - 1.0,
            head: value("contrast_head") / least - 1.0,
        }
    }

    /// The step of a ratio.
    #[inline]
    pub fn step(&self, ratio: f64) -> Step {
        // A last digit short of the threshold is the threshold: 0.2 / 0.05 − 1 is 3 to no machine.
        let ratio = ratio * (1.0 + 1e-12);
        if ratio >= self.head {
            Step::HeadHidden
        } else if ratio >= self.under {
            Step::UnderHidden
        } else if ratio >= self.impaired {
            Step::Impaired
        } else if ratio >= self.slight {
            Step::Slight
        } else {
            Step::Clear
        }
    }
}

/// The sun with what depends on its height alone.
#[derive(Clone, Copy, Debug)]
pub struct Beam {
    /// Unit step towards it: east, north, up.
    pub step: [f64; 3],
    /// Daylight.
    pub light: Daylight,
    /// Facets hidden from it over those it meets.
    hidden: f64,
}

impl Beam {
    /// At a unit step towards the sun.
    pub fn new(step: [f64; 3], slopes: &Slopes) -> Beam {
        let level = step[0].hypot(step[1]);
        let elevation_deg = libm::atan2(step[2], level).to_degrees();
        let hidden = if step[2] > 0.0 { slopes.hidden_over_seen(level, step[2]) } else { 0.0 };
        Beam { step, light: daylight(elevation_deg), hidden }
    }
}

/// One spot as one eye sees it, with what depends on that alone.
#[derive(Clone, Copy, Debug)]
pub struct Look {
    /// Unit step from the spot to the eye: east, north, up.
    pub step: [f64; 3],
    /// Share of skylight thrown back to the eye.
    pub mirror: f64,
    /// Facets hidden from the eye over those seen.
    hidden: f64,
}

impl Look {
    /// At a unit step from the spot to the eye, the eye above the spot.
    pub fn new(step: [f64; 3], slopes: &Slopes, n: f64) -> Look {
        let level = step[0].hypot(step[1]);
        Look {
            step,
            mirror: reflectance(step[2].max(0.0), n),
            hidden: slopes.hidden_over_seen(level, step[2]),
        }
    }

    /// Brightness of the water without the sun's glint: light out of the water and sky mirrored in it \[cd/m²\].
    #[inline]
    pub fn background_cdm2(&self, light: &Daylight) -> f64 {
        light.water_cdm2 + self.mirror * light.sky_cdm2
    }
}

/// The mean glint and what it is made of.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Glint {
    /// Squared tangent of the facet that throws the sun into the eye.
    pub tan2: f64,
    /// Cosine of the angle between its normal and the sun.
    pub cos_omega: f64,
    /// Share it throws back.
    pub r: f64,
    /// Density of such facets.
    pub density: f64,
    /// Brightness of the glint over the beam \[1/sr\].
    pub per_lux: f64,
}

/// What the surface and the eye are.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Surface {
    /// Its slopes.
    pub slopes: Slopes,
    /// Refractive index.
    pub n: f64,
    /// Age of the guard \[years\].
    pub age_years: f64,
    /// Share of the veil that reaches the eye.
    pub veil_share: f64,
}

impl Surface {
    /// Slopes with the register's index, age and veil.
    pub fn new(slopes: Slopes) -> Surface {
        Surface {
            slopes,
            n: value("refractive_index"),
            age_years: value("glare_age_years"),
            veil_share: value("veil_share"),
        }
    }
}

/// Mean glint at one spot.
///
/// Facets that lean half-way between sun and eye, each a mirror; those hidden behind others are taken out. Model `glint`, docs/models/glare.md.
///
/// # Inputs
/// - `surface` · `beam`: the sun · `look`: the eye, above the spot
///
/// # Gives
/// The mean over many waves: no single flash, no boat wake, no waves longer than the slopes' statistics. Nothing but
/// the geometry with the sun at or below the horizon.
///
/// # Source
/// cox-munk-1954; masking by smith-1967
#[inline]
pub fn glint(surface: &Surface, beam: &Beam, look: &Look) -> Glint {
    let (s, v) = (beam.step, look.step);
    let (east, north, up) = (s[0] + v[0], s[1] + v[1], s[2] + v[2]);
    if up.is_nan() || up <= 0.0 {
        return Glint { tan2: f64::INFINITY, ..Glint::default() };
    }
    let flat = 1.0 / up;
    let tan2 = (east * east + north * north) * (flat * flat);
    let length = (east * east + north * north + up * up).sqrt();
    // |s + v| is twice the cosine of the half angle.
    let cos_omega = 0.5 * length;
    let r = reflectance(cos_omega.min(1.0), surface.n);
    let density = surface.slopes.density(-east * flat, -north * flat);
    let cos4 = 1.0 / ((1.0 + tan2) * (1.0 + tan2));
    let seen = v[2] * (1.0 + look.hidden + beam.hidden);
    let per_lux = if s[2] > 0.0 && seen > 0.0 { r * density / (4.0 * seen * cos4) } else { 0.0 };
    Glint { tan2, cos_omega, r, density, per_lux }
}

/// Glint and veil over background.
///
/// # Gives
/// The ratio; zero with the sun down.
pub fn glare_ratio(surface: &Surface, beam: &Beam, look: &Look) -> f64 {
    if beam.light.beam_lx <= 0.0 {
        return 0.0;
    }
    let veil = veil_ratio(surface, beam, look);
    beam.light.beam_lx * glint(surface, beam, look).per_lux / look.background_cdm2(&beam.light) + veil
}

/// The direct sun's veil over the background.
#[inline]
pub fn veil_ratio(surface: &Surface, beam: &Beam, look: &Look) -> f64 {
    let (s, v) = (beam.step, look.step);
    // The look goes from the eye to the spot: against `v`.
    let cosine = -(s[0] * v[0] + s[1] * v[1] + s[2] * v[2]);
    let veil = surface.veil_share * veil_per_lux(cosine, surface.age_years);
    if veil > 0.0 { beam.light.beam_lx * veil / look.background_cdm2(&beam.light) } else { 0.0 }
}

/// Largest squared tangent of a facet's lean at which glint alone can still reach a ratio.
///
/// # Inputs
/// - `slopes` · `most`: what the ratio would be with a facet density of one, at most · `ratio`: to be reached, above zero
///
/// # Gives
/// A bound from above: beyond it no glint reaches the ratio. Zero where none does anywhere.
///
/// # Source
/// the density is at most that of the rounder slopes of the larger variance
pub fn widest_tan2(slopes: &Slopes, most: f64, ratio: f64) -> f64 {
    let broad = 2.0 * slopes.along.max(slopes.across);
    let peak = most / (std::f64::consts::TAU * (slopes.along * slopes.across).sqrt());
    if peak.is_nan() || ratio.is_nan() || ratio <= 0.0 {
        return f64::INFINITY;
    }
    // peak · exp(−x / broad) (1 + x)² = ratio: grows from below to the larger root, so start from far enough.
    let mut x = 4.0_f64;
    for _ in 0..60 {
        let next = broad * (libm::log(peak / ratio) + 2.0 * libm::log1p(x));
        x = next.max(0.0);
    }
    1.02 * x + 1e-6
}

/// Squared tangent of the facet's lean up to which glint reaches a ratio, for slopes the same all round.
///
/// # Inputs
/// - `beam`: of which only the height matters · `look` · `ratio`: to be reached, above zero
///
/// # Gives
/// Below zero where no facet does. The share thrown back is that of a look straight towards the sun.
///
/// # Source
/// as [`glint`], solved for the lean by fixed point
pub fn lean_at(surface: &Surface, beam: &Beam, look: &Look, ratio: f64) -> f64 {
    let (s, v) = (beam.step, look.step);
    let total = surface.slopes.total();
    // Facing the sun, the half angle is half the sum of both angles from the vertical.
    let half = 0.5 * (libm::acos(s[2].min(1.0)) + libm::acos(v[2].min(1.0)));
    let r = reflectance(libm::cos(half).max(0.0), surface.n);
    let seen = 4.0 * v[2] * (1.0 + look.hidden + beam.hidden) * look.background_cdm2(&beam.light);
    let peak = beam.light.beam_lx * r / (std::f64::consts::PI * total * seen * ratio);
    let mut x = 0.0_f64;
    for _ in 0..20 {
        x = total * (libm::log(peak) + 2.0 * libm::log1p(x.max(0.0)));
    }
    if x.is_nan() { -1.0 } else { x }
}
