//! The strip of each line: who, how far, since when they are down.

use super::View;
use super::lanes::method_word;
use crate::screen::{LaneState, LineStrip, Words};
use crate::think::Card;
use measure::parameters::value;
use search::Method;

impl View<'_> {
    /// Strips of the lines under way.
    pub(crate) fn strips(&self) -> Vec<LineStrip> {
        let Some(thought) = self.thought_of_now() else { return Vec::new() };
        let running = |card: &&Card| card.run.is_some() && self.lane_state(card) == LaneState::Running;
        thought.cards.values().filter(running).filter_map(|card| self.strip(card)).collect()
    }

    fn strip(&self, card: &Card) -> Option<LineStrip> {
        let (run, team) = card.run.as_ref()?;
        let incident = self.incident()?;
        let known = incident.orders.get(&card.number);
        let name = |index: usize| incident.person_at(index).map_or(String::new(), |p| self.names.person(p));
        let leader = name(team.leader);
        let act = match team.method {
            Method::Wade => "wades",
            Method::Dive => "dives",
            Method::Alone => "searches at",
            Method::Look => "looks along",
            Method::Pole => "feels along",
        };
        let (done, of, progress) = self.progress(card);
        let hidden = self.counts_heads();
        let people: Vec<String> =
            if hidden { Vec::new() } else { card.people.iter().map(|&k| name(k)).collect() };
        let leg_s = run.legs.first().map_or(0.0, |leg| leg.sweep.to_s - leg.sweep.from_s);
        let under_plan_s = if team.method == Method::Wade { 0.0 } else { leg_s.min(value("dive_time_s")) };
        let words = match team.method {
            Method::Alone => format!("{leader} searches round the marker"),
            _ => format!("{leader} {act} lane {}", card.number),
        };
        let card_words = self.card(card).map(|say| say.words).unwrap_or_default();
        Some(LineStrip {
            order: card.number,
            leader,
            method: method_word(team.method).into(),
            words,
            done,
            of,
            progress,
            length_m: run.from.distance(run.to),
            done_m: self.done_m(card),
            people,
            lookout: team.lookout.map(name),
            down_since_ms: known.and_then(|known| known.down.as_ref()).map(|(at_ms, _)| *at_ms),
            under_plan_s,
            under_limit_s: value("dive_warn_time_s"),
            due_ms: self.ms(run.to_s),
            card: if hidden {
                Words { over: String::new(), under: String::new(), ..card_words }
            } else {
                card_words
            },
            facts: self.strip_facts(card, hidden),
            standing_by: !incident.short.is_empty() && incident.short.iter().all(|s| s.order != card.number),
        })
    }

    /// Facts for whoever reads to the line; who stands where only while nobody counts.
    fn strip_facts(&self, card: &Card, hidden: bool) -> Vec<(String, String)> {
        let facts = self.thought_of_now().and_then(|thought| thought.facts.get(&card.number));
        let mut facts: Vec<(String, String)> =
            facts.into_iter().flatten().map(|(name, words)| (name.clone(), self.names.say(words))).collect();
        if let (Some((run, team)), false, true) = (&card.run, hidden, card.people.len() > 1) {
            let people = card.people.iter().filter_map(|&k| self.incident()?.person_at(k));
            let mut names: Vec<String> = people.map(|p| self.names.person(p)).collect();
            // Members stand from left to right, seen in the way they go, or the other way round.
            if !run.shore_left {
                names.reverse();
            }
            let title =
                if team.method == Method::Wade { "Left to right, as you go" } else { "Left to right" };
            facts.insert(0, (title.into(), names.join(", ")));
        }
        facts
    }
}
