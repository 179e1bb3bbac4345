//! Where the sun stands: one moment exactly, a whole season quickly.
//!
//! The only door to the solar position library. Time is an argument, in seconds since 1970 (UTC).
//! Start reading at [`sun_at`], then [`Course`].

mod course;

pub use course::Course;

use measure::parameters::value;
use solar_positioning::time::JulianDate;
use solar_positioning::{Location, RefractionCorrection, SolarPositions, delta_t};

/// Days from the beginning of Julian days to 1970-01-01.
const JULIAN_1970: f64 = 2_440_587.5;
/// Seconds of a day.
const DAY_S: f64 = 86_400.0;
/// Elevation below which no refraction is applied: the upper rim is then under the horizon \[degrees\].
const CUTOFF_DEG: f64 = -0.833_37;

/// Where one stands, on WGS 84.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Station {
    /// Latitude \[degrees\], north positive.
    pub lat_deg: f64,
    /// Longitude \[degrees\], east positive.
    pub lon_deg: f64,
    /// Height over the sea \[m\].
    pub height_m: f64,
}

/// The air that bends the light.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Air {
    /// Pressure at the station \[hPa\].
    pub pressure_hpa: f64,
    /// Temperature \[°C\].
    pub temperature_c: f64,
}

impl Air {
    /// Pressure by the standard atmosphere at a height, temperature by the register.
    ///
    /// # Source
    /// international standard atmosphere, from memory; refraction at the horizon changes by 0.06 degrees over 1,000 m
    pub fn at_height(height_m: f64) -> Air {
        let share = (1.0 - 2.255_77e-5 * height_m.clamp(-500.0, 9_000.0)).max(0.1);
        Air {
            pressure_hpa: value("air_pressure_hpa") * libm::pow(share, 5.255_88),
            temperature_c: value("air_temperature_c"),
        }
    }
}

/// The sun as seen from a station.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sun {
    /// Bearing \[degrees true\].
    pub azimuth_deg: f64,
    /// Height of its middle over the horizon without refraction \[degrees\].
    pub elevation_deg: f64,
    /// The same as it is seen, with refraction \[degrees\].
    pub apparent_deg: f64,
}

impl Sun {
    /// Angle from the vertical as it is seen \[degrees\].
    pub fn zenith_deg(&self) -> f64 {
        90.0 - self.apparent_deg
    }

    /// Unit step towards the sun as it is seen: east, north, up.
    pub fn step(&self) -> [f64; 3] {
        let (up, out) = libm::sincos(self.apparent_deg.to_radians());
        let (east, north) = libm::sincos(self.azimuth_deg.to_radians());
        [out * east, out * north, up]
    }
}

/// Terrestrial time minus universal time at a moment \[s\].
///
/// # Inputs
/// - `unix_s`: seconds since 1970-01-01 00:00 UTC
///
/// # Gives
/// The estimate of the library's polynomials; 69 where they do not reach. Four seconds more move the sun by 0.00005 degrees along its yearly way.
///
/// # Source
/// Espenak and Meeus' polynomials in the solar position library, from memory
pub fn delta_t_s(unix_s: f64) -> f64 {
    delta_t::estimate(1970.0 + unix_s / (365.2425 * DAY_S)).unwrap_or(69.0)
}

/// The sun at one moment.
///
/// The Solar Position Algorithm of NREL, by a library that is checked against its published example. Model `sun`, docs/models/sun.md.
///
/// # Inputs
/// - `unix_s`: seconds since 1970-01-01 00:00 UTC · `station`, `air` · `delta_t_s`: terrestrial minus universal time \[s\]
///
/// # Gives
/// Bearing, and elevation without and with refraction; `None` for years outside −2000 to 6000, a latitude or longitude
/// that is none, or air that cannot be.
///
/// # Source
/// reda-andreas-2004
pub fn sun_at(unix_s: f64, station: Station, air: Air, delta_t_s: f64) -> Option<Sun> {
    let place = Location { latitude: station.lat_deg, longitude: station.lon_deg };
    let bent = RefractionCorrection::new(air.pressure_hpa, air.temperature_c).ok()?;
    let time = JulianDate::new(unix_s / DAY_S + JULIAN_1970, delta_t_s).ok()?;
    let prepared = SolarPositions::new().for_time_from_julian(time).ok()?;
    let plain = prepared.at(place, station.height_m, None).ok()?;
    let seen = prepared.at(place, station.height_m, Some(bent)).ok()?;
    Some(Sun {
        azimuth_deg: plain.azimuth(),
        elevation_deg: plain.elevation_angle(),
        apparent_deg: seen.elevation_angle(),
    })
}

#[cfg(test)]
mod tests;
