//! A small even sample of the cloud: enough to say what a lane holds and what a sweep would find.

use search::belief::Belief;
use search::{Method, Passes, Sweep};

/// Places of the sample: a share is right to about one in a hundred.
const PLACES: usize = 4096;

/// A strip that meets a place less likely than this does not meet it: the belief counts in steps that are not much finer.
const LEAST_COVER: f64 = 1e-5;

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
    ///
    /// Each strays by itself, as the belief takes them in once they are done.
    pub fn gain<'a>(&self, belief: &Belief, sweeps: impl Iterator<Item = &'a Sweep> + Clone) -> f64 {
        let cloud = &belief.cloud;
        let mut gain = 0.0;
        for &k in &self.index {
            let (spot, bed) = (cloud.spot(k), cloud.bed[k]);
            let done = |method: Method| cloud.passes[method.index()].get(k).map_or(0.0, |p| f64::from(*p));
            let mut passes = Method::ALL.map(|method| Passes::after(done(method)));
            let mut past = [1.0; 5];
            let (mut touch, mut sight) = (1.0, 1.0);
            for sweep in sweeps.clone().filter(|sweep| f64::from(cloud.rest_s[k]) <= sweep.to_s) {
                let cover = sweep.cover(spot);
                if cover < LEAST_COVER {
                    continue;
                }
                let (at, detection) = (sweep.method.index(), sweep.detection(bed));
                let before = passes[at].miss(|n| detection.miss(n));
                passes[at].add(cover);
                let after = passes[at].miss(|n| detection.miss(n));
                let kept = if before > 0.0 { after / before } else { 1.0 };
                if sweep.method.by_contact() {
                    past[at] = detection.miss(passes[at].done);
                    touch *= kept;
                } else {
                    sight *= kept;
                }
            }
            // What earlier passes did not find is the more likely hidden from touch.
            let hidden = bed.hidden_share();
            let touched: f64 = past.iter().product();
            let still_hidden = hidden / (hidden + (1.0 - hidden) * touched).max(1e-12);
            gain += self.mass * (1.0 - (still_hidden + (1.0 - still_hidden) * touch) * sight);
        }
        gain
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Spot;
    use search::belief::{Cloud, Masses};
    use search::{Detection, Stretch};
    use water::Bed;

    /// A square of 32 m with as many places as the sample has, on three kinds of bottom.
    fn belief() -> Belief {
        let places = || (0..PLACES).map(|k| (k % 64, k / 64));
        let cloud = Cloud {
            east: places().map(|(col, _)| 0.5 * col as f64).collect(),
            north: places().map(|(_, row)| 0.5 * row as f64).collect(),
            rest_s: vec![-60.0; PLACES],
            bed: places().map(|(col, row)| [Bed::Sand, Bed::Mud, Bed::Weed][(col + row) % 3]).collect(),
            prior: vec![0.8 / PLACES as f64; PLACES],
            mass: vec![0.8 / PLACES as f64; PLACES],
            ..Cloud::default()
        };
        Belief::from_cloud(cloud, Masses { bottom: 0.8, afloat: 0.1, ashore: 0.05, elsewhere: 0.05 })
    }

    fn sweep(method: Method, east: f64) -> Sweep {
        let (from, to) = (Spot::new(east, 2.0), Spot::new(east, 30.0));
        Sweep {
            method,
            stretch: Stretch::Strip { from, to, width_m: 6.0 },
            steer_m: 2.5,
            firm: Detection::undrilled(0.7),
            rough: Detection::undrilled(0.5),
            from_s: 60.0,
            to_s: 120.0,
        }
    }

    #[test]
    fn sweeps_that_overlap_find_together_what_they_find_once_done() {
        let (dive, wade, look) = (Method::Dive, Method::Wade, Method::Look);
        let sample = Sample::of(&belief());
        for sweeps in [
            vec![sweep(dive, 16.0)],
            vec![sweep(look, 16.0)],
            vec![sweep(dive, 16.0), sweep(dive, 16.0)],
            vec![sweep(dive, 13.0), sweep(dive, 16.0), sweep(dive, 19.0), sweep(dive, 16.0)],
            vec![sweep(wade, 15.0), sweep(look, 16.0), sweep(dive, 17.0), sweep(wade, 19.0)],
        ] {
            let mut done = belief();
            sweeps.iter().for_each(|sweep| done.apply(sweep));
            let found: f64 = (0..PLACES).map(|k| (1.0 - done.missed(k)) * 0.8 / PLACES as f64).sum();
            let gain = sample.gain(&belief(), sweeps.iter());
            assert!(found > 0.05 && (gain - found).abs() < 1e-5, "{gain} not {found} of {sweeps:?}");
        }
    }
}
