//! Where a line stands before its first new run: when it is free, what its people have behind them.

use super::{fill::pause_of, problem::Problem, roles::Line};
use crate::Method;
use measure::Spot;

/// Where a line stands before its first new run.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Start {
    /// From when all of it can be called \[s\].
    pub free_s: f64,
    /// Not before this, after a dive \[s\].
    pub rested_s: f64,
    /// Dives made since its people were relieved.
    pub dives: usize,
    /// Since when in the water; minus infinity if it must not go on.
    pub entered_s: Option<f64>,
    /// Where it stands if it is formed; else it gathers first.
    pub at: Option<Spot>,
}

/// A first guard who searches alone before their line forms.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Alone {
    pub who: usize,
    /// Since when \[s\].
    pub begun_s: f64,
    /// When they may dive again \[s\].
    pub rested_s: f64,
}

impl Start {
    /// Reads it from what is under way and from what each of its people has searched.
    ///
    /// `alone`: the first guard, if they search at the last seen point before.
    pub fn of(problem: &Problem, line: &Line, alone: Option<Alone>) -> Self {
        let rules = &problem.rules;
        if let Some(busy) = line.busy {
            return Start {
                free_s: busy.free_s,
                rested_s: busy.free_s + pause_of(problem, busy.dives),
                dives: busy.dives % rules.dives_most(),
                entered_s: Some(if busy.over { f64::NEG_INFINITY } else { busy.entered_s }),
                at: Some(busy.at),
            };
        }
        let people = || line.members.iter().chain(&line.lookout).filter_map(|&k| problem.person(k));
        let free_s = people().map(|p| p.from_s).fold(problem.request.now_s, f64::max);
        let spent = || line.members.iter().filter_map(|&k| problem.person(k)?.spent);
        let counting = || spent().filter(|s| free_s < s.ended_s + rules.warm_s);
        let dives = || spent().filter(|s| free_s < s.ended_s + rules.relief_s);
        let alone = alone.filter(|alone| line.members.contains(&alone.who));
        let diving = line.shape.method == Method::Dive;
        Start {
            free_s,
            rested_s: dives()
                .map(|s| s.ended_s + pause_of(problem, s.dives))
                .chain(alone.map(|a| a.rested_s))
                .filter(|_| diving)
                .fold(free_s, f64::max),
            dives: if diving { dives().map(|s| s.dives).max().unwrap_or(0) } else { 0 },
            entered_s: counting().map(|s| s.since_s).chain(alone.map(|a| a.begun_s)).reduce(f64::min),
            at: formed_at(problem, line),
        }
    }

    /// Whether it can go on from where it stands.
    pub fn is_formed(&self) -> bool {
        self.at.is_some()
    }
}

/// Where a line stands that has just ended a lane together, its lookout beside it.
fn formed_at(problem: &Problem, line: &Line) -> Option<Spot> {
    let mut all = line.members.iter().map(|&k| problem.person(k));
    let first = all.next()??;
    let spent =
        first.spent.filter(|s| s.method == line.shape.method && s.ended_s <= problem.request.now_s)?;
    let together = all.all(|p| {
        p.is_some_and(|p| {
            p.at == first.at
                && p.spent.is_some_and(|s| s.method == spent.method && s.ended_s == spent.ended_s)
        })
    });
    let watched = line.lookout.is_none_or(|k| problem.person(k).is_some_and(|p| p.at == first.at));
    let prompt = line.members.iter().chain(&line.lookout).all(|&k| !problem.is_late(k));
    (together && watched && prompt).then_some(first.at)
}
