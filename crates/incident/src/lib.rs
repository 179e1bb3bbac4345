//! One search as a list of events: what was reported, what follows from it, and what each person sees.
//!
//! How whoever keeps the log uses it:
//! 1. [`opening()`] gives the first entry of a day; append it, keep its names apart.
//! 2. For each [`report::Sent`]: [`decide()`] with [`State::sender`], append the events as [`Entry`]s (in order, with
//!    [`Decided::happened_at_ms`]), flush, acknowledge, [`State::apply`] each.
//! 3. [`Thinker::follow`] the new state; a thought may come late. Then [`Thought::shown`]: if it gives an event,
//!    append it as an entry of the desk itself, so that the log holds what was on the screens.
//! 4. [`screen()`] for each device from the newest state and the latest thought.
//!
//! Never: reads files, clocks or unseeded chance; changes an event that was recorded.

pub mod cards;
pub mod chain;
mod chart;
pub mod decide;
pub mod event;
mod handover;
pub mod names;
mod opening;
pub mod report;
pub mod screen;
mod show;
pub mod state;
pub mod think;

pub use cards::{MorningCards, card_words};
pub use chart::{Chart, chart};
pub use decide::{Decided, Refusal, Sender, decide, may};
pub use event::{Entry, Event};
pub use handover::{Handover, HandoverLane, handover};
pub use names::{NameNote, Names};
pub use opening::{Beginning, Water, opening};
pub use report::{Report, Sent};
pub use screen::Screen;
pub use show::screen;
pub use state::{State, led_by};
pub use think::{Effort, Thinker, Thought};
