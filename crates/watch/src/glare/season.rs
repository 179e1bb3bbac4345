//! Glare from every post over many moments: what share of each zone hides a person, and when.
//!
//! Start reading at [`Scene`], then [`Season::of`].

use super::glint::{Beam, Look, Step, Surface, Thresholds, glare_ratio, veil_ratio, widest_tan2};
use super::suns::{Reach, Suns};
use crate::sun::Course;
use crate::view::{Post, Sights, Spots};
use rayon::prelude::*;

/// Half-hours of a day.
pub const HALF_HOURS: usize = 48;

/// Posts, the water they watch, and what the surface is like.
#[derive(Clone, Copy, Debug)]
pub struct Scene<'a> {
    /// Posts.
    pub posts: &'a [Post],
    /// Spots of water with their zones.
    pub spots: &'a Spots,
    /// How each post sees each spot.
    pub sights: &'a [Sights],
    /// Surface and eye.
    pub surface: Surface,
    /// From which ratio each step begins.
    pub thresholds: Thresholds,
    /// Limit of useful watch \[m\].
    pub limit_m: f64,
}

/// One moment of a season.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Moment {
    /// Seconds since 1970 (UTC).
    pub unix_s: f64,
    /// Number of its day, from 0.
    pub day: usize,
    /// Local minutes after midnight, below 1440.
    pub minute: usize,
    /// Number of its period, from 0: a month of a season, or the one day.
    pub period: usize,
    /// Whether bathing is open.
    pub open: bool,
}

/// What of the watched water is lost at one moment.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Share {
    /// Contrast halved or worse.
    pub impaired: f64,
    /// A person just under the surface hidden, or worse.
    pub under: f64,
    /// A head hidden.
    pub head: f64,
}

/// One post over a season.
#[derive(Clone, Debug)]
pub struct PostSeason {
    /// Numbers of the spots it watches.
    pub watched: Vec<usize>,
    /// Share of each zone's spots that it watches.
    pub zone_watched: Vec<f64>,
    /// Counts of watched spots lost, by zone and moment: impaired, under, head.
    counts: Vec<[u32; 3]>,
    /// Watched spots of each zone.
    zone_count: Vec<usize>,
    /// Open moments at which a person just under is hidden, by period, half-hour and spot.
    hidden: Vec<u16>,
}

/// Glare of a season.
#[derive(Clone, Debug)]
pub struct Season {
    /// Moments, as given.
    pub moments: Vec<Moment>,
    /// Height of the sun at each \[degrees\], as seen.
    pub elevation_deg: Vec<f64>,
    /// Its bearing.
    pub azimuth_deg: Vec<f64>,
    /// Posts, as given.
    pub posts: Vec<PostSeason>,
    spots: usize,
    zones: usize,
    periods: usize,
    /// Open moments, by period and half-hour.
    open: Vec<u32>,
}

/// Heights of the sun at which bounds are taken, every half degree.
pub(super) fn heights(surface: &Surface) -> Vec<Beam> {
    (0..=180)
        .map(|k| {
            let (up, level) = libm::sincos((0.5 * f64::from(k)).to_radians());
            Beam::new([0.0, level, up], &surface.slopes)
        })
        .filter(|beam| beam.light.beam_lx > 0.0)
        .collect()
}

impl Scene<'_> {
    /// The eye of a post as a spot sees it.
    pub fn look(&self, post: usize, spot: usize) -> Look {
        let step = self.posts[post].step_from(self.spots.places[spot]);
        Look::new(step, &self.surface.slopes, self.surface.n)
    }

    /// The step at every spot for one post and one place of the sun.
    ///
    /// # Gives
    /// `None` where the post does not watch: something stands in the way, or it is beyond the limit.
    pub fn steps(&self, post: usize, sun: [f64; 3]) -> Vec<Option<Step>> {
        let beam = Beam::new(sun, &self.surface.slopes);
        let one = |spot: usize| {
            let sight = self.sights[post].each.get(spot).filter(|s| s.watched(self.limit_m))?;
            debug_assert!(sight.distance_m.is_finite());
            Some(self.step_at(&beam, &self.look(post, spot)))
        };
        (0..self.spots.len()).map(one).collect()
    }

    fn step_at(&self, beam: &Beam, look: &Look) -> Step {
        if beam.light.beam_lx <= 0.0 {
            return Step::NoSun;
        }
        self.thresholds.step(glare_ratio(&self.surface, beam, look))
    }

    /// How far the path of light of a spot reaches at most, for contrast to be halved.
    fn reach(&self, look: &Look, heights: &[Beam]) -> Reach {
        let step = look.step;
        let level = step[0].hypot(step[1]).max(1e-12);
        let (mut most, mut veil) = (0.0_f64, 0.0_f64);
        for beam in heights {
            let background = look.background_cdm2(&beam.light);
            most = most.max(beam.light.beam_lx / (4.0 * step[2] * background));
            // Facing the sun the veil is greatest.
            let [_, out, up] = beam.step;
            let mut facing = *beam;
            facing.step = [-step[0] / level * out, -step[1] / level * out, up];
            veil = veil.max(veil_ratio(&self.surface, &facing, look));
        }
        let rest = self.thresholds.impaired - 1.1 * veil;
        let most_tan2 = if rest > 0.05 * self.thresholds.impaired {
            widest_tan2(&self.surface.slopes, most, rest)
        } else {
            f64::INFINITY
        };
        Reach { step, most_tan2 }
    }
}

/// Spots of one piece of work.
const SPOTS: usize = 32;

impl Season {
    /// Evaluates a season.
    ///
    /// Every watched spot at every moment with the sun up; spots and moments that no bound lets past are left out unseen. Model `glint`, docs/models/glare.md.
    ///
    /// # Inputs
    /// - `scene` · `moments`: in any order, periods and days numbered from 0 · `course`: of the sun, over all of them
    ///
    /// # Gives
    /// The same on any number of threads. Without posts, spots or moments nothing is lost anywhere.
    ///
    /// # Source
    /// as [`super::glint()`]
    pub fn of(scene: &Scene, moments: &[Moment], course: &Course) -> Season {
        let times: Vec<f64> = moments.iter().map(|m| m.unix_s).collect();
        let (elevation_deg, azimuth_deg) = course.at(&times);
        let steps = course.steps(&times);
        let beams: Vec<Beam> = steps.iter().map(|s| Beam::new(*s, &scene.surface.slopes)).collect();
        let suns = Suns::new(&steps);
        let periods = moments.iter().map(|m| m.period + 1).max().unwrap_or(0);
        let mut open = vec![0; periods * HALF_HOURS];
        for moment in moments.iter().filter(|m| m.open) {
            open[moment.period * HALF_HOURS + half_hour(moment.minute)] += 1;
        }
        let mut season = Season {
            moments: moments.to_vec(),
            elevation_deg,
            azimuth_deg,
            posts: Vec::new(),
            spots: scene.spots.len(),
            zones: scene.spots.zones.len(),
            periods,
            open,
        };
        let heights = heights(&scene.surface);
        season.posts =
            (0..scene.posts.len()).map(|p| season.of_post(scene, p, (&beams, &suns, &heights))).collect();
        season
    }

    fn of_post(&self, scene: &Scene, post: usize, light: (&[Beam], &Suns, &[Beam])) -> PostSeason {
        let sees = |s: &usize| scene.sights[post].each[*s].watched(scene.limit_m);
        let watched: Vec<usize> = (0..self.spots).filter(sees).collect();
        let mut zone_of = vec![0; self.spots];
        for (z, zone) in scene.spots.zones.iter().enumerate() {
            zone.spots.iter().for_each(|s| zone_of[*s] = z);
        }
        let mut zone_count = vec![0; self.zones];
        watched.iter().for_each(|s| zone_count[zone_of[*s]] += 1);
        let share = |(zone, count): (&crate::view::Zone, &usize)| *count as f64 / zone.spots.len() as f64;
        let zone_watched = scene.spots.zones.iter().zip(&zone_count).map(share).collect();
        let mut counts = vec![[0; 3]; self.zones * self.moments.len()];
        let mut hidden = vec![0u16; self.periods * HALF_HOURS * self.spots];
        let met: Vec<Vec<(u32, Step)>> = watched
            .par_chunks(SPOTS)
            .flat_map_iter(|block| {
                block.iter().map(|spot| lost(scene, (post, *spot), light)).collect::<Vec<_>>()
            })
            .collect();
        for (spot, met) in watched.iter().zip(met) {
            for (k, step) in met {
                let moment = self.moments[k as usize];
                let count = &mut counts[zone_of[*spot] * self.moments.len() + k as usize];
                count[0] += 1;
                count[1] += u32::from(step >= Step::UnderHidden);
                count[2] += u32::from(step >= Step::HeadHidden);
                if moment.open && step >= Step::UnderHidden {
                    hidden[(moment.period * HALF_HOURS + half_hour(moment.minute)) * self.spots + spot] += 1;
                }
            }
        }
        PostSeason { watched, zone_watched, counts, zone_count, hidden }
    }

    /// What of a zone's watched water is lost to a post at a moment; `None` where the post watches nothing of it.
    pub fn share(&self, post: usize, zone: usize, moment: usize) -> Option<Share> {
        let of = &self.posts[post];
        shared(of.counts[zone * self.moments.len() + moment], of.zone_count[zone])
    }

    /// The same over all the water that the post watches.
    pub fn whole_share(&self, post: usize, moment: usize) -> Option<Share> {
        let of = &self.posts[post];
        let mut sum = [0; 3];
        for zone in 0..self.zones {
            let count = of.counts[zone * self.moments.len() + moment];
            (0..3).for_each(|k| sum[k] += count[k]);
        }
        shared(sum, of.watched.len())
    }

    /// How often a person just under is hidden from a post at a spot in a half-hour of a period: share of the open moments.
    pub fn hidden(&self, post: usize, (period, half): (usize, usize), spot: usize) -> f64 {
        let slot = period * HALF_HOURS + half;
        let open = self.open[slot];
        if open == 0 {
            0.0
        } else {
            f64::from(self.posts[post].hidden[slot * self.spots + spot]) / f64::from(open)
        }
    }

    /// Open moments in a half-hour of a period.
    pub fn open_moments(&self, period: usize, half: usize) -> u32 {
        self.open[period * HALF_HOURS + half]
    }

    /// Number of periods.
    pub fn periods(&self) -> usize {
        self.periods
    }

    /// For each post and half-hour of a day the mean share of its watched water that hides a person just under; zero while closed.
    ///
    /// A roster doubles a post, or moves it, in half-hours at or above `glare_share` of the register.
    pub fn half_hours(&self, day: usize) -> Vec<[f64; HALF_HOURS]> {
        let of_post = |post: usize| {
            let (mut sum, mut count) = ([0.0; HALF_HOURS], [0.0; HALF_HOURS]);
            for (k, moment) in self.moments.iter().enumerate().filter(|(_, m)| m.open && m.day == day) {
                if let Some(share) = self.whole_share(post, k) {
                    sum[half_hour(moment.minute)] += share.under;
                    count[half_hour(moment.minute)] += 1.0;
                }
            }
            std::array::from_fn(|h| if count[h] > 0.0 { sum[h] / count[h] } else { 0.0 })
        };
        (0..self.posts.len()).map(of_post).collect()
    }

    /// Open minutes of each day in which at least `least` of a zone's watched water hides a person just under.
    ///
    /// # Inputs
    /// - `post`, `zone` · `least`: share · `step_min`: time a moment stands for \[min\]
    pub fn minutes_a_day(&self, (post, zone): (usize, usize), least: f64, step_min: f64) -> Vec<f64> {
        let days = self.moments.iter().map(|m| m.day + 1).max().unwrap_or(0);
        let mut minutes = vec![0.0; days];
        for (k, moment) in self.moments.iter().enumerate().filter(|(_, m)| m.open) {
            if self.share(post, zone, k).is_some_and(|s| s.under > 0.0 && s.under >= least) {
                minutes[moment.day] += step_min;
            }
        }
        minutes
    }
}

/// Half-hour of the day of a minute.
pub fn half_hour(minute: usize) -> usize {
    (minute / 30).min(HALF_HOURS - 1)
}

fn shared(count: [u32; 3], of: usize) -> Option<Share> {
    let share = |k: usize| f64::from(count[k]) / of as f64;
    (of > 0).then(|| Share { impaired: share(0), under: share(1), head: share(2) })
}

/// Moments at which contrast at a spot is halved or worse for a post, with the step.
fn lost(
    scene: &Scene,
    (post, spot): (usize, usize),
    (beams, suns, heights): (&[Beam], &Suns, &[Beam]),
) -> Vec<(u32, Step)> {
    let look = scene.look(post, spot);
    let mut met = Vec::new();
    suns.near(&scene.reach(&look, heights), |k| {
        let step = scene.step_at(&beams[k], &look);
        if step >= Step::Impaired {
            met.push((k as u32, step));
        }
    });
    met
}
