//! The course of a search: the alarm, what was reported since, and the orders of now.
//!
//! Everything is replayed from (setting, alarm, reports, seed): the same input gives the same orders and the
//! same order numbers. Orders under way stay as they were given; what has not begun is planned anew whenever
//! a report changes what is known or who is free.
//! Never: reads a clock; moves an order under way; treats a lane as searched before it is reported.
//! Start reading at [`Course::follow`].

mod apply;
mod card;
mod desk;
mod replan;
mod state;

pub use card::{HeldCard, Opening};
pub(crate) use replan::meeting_place;
pub use state::{Begun, Course, State, Told, same_run};
