//! What a search is at one moment.

use super::card::HeldCard;
use crate::belief::{Belief, Currents};
use crate::orders::{Order, orders_after};
use crate::plan::{Plan, Role, Run, Team};
use crate::told::Report;
use crate::{Alarm, Method, Setting, Sweep};
use measure::{Seed, Spot};
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

    /// Whether it is under way and binds somebody of the crew.
    pub fn binds(&self, who: usize) -> bool {
        self.ended_s.is_none() && self.people().any(|p| p == who)
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
    /// Single places ashore that were looked at: (s since the alarm, share of all places).
    pub shore_parts: Vec<(f64, f64)>,
    /// How often the search was spread.
    pub widened: usize,
    /// Times at which the surface was looked over.
    pub surface_looks: Vec<f64>,
    /// Orders begun, by number.
    pub begun: Vec<Begun>,
    /// Alarms of further people who are missing still.
    pub others: Vec<Alarm>,
    /// Belief about each who is missing still, the alarm's own first; empty with one.
    pub clouds: Vec<Belief>,
    /// Belief now; with several missing the mean of theirs.
    pub belief: Belief,
    /// The broad form of the belief that plans are made on, once one was made; takes in whatever the belief takes in.
    pub(super) broad: Option<Belief>,
    /// Doubts of the belief.
    pub belief_notes: Vec<String>,
    /// Plan now; its runs include those under way.
    pub plan: Plan,
    /// State.
    pub state: State,
    /// Now \[s since the alarm\].
    pub now_s: f64,
    /// Number of each run of the plan: given when it was planned, and kept once it has begun.
    pub numbers: Vec<usize>,
    /// Standing orders that were given: posts, marker, gate.
    pub given: Vec<Order>,
    /// Lines with a head missing after a dive, oldest first: (order, up, down).
    pub short: Vec<(usize, usize, usize)>,
    /// What the lead should hear, oldest first: odd reports, overdue lanes, counts.
    pub said: Vec<String>,
    /// The morning's card, once it was held against the first plan.
    pub card: Option<HeldCard>,
    /// Currents by time.
    pub currents: Currents,
    /// Where a card that stands has the marker.
    pub(super) marker: Option<Spot>,
}

impl Course {
    /// The number of the order that a run of the plan is, or will be if nothing is planned anew before it begins.
    pub fn number_of(&self, run: usize) -> usize {
        self.numbers[run]
    }

    /// Numbers for the runs of a new plan: those under way keep theirs, the rest go on after the highest ever begun.
    pub(super) fn number_runs(&mut self) {
        let runs = &self.plan.runs;
        let open = |k: usize| self.begun.iter().find(|b| b.ended_s.is_none() && same_run(&b.run, &runs[k]));
        let mut waiting: Vec<usize> = (0..runs.len()).filter(|&k| open(k).is_none()).collect();
        waiting.sort_by(|a, b| runs[*a].leaves_s.total_cmp(&runs[*b].leaves_s).then(a.cmp(b)));
        let mut numbers: Vec<usize> = (0..runs.len()).map(|k| open(k).map_or(0, |b| b.number)).collect();
        let highest = self.begun.iter().map(|b| b.number).max().unwrap_or(0);
        for (rank, k) in waiting.into_iter().enumerate() {
            numbers[k] = highest + 1 + rank;
        }
        self.numbers = numbers;
    }

    /// Orders of now: lines to come, and those posts that have changed since they were given.
    ///
    /// An order whose time has passed while its people were held up is given for now.
    ///
    /// # Inputs
    /// - `setting`: the water; the crew is the one of this search
    ///
    /// # Gives
    /// Orders by time; none unless the search goes on.
    pub fn orders(&self, setting: &Setting) -> Vec<Order> {
        if self.state != State::Searching {
            return Vec::new();
        }
        let setting = Setting { day: &self.day, ..*setting };
        let mut all = orders_after(&self.plan, &setting, self.alarm.at_s, &self.given);
        all.retain(|order| !self.is_with_the_line(order));
        all.iter_mut().for_each(|order| self.word_of_card(order));
        for order in all.iter_mut().filter(|order| order.at_s < self.now_s) {
            order.at_s = self.now_s;
            order.clock = crate::orders::clock(self.alarm.at_s, self.now_s);
        }
        all.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
        all
    }

    /// Whether a first guard who was only to look has joined a line that is at work: nobody is called away from it to the marker.
    fn is_with_the_line(&self, order: &Order) -> bool {
        let at_work = |who: &usize| {
            let mut mine = self.begun.iter().filter(|b| b.binds(*who) && b.team.method != Method::Alone);
            mine.any(|b| b.run.from_s <= self.now_s)
        };
        order.post == Some(Role::First) && order.run.is_none() && order.people.iter().any(at_work)
    }
}

/// Whether two runs are the same piece of work, whatever their times.
pub fn same_run(a: &Run, b: &Run) -> bool {
    a.from == b.from && a.to == b.to && a.leaves_s == b.leaves_s && a.width_m == b.width_m
}
