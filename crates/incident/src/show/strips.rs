//! The strip of each line: who, how far, since when they are down.

use super::View;
use super::lanes::method_word;
use crate::report::Role;
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

    /// Whether this device may type the count of a line that is down: it is not told who went down.
    fn counts_now(&self, card: &Card) -> bool {
        let known = self.incident().and_then(|incident| incident.orders.get(&card.number));
        known.is_some_and(|known| known.down.is_some()) && self.sender.role != Role::Viewer
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
        let hidden = self.counts_now(card);
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
            under_limit_s: value("dive_time_s"),
            due_ms: self.ms(run.to_s),
            card: if hidden { Words { under: String::new(), ..card_words } } else { card_words },
            facts: Vec::new(),
            standing_by: !incident.short.is_empty() && incident.short.iter().all(|s| s.order != card.number),
        })
    }
}
