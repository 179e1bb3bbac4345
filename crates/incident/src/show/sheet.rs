//! The handover sheet out of the same views as the screens.

use super::View;
use super::clock::span;
use super::log::log_line;
use crate::chart::conditions;
use crate::decide::Sender;
use crate::handover::{Handover, HandoverLane};
use crate::names::Names;
use crate::report::Role;
use crate::screen::{LaneState, Words};
use crate::state::State;
use crate::think::{Stand, Thought};

/// Makes the sheet.
pub(crate) fn sheet(
    state: &State,
    thought: &Thought,
    names: &Names,
    now_ms: i64,
    head_code: String,
) -> Handover {
    let sender = Sender { device: String::new(), role: Role::Viewer, person: None };
    let view = View { state, thought, sender: &sender, names, now_ms, sheet: true };
    let incident = state.incident.as_ref();
    let thought = view.thought_of_now();
    let day = incident.map(|i| &i.day).or(state.day.as_ref());
    Handover {
        site: day.map(|day| day.site.clone()).unwrap_or_default(),
        at_ms: now_ms,
        utc_offset_s: day.map_or(0, |day| day.utc_offset_s),
        practice: incident.is_some_and(|i| i.practice),
        stage: view.stage(),
        alarm_at_ms: incident.map(|i| i.alarm_at_ms),
        since: incident.map(|i| span(now_ms - i.alarm_at_ms)).unwrap_or_default(),
        missing: view.missing(),
        sightings: view.sightings(),
        sentence: thought.map(|t| t.sentence.clone()).unwrap_or_default(),
        lanes: view.sheet_lanes(),
        gaps: thought.map(|t| t.gaps.clone()).unwrap_or_default(),
        shares: thought.map(|t| t.shares.clone()).unwrap_or_default(),
        ashore: view.sheet_ashore(),
        next: view.say().iter().map(|say| say.brief.clone()).collect(),
        found_by: thought.map(|t| t.found_by.clone()).unwrap_or_default(),
        conditions: day.map_or_else(Words::default, |day| conditions(&day.day, day.units)),
        people: view.people(),
        command: view.command(),
        services: view.services(),
        log: incident
            .map(|i| i.entries.iter().map(|e| log_line(e, names, &i.day)).collect())
            .unwrap_or_default(),
        seq: state.seq,
        head_code,
        map: view.map(),
        cautions: thought.map(|t| t.cautions.clone()).unwrap_or_default(),
    }
}

impl View<'_> {
    fn sheet_lanes(&self) -> Vec<HandoverLane> {
        let (Some(thought), Some(incident)) = (self.thought_of_now(), self.incident()) else {
            return Vec::new();
        };
        let mut rows = Vec::new();
        for card in thought.cards.values().filter(|card| card.stand != Stand::Replaced) {
            let Some((run, team)) = &card.run else { continue };
            let known = incident.orders.get(&card.number);
            let state = match self.lane_state(card) {
                LaneState::Planned => "not begun".to_string(),
                LaneState::Running => format!("under way, {}", self.progress(card).2),
                LaneState::Searched => "searched".into(),
                LaneState::Part => format!("in part, {}", self.progress(card).2),
            };
            let leader = incident.person_at(team.leader).map_or(String::new(), |p| self.names.person(p));
            rows.push(HandoverLane {
                order: card.number,
                line: format!(
                    "{}, {} with {leader}",
                    super::lanes::method_word(team.method),
                    card.people.len()
                ),
                place: thought.spans.get(&card.number).cloned().unwrap_or_default(),
                state,
                at_ms: known.and_then(|known| known.ended_ms).or(card.ended_s.map(|s| self.ms(s))),
                finds: run.legs.first().map_or(0.0, |leg| leg.sweep.firm.mean()),
                holds: thought.holds.get(&card.number).copied().unwrap_or(0.0),
            });
        }
        rows
    }

    fn sheet_ashore(&self) -> Vec<String> {
        let offset_s = self.incident().map_or(0, |i| i.day.utc_offset_s);
        let line = |place: crate::screen::AshorePlace| match place.looked_ms {
            Some(at_ms) => format!("{} looked at {}", place.name, super::clock(at_ms, offset_s)),
            None => format!("{} not yet", place.name),
        };
        self.ashore().into_iter().map(line).collect()
    }

    fn command(&self) -> String {
        let Some(incident) = self.incident() else { return String::new() };
        match incident.passed_ms {
            Some(at_ms) => {
                let to = self.names.command(incident.number).unwrap_or("the services");
                format!("command passed to {to} at {}", super::clock(at_ms, incident.day.utc_offset_s))
            }
            None => "command has not passed".into(),
        }
    }

    fn services(&self) -> String {
        let Some(incident) = self.incident() else { return String::new() };
        let at = |ms: i64| super::clock(ms, incident.day.utc_offset_s);
        let called =
            incident.called_ms.map_or("not called by the log".into(), |ms| format!("called {}", at(ms)));
        let here = incident.here_ms.map_or(String::new(), |ms| format!(", here {}", at(ms)));
        format!("{called}{here}")
    }
}
