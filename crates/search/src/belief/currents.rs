//! The current over the time of a search: that of the morning until it is timed again, the new one from then on.

use water::Flow;

/// Currents by time. Start reading at [`Currents::timed`].
#[derive(Clone, Debug, PartialEq)]
pub struct Currents {
    first: Flow,
    /// From when \[s since the alarm\], and which; by time.
    later: Vec<(f64, Flow)>,
}

impl Currents {
    /// One current for all time.
    pub fn steady(flow: Flow) -> Currents {
        Currents { first: flow, later: Vec::new() }
    }

    /// Takes in that the current was timed again.
    ///
    /// # Inputs
    /// - `at_s`: when \[s since the alarm\]; what is no number changes nothing · `flow`: what it was from then on
    pub fn timed(&mut self, at_s: f64, flow: Flow) {
        if at_s.is_finite() {
            let place = self.later.partition_point(|(other_s, _)| *other_s <= at_s);
            self.later.insert(place, (at_s, flow));
        }
    }

    /// The newest.
    pub fn now(&self) -> &Flow {
        self.later.last().map_or(&self.first, |(_, flow)| flow)
    }

    /// The one of a moment \[s since the alarm\].
    pub fn at(&self, at_s: f64) -> &Flow {
        let passed = self.later.partition_point(|(from_s, _)| *from_s <= at_s);
        passed.checked_sub(1).map_or(&self.first, |k| &self.later[k].1)
    }

    /// The only one, if it was never timed again.
    pub(super) fn only(&self) -> Option<&Flow> {
        self.later.is_empty().then_some(&self.first)
    }

    /// Each with the time that it holds: (from, to, current) \[s since the alarm\].
    pub(super) fn spans(&self) -> impl Iterator<Item = (f64, f64, &Flow)> {
        let until = |k: usize| self.later.get(k).map_or(f64::INFINITY, |(from_s, _)| *from_s);
        let first = std::iter::once((f64::NEG_INFINITY, until(0), &self.first));
        first.chain(
            self.later.iter().enumerate().map(move |(k, (from_s, flow))| (*from_s, until(k + 1), flow)),
        )
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::Spot;

    fn east(mps: f64) -> Flow {
        Flow::Uniform { velocity: Spot::new(mps, 0.0), covariance: [0.0; 3] }
    }

    #[test]
    fn each_holds_from_when_it_was_timed_to_when_the_next_was() {
        let mut all = Currents::steady(east(0.0));
        assert!(all.only().is_some());
        // Told late: the order of telling does not matter.
        all.timed(300.0, east(3.0));
        all.timed(60.0, east(1.0));
        all.timed(f64::NAN, east(9.0));
        assert_eq!(
            [-5.0, 59.9, 60.0, 299.0, 300.0].map(|s| all.at(s).at(Spot::default()).east),
            [0.0, 0.0, 1.0, 1.0, 3.0]
        );
        assert_eq!(all.now(), &east(3.0));
        let spans: Vec<(f64, f64)> = all.spans().map(|(from, to, _)| (from, to)).collect();
        assert_eq!(spans, [(f64::NEG_INFINITY, 60.0), (60.0, 300.0), (300.0, f64::INFINITY)]);
    }
}
