//! A finished thought: what the screens need of belief, plan and orders.

use super::follow::{Followed, setting};
use super::ledger::{Card, Stand};
use super::picture::Picture;
use crate::event::{Event, ShownOrder};
use crate::opening::Water;
use crate::report::OrderNumber;
use crate::screen::{FoundBy, Gap, SeenMark, Share};
use crate::state::{Incident, State};
use search::belief::{Belief, Masses};
use search::orders::cautions;
use std::collections::BTreeMap;
use water::Day;

/// A thought, whole.
#[derive(Clone, Debug, Default)]
pub struct Thought {
    /// Last entry it rests on.
    pub seq: u64,
    /// Incident it is of; 0 before any.
    pub incident: u32,
    /// When its last entry was recorded \[ms since 1970\].
    pub at_ms: i64,
    /// Orders by number.
    pub cards: BTreeMap<OrderNumber, Card>,
    /// The crew with everybody who joined, marks in the place of names.
    pub day: Option<Day>,
    /// Belief as drawn.
    pub picture: Picture,
    /// Shares.
    pub shares: Vec<Share>,
    /// Chance found by.
    pub found_by: Vec<FoundBy>,
    /// What no order covers.
    pub gaps: Vec<Gap>,
    /// Last seen points.
    pub seen: Vec<SeenMark>,
    /// Share of the belief in the lane of an order now.
    pub holds: BTreeMap<OrderNumber, f64>,
    /// Current: towards \[degrees\], \[m/s\].
    pub current: Option<(f64, f64)>,
    /// The belief in one sentence.
    pub sentence: String,
    /// Cautions that apply.
    pub cautions: Vec<String>,
    /// What the lead should hear.
    pub said: Vec<String>,
    /// Particles and effort of the plan.
    pub effort: [u64; 2],
    /// Digest of belief and plan.
    pub digest: String,
}

impl Thought {
    pub(super) fn of(followed: &Followed, water: &Water, seq: u64) -> Thought {
        let incident = &followed.incident;
        let belief = followed.course.as_ref().map(|course| &course.belief).or(followed.first.as_ref());
        let mut thought = Thought {
            seq,
            incident: incident.number,
            at_ms: incident.entries.last().map_or(incident.alarm_at_ms, |entry| entry.recorded_at_ms),
            cards: followed.ledger.cards.clone(),
            effort: [followed.told.particles as u64, followed.told.effort],
            ..Thought::default()
        };
        if let Some(belief) = belief {
            thought.picture = Picture::of(belief, &water.ground.grid);
            thought.shares = shares(&belief.masses);
        }
        if let Some(course) = &followed.course {
            let setting = setting(water, &course.day, &followed.flow);
            thought.day = Some(course.day.clone());
            thought.cautions = cautions(&course.plan, &setting);
            thought.said = course.said.clone();
            thought.found_by = course
                .plan
                .found_by
                .iter()
                .map(|&(s, chance)| FoundBy { minutes: s / 60.0, chance })
                .collect();
            thought.gaps = course
                .plan
                .gaps
                .iter()
                .map(|gap| Gap {
                    spot: gap.spot,
                    area_m2: gap.area_m2,
                    holds: gap.mass,
                    words: format!("{}: {}", search::orders::near(&water.site, gap.spot), gap.why),
                })
                .collect();
            thought.digest = digest(&course.belief, &thought.cards);
        }
        thought
    }

    /// The orders that the screens show now and the log does not hold yet, as an entry to be appended by whoever keeps the log.
    ///
    /// # Inputs
    /// - `state`: the newest
    ///
    /// # Gives
    /// The event; `None` if the log has them already, or the thought is of another incident.
    ///
    /// # Source
    /// docs/handbook/alarm-room.md (orders shown and orders said are two entries)
    pub fn shown(&self, state: &State) -> Option<Event> {
        let incident = state.open().filter(|incident| incident.number == self.incident)?;
        if !matches!(incident.phase, crate::state::Phase::Searching) {
            return None;
        }
        let of = |card: &Card| card.shown(incident);
        let live = |card: &&Card| matches!(card.stand, Stand::Waiting | Stand::Begun) && card.order.is_some();
        let mut orders: Vec<ShownOrder> = self.cards.values().filter(live).filter_map(of).collect();
        orders.retain(|shown| is_news(incident, shown));
        let gone =
            |number: &OrderNumber| self.cards.get(number).is_some_and(|card| card.stand == Stand::Replaced);
        let withdrawn: Vec<OrderNumber> = incident
            .orders
            .iter()
            .filter(|(n, known)| !known.withdrawn && gone(n))
            .map(|(n, _)| *n)
            .collect();
        if orders.is_empty() && withdrawn.is_empty() {
            return None;
        }
        Some(Event::OrdersShown {
            of_seq: self.seq,
            digest: self.digest.clone(),
            effort: self.effort,
            orders,
            withdrawn,
        })
    }
}

/// Whether an order is not in the log as it is now.
fn is_news(incident: &Incident, shown: &ShownOrder) -> bool {
    incident.orders.get(&shown.order).is_none_or(|known| known.withdrawn || known.shown != *shown)
}

/// The four shares, the largest first in words.
fn shares(masses: &Masses) -> Vec<Share> {
    let all = [
        ("bottom", masses.bottom),
        ("afloat", masses.afloat),
        ("ashore", masses.ashore),
        ("elsewhere", masses.elsewhere),
    ];
    let most = all.iter().map(|(_, share)| *share).fold(0.0, f64::max);
    let words = |share: f64| match share {
        share if share >= most && share > 0.3 => "most likely",
        share if share >= 0.08 => "possible",
        _ => "unlikely",
    };
    all.iter()
        .map(|&(place, share)| Share { place: place.into(), words: words(share).into(), share })
        .collect()
}

/// Digest of what the orders rest on: places and masses of the cloud, and the orders themselves.
fn digest(belief: &Belief, cards: &BTreeMap<OrderNumber, Card>) -> String {
    let mut text = String::new();
    let sums =
        |values: &[f64]| values.iter().enumerate().fold(0.0, |sum, (k, v)| sum + v * (1.0 + (k % 97) as f64));
    let cloud = &belief.cloud;
    for sum in [sums(&cloud.east), sums(&cloud.north), sums(&cloud.mass)] {
        text.push_str(&format!("{:016x}", sum.to_bits()));
    }
    for card in cards.values() {
        let words = card.order.as_ref().map_or("", |order| order.words.as_str());
        text.push_str(&format!("{} {:?} {words}\n", card.number, card.stand));
    }
    crate::chain::digest(&text).hex()[..16].to_owned()
}
