//! Screens: what one device shows, made from the newest state and the latest finished thought.
//!
//! Every text is in words that can be read aloud; nothing is left for the reader to compute.
//! Never: tells whoever types a headcount how many heads are expected; says stop (of a search), safe or clear.
//! Start reading at [`screen`].

mod ashore;
mod care;
mod clock;
mod first;
mod lanes;
mod log;
mod people;
mod quiet;
mod say;
mod sheet;
mod short;
mod strips;

pub(crate) use clock::clock;
pub(crate) use sheet::sheet;

use crate::chain;
use crate::decide::{Sender, may};
use crate::names::Names;
use crate::report::{OrderNumber, Role};
use crate::screen::{MapNow, Screen, Stage, You};
use crate::state::{Incident, Phase, State};
use crate::think::Thought;

/// What a screen is made of.
pub(crate) struct View<'a> {
    pub state: &'a State,
    pub thought: &'a Thought,
    pub sender: &'a Sender,
    pub names: &'a Names,
    pub now_ms: i64,
}

/// The screen of one device.
///
/// # Inputs
/// - `state`: the newest · `thought`: the latest finished; may be older · `sender`: the device · `names`
/// - `now_ms`: server's time
///
/// # Gives
/// All that the device shows.
///
/// # Source
/// docs/handbook/alarm-room.md
pub fn screen(state: &State, thought: &Thought, sender: &Sender, names: &Names, now_ms: i64) -> Screen {
    let view = View { state, thought, sender, names, now_ms };
    let stage = view.stage();
    let say = view.say();
    let short = view.short();
    Screen {
        seq: state.seq,
        at_ms: now_ms,
        stage,
        practice: state.open().is_some_and(|incident| incident.practice),
        alarm_at_ms: state
            .incident
            .as_ref()
            .map(|incident| incident.alarm_at_ms)
            .filter(|_| stage != Stage::Quiet),
        ended_at_ms: state.incident.as_ref().and_then(|incident| incident.ended_at_ms),
        you: view.you(),
        first_words: view.first_words(&say, short.as_ref()),
        shouts: view.shouts(),
        quiet_until_ms: view.quiet_until_ms(&say),
        say,
        lines: view.strips(),
        map: view.map(),
        shares: view.thought_of_now().map(|thought| thought.shares.clone()).unwrap_or_default(),
        found_by: view.thought_of_now().map(|thought| thought.found_by.clone()).unwrap_or_default(),
        short,
        break_off: None,
        care: view.care(),
        ashore: view.ashore(),
        missing: view.missing(),
        sightings: view.sightings(),
        people: view.people(),
        cautions: view.thought_of_now().map(|thought| thought.cautions.clone()).unwrap_or_default(),
        said: view.said(),
        log: view.log(),
        head_code: chain::head_code(&state.head),
        order_zero: None,
        widen: None,
        figures: Vec::new(),
    }
}

impl<'a> View<'a> {
    /// The incident that runs or has just ended.
    pub(crate) fn incident(&self) -> Option<&'a Incident> {
        self.state.incident.as_ref()
    }

    /// The thought, if it is of the incident that is shown.
    pub(crate) fn thought_of_now(&self) -> Option<&'a Thought> {
        let incident = self.incident()?;
        (self.thought.incident == incident.number).then_some(self.thought)
    }

    /// Seconds since the alarm now.
    pub(crate) fn now_s(&self) -> f64 {
        self.incident().map_or(0.0, |incident| incident.since_s(self.now_ms))
    }

    /// Moment of so many seconds after the alarm.
    pub(crate) fn ms(&self, since_s: f64) -> i64 {
        self.incident().map_or(0, |incident| incident.alarm_at_ms) + (since_s * 1000.0).round() as i64
    }

    pub(crate) fn stage(&self) -> Stage {
        let Some(incident) = self.incident() else { return Stage::Quiet };
        match incident.phase {
            Phase::Passed => Stage::CommandPassed,
            Phase::Ended => Stage::Ended,
            _ if !incident.short.is_empty() => Stage::CountShort,
            Phase::Asking => Stage::Asking,
            Phase::Searching => Stage::Searching,
            Phase::Out(_) | Phase::CountFirst => Stage::AllOut,
            Phase::Found => Stage::Found,
        }
    }

    fn you(&self) -> You {
        let sender = self.sender;
        You {
            role: sender.role,
            person: sender.person,
            name: sender.person.map(|person| self.names.person(person)),
            order: self.own_order(),
            may: may(self.state, sender).into_iter().map(String::from).collect(),
        }
    }

    /// The order of the line this device reads to: the one that its person leads or watches.
    pub(crate) fn own_order(&self) -> Option<OrderNumber> {
        let person = self.sender.person.filter(|_| self.sender.role == Role::LineLeader)?;
        let incident = self.incident()?;
        let mine = |shown: &crate::event::ShownOrder| {
            shown.method.is_some()
                && (shown.leader == Some(person)
                    || shown.lookout == Some(person)
                    || shown.people.contains(&person))
        };
        let open = incident.orders.values().filter(|known| known.ended_ms.is_none() && !known.withdrawn);
        open.filter(|known| mine(&known.shown))
            .min_by_key(|known| (known.shown.leaves_ms, known.shown.order))
            .map(|known| known.shown.order)
    }

    pub(crate) fn map(&self) -> MapNow {
        let Some(thought) = self.thought_of_now() else { return MapNow::default() };
        MapNow {
            dots: thought.picture.dots.clone(),
            outlines: thought.picture.outlines.clone(),
            lanes: self.lanes(),
            gaps: thought.gaps.clone(),
            seen: thought.seen.clone(),
            current: thought.current,
            sentence: thought.sentence.clone(),
        }
    }
}
