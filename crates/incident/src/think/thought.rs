//! A finished thought: what the screens need of belief, plan and orders.

use super::figures::figures;
use super::follow::{Followed, setting};
use super::ledger::{Card, Stand};
use super::picture::Picture;
use super::reading::alarm;
use super::sample::Sample;
use super::words;
use super::worth::{Better, Left, Worth};
use crate::event::{Event, ShownOrder};
use crate::opening::Water;
use crate::report::OrderNumber;
use crate::screen::{Figure, FoundBy, Gap, SeenMark, Share};
use crate::state::{Incident, State};
use measure::{Spot, parameters::value};
use search::Seen;
use search::belief::{Belief, Masses};
use search::course::{Course, State as CourseState};
use search::orders::cautions;
use std::collections::BTreeMap;
use water::{Day, Kind};

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
    /// The same in words, by marks: sighting and place.
    pub seen_near: BTreeMap<u32, String>,
    /// Share of the belief in the lane of an order now.
    pub holds: BTreeMap<OrderNumber, f64>,
    /// Where the line of an order is now, in words.
    pub places: BTreeMap<OrderNumber, String>,
    /// Where the lane of an order lies, by landmarks and its length.
    pub spans: BTreeMap<OrderNumber, String>,
    /// Facts for whoever reads to a line.
    pub facts: BTreeMap<OrderNumber, Vec<(String, String)>>,
    /// Why an order is given.
    pub why: BTreeMap<OrderNumber, String>,
    /// Current at the last seen point: towards \[degrees\], \[m/s\].
    pub current: Option<(f64, f64)>,
    /// The belief in one sentence.
    pub sentence: String,
    /// The way out for whoever is brought up, in words.
    pub way_out: String,
    /// Cautions that apply.
    pub cautions: Vec<String>,
    /// What the lead should hear.
    pub said: Vec<String>,
    /// Whether the orders are those of the morning's card, in words; nothing once it does not matter any more.
    pub order_zero: Option<String>,
    /// A better lane for a running line.
    pub better: Option<Better>,
    /// What the lanes left would find.
    pub left: Left,
    /// Numbers that open their explanation.
    pub figures: Vec<Figure>,
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
            at_ms: followed.at_ms,
            cards: followed.ledger.cards.clone(),
            effort: [followed.told.particles as u64, followed.told.effort],
            seen: seen(followed, water),
            ..Thought::default()
        };
        let near = |mark: &SeenMark| (mark.number, search::orders::near(&water.site, mark.spot));
        thought.seen_near = thought.seen.iter().map(near).collect();
        if let Some(belief) = belief {
            thought.picture = Picture::of(belief, &water.ground.grid);
            thought.shares = shares(&belief.masses);
            thought.sentence = words::sentence(belief, water);
        }
        if let Some(course) = &followed.course {
            thought.of_lanes(course, followed, water);
            thought.of_plan(course, followed, water);
        }
        thought.figures = belief.map(|belief| figures(followed, belief, thought.left)).unwrap_or_default();
        thought
    }

    fn of_lanes(&mut self, course: &Course, followed: &Followed, water: &Water) {
        let sample = Sample::of(&course.belief);
        let now_s = course.now_s;
        let worth = Worth { belief: &course.belief, sample: &sample, cards: &followed.ledger.cards, now_s };
        self.holds = worth.holds();
        self.left = worth.left();
        self.better = worth.better().filter(|_| course.state == CourseState::Searching);
        for card in self.cards.values().filter(|card| card.stand != Stand::Replaced) {
            let holds = self.holds.get(&card.number).copied().unwrap_or(0.0);
            self.why.insert(card.number, words::why(card, holds));
            if let Some((run, _)) = &card.run {
                self.spans.insert(card.number, words::span(run, water));
            }
            if let Some(place) = words::place_now(card, water) {
                self.places.insert(card.number, place);
                self.facts.insert(card.number, words::facts(card, water, &course.day));
            }
        }
    }

    fn of_plan(&mut self, course: &Course, followed: &Followed, water: &Water) {
        let setting = setting(water, &course.day, &followed.flow);
        let last_seen = course.last_seen(&water.site);
        let speed = followed.flow.at(last_seen);
        self.current = (speed.length() > 0.0).then(|| (speed.bearing().degrees(), speed.length()));
        self.day = Some(course.day.clone());
        self.cautions = cautions(&course.plan, &setting);
        self.said = said(course, followed);
        self.found_by =
            course.plan.found_by.iter().map(|&(s, chance)| FoundBy { minutes: s / 60.0, chance }).collect();
        let gap = |gap: &search::plan::Gap| Gap {
            spot: gap.spot,
            area_m2: gap.area_m2,
            holds: gap.mass,
            words: format!("not covered, {}: {}", search::orders::near(&water.site, gap.spot), gap.why),
        };
        self.gaps = course.plan.gaps.iter().map(gap).collect();
        self.way_out = way_out(water, last_seen);
        self.order_zero = words::order_zero(course, followed.card_of.as_deref());
        self.digest = digest(&course.belief, &self.cards);
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
            |number: &OrderNumber| self.cards.get(number).is_none_or(|card| card.stand == Stand::Replaced);
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

/// The place that each sighting names, with its error.
fn seen(followed: &Followed, water: &Water) -> Vec<SeenMark> {
    let incident = &followed.incident;
    let told = incident.missing.keys().map(|&who| alarm(incident, &water.site, who));
    let mut all: Vec<SeenMark> = Vec::new();
    for sighting in told.flat_map(|alarm| alarm.sightings) {
        let number = sighting.by.trim_start_matches("sighting ").parse().unwrap_or(0);
        let (spot, error_m) = match sighting.seen {
            Seen::Point { spot, error_m, stood } => {
                let by_eye = stood.map_or(0.0, |stood| value("tap_sigma_share") * stood.distance(spot));
                (spot, error_m.unwrap_or(value("tap_sigma_floor_m").max(by_eye)))
            }
            Seen::Bearing { stood, bearing, range_m: Some(range_m), .. } => {
                let share = value("range_sigma_share");
                (stood + Spot::towards(bearing, range_m), share * range_m)
            }
            Seen::Bearing { .. } | Seen::Area { .. } => continue,
        };
        if !all.iter().any(|known| known.number == number) {
            all.push(SeenMark { spot, error_m, number });
        }
    }
    all
}

/// The nearest dock, gate or kit to bring somebody out at.
fn way_out(water: &Water, from: Spot) -> String {
    let site = &water.site;
    let usable = |kind: &Kind| matches!(kind, Kind::Dock(_) | Kind::Gate | Kind::KitPlace);
    let near = site
        .features
        .iter()
        .filter(|f| usable(&f.kind) && !f.name.is_empty())
        .map(|f| (f.name.as_str(), f.shape.middle().distance(from)))
        .min_by(|a, b| a.1.total_cmp(&b.1));
    match near {
        Some((name, far_m)) => format!("{name}, {}", site.units.distance(far_m)),
        None => "the nearest shore that carries two".into(),
    }
}

/// What the lead should hear, each once, without any number of heads: whoever types a count reads this too.
fn said(course: &Course, followed: &Followed) -> Vec<String> {
    let mut all: Vec<String> = Vec::new();
    for words in course.said.iter().chain(&course.plan.notes).chain(&course.belief_notes) {
        let words = match words.split_once(": ") {
            Some((head, rest)) if head.starts_with("report line ") => rest,
            _ => words,
        };
        if words.contains("up after a recount") {
            continue;
        }
        let words = match words.split_once("the line closes up") {
            Some((head, _)) => format!("{head}the line closes up"),
            None => words.to_owned(),
        };
        // Of a place, but it could be heard of the person.
        let words = followed.ledger.renumbered(&words).replace("is not in the water", "lies on land");
        if !all.contains(&words) {
            all.push(words);
        }
    }
    all
}
