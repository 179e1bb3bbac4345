//! What a search is at one moment.

use crate::belief::Belief;
use crate::plan::{Plan, Run, Team};
use crate::told::Report;
use crate::{Alarm, Sweep};
use measure::Seed;
use water::Day;

/// All that was told, and how hard to think about it.
#[derive(Clone, Debug)]
pub struct Told {
    /// The alarm as first given.
    pub alarm: Alarm,
    /// Reports in the order of their times.
    pub reports: Vec<Report>,
    /// Moment for which orders are wanted \[s since the alarm\]; `None`: the last report, or the alarm.
    pub now_s: Option<f64>,
    /// Seed of the incident.
    pub seed: Seed,
    /// Size of the cloud.
    pub particles: usize,
    /// Effort of each plan \[evaluations\].
    pub effort: u64,
}

/// Whether orders are being given.
#[derive(Clone, Debug, PartialEq)]
pub enum State {
    /// The search goes on.
    Searching,
    /// Everybody was called out of the water; clock and drift run on.
    AllOut {
        /// Why, as told.
        reason: String,
    },
    /// A searcher is missing after a dive: that line holds, others stand by.
    CountShort {
        /// Order of the line.
        order: usize,
        /// Heads counted.
        up: usize,
        /// Heads that went down.
        down: usize,
    },
    /// The person was found.
    Found,
}

/// An order that has begun.
#[derive(Clone, Debug)]
pub struct Begun {
    /// Its number.
    pub number: usize,
    /// What was ordered.
    pub run: Run,
    /// Who.
    pub team: Team,
    /// Legs whose searching has been reported.
    pub legs_reported: usize,
    /// When it ended, once reported \[s since the alarm\].
    pub ended_s: Option<f64>,
    /// Whether its end was reported, rather than taken because its people went on to something else.
    pub reported: bool,
    /// Whether it ended before the end of its lane.
    pub stopped_short: bool,
}

impl Begun {
    /// Crew indices of everybody the order binds: the line and its lookout.
    pub fn people(&self) -> impl Iterator<Item = usize> + '_ {
        self.team.members.iter().copied().chain(self.team.lookout)
    }
}

/// A search at one moment.
#[derive(Clone, Debug)]
pub struct Course {
    /// The alarm with every sighting so far.
    pub alarm: Alarm,
    /// The day, with everybody who joined.
    pub day: Day,
    /// Crew indices of those who dropped out.
    pub gone: Vec<usize>,
    /// Moment of each newcomer's arrival: (crew index, s since the alarm, where from).
    pub came: Vec<(usize, f64, Option<String>)>,
    /// Sweeps that found nobody.
    pub sweeps: Vec<Sweep>,
    /// Times at which gate, changing rooms and shore were checked.
    pub shore_checks: Vec<f64>,
    /// Times at which the surface was looked over.
    pub surface_looks: Vec<f64>,
    /// Orders begun, by number.
    pub begun: Vec<Begun>,
    /// Belief now.
    pub belief: Belief,
    /// Doubts of the belief.
    pub belief_notes: Vec<String>,
    /// Plan now; its runs include those under way.
    pub plan: Plan,
    /// State.
    pub state: State,
    /// Now \[s since the alarm\].
    pub now_s: f64,
    /// What the lead should hear, oldest first: odd reports, overdue lanes, counts.
    pub said: Vec<String>,
}

impl Course {
    /// The number of the order that a run of the plan is, or will be.
    ///
    /// Orders are numbered in the order in which they begin; those not begun continue the row by their time.
    pub fn number_of(&self, run: usize) -> usize {
        let wanted = &self.plan.runs[run];
        if let Some(begun) = self.begun.iter().find(|b| same_run(&b.run, wanted) && b.ended_s.is_none()) {
            return begun.number;
        }
        let waiting = |k: &usize| {
            !self.begun.iter().any(|b| b.ended_s.is_none() && same_run(&b.run, &self.plan.runs[*k]))
        };
        let mut order: Vec<usize> = (0..self.plan.runs.len()).filter(waiting).collect();
        order.sort_by(|a, b| {
            self.plan.runs[*a].leaves_s.total_cmp(&self.plan.runs[*b].leaves_s).then(a.cmp(b))
        });
        let ahead = order.iter().position(|&k| k == run).unwrap_or(order.len());
        self.begun.len() + 1 + ahead
    }
}

/// Whether two runs are the same piece of work, whatever their times.
pub fn same_run(a: &Run, b: &Run) -> bool {
    a.from == b.from && a.to == b.to && a.leaves_s == b.leaves_s && a.width_m == b.width_m
}
