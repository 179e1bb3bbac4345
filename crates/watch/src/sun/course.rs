//! The sun's course over a season: the slow quantities once a day from the library, the turn of the Earth at every moment.

use super::{Air, CUTOFF_DEG, DAY_S, JULIAN_1970, Station};
use measure::fastmath::{atan2, sin_cos_turns, wide};
use solar_positioning::time::JulianDate;
use solar_positioning::{Location, SolarPositions};

/// Slow quantities at one midnight (UTC).
#[derive(Clone, Copy, Debug)]
struct Slow {
    /// Hour angle at Greenwich less one turn a day, unwound \[turns\].
    lead_turns: f64,
    /// Declination \[turns\].
    declination_turns: f64,
    /// Sine of the equatorial horizontal parallax.
    parallax: f64,
}

/// The sun over a span of days from one station.
#[derive(Clone, Debug)]
pub struct Course {
    /// First midnight of the table \[s since 1970\].
    from_s: f64,
    nodes: Vec<Slow>,
    site: Site,
}

/// What of the station enters every moment.
#[derive(Clone, Copy, Debug)]
struct Site {
    lon_turns: f64,
    sin_lat: f64,
    cos_lat: f64,
    /// Distance from the Earth's axis and from the equator's plane, in equatorial radii.
    off_axis: f64,
    off_plane: f64,
    /// Factor of the refraction formula \[degrees\].
    bend: f64,
}

/// Flattening and radius as in the algorithm.
const FLATTENING: f64 = 0.996_647_19;
const RADIUS_M: f64 = 6_378_140.0;
/// Parallax of the sun at one astronomical unit \[arc seconds\].
const PARALLAX_S: f64 = 8.794;
/// Moments worked on at once, so that they stay in the nearest cache.
const BLOCK: usize = 256;

impl Site {
    fn new(station: Station, air: Air) -> Site {
        let (sin_lat, cos_lat) = libm::sincos(station.lat_deg.to_radians());
        let reduced = libm::atan2(FLATTENING * sin_lat, cos_lat);
        let up = station.height_m / RADIUS_M;
        Site {
            lon_turns: station.lon_deg / 360.0,
            sin_lat,
            cos_lat,
            off_axis: libm::cos(reduced) + up * cos_lat,
            off_plane: FLATTENING * libm::sin(reduced) + up * sin_lat,
            bend: (air.pressure_hpa / 1010.0) * (283.0 / (273.0 + air.temperature_c)) * 1.02 / 60.0,
        }
    }

    /// Elevation as it is seen and azimuth \[radians\] at an hour angle and declination.
    #[inline(always)]
    fn angles(&self, hour_turns: f64, declination_turns: f64, parallax: f64) -> (f64, f64) {
        let (sin_h, cos_h) = sin_cos_turns(hour_turns);
        let (sin_d, cos_d) = sin_cos_turns(declination_turns);
        // From the station instead of the middle of the Earth.
        let out = cos_d * cos_h - self.off_axis * parallax;
        let (west, pole) = (cos_d * sin_h, sin_d - self.off_plane * parallax);
        let up = self.cos_lat * out + self.sin_lat * pole;
        let north = self.cos_lat * pole - self.sin_lat * out;
        let level = (west * west + north * north).sqrt();
        let plain = atan2(up, level);
        let degrees = plain * (180.0 / std::f64::consts::PI);
        // Below the cut-off the formula has a pole: any angle serves there, its result is not taken.
        let raised = if degrees > CUTOFF_DEG { degrees } else { 0.0 };
        let (sin, cos) = sin_cos_turns((raised + 10.3 / (raised + 5.11)) / 360.0);
        let bent = if degrees > CUTOFF_DEG { self.bend * cos / sin } else { 0.0 };
        (plain + bent * (std::f64::consts::PI / 180.0), atan2(-west, north))
    }
}

impl Course {
    /// Prepares a span of time.
    ///
    /// # Inputs
    /// - `from_s`, `to_s`: the span \[s since 1970, UTC\], at most 200 years · `station`, `air` · `delta_t_s`
    ///
    /// # Gives
    /// `None` where [`super::sun_at`] would give none, or for a span that is empty or too long.
    pub fn over((from_s, to_s): (f64, f64), station: Station, air: Air, delta_t_s: f64) -> Option<Course> {
        super::sun_at(from_s, station, air, delta_t_s)?;
        super::sun_at(to_s, station, air, delta_t_s)?;
        // One node before and two behind, for the cubic at both ends.
        let first = (from_s / DAY_S).floor() - 1.0;
        let last = (to_s / DAY_S).floor() + 2.0;
        if !(to_s >= from_s && last - first < 75_000.0) {
            return None;
        }
        let mut nodes: Vec<Slow> = Vec::with_capacity((last - first) as usize + 1);
        for k in 0..=(last - first) as usize {
            let mut slow = slow_at((first + k as f64) * DAY_S, delta_t_s)?;
            if let Some(before) = nodes.last() {
                slow.lead_turns -= libm::round(slow.lead_turns - before.lead_turns);
            }
            nodes.push(slow);
        }
        Some(Course { from_s: first * DAY_S, nodes, site: Site::new(station, air) })
    }

    /// Elevations as seen and azimuths at many moments.
    ///
    /// # Inputs
    /// - `times_s`: moments inside the span \[s since 1970\], in any order
    ///
    /// # Gives
    /// (elevation \[degrees\], bearing \[degrees true, 0 to 360\]) of each, within 0.0001 degrees of [`super::sun_at`]
    /// (SN-2). Moments outside the span are NaN.
    ///
    /// # Source
    /// reda-andreas-2004 for the quantities once a day and for the turn to the horizon; cubic interpolation between
    pub fn at(&self, times_s: &[f64]) -> (Vec<f64>, Vec<f64>) {
        let (mut elevations, mut azimuths) = (vec![0.0; times_s.len()], vec![0.0; times_s.len()]);
        let blocks = elevations.chunks_mut(BLOCK).zip(azimuths.chunks_mut(BLOCK)).zip(times_s.chunks(BLOCK));
        for ((up, around), times) in blocks {
            self.block(times, up, around);
        }
        (elevations, azimuths)
    }

    /// Unit steps towards the sun as it is seen (east, north, up) at many moments, as [`Course::at`].
    pub fn steps(&self, times_s: &[f64]) -> Vec<[f64; 3]> {
        let (elevations, azimuths) = self.at(times_s);
        let step = |(up, around): (&f64, &f64)| {
            let (rise, out) = sin_cos_turns(up / 360.0);
            let (east, north) = sin_cos_turns(around / 360.0);
            [out * east, out * north, rise]
        };
        elevations.iter().zip(&azimuths).map(step).collect()
    }

    fn block(&self, times: &[f64], up: &mut [f64], around: &mut [f64]) {
        let (mut hour, mut declination, mut parallax) = ([0.0; BLOCK], [0.0; BLOCK], [0.0; BLOCK]);
        for (k, time) in times.iter().enumerate() {
            let slow = self.between(*time);
            (hour[k], declination[k], parallax[k]) = (slow.lead_turns, slow.declination_turns, slow.parallax);
        }
        let site = self.site;
        wide(|| {
            let slow = hour.iter().zip(&declination).zip(&parallax);
            for (((hour, declination), parallax), (up, around)) in slow.zip(up.iter_mut().zip(around)) {
                let (e, a) = site.angles(*hour, *declination, *parallax);
                let degrees = a * (180.0 / std::f64::consts::PI);
                *up = e * (180.0 / std::f64::consts::PI);
                *around = if degrees < 0.0 { degrees + 360.0 } else { degrees };
            }
        });
    }

    /// The slow quantities at a moment, with the local hour angle in place of its lead.
    #[inline(always)]
    fn between(&self, time_s: f64) -> Slow {
        let days = (time_s - self.from_s) / DAY_S;
        let inside = days >= 1.0 && days < (self.nodes.len() - 2) as f64;
        if !inside {
            return Slow { lead_turns: f64::NAN, declination_turns: f64::NAN, parallax: f64::NAN };
        }
        let k = days as usize;
        let t = days - k as f64;
        let weight = [
            -t * (t - 1.0) * (t - 2.0) / 6.0,
            (t + 1.0) * (t - 1.0) * (t - 2.0) / 2.0,
            -(t + 1.0) * t * (t - 2.0) / 2.0,
            (t + 1.0) * t * (t - 1.0) / 6.0,
        ];
        let nodes = &self.nodes[k - 1..k + 3];
        let mix = |of: fn(&Slow) -> f64| {
            weight[0] * of(&nodes[0])
                + weight[1] * of(&nodes[1])
                + weight[2] * of(&nodes[2])
                + weight[3] * of(&nodes[3])
        };
        Slow {
            lead_turns: mix(|n| n.lead_turns) + t + self.site.lon_turns,
            declination_turns: mix(|n| n.declination_turns),
            parallax: mix(|n| n.parallax),
        }
    }
}

/// The library's quantities at one moment.
fn slow_at(unix_s: f64, delta_t_s: f64) -> Option<Slow> {
    let time = JulianDate::new(unix_s / DAY_S + JULIAN_1970, delta_t_s).ok()?;
    let prepared = SolarPositions::new().for_time_from_julian(time).ok()?;
    // At the pole the azimuth is the hour angle at Greenwich turned by half a circle: neither parallax nor latitude enter.
    let pole = prepared.at(Location { latitude: 90.0, longitude: 0.0 }, 0.0, None).ok()?;
    let distance = prepared.earth_radius_vector()?;
    Some(Slow {
        lead_turns: (pole.azimuth() - 180.0) / 360.0,
        declination_turns: prepared.declination() / 360.0,
        parallax: libm::sin((PARALLAX_S / (3600.0 * distance)).to_radians()),
    })
}
