//! One belief for several missing people: the mean of theirs, for planning (models B8).

use super::update::block_sum;
use super::{Belief, Cloud, Masses};

impl Belief {
    /// The mean of beliefs about different people who were searched for together.
    ///
    /// Each stands for an equal part whatever its search has made of it. Sweeps so far stay known, so that a
    /// second pass over the same ground is worth what a second pass is worth.
    ///
    /// # Inputs
    /// - `beliefs`: one a person, all with the same sweeps and looks; at least one
    ///
    /// # Gives
    /// A belief whose masses are the mean of theirs; `None` of none.
    ///
    /// # Source
    /// by definition (mixture with equal weights)
    pub fn mean(beliefs: &[Belief]) -> Option<Belief> {
        let (one, rest) = beliefs.split_first()?;
        if rest.is_empty() {
            return Some(one.clone());
        }
        let share = 1.0 / beliefs.len() as f64;
        let mut cloud = Cloud::default();
        let (mut source, mut current, mut drifters) = (Vec::new(), Vec::new(), Vec::new());
        let mut first = Masses { bottom: 0.0, afloat: 0.0, ashore: 0.0, elsewhere: 0.0 };
        for belief in beliefs {
            cloud.east.extend(&belief.cloud.east);
            cloud.north.extend(&belief.cloud.north);
            cloud.rest_s.extend(&belief.cloud.rest_s);
            cloud.bed.extend(&belief.cloud.bed);
            // What each place must have held before the searches to hold its part of the mean after them.
            let before = |k: usize| share * belief.cloud.mass[k] / belief.missed(k).max(1e-12);
            cloud.prior.extend((0..belief.cloud.len()).map(before));
            source.extend(&belief.source);
            current.extend(&belief.current);
            drifters.extend(belief.drifters.iter().copied());
            first.afloat += share * belief.masses.afloat / belief.missed_afloat.max(1e-12);
            first.ashore += share * belief.masses.ashore / belief.missed_ashore.max(1e-12);
            first.elsewhere += share * belief.masses.elsewhere;
        }
        first.bottom = block_sum(cloud.prior.iter().copied());
        let mut mean = Belief::assembled(cloud, first, (source, current), drifters);
        mean.search_like(one);
        Some(mean)
    }
}
