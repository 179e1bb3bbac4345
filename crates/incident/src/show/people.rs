//! Everybody of the incident and what they do now.

use super::View;
use super::clock::{clock, span};
use crate::report::Role;
use crate::screen::{LaneState, PersonNow};
use crate::state::{PersonSoFar, Phase};
use crate::think::Stand;
use search::Method;
use search::plan::Role as Job;

/// A lane so long past its time is asked for \[s\].
const LATE_LANE_S: f64 = 60.0;
/// A thought that has not followed so long after the last report is said to be old \[ms\].
const LATE_THOUGHT_MS: i64 = 2000;

/// Of whoever is not on duty at a time of day: from when they are; nothing of the others.
pub(super) fn off_duty(member: &water::Member, now_s: f64) -> String {
    if member.on_duty(now_s) {
        return String::new();
    }
    let begins = member.hours.iter().map(|hours| hours.from_s.rem_euclid(86_400.0));
    let next =
        begins.min_by(|a, b| (a - now_s).rem_euclid(86_400.0).total_cmp(&(b - now_s).rem_euclid(86_400.0)));
    let clock = search::orders::clock(next.unwrap_or_default(), 0.0);
    format!("off duty until {}", &clock[..5])
}

impl View<'_> {
    /// People, in the order of the list.
    pub(crate) fn people(&self) -> Vec<PersonNow> {
        let day = self.state.day.as_ref();
        let wet = self.incident().map(|i| i.in_water_at(self.now_ms)).unwrap_or_default();
        let hidden = self.counts_heads();
        match self.incident() {
            Some(incident) => incident
                .people
                .iter()
                .enumerate()
                .map(|(index, so_far)| PersonNow {
                    person: so_far.person,
                    name: self.names.person(so_far.person),
                    words: if hidden && so_far.left.is_none() {
                        String::new()
                    } else {
                        self.does(index, so_far)
                    },
                    in_water: !hidden && wet.contains(&so_far.person),
                })
                .collect(),
            None => day
                .into_iter()
                .flat_map(|day| {
                    day.people.iter().zip(&day.day.crew).map(move |(p, member)| (day, *p, member))
                })
                .map(|(day, person, member)| PersonNow {
                    person,
                    name: self.names.person(person),
                    words: off_duty(member, crate::state::clock_s(self.now_ms, day.utc_offset_s)),
                    in_water: false,
                })
                .collect(),
        }
    }

    /// Whether a line is down and this device may type its count: nobody's place is told then, the count must come from the water.
    pub(crate) fn counts_heads(&self) -> bool {
        let down = self
            .incident()
            .is_some_and(|i| i.short.is_empty() && i.orders.values().any(|k| k.down.is_some()));
        down && !matches!(self.sender.role, Role::Viewer | Role::Gate) && !self.sheet
    }

    fn does(&self, index: usize, so_far: &PersonSoFar) -> String {
        let Some(incident) = self.incident() else { return String::new() };
        if let Some((at_ms, _)) = so_far.left {
            return format!("left {}", clock(at_ms, incident.day.utc_offset_s));
        }
        let Some(thought) = self.thought_of_now() else { return "standing by".into() };
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
        let mut post =
            thought.cards.values().filter(|card| card.people.contains(&index)).filter_map(|card| card.post);
        match post.next_back() {
            Some(Job::Lead) => "in charge".into(),
            Some(Job::Lookout) => "lookout".into(),
            Some(Job::Gate) => "gate".into(),
            _ => "standing by".into(),
        }
    }

    /// What the lead should hear: counts and lanes overdue, orders nobody said, odd reports, the age of the picture.
    pub(crate) fn said(&self) -> Vec<String> {
        let (Some(incident), Some(thought)) = (self.incident(), self.thought_of_now()) else {
            return Vec::new();
        };
        let mut all: Vec<String> = Vec::new();
        if let Some(known) = self.overdue_count(incident) {
            all.push(format!("count overdue: {}, order {}", self.line_name(known), known.shown.order));
        }
        let behind_ms = self.state.recorded_at_ms - thought.at_ms;
        if thought.seq < self.state.seq && self.now_ms - self.state.recorded_at_ms > LATE_THOUGHT_MS {
            all.push(format!("map and orders are {} behind the last report", span(behind_ms.max(0))));
        }
        if incident.phase == Phase::Searching {
            all.extend(self.overdue_lanes());
        }
        all.extend(self.unsaid());
        all.extend(thought.said.iter().map(|words| self.names.say(words)));
        all
    }

    /// Lanes past their time without a word.
    fn overdue_lanes(&self) -> Vec<String> {
        let (Some(incident), Some(thought)) = (self.incident(), self.thought_of_now()) else {
            return Vec::new();
        };
        let mut all = Vec::new();
        for card in thought.cards.values().filter(|card| card.stand == Stand::Begun) {
            let Some((run, _)) = &card.run else { continue };
            let late_s = self.now_s() - run.to_s;
            let known = incident.orders.get(&card.number);
            if late_s > LATE_LANE_S && card.method() != Some(Method::Alone) {
                let line =
                    known.map_or_else(|| format!("order {}", card.number), |known| self.line_name(known));
                all.push(format!(
                    "{line}, lane {}: no word for {:.0} min past its time; ask",
                    card.number,
                    (late_s / 60.0).floor()
                ));
            }
        }
        all
    }
}
