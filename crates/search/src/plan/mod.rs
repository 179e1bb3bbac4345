//! Plan: who searches what next, in which order, so that the weighted chance of having found the person is large (models P).
//!
//! Never: sends anybody past a limit, puts two lines in the same water at once, changes an order under way.
//! Start reading at [`Plan`], then [`Request`], then [`plan`].

mod blocks;
mod build;
mod ceiling;
mod cells;
pub mod check;
mod cover;
mod draft;
mod fill;
mod footing;
mod gaps;
mod improve;
mod keep;
mod lanes;
mod lone;
mod pool;
mod posts;
mod price;
mod problem;
mod request;
mod roles;
mod scan;
mod start;
mod trial;
mod walk;
mod weight;
mod why;
mod write;

pub use build::{plan, plan_by, valued};
pub use request::{Crew, Outlook, Request, Spent};

use crate::{Method, Sweep};
use measure::Spot;
use serde::Serialize;

/// A job beside searching in a line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// In charge, calls the orders.
    Lead,
    /// Safety lookout with rescue equipment above water; counts heads after every dive.
    Lookout,
    /// Leader of a line.
    LineLeader,
    /// In a line.
    Searcher,
    /// At the gate or phone, and the shore check.
    Gate,
    /// First guard at the last seen point.
    First,
    /// Waiting their turn.
    Standby,
}

/// People who search together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Team {
    /// Method.
    pub method: Method,
    /// Crew indices in the order they stand, shore side (wading) or left first; the first who may lead a line leads it.
    pub members: Vec<usize>,
    /// Crew index of the line leader (one of `members`).
    pub leader: usize,
    /// Crew index of the lookout of a dive line.
    pub lookout: Option<usize>,
    /// Spacing \[m\].
    pub spacing_m: f64,
    /// Width swept by one pass \[m\].
    pub width_m: f64,
    /// Depth band the team works in \[m\].
    pub depth_from_m: f64,
    /// Deep end of that band \[m\].
    pub depth_to_m: f64,
    /// Whether everybody in it wears fins of today's kit.
    pub fins: bool,
    /// When the team is formed \[s since the alarm\].
    pub formed_s: f64,
    /// Where the team forms.
    pub forms_at: Spot,
}

/// One advance of a line: the smallest piece of a lane that is planned and checked.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Leg {
    /// What it sweeps, when, and with what chance.
    pub sweep: Sweep,
    /// Deepest water under it \[m\].
    pub depth_m: f64,
}

/// A stretch of a lane searched without a break: what one order asks for.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Run {
    /// Index into `Plan::teams`.
    pub team: usize,
    /// Middle of the line where it starts.
    pub from: Spot,
    /// Middle of the line where it ends.
    pub to: Spot,
    /// Width \[m\].
    pub width_m: f64,
    /// When the team leaves for it \[s since the alarm\]: transit, pivot and forming come first.
    pub leaves_s: f64,
    /// When the first leg begins.
    pub from_s: f64,
    /// When the last leg ends.
    pub to_s: f64,
    /// Its legs in order.
    pub legs: Vec<Leg>,
    /// Mass newly found if the plan is carried out (unweighted).
    pub gain: f64,
    /// Whether `Team::members` stand from left to right, seen in the way they go; otherwise from right to left.
    pub shore_left: bool,
    /// Whether it is under way and must not be changed.
    pub under_way: bool,
}

/// A piece of the probable region that no order covers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Gap {
    /// Middle of the piece.
    pub spot: Spot,
    /// Area \[m²\].
    pub area_m2: f64,
    /// Mass in it.
    pub mass: f64,
    /// Why, as people say it: "deeper than anybody may dive", "under the raft" …
    pub why: String,
}

/// A lane that a line could begin with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Choice {
    /// Middle of the line where it starts.
    pub from: Spot,
    /// Middle of the line where it ends.
    pub to: Spot,
    /// Mass in its strip now.
    pub mass: f64,
    /// Mass it would newly find after what the plan does before.
    pub found: f64,
    /// From when the line is free to the end of the lane: forming, ways and rests among it \[s\].
    pub seconds: f64,
}

impl Choice {
    /// Mass found a minute.
    pub fn per_minute(&self) -> f64 {
        60.0 * self.found / self.seconds.max(1.0)
    }
}

/// Why a line begins where it does.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Why {
    /// Index into `Plan::runs`.
    pub run: usize,
    /// The lane it begins with.
    pub chosen: Choice,
    /// The best lane elsewhere that it could have begun with.
    pub other: Option<Choice>,
}

/// What the orders of a plan are priced at, by what it is for; the same units as the value.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Priced {
    /// Orders after each line's first.
    pub orders: f64,
    /// Quarter turns.
    pub quarter_turns: f64,
}

/// A plan.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct Plan {
    /// When it was made \[s since the alarm\].
    pub now_s: f64,
    /// Last seen point: where the marker is dropped.
    pub last_seen: Spot,
    /// Whether nobody told a place, so that this is only the most probable one.
    pub unseen: bool,
    /// Teams.
    pub teams: Vec<Team>,
    /// Everybody's job: (crew index, role, team index if any).
    pub jobs: Vec<(usize, Role, Option<usize>)>,
    /// Runs, by start.
    pub runs: Vec<Run>,
    /// Survival-weighted newly found mass of all runs: the objective.
    pub value: f64,
    /// What its orders after each line's first, and its quarter turns, are priced at, same units as `value`: plans
    /// are chosen by value less this.
    pub price: f64,
    /// That price by what it is for.
    pub priced: Priced,
    /// Ceiling that no plan can beat, same units as `value`.
    pub ceiling: f64,
    /// Chance found by so many seconds after now: (s, chance).
    pub found_by: Vec<(f64, f64)>,
    /// When the chance found reaches so much: (share, s since the alarm), `None` if not within the plan.
    pub reaches: Vec<(f64, Option<f64>)>,
    /// Whole plans that were built and compared.
    pub evaluations: u64,
    /// What is not covered and why.
    pub gaps: Vec<Gap>,
    /// Why each line begins its next lane, its first or another; none for a line that is under way.
    pub why: Vec<Why>,
    /// Doubts and plain statements ("nobody here may dive").
    pub notes: Vec<String>,
}
