//! The survival weight of a find at a moment, averaged over when the person may have gone under.

use crate::{belief::Cloud, survival::Curve};

const STEP_S: f64 = 10.0;
/// Bins of the time under water.
const BINS: usize = 24;

/// Mean weight of a find, by the time of the find.
#[derive(Clone, Debug)]
pub(super) struct Weight {
    from_s: f64,
    values: Vec<f64>,
}

impl Weight {
    /// Tabulates E\[V(found + ashore − under)\] from `now_s` for `ahead_s`; under water since they came to rest.
    pub fn new(cloud: &Cloud, curve: Curve, now_s: f64, ahead_s: f64) -> Self {
        let ashore_s = measure::parameters::value("ashore_s");
        let bins = under_water(cloud, now_s);
        let steps = (ahead_s / STEP_S) as usize + 2;
        let values = (0..steps)
            .map(|k| {
                let at_s = now_s + k as f64 * STEP_S + ashore_s;
                bins.iter().map(|&(under_s, share)| share * curve.at((at_s - under_s) / 60.0)).sum()
            })
            .collect();
        Weight { from_s: now_s, values }
    }

    /// Weight of a find at `at_s`.
    #[inline]
    pub fn at(&self, at_s: f64) -> f64 {
        let place = ((at_s - self.from_s) / STEP_S).max(0.0);
        let k = (place as usize).min(self.values.len() - 2);
        let share = (place - k as f64).min(1.0);
        self.values[k] + (self.values[k + 1] - self.values[k]) * share
    }
}

/// Distribution of the moment of coming to rest: (s since the alarm, share), by equal bins.
fn under_water(cloud: &Cloud, now_s: f64) -> Vec<(f64, f64)> {
    let pairs = || {
        cloud
            .rest_s
            .iter()
            .zip(&cloud.mass)
            .map(|(&rest, &mass)| (f64::from(rest), mass))
            .filter(|(rest, mass)| rest.is_finite() && mass.is_finite() && *mass > 0.0)
    };
    let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
    for (rest, _) in pairs() {
        low = low.min(rest);
        high = high.max(rest);
    }
    if low > high {
        return vec![(now_s, 1.0)];
    }
    let width = ((high - low) / BINS as f64).max(1e-9);
    let mut bins = vec![(0.0, 0.0); BINS];
    for (rest, mass) in pairs() {
        let bin = &mut bins[(((rest - low) / width) as usize).min(BINS - 1)];
        bin.0 += rest * mass;
        bin.1 += mass;
    }
    let total: f64 = bins.iter().map(|b| b.1).sum();
    bins.retain(|b| b.1 > 0.0);
    bins.iter().map(|b| (b.0 / b.1, b.1 / total)).collect()
}
