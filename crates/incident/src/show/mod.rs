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
mod offers;
mod people;
mod quiet;
mod say;
mod sheet;
mod short;
mod strips;

pub(crate) use clock::clock;
pub(crate) use say::order_words;
pub(crate) use sheet::sheet;

use crate::chain;
use crate::decide::{Sender, may};
use crate::names::Names;
use crate::report::{OrderNumber, Role};
use crate::screen::{Gap, MapNow, Screen, Stage, You};
use crate::state::{Incident, Phase, State};
use crate::think::{Card, Stand, Thought};

/// What a screen is made of.
pub(crate) struct View<'a> {
    pub state: &'a State,
    pub thought: &'a Thought,
    pub sender: &'a Sender,
    pub names: &'a Names,
    pub now_ms: i64,
    /// The sheet on paper: nobody types a count on it.
    pub sheet: bool,
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
    let view = View { state, thought, sender, names, now_ms, sheet: false };
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
        orders_given: view.incident().is_some_and(|incident| !incident.orders.is_empty()),
        quiet_until_ms: view.quiet_until_ms(&say),
        say,
        lines: view.strips(),
        map: view.map(),
        shares: view.thought_of_now().map(|thought| thought.shares.clone()).unwrap_or_default(),
        found_by: view.thought_of_now().map(|thought| thought.found_by.clone()).unwrap_or_default(),
        short,
        break_off: view.break_off(),
        care: view.care(),
        ashore: view.ashore(),
        kind: view.incident().and_then(|incident| incident.kind),
        missing: view.missing(),
        sightings: view.sightings(),
        people: view.people(),
        cautions: view
            .thought_of_now()
            .map(|thought| thought.cautions.iter().map(|c| names.say(c)).collect())
            .unwrap_or_default(),
        said: view.said(),
        log: view.log(),
        head_code: chain::head_code(&state.head),
        order_zero: view.order_zero(),
        widen: view.widen(),
        figures: view.thought_of_now().map(|thought| thought.figures.clone()).unwrap_or_default(),
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
        self.incident()
            .map_or(0, |incident| incident.alarm_at_ms)
            .saturating_add((since_s * 1000.0).round() as i64)
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
        let (incident, thought) = (self.incident()?, self.thought_of_now()?);
        let index = incident.index_of(person)?;
        let open = thought.cards.values().filter(|card| matches!(card.stand, Stand::Begun | Stand::Waiting));
        let mine = |card: &&Card| {
            let ended = incident.orders.get(&card.number).is_some_and(|known| known.ended_ms.is_some());
            !ended
                && card.run.as_ref().is_some_and(|(_, team)| {
                    team.leader == index || team.lookout == Some(index) || team.members.contains(&index)
                })
        };
        let leaves = |card: &Card| card.run.as_ref().map_or(0.0, |(run, _)| run.leaves_s);
        open.filter(mine)
            .min_by(|a, b| {
                let waits = |card: &Card| card.stand == Stand::Waiting;
                waits(a).cmp(&waits(b)).then(leaves(a).total_cmp(&leaves(b))).then(a.number.cmp(&b.number))
            })
            .map(|card| card.number)
    }

    /// Whether the orders are those of the morning's card, while it matters.
    fn order_zero(&self) -> Option<String> {
        let thought = self.thought_of_now().filter(|_| self.stage() == Stage::Searching)?;
        thought.order_zero.as_ref().map(|words| self.names.say(words))
    }

    pub(crate) fn map(&self) -> MapNow {
        let Some(thought) = self.thought_of_now() else { return MapNow::default() };
        MapNow {
            dots: thought.picture.dots.clone(),
            outlines: thought.picture.outlines.clone(),
            lanes: self.lanes(),
            gaps: thought
                .gaps
                .iter()
                .map(|gap| Gap { words: self.names.say(&gap.words), ..gap.clone() })
                .collect(),
            seen: thought.seen.clone(),
            current: thought.current,
            sentence: thought.sentence.clone(),
        }
    }
}
