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

    /// Mass inside the strips or discs of sweeps, each place once.
    pub fn holds<'a>(&self, belief: &Belief, sweeps: impl Iterator<Item = &'a Sweep> + Clone) -> f64 {
        let inside = |k: &&usize| sweeps.clone().any(|sweep| sweep.cover(belief.cloud.spot(**k)) >= 0.5);
        self.index.iter().filter(inside).count() as f64 * self.mass
    }

    /// Mass that sweeps would newly find, one after the other, after everything searched so far.
    pub fn gain<'a>(&self, belief: &Belief, sweeps: impl Iterator<Item = &'a Sweep> + Clone) -> f64 {
        let cloud = &belief.cloud;
        let mut gain = 0.0;
        for &k in &self.index {
            let (spot, bed) = (cloud.spot(k), cloud.bed[k]);
            let hidden = bed.hidden_share();
            let mut past = [0.0; 5];
            for method in Method::ALL {
                past[method.index()] = cloud.passes[method.index()].get(k).map_or(0.0, |p| f64::from(*p));
            }
            let (mut touched, mut kept) = (1.0, 1.0);
            let mut any = false;
            for sweep in sweeps.clone() {
                let cover = sweep.cover(spot);
                if cover <= 0.0 || f64::from(cloud.rest_s[k]) > sweep.to_s {
                    continue;
                }
                any = true;
                let detection = sweep.detection(bed);
                let done = &mut past[sweep.method.index()];
                if sweep.method.by_contact() {
                    touched *= detection.miss(*done);
                }
                let left = detection.miss(*done + cover) / detection.miss(*done).max(1e-12);
                *done += cover;
                kept *= left;
            }
            if any {
                // What earlier passes did not find is the more likely hidden from touch.
                let still_hidden = hidden / (hidden + (1.0 - hidden) * touched).max(1e-12);
                gain += self.mass * (1.0 - still_hidden) * (1.0 - kept);
            }
        }
        gain
    }
}
