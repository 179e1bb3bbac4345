//! A small even sample of the cloud: enough to say what a lane holds and what a sweep would find.

use search::belief::Belief;
use search::{Method, Sweep};

/// Places of the sample: a share is right to about one in a hundred.
const PLACES: usize = 4096;

/// Places of equal mass with what is known of each.
#[derive(Clone, Debug, Default)]
pub(super) struct Sample {
    /// Index of each place in the cloud.
    index: Vec<usize>,
    /// Mass each stands for.
    mass: f64,
    /// Mass on the bottom.
    pub bottom: f64,
}

impl Sample {
    /// Every so much mass one place: the same cloud gives the same sample.
    pub fn of(belief: &Belief) -> Sample {
        let masses = &belief.cloud.mass;
        let bottom: f64 = masses.iter().sum();
        if !bottom.is_finite() || bottom <= 0.0 {
            return Sample::default();
        }
        let step = bottom / PLACES as f64;
        let (mut sum, mut next, mut index) = (0.0, 0.5 * step, Vec::with_capacity(PLACES));
        for (k, mass) in masses.iter().enumerate() {
            sum += mass;
            while sum > next && index.len() < PLACES {
                index.push(k);
                next += step;
            }
        }
        Sample { index, mass: step, bottom }
    }

    /// Mass inside the strips or discs of sweeps as they are drawn, each place once.
    pub fn holds<'a>(&self, belief: &Belief, sweeps: impl Iterator<Item = &'a Sweep>) -> f64 {
        // Without the blur of steering: a narrow lane holds what lies in it, however well it is kept.
        let drawn: Vec<Sweep> = sweeps.map(|sweep| Sweep { steer_m: 0.0, ..*sweep }).collect();
        let inside = |k: &&usize| drawn.iter().any(|sweep| sweep.cover(belief.cloud.spot(**k)) >= 0.5);
        self.index.iter().filter(inside).count() as f64 * self.mass
    }

    /// Mass that sweeps would newly find, one after the other, after everything searched so far.
    pub fn gain<'a>(&self, belief: &Belief, sweeps: impl Iterator<Item = &'a Sweep> + Clone) -> f64 {
        let cloud = &belief.cloud;
        let mut gain = 0.0;
        for &k in &self.index {
            let (spot, bed) = (cloud.spot(k), cloud.bed[k]);
            let hidden = bed.hidden_share();
            let passed = |method: Method| cloud.passes[method.index()].get(k).map_or(0.0, |p| f64::from(*p));
            let mut past = Method::ALL.map(passed);
            let (before, mut missed) = (past, [1.0; 5]);
            let mut kept = 1.0;
            for sweep in sweeps.clone() {
                let cover = sweep.cover(spot);
                if cover <= 0.0 || f64::from(cloud.rest_s[k]) > sweep.to_s {
                    continue;
                }
                let (at, detection) = (sweep.method.index(), sweep.detection(bed));
                if sweep.method.by_contact() {
                    missed[at] = detection.miss(before[at]);
                }
                kept *= detection.miss(past[at] + cover) / detection.miss(past[at]).max(1e-12);
                past[at] += cover;
            }
            if kept < 1.0 {
                // What earlier passes did not find is the more likely hidden from touch.
                let touched: f64 = missed.iter().product();
                let still_hidden = hidden / (hidden + (1.0 - hidden) * touched).max(1e-12);
                gain += self.mass * (1.0 - still_hidden) * (1.0 - kept);
            }
        }
        gain
    }
}
