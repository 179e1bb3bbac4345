//! A sweep: one pass of a method over a stretch of bottom, and the chance it finds who lies there (models B7).

use measure::{Spot, parameters};
use serde::{Deserialize, Serialize};
use water::Bed;

/// How a piece of bottom is searched.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Method {
    /// Linked wading line, feet.
    Wade,
    /// Surface-dive line, hands.
    Dive,
    /// One guard feeling or diving around the last seen point.
    Alone,
    /// Mask, board or boat: looking down.
    Look,
    /// Pole or tethered mask look under rafts and docks.
    Pole,
}

impl Method {
    /// All methods, in the order of their index.
    pub const ALL: [Method; 5] = [Method::Wade, Method::Dive, Method::Alone, Method::Look, Method::Pole];

    /// Whether it finds by touch, so that persons hidden from contact stay hidden (models B6).
    pub fn by_contact(self) -> bool {
        matches!(self, Method::Wade | Method::Dive | Method::Alone)
    }

    /// Index into per-method arrays.
    pub fn index(self) -> usize {
        self as usize
    }
}

/// The chance that one pass finds a person who is there and not hidden: Beta(a, b), shared by all passes of a crew.
///
/// Because it is shared and not known, k passes miss with E\[(1−p)^k\], not (1−E p)^k.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Detection {
    /// Hits, plus prior.
    pub a: f64,
    /// Misses, plus prior.
    pub b: f64,
}

impl Detection {
    /// A crew that has not drilled: mean `pod`, weight of a few tries (`detection_beta_n`).
    pub fn undrilled(pod: f64) -> Self {
        let n = parameters::value("detection_beta_n");
        let pod = pod.clamp(0.0, parameters::value("pod_ceiling"));
        Detection { a: pod * n, b: (1.0 - pod) * n }
    }

    /// Mean chance of one pass.
    pub fn mean(self) -> f64 {
        if self.a <= 0.0 { 0.0 } else { self.a / (self.a + self.b) }
    }

    /// Chance that `passes` passes all miss (real number of passes: see `measure::special::beta_miss`).
    #[inline]
    pub fn miss(self, passes: f64) -> f64 {
        if self.a <= 0.0 { 1.0 } else { measure::special::beta_miss(self.a, self.b, passes) }
    }
}

/// Passes of one method over a place, of strips that each stray by themselves.
///
/// Two that each meet a place with chance one half may both meet it, or neither: it is missed more often than by one pass
/// for certain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Passes {
    /// Made before: sure passes that miss as often.
    pub done: f64,
    /// Chance that so many of the strips since then have met the place.
    chance: [f64; Passes::MOST + 1],
    /// Most that can have.
    most: usize,
}

impl Passes {
    /// More than these count as these: hardly anybody who can be found is still missed.
    const MOST: usize = 12;

    /// Passes counted already.
    pub fn after(done: f64) -> Self {
        let mut chance = [0.0; Passes::MOST + 1];
        chance[0] = 1.0;
        Passes { done, chance, most: 0 }
    }

    /// Adds a strip that meets the place with chance `cover`, 0 to 1.
    pub fn add(&mut self, cover: f64) {
        self.most = (self.most + 1).min(Passes::MOST);
        for met in (0..=self.most).rev() {
            let come = if met == 0 { 0.0 } else { self.chance[met - 1] * cover };
            let stay = if met == Passes::MOST { 1.0 } else { 1.0 - cover };
            self.chance[met] = self.chance[met] * stay + come;
        }
    }

    /// Chance that all of them miss.
    ///
    /// # Inputs
    /// - `miss`: chance that so many passes all miss, as [`Detection::miss`] gives it
    ///
    /// # Source
    /// the mean over how many strips met the place, each by itself (Poisson's binomial distribution)
    pub fn miss(&self, miss: impl Fn(f64) -> f64) -> f64 {
        let chances = (0_u32..).zip(&self.chance[..=self.most]).filter(|(_, chance)| **chance > 0.0);
        chances.map(|(met, chance)| chance * miss(self.done + f64::from(met))).sum()
    }
}

/// The piece of bottom a sweep covers.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub enum Stretch {
    /// A rectangle along the middle line `from` → `to`, `width_m` across.
    Strip {
        /// Start of the middle line.
        from: Spot,
        /// End of the middle line.
        to: Spot,
        /// Full width \[m\].
        width_m: f64,
    },
    /// A disc.
    Disc {
        /// Middle.
        centre: Spot,
        /// Radius \[m\].
        radius_m: f64,
    },
}

/// One pass of a method over a stretch of bottom that found nobody, or is planned.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sweep {
    /// Method.
    pub method: Method,
    /// Where.
    pub stretch: Stretch,
    /// Standard error of each edge \[m\] (rope-guided 0.5, unmarked 2.5); 0 for an exact edge.
    pub steer_m: f64,
    /// Chance on firm bottom (sand, mud).
    pub firm: Detection,
    /// Chance on rough bottom (weed, rock).
    pub rough: Detection,
    /// Begin \[s since the alarm\].
    pub from_s: f64,
    /// End \[s since the alarm\].
    pub to_s: f64,
}

impl Sweep {
    /// Detection on a kind of bottom.
    #[inline]
    pub fn detection(&self, bed: Bed) -> Detection {
        match bed {
            Bed::Sand | Bed::Mud => self.firm,
            Bed::Weed | Bed::Rock => self.rough,
        }
    }

    /// Chance that a pass covers a place, 0 to 1, with both edges blurred by the steering error;
    /// the ends of a strip are sharp, since a line knows where it began and turned.
    pub fn cover(&self, spot: Spot) -> f64 {
        match self.stretch {
            Stretch::Strip { from, to, width_m } => {
                let Some(along) = (to - from).unit() else { return 0.0 };
                let step = spot - from;
                let ahead = step.dot(along);
                if ahead < 0.0 || ahead > from.distance(to) {
                    return 0.0;
                }
                edge_cover(along.cross(step).abs(), 0.5 * width_m, self.steer_m)
            }
            Stretch::Disc { centre, radius_m } => edge_cover(spot.distance(centre), radius_m, self.steer_m),
        }
    }
}

/// Chance that a place `off` from the middle lies within `half` when the strip as a whole is off by N(0, steer).
fn edge_cover(off: f64, half: f64, steer: f64) -> f64 {
    if steer <= 0.0 {
        return if off <= half { 1.0 } else { 0.0 };
    }
    let cdf = measure::special::normal_cdf;
    cdf((half - off) / steer) - cdf((-half - off) / steer)
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-15
    #[test]
    fn a_blurred_strip_covers_its_own_area_on_average() {
        let sweep = Sweep {
            method: Method::Wade,
            stretch: Stretch::Strip { from: Spot::new(0.0, 0.0), to: Spot::new(0.0, 10.0), width_m: 6.0 },
            steer_m: 2.5,
            firm: Detection::undrilled(0.7),
            rough: Detection::undrilled(0.5),
            from_s: 0.0,
            to_s: 40.0,
        };
        let step = 0.01;
        let across: f64 =
            (-3000..3000).map(|k| sweep.cover(Spot::new(f64::from(k) * step, 5.0)) * step).sum();
        assert!((across - 6.0).abs() < 1e-6, "{across}");
        assert_eq!(sweep.cover(Spot::new(0.0, 10.1)), 0.0);
    }

    // shows: LN-16
    #[test]
    fn strips_that_stray_each_by_itself_miss_more_than_their_sum() {
        let detection = Detection::undrilled(0.7);
        let covers = [0.5, 0.5, 0.3, 1.0, 0.8];
        for done in [0.0, 1.0, 2.4] {
            let mut passes = Passes::after(done);
            for count in 1..=covers.len() {
                passes.add(covers[count - 1]);
                // Every way in which the strips may have met the place.
                let all: f64 = (0..1_u32 << count)
                    .map(|met| {
                        let chance = |k: usize| if met >> k & 1 == 1 { covers[k] } else { 1.0 - covers[k] };
                        let met = f64::from(met.count_ones());
                        (0..count).map(chance).product::<f64>() * detection.miss(done + met)
                    })
                    .sum();
                let missed = passes.miss(|n| detection.miss(n));
                assert!((missed - all).abs() < 1e-12, "{count} after {done}: {missed} against {all}");
                let summed = detection.miss(done + covers[..count].iter().sum::<f64>());
                let alone = count == 1 && done.fract() == 0.0;
                assert!(if alone { (missed - summed).abs() < 1e-12 } else { missed > summed });
            }
        }
        let mut halves = Passes::after(0.0);
        halves.add(0.5);
        halves.add(0.5);
        assert!(
            (halves.miss(|n| detection.miss(n)) - 0.433).abs() < 0.001,
            "{}",
            halves.miss(|n| detection.miss(n))
        );
    }

    #[test]
    fn one_more_strip_never_raises_a_chance() {
        for (pod, cover) in [(0.9, 0.9), (0.9, 0.1), (0.3, 1.0), (0.0, 0.5)] {
            let (mut passes, detection) = (Passes::after(0.7), Detection::undrilled(pod));
            let mut before = passes.miss(|n| detection.miss(n));
            for strip in 0..40 {
                passes.add(cover);
                let after = passes.miss(|n| detection.miss(n));
                assert!((0.0..=before + 1e-15).contains(&after), "{strip}: {after} after {before}");
                before = after;
            }
        }
    }
}
