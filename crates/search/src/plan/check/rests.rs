//! Dives short enough, rested between and relieved; turns in the water no longer than its cold allows.
//!
//! Everybody is followed through all they do, with what they had behind them before this plan.

use super::{Referee, SLACK};
use crate::{Method, Sweep};
use measure::parameters::value;

/// What a searcher has behind them at one moment.
struct Body {
    /// When they ended searching last.
    up_s: f64,
    /// How long their last dive took, if that is known.
    under_s: Option<f64>,
    /// Dives of a line since they were relieved.
    dives: usize,
    /// Whether they dived alone last.
    alone: bool,
    /// Since when in the water.
    since_s: f64,
}

impl Referee<'_> {
    /// Times of dives, and everybody's rests and turns.
    pub(super) fn rests(&mut self) {
        self.dive_times();
        for who in 0..self.request.setting.day.crew.len() {
            self.rests_of(who);
        }
    }

    fn dive_times(&mut self) {
        let water_c = self.request.setting.day.water_c;
        let new = self.plan.runs.iter().filter(|r| !r.under_way);
        let dives: Vec<f64> = new
            .filter(|run| self.plan.teams[run.team].method == Method::Dive)
            .flat_map(|run| &run.legs)
            .map(|leg| leg.sweep.to_s - leg.sweep.from_s)
            .collect();
        if dives.is_empty() {
            return;
        }
        if water_c < value("wetsuit_cold_c") || water_c.is_nan() {
            return self.object("rest", format!("dives at {water_c} °C"));
        }
        let longest =
            if water_c > value("cold_dive_c") { value("dive_time_s") } else { value("dive_time_cold_s") };
        if dives.iter().any(|&under_s| under_s > longest + SLACK) {
            self.object("rest", format!("a dive of more than {longest:.0} s"));
        }
    }

    /// Longest turn in today's water.
    fn turn_s(&self) -> f64 {
        let water_c = self.request.setting.day.water_c;
        let names = ["turn_25_s", "turn_20_s", "turn_15_s", "turn_10_s"];
        let warm = [25.0, 20.0, 15.0, 10.0].iter().position(|&least| water_c >= least);
        value(warm.map_or("turn_cold_s", |k| names[k]))
    }

    fn rests_of(&mut self, who: usize) {
        let spent = self.request.crew.iter().find(|c| c.member == who).and_then(|c| c.spent);
        let mut body = spent.map_or(
            Body {
                up_s: f64::NEG_INFINITY,
                under_s: None,
                dives: 0,
                alone: false,
                since_s: f64::NEG_INFINITY,
            },
            |s| Body { up_s: s.ended_s, under_s: None, dives: s.dives, alone: false, since_s: s.since_s },
        );
        let mut legs: Vec<(&Sweep, bool, bool)> = Vec::new();
        for run in &self.plan.runs {
            let team = &self.plan.teams[run.team];
            if team.members.contains(&who) && team.method != Method::Pole {
                let alone = self.lone_dives(team, run.team);
                let dives = alone || team.method == Method::Dive;
                legs.extend(run.legs.iter().map(|leg| (&leg.sweep, dives, !run.under_way)));
            }
        }
        // What was done before this plan, or is under way, is counted in what they have behind them.
        legs.retain(|(sweep, _, new)| *new || sweep.to_s > body.up_s + SLACK);
        legs.sort_by(|a, b| a.0.from_s.total_cmp(&b.0.from_s));
        let name = self.member(who).name.clone();
        let limit_s = self.turn_s();
        let mut broken = None;
        for (sweep, dives, new) in legs {
            let under_s = sweep.to_s - sweep.from_s;
            let gap_s = sweep.from_s - body.up_s;
            if gap_s >= value("relief_s") - SLACK {
                body.dives = 0;
            }
            if gap_s >= value("warm_s") - SLACK {
                body.since_s = sweep.from_s;
            }
            let due_s = due(&body, under_s);
            if new && dives && gap_s < due_s - SLACK {
                broken = Some(format!("{name} rests {gap_s:.0} s, {due_s:.0} s are due"));
            }
            if new && sweep.to_s - body.since_s > limit_s + SLACK {
                broken = Some(format!("{name} is in the water for {:.0} s", sweep.to_s - body.since_s));
            }
            if broken.is_some() {
                break;
            }
            body.alone = dives && sweep.method == Method::Alone;
            body.dives += usize::from(dives && !body.alone);
            body.up_s = body.up_s.max(sweep.to_s);
            body.under_s = (dives && !body.alone).then_some(under_s);
        }
        if let Some(what) = broken {
            self.object("rest", what);
        }
    }
}

/// Rest due before the next dive of `under_s`.
fn due(body: &Body, under_s: f64) -> f64 {
    if body.dives == 0 {
        return if body.alone { value("rest_least_s") } else { 0.0 };
    }
    if body.dives >= value("dives_before_rest") as usize {
        return value("relief_s");
    }
    let tired = body.dives >= value("dives_fresh") as usize;
    let factor = value(if tired { "rest_factor_tired" } else { "rest_factor" });
    (factor * body.under_s.unwrap_or(under_s)).max(value("rest_least_s"))
}
