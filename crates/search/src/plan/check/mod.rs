//! The checker: replays a plan by its own reading of the rules and the raw particles (models P5).
//!
//! It shares no code with the planner: it reads only the plan, the request, the register and the models'
//! public functions. Start reading at [`check`].

mod ground;
mod outline;
mod people;
mod rests;
mod worth;

use super::{Plan, Request};
use water::{Member, Units};
use worth::worth;

/// A broken rule.
#[derive(Clone, Debug, PartialEq)]
pub struct Violation {
    /// Rule in a word: `person`, `depth`, `current`, `apart`, `lookout`, `rest`, `time`, `ground`, `under way`, `kit`, `figures`.
    pub rule: &'static str,
    /// What broke it, with names and values in the units of the site.
    pub what: String,
}

/// What a check gives.
#[derive(Clone, Debug, PartialEq)]
pub struct Review {
    /// Broken rules; empty for a sound plan.
    pub violations: Vec<Violation>,
    /// Value from the raw particles.
    pub value: f64,
    /// Chance found by so many seconds after now, from the raw particles.
    pub found_by: Vec<(f64, f64)>,
}

/// Replays a plan and recomputes its worth.
///
/// # Inputs
/// - `plan` · `request`: the one it answers
///
/// # Gives
/// Broken rules, value and chances by time; a plan with any broken rule must not be shown.
///
/// # Source
/// the rules of the register and of the site; value by models P1 on particles
pub fn check(plan: &Plan, request: &Request) -> Review {
    let (value, found_by) = worth(plan, request);
    Review { violations: broken_rules(plan, request), value, found_by }
}

/// Chances by time from the raw particles, without the rules: what a plan promises of a belief.
///
/// Every strip strays by itself, so a place under several is missed more often than their shares together say.
///
/// # Inputs
/// - `plan` · `request`: the one it answers, or the same with another belief
///
/// # Gives
/// (s after now, chance found by then), at the moments of the plan's own promise.
///
/// # Source
/// models P1 on particles
pub fn promise(plan: &Plan, request: &Request) -> Vec<(f64, f64)> {
    worth(plan, request).1
}

/// The rules alone, without the particles: what every plan passes before it is given.
///
/// # Inputs
/// - `plan` · `request`: the one it answers
///
/// # Gives
/// Broken rules; empty for a sound plan.
///
/// # Source
/// the rules of the register and of the site
pub fn broken_rules(plan: &Plan, request: &Request) -> Vec<Violation> {
    let mut referee = Referee { plan, request, violations: Vec::new() };
    referee.figures();
    if referee.violations.is_empty() {
        referee.people();
        for run in &plan.runs {
            referee.run(run);
        }
        referee.teams();
        referee.rests();
        referee.apart();
        referee.whereabouts();
        referee.kept();
        referee.kit();
    }
    referee.violations
}

struct Referee<'a> {
    plan: &'a Plan,
    request: &'a Request<'a>,
    violations: Vec<Violation>,
}

/// Slack for rounding \[s or m\].
const SLACK: f64 = 1e-6;

impl Referee<'_> {
    fn object(&mut self, rule: &'static str, what: String) {
        self.violations.push(Violation { rule, what });
    }

    /// Units of the site: what broke a rule may be shown.
    fn units(&self) -> Units {
        self.request.setting.site.units
    }

    fn member(&self, index: usize) -> &Member {
        &self.request.setting.day.crew[index]
    }

    /// Numbers are numbers, indices point somewhere, times run forward.
    fn figures(&mut self) {
        let (teams, crew) = (self.plan.teams.len(), self.request.setting.day.crew.len());
        for (index, team) in self.plan.teams.iter().enumerate() {
            let all = team.members.iter().chain(&team.lookout).chain(std::iter::once(&team.leader));
            if team.members.is_empty()
                || all.into_iter().any(|&k| k >= crew)
                || !team.members.contains(&team.leader)
            {
                self.object(
                    "figures",
                    format!("team {index} has nobody, a stranger, or a leader from outside"),
                );
            }
        }
        if self.plan.jobs.iter().any(|j| j.0 >= crew || j.2.is_some_and(|t| t >= teams)) {
            self.object("figures", "a job names a stranger or no team".into());
        }
        if !(self.plan.value.is_finite() && self.plan.value >= 0.0) {
            self.object("figures", format!("value {}", self.plan.value));
        }
        for run in &self.plan.runs {
            let mut at_s = run.from_s;
            let mut sound = run.team < teams
                && !run.legs.is_empty()
                && run.from.is_finite()
                && run.to.is_finite()
                && run.leaves_s <= run.from_s + SLACK;
            for leg in &run.legs {
                sound &= leg.sweep.from_s >= at_s - SLACK && leg.sweep.to_s > leg.sweep.from_s;
                at_s = leg.sweep.to_s;
            }
            sound &= (at_s - run.to_s).abs() < SLACK && at_s.is_finite();
            if !sound {
                self.object("time", format!("the run from {:.0} s does not run forward in time", run.from_s));
            }
            if !run.under_way && run.leaves_s < self.request.now_s - SLACK {
                self.object("time", format!("a new run leaves at {:.0} s, before now", run.leaves_s));
            }
        }
    }

    /// What is under way is in the plan unchanged.
    fn kept(&mut self) {
        let Some(before) = self.request.before else { return };
        for run in before.runs.iter().filter(|r| r.under_way) {
            let same = self.plan.runs.iter().any(|now| {
                let (old, new) = (&before.teams[run.team], &self.plan.teams[now.team]);
                now.under_way && now.legs == run.legs && now.shore_left == run.shore_left && old == new
            });
            if !same {
                self.object("under way", format!("the run from {:.0} s was changed", run.from_s));
            }
        }
    }
}
