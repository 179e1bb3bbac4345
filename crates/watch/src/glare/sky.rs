//! Daylight of a clear sky: the sun's beam, what the sky and the water shine with, and the veil in the eye.

use measure::parameters::value;

/// Light over the water at one height of the sun, under a clear sky.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Daylight {
    /// The sun's beam on a plane that faces it \[lx\].
    pub beam_lx: f64,
    /// The sky on a level plane \[lx\].
    pub sky_lx: f64,
    /// How bright the sky is \[cd/m²\].
    pub sky_cdm2: f64,
    /// How bright the water is by light that came out of it \[cd/m²\].
    pub water_cdm2: f64,
}

/// How often the beam's way through the air is that straight up.
///
/// # Source
/// kasten-young-1989
fn air_mass(elevation_deg: f64) -> f64 {
    let sine = libm::sin(elevation_deg.to_radians());
    1.0 / (sine + 0.505_72 * libm::pow(elevation_deg + 6.079_95, -1.6364))
}

/// Daylight at a height of the sun.
///
/// # Inputs
/// - `elevation_deg`: of the sun over the horizon, as seen
///
/// # Gives
/// Everything zero with the sun at or below the horizon, or at no height at all.
///
/// # Source
/// ies-daylight; water as a share of what falls on it
pub fn daylight(elevation_deg: f64) -> Daylight {
    if elevation_deg.is_nan() || elevation_deg <= 0.0 {
        return Daylight::default();
    }
    let sine = libm::sin(elevation_deg.min(90.0).to_radians());
    let beam_lx = 127_500.0 * libm::exp(-0.21 * air_mass(elevation_deg.min(90.0)));
    let sky_lx = 800.0 + 15_500.0 * sine.sqrt();
    let level_lx = beam_lx * sine + sky_lx;
    let pi = std::f64::consts::PI;
    Daylight {
        beam_lx,
        sky_lx,
        sky_cdm2: sky_lx / pi,
        water_cdm2: value("water_luminance_share") * level_lx / pi,
    }
}

/// Veil that the sun spreads over the picture in the eye, for each lux of its beam \[cd/m² lx⁻¹\].
///
/// # Inputs
/// - `cosine`: of the angle between the look and the sun · `age_years`: of the guard
///
/// # Gives
/// Zero with the sun beside or behind; the law is published for 1 to 30 degrees and carried on to 90, where the beam
/// no longer meets the eye. Nearer than one degree it keeps its value there.
///
/// # Source
/// cie-146-2002, age-adjusted Stiles-Holladay law
#[inline]
pub fn veil_per_lux(cosine: f64, age_years: f64) -> f64 {
    if cosine <= 0.0 {
        return 0.0;
    }
    let degrees = libm::acos(cosine.min(1.0)).to_degrees().max(1.0);
    let age = age_years / 70.0;
    10.0 * (1.0 + age * age * age * age) * cosine / (degrees * degrees)
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: GL-5
    #[test]
    fn daylight_and_veil_of_the_worked_example() {
        let light = daylight(25.0);
        assert!((light.beam_lx - 77_700.0).abs() < 100.0, "{light:?}");
        assert!((light.sky_lx - 10_900.0).abs() < 50.0 && (light.water_cdm2 - 418.0).abs() < 1.0);
        // Facing the sun with a spot 5.71 degrees below the horizon, printed to 10 cd/m².
        for (elevation, veil) in [(5.0, 1280.0), (10.0, 1560.0), (15.0, 1270.0), (20.0, 960.0)] {
            let cosine = libm::cos(f64::to_radians(elevation + 5.711));
            let got = daylight(elevation).beam_lx * veil_per_lux(cosine, 25.0);
            assert!((got - veil).abs() < 8.0, "{elevation}: {got}");
        }
        assert_eq!(daylight(-0.1), Daylight::default());
        assert_eq!(daylight(f64::NAN), Daylight::default());
        assert_eq!(veil_per_lux(-0.2, 25.0), 0.0);
        assert!(veil_per_lux(1.0, 25.0).is_finite());
    }
}
