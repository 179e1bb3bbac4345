//! Everybody of the incident and what they do now.

use super::View;
use super::clock::clock;
use crate::screen::{LaneState, PersonNow};
use crate::state::PersonSoFar;
use search::plan::Role as Job;

impl View<'_> {
    /// People, in the order of the list.
    pub(crate) fn people(&self) -> Vec<PersonNow> {
        let day = self.state.day.as_ref();
        match self.incident() {
            Some(incident) => incident
                .people
                .iter()
                .enumerate()
                .map(|(index, so_far)| PersonNow {
                    person: so_far.person,
                    name: self.names.person(so_far.person),
                    words: self.does(index, so_far),
                    in_water: so_far.in_water,
                })
                .collect(),
            None => day
                .into_iter()
                .flat_map(|day| &day.people)
                .map(|&person| PersonNow {
                    person,
                    name: self.names.person(person),
                    words: String::new(),
                    in_water: false,
                })
                .collect(),
        }
    }

    fn does(&self, index: usize, so_far: &PersonSoFar) -> String {
        let Some(incident) = self.incident() else { return String::new() };
        if let Some((at_ms, _)) = so_far.left {
            return format!("left {}", clock(at_ms, incident.day.utc_offset_s));
        }
        let Some(thought) = self.thought_of_now() else { return "standing by".into() };
        // While a line is down nobody's place in it is told: a count must come from the water.
        let down = incident.orders.values().any(|known| known.down.is_some());
        if down && so_far.in_water {
            return "in the water".into();
        }
        let running = thought.cards.values().filter(|card| self.lane_state(card) == LaneState::Running);
        for card in running {
            let Some((_, team)) = &card.run else { continue };
            let leader = incident.person_at(team.leader).map_or(String::new(), |p| self.names.person(p));
            if team.lookout == Some(index) {
                return "lookout".into();
            }
            if card.people.contains(&index) {
                let alone = team.members.len() == 1;
                return if alone { "searching".into() } else { format!("in {leader}'s line") };
            }
        }
        let post =
            thought.cards.values().filter(|card| card.people.contains(&index)).filter_map(|card| card.post);
        match post.last() {
            Some(Job::Lead) => "in charge".into(),
            Some(Job::Lookout) => "lookout".into(),
            Some(Job::Gate) => "gate".into(),
            _ => "standing by".into(),
        }
    }

    /// What the lead should hear.
    pub(crate) fn said(&self) -> Vec<String> {
        let Some(thought) = self.thought_of_now() else { return Vec::new() };
        thought.said.iter().map(|words| self.names.say(words)).collect()
    }
}
