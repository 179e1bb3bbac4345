//! What a place is worth for watching over a season, for many places at once.

use super::{Post, Sight, Sights, Spots, notice};
use crate::glare::{Beam, Look, Moment, Reach, Suns, Surface, Thresholds, lean_at};
use crate::sun::Course;
use rayon::prelude::*;

/// Width of a band of the sun's height in which one bound of the facet's lean serves \[degrees\].
const BAND_DEG: f64 = 2.0;

/// The sun's places of a season while bathing is open, by bands of its height.
#[derive(Clone, Debug)]
pub struct SeasonSuns {
    /// Middle of each band \[degrees\] and the places in it.
    bands: Vec<(f64, Suns)>,
    /// Open moments, sun up or not.
    open: usize,
}

impl SeasonSuns {
    /// The open moments of a season.
    pub fn of(moments: &[Moment], course: &Course) -> SeasonSuns {
        let times: Vec<f64> = moments.iter().filter(|m| m.open).map(|m| m.unix_s).collect();
        let (up, _) = course.at(&times);
        let steps = course.steps(&times);
        let count = (90.0 / BAND_DEG) as usize;
        let mut by_band: Vec<Vec<[f64; 3]>> = vec![Vec::new(); count];
        for (elevation, step) in up.iter().zip(steps).filter(|(e, _)| **e > 0.0) {
            by_band[((elevation / BAND_DEG) as usize).min(count - 1)].push(step);
        }
        let bands = by_band.iter().enumerate().filter(|(_, steps)| !steps.is_empty());
        let bands = bands.map(|(k, steps)| ((k as f64 + 0.5) * BAND_DEG, Suns::new(steps))).collect();
        SeasonSuns { bands, open: times.len() }
    }

    /// Share of the open moments at which a person just under is hidden at each of some looks.
    ///
    /// # Gives
    /// Slopes the same all round; the threshold of lean is taken at the middle of each band and straight towards the sun. Agrees
    /// with the full evaluation within a few hundredths (VW-6).
    pub fn hidden(&self, steps: &[[f64; 3]], surface: &Surface) -> Vec<f64> {
        let mut sums = vec![0u64; steps.len()];
        let under = Thresholds::usual().under;
        for (height_deg, suns) in &self.bands {
            let (up, level) = libm::sincos(height_deg.to_radians());
            let beam = Beam::new([0.0, level, up], &surface.slopes);
            let reach = |step: &[f64; 3]| {
                let look = Look::new(*step, &surface.slopes, surface.n);
                Reach { step: *step, most_tan2: lean_at(surface, &beam, &look, under) }
            };
            let reaches: Vec<Reach> = steps.iter().map(reach).collect();
            suns.counts(&reaches).iter().zip(&mut sums).for_each(|(count, sum)| *sum += count);
        }
        sums.iter().map(|sum| if self.open == 0 { 0.0 } else { *sum as f64 / self.open as f64 }).collect()
    }
}

/// What each candidate place is worth at each spot: chance that one scan notices a head there, less the share of the open season in which
/// glare hides a person just under.
///
/// # Inputs
/// - `places` with their `sights` of the spots · `suns`: of the season · `surface` · `limit_m`: of useful watch
///
/// # Gives
/// For each place a value for each spot, 0 to the chance to notice; 0 where the place does not watch.
///
/// # Source
/// as [`crate::glare::glint()`]; the chance to notice is assumed
pub fn view_benefit(
    (places, sights): (&[Post], &[Sights]),
    spots: &Spots,
    (suns, surface): (&SeasonSuns, &Surface),
    limit_m: f64,
) -> Vec<Vec<f64>> {
    let of_place = |(place, sights): (&Post, &Sights)| {
        let watched: Vec<usize> = (0..spots.len()).filter(|s| sights.each[*s].watched(limit_m)).collect();
        let steps: Vec<[f64; 3]> = watched.iter().map(|s| place.step_from(spots.places[*s])).collect();
        let mut benefit = vec![0.0; spots.len()];
        for (spot, hidden) in watched.iter().zip(suns.hidden(&steps, surface)) {
            let Sight { arcmin, .. } = sights.each[*spot];
            benefit[*spot] = notice(arcmin) * (1.0 - hidden);
        }
        benefit
    };
    places.par_iter().zip(sights).map(of_place).collect()
}
