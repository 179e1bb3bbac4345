//! What running and waiting lanes are worth: break one off, spread the search?

use super::ledger::{Card, Stand};
use super::sample::Sample;
use crate::report::OrderNumber;
use measure::parameters::value;
use search::Method;
use search::belief::Belief;
use std::collections::BTreeMap;

/// A better lane for people who are on a poorer one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Better {
    /// The running order.
    pub running: OrderNumber,
    /// The waiting one.
    pub instead: OrderNumber,
    /// How many times more it finds in the same time.
    pub times: f64,
    /// Chance that it finds.
    pub finds: f64,
}

/// What is left of the lanes.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Left {
    /// Share of what is on the bottom that all lanes left would find.
    pub finds: f64,
    /// Whether that is little enough to spread the search.
    pub spent: bool,
}

/// Values of lanes by the sample, at a moment of the search.
pub(super) struct Worth<'a> {
    pub belief: &'a Belief,
    pub sample: &'a Sample,
    pub cards: &'a BTreeMap<OrderNumber, Card>,
    pub now_s: f64,
}

impl Worth<'_> {
    /// Chance newly found and seconds that it takes, of what is left of an order.
    fn of(&self, card: &Card) -> Option<(f64, f64)> {
        let (run, _) = card.run.as_ref()?;
        let legs = run.legs.get(card.legs_reported.min(run.legs.len())..)?;
        let gain = self.sample.gain(self.belief, legs.iter().map(|leg| &leg.sweep));
        let from_s = match card.stand {
            Stand::Begun => {
                let first = legs.first().map_or(run.to_s, |leg| leg.sweep.from_s);
                first.max(self.now_s.min(run.to_s))
            }
            _ => run.leaves_s,
        };
        Some((gain, (run.to_s - from_s).max(10.0)))
    }

    /// Mass in each lane now.
    pub fn holds(&self) -> BTreeMap<OrderNumber, f64> {
        let live = self.cards.values().filter(|card| card.stand != Stand::Replaced);
        live.filter_map(|card| {
            let (run, _) = card.run.as_ref()?;
            Some((card.number, self.sample.holds(self.belief, run.legs.iter().map(|leg| &leg.sweep))))
        })
        .collect()
    }

    /// The running lane that is worth least against the best waiting one, if that is little enough.
    ///
    /// Only a lane that new facts have made poorer than it was planned: as planned, people are on the best they can.
    pub fn better(&self) -> Option<Better> {
        let rate = |card: &Card| self.of(card).map(|(gain, seconds)| (gain / seconds, gain));
        let lanes = |stand: Stand| {
            self.cards.values().filter(move |card| {
                card.stand == stand && matches!(card.method(), Some(Method::Wade | Method::Dive))
            })
        };
        let waiting = lanes(Stand::Waiting).filter_map(|card| {
            rate(card)
                .filter(|(_, gain)| *gain >= value("break_off_gain"))
                .map(|(r, gain)| (card.number, r, gain))
        });
        let (instead, other, finds) = waiting.max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))?;
        let mut best: Option<Better> = None;
        for running in lanes(Stand::Begun) {
            let (Some((own, gain)), Some((run, _))) = (rate(running), &running.run) else { continue };
            let left =
                run.legs.len().saturating_sub(running.legs_reported) as f64 / run.legs.len().max(1) as f64;
            let poorer = gain < value("break_off_share") * run.gain * left;
            if left > 0.0 && poorer && own < value("break_off_share") * other {
                let times = (other / own.max(1e-9)).min(99.0);
                if best.is_none_or(|better| times > better.times) {
                    best = Some(Better { running: running.number, instead, times, finds });
                }
            }
        }
        best
    }

    /// What all lanes that are left would find.
    pub fn left(&self) -> Left {
        let open = self.cards.values().filter(|card| matches!(card.stand, Stand::Waiting | Stand::Begun));
        let legs = open.filter_map(|card| {
            let (run, _) = card.run.as_ref()?;
            run.legs.get(card.legs_reported.min(run.legs.len())..)
        });
        let sweeps = legs.flatten().map(|leg| &leg.sweep);
        let finds = self.sample.gain(self.belief, sweeps) / self.sample.bottom.max(1e-12);
        let begun = self.cards.values().any(|card| card.legs_reported > 0);
        Left { finds, spent: begun && self.sample.bottom > 0.0 && finds < value("widen_spent_share") }
    }
}
