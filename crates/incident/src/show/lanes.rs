//! Lanes of the map: planned, under way, searched, in part.

use super::View;
use crate::report::OrderNumber;
use crate::screen::{Lane, LaneState};
use crate::state::Phase;
use crate::think::{Card, Stand};
use search::{Method, Stretch};

/// A method in one word, as strips and lanes say it.
pub(crate) fn method_word(method: Method) -> &'static str {
    match method {
        Method::Wade => "wade",
        Method::Dive => "dive",
        Method::Alone => "alone",
        Method::Look => "look",
        Method::Pole => "pole",
    }
}

impl View<'_> {
    /// How far a lane is now: what should have left by the clock counts as under way.
    pub(crate) fn lane_state(&self, card: &Card) -> LaneState {
        let Some((run, _)) = &card.run else { return LaneState::Planned };
        let searching = self.incident().is_some_and(|i| i.phase == Phase::Searching && i.short.is_empty());
        match card.stand {
            Stand::Ended if card.legs_reported >= run.legs.len() && !card.stopped_short => {
                LaneState::Searched
            }
            Stand::Ended => LaneState::Part,
            Stand::Begun => LaneState::Running,
            _ if searching && run.leaves_s <= self.now_s() && self.by_clock().contains(&card.number) => {
                LaneState::Running
            }
            _ => LaneState::Planned,
        }
    }

    /// Orders that have begun by the clock since the last thought: as the search itself will take them.
    fn by_clock(&self) -> Vec<OrderNumber> {
        let Some(thought) = self.thought_of_now() else { return Vec::new() };
        let now_s = self.now_s();
        let run_of = |card: &&Card| card.run.as_ref().is_some_and(|(run, _)| run.leaves_s <= now_s);
        let mut open: Vec<&Card> = thought.cards.values().filter(|card| card.stand == Stand::Begun).collect();
        let mut due: Vec<&Card> =
            thought.cards.values().filter(|card| card.stand == Stand::Waiting).filter(run_of).collect();
        let leaves = |card: &Card| card.run.as_ref().map_or(0.0, |(run, _)| run.leaves_s);
        due.sort_by(|a, b| leaves(a).total_cmp(&leaves(b)).then(a.number.cmp(&b.number)));
        let mut begun = Vec::new();
        for card in due {
            if !open.iter().any(|other| binds(other, card)) {
                open.push(card);
                begun.push(card.number);
            }
        }
        begun
    }

    /// Metres of a lane that are reported searched.
    pub(crate) fn done_m(&self, card: &Card) -> f64 {
        let Some((run, _)) = &card.run else { return 0.0 };
        run.legs
            .iter()
            .take(card.legs_reported)
            .map(|leg| match leg.sweep.stretch {
                Stretch::Strip { from, to, .. } => from.distance(to),
                Stretch::Disc { .. } => 0.0,
            })
            .fold(0.0, |sum, metres| sum + metres)
    }

    /// Dives or metres done, as the strip and the list say it: done, of, words.
    pub(crate) fn progress(&self, card: &Card) -> (u32, u32, String) {
        let Some((run, team)) = &card.run else { return (0, 0, String::new()) };
        let known = self.incident().and_then(|incident| incident.orders.get(&card.number));
        let length_m = run.from.distance(run.to);
        match team.method {
            Method::Dive => {
                let (done, of) = (card.legs_reported as u32, run.legs.len() as u32);
                (done, of, format!("{done}/{of}"))
            }
            Method::Alone => {
                let dives = known.map_or(0, |known| known.dives);
                (dives, dives, if dives == 1 { "1 dive".into() } else { format!("{dives} dives") })
            }
            _ => {
                let done_m = known.map_or(0.0, |known| known.metres).max(self.done_m(card)).min(length_m);
                let tens = |m: f64| (m / 10.0).ceil() as u32;
                let units = self.state.units();
                let words = format!("{:.0}/{}", units.length_of(done_m), units.distance(length_m));
                ((done_m / 10.0).floor() as u32, tens(length_m), words)
            }
        }
    }

    /// All lanes of the incident.
    pub(crate) fn lanes(&self) -> Vec<Lane> {
        let Some(thought) = self.thought_of_now() else { return Vec::new() };
        let mut lanes = Vec::new();
        for card in thought.cards.values().filter(|card| card.stand != Stand::Replaced) {
            let Some((run, team)) = &card.run else { continue };
            let state = self.lane_state(card);
            if state == LaneState::Part && card.legs_reported == 0 {
                continue;
            }
            let holds = thought.holds.get(&card.number).copied().unwrap_or(0.0);
            let said = match state {
                LaneState::Planned => "planned".to_string(),
                LaneState::Running => format!("under way, {}", self.long_progress(card)),
                LaneState::Searched => "searched".to_string(),
                LaneState::Part => format!("searched in part, {}", self.long_progress(card)),
            };
            let words = format!("lane {}, {said}, holds {:.0} %", card.number, 100.0 * holds);
            lanes.push(Lane {
                order: card.number,
                state,
                from: run.from,
                to: run.to,
                width_m: run.width_m,
                done_m: self.done_m(card),
                method: method_word(team.method).into(),
                holds,
                words,
            });
        }
        lanes
    }

    fn long_progress(&self, card: &Card) -> String {
        let (done, of, words) = self.progress(card);
        match card.method() {
            Some(Method::Dive) => format!("{done} of {of} dives"),
            _ => words.replace('/', " of "),
        }
    }
}

/// Whether an order under way keeps people of another from leaving; a first guard's own moment ends before the line begins.
fn binds(other: &Card, card: &Card) -> bool {
    let (Some((theirs, team)), Some((run, own))) = (&other.run, &card.run) else { return false };
    let joins = team.method == Method::Alone && theirs.to_s <= run.from_s;
    let bound = |who: &usize| team.members.contains(who) || team.lookout == Some(*who);
    !joins && own.members.iter().any(bound)
}
