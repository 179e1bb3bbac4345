//! Thinking: from the log to belief, plan and orders, entry by entry.
//!
//! A thought is a function of the log and the water alone: followed live or replayed, the same entries give the
//! same thought. Time that passes between entries changes no thought; who should have begun by now is for the
//! screens to say.
//! Never: changes an order under way or its number; reads a clock.
//! Start reading at [`Thinker::follow`].

mod figures;
mod follow;
mod ledger;
mod picture;
mod reading;
mod sample;
mod step;
mod thought;
pub(crate) mod words;
mod worth;

pub use ledger::{Card, Stand};
pub use picture::Picture;
pub use thought::Thought;
pub use worth::{Better, Left};

use crate::opening::Water;
use crate::state::State;
use follow::Followed;
use measure::parameters::value;
use search::plan::Request;
use std::sync::Arc;

/// How hard to think.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// Size of the cloud.
    pub particles: usize,
    /// Effort of the first plan \[evaluations\]; later ones take a quarter.
    pub plans: u64,
}

impl Default for Effort {
    fn default() -> Self {
        // Half of what fills a second from the command line: screens are made, and others think, beside it.
        Effort { particles: value("particles") as usize, plans: Request::SECOND_EFFORT / 2 }
    }
}

/// Follows a log.
#[derive(Debug)]
pub struct Thinker {
    water: Water,
    effort: Effort,
    followed: Option<Followed>,
    thought: Arc<Thought>,
}

impl Thinker {
    /// A thinker that has not thought yet.
    pub fn new(water: Water, effort: Effort) -> Thinker {
        Thinker { water, effort, followed: None, thought: Arc::new(Thought::default()) }
    }

    /// The water it thinks about.
    pub fn water(&self) -> &Water {
        &self.water
    }

    /// Follows the log to the last entry of `state`.
    ///
    /// # Inputs
    /// - `state`: not older than the one before · `now_ms`: not looked at by the thought itself
    ///
    /// # Gives
    /// The thought; the one before if nothing has happened that could change it.
    ///
    /// # Source
    /// `search::course`
    pub fn follow(&mut self, state: &State, now_ms: i64) -> Arc<Thought> {
        let _ = now_ms;
        let Some(incident) = state.incident.as_ref() else {
            return self.thought.clone();
        };
        if self.followed.as_ref().is_none_or(|followed| followed.incident.number != incident.number) {
            self.followed = Some(Followed::open(&self.water, incident, self.effort));
        }
        let Some(followed) = self.followed.as_mut() else { return self.thought.clone() };
        if followed.follow(&self.water, incident) || self.thought.incident != incident.number {
            self.thought = Arc::new(followed.thought(&self.water, state.seq));
        } else if self.thought.seq != state.seq {
            let mut same = (*self.thought).clone();
            same.seq = state.seq;
            self.thought = Arc::new(same);
        }
        self.thought.clone()
    }

    /// Works ahead, between two entries, what the next will most likely ask for. Changes no thought: with it or without,
    /// the same log gives the same.
    pub fn prepare(&mut self) {
        if let Some(followed) = &mut self.followed {
            followed.prepare(&self.water);
        }
    }
}
