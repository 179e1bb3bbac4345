//! Who is where: there, on duty, allowed to, in one place at a time, watched, and with kit enough.

use super::{Referee, SLACK};
use crate::{
    Method, Stretch,
    plan::{Role, Run, Team},
};
use measure::{Spot, parameters::value};

impl Referee<'_> {
    /// People of new runs are there, not out, on duty, and may do their part.
    pub(super) fn people(&mut self) {
        for (index, team) in self.plan.teams.iter().enumerate() {
            let new = self.plan.runs.iter().filter(|r| r.team == index && !r.under_way);
            let first = new.min_by(|a, b| a.from_s.total_cmp(&b.from_s));
            if let Some(run) = first {
                for &k in team.members.iter().chain(&team.lookout) {
                    self.is_there(k, run, team);
                }
            }
            for &k in &team.members {
                let m = self.member(k);
                let may = match team.method {
                    Method::Wade => m.wade || m.volunteer,
                    Method::Dive => m.dive_m.is_some() && !m.volunteer,
                    _ => !m.volunteer,
                };
                if !may {
                    let what = format!("{} may not be in team {index}", m.name);
                    self.object("person", what);
                }
            }
        }
    }

    /// Somebody is there when a run begins, not out, and on duty; a lookout has the way behind them as well.
    fn is_there(&mut self, who: usize, run: &Run, team: &Team) {
        let first_s = run.from_s;
        let name = self.member(who).name.clone();
        let entry = self.request.crew.iter().find(|c| c.member == who).copied();
        let Some(there) = entry.filter(|c| !c.out && c.from_s <= first_s + SLACK) else {
            let what = format!("{name} is not there at {first_s:.0} s for a team by {:?}", team.method);
            return self.object("person", what);
        };
        if !self.member(who).on_duty(self.request.alarm_at_s + first_s) {
            self.object("person", format!("{name} is not on duty"));
        }
        let watches = team.method == Method::Dive && team.lookout == Some(who);
        let busy = self.plan.runs.iter().any(|r| {
            let t = &self.plan.teams[r.team];
            r.from_s < first_s && (t.lookout == Some(who) || t.members.contains(&who))
        });
        let way_s = there.at.distance(run.from) / value("gather_mps");
        if watches && !busy && there.from_s.max(self.request.now_s) + way_s > first_s + SLACK {
            self.object("lookout", format!("{name} cannot be at the dive line by {first_s:.0} s"));
        }
    }

    /// Volunteers between guards, lines of two and more, lookouts named and out of the water.
    pub(super) fn teams(&mut self) {
        for (index, team) in self.plan.teams.iter().enumerate() {
            let volunteer = |k: usize| self.request.setting.day.crew[k].volunteer;
            // A diver may work alone, since a named lookout watches every dive; a wader without a neighbour may not.
            if team.method == Method::Wade && team.members.len() < 2 {
                self.object("person", format!("team {index} is a wading line of one"));
            }
            let ends = [team.members[0], team.members[team.members.len() - 1]];
            if ends.iter().any(|&k| volunteer(k))
                || team.members.windows(2).any(|w| volunteer(w[0]) && volunteer(w[1]))
            {
                self.object("person", format!("a volunteer in team {index} is not between two guards"));
            }
            let dives = team.method == Method::Dive || self.lone_dives(team, index);
            match team.lookout {
                None if dives => self.object("lookout", format!("team {index} dives without a lookout")),
                Some(k) if dives && !self.member(k).lookout => {
                    let what = format!("{} may not be lookout", self.member(k).name);
                    self.object("lookout", what);
                }
                _ => {}
            }
            let watching = team.lookout.filter(|_| dives);
            let others = |t: &Team| watching.is_some_and(|k| t.members.contains(&k));
            if self.plan.teams.iter().enumerate().any(|(other, t)| others(t) && self.overlap(index, other)) {
                self.object("lookout", format!("the lookout of team {index} is in the water meanwhile"));
            }
            let twice = dives
                && (index + 1..self.plan.teams.len()).any(|other| {
                    let theirs = &self.plan.teams[other];
                    theirs.lookout == team.lookout
                        && (theirs.method == Method::Dive || self.lone_dives(theirs, other))
                        && self.overlap(index, other)
                });
            if twice {
                self.object("lookout", format!("one lookout for two parties that dive, team {index} is one"));
            }
        }
        if let Some(job) = self
            .plan
            .jobs
            .iter()
            .find(|job| job.1 == Role::Lead && self.plan.teams.iter().any(|t| t.members.contains(&job.0)))
        {
            let what = format!("{} leads and is in the water", self.member(job.0).name);
            self.object("person", what);
        }
    }

    /// Whether the runs of two teams overlap in time.
    fn overlap(&self, a: usize, b: usize) -> bool {
        let runs = |t: usize| self.plan.runs.iter().filter(move |r| r.team == t);
        a != b && runs(a).any(|x| runs(b).any(|y| x.from_s < y.to_s && y.from_s < x.to_s))
    }

    /// Whether a lone guard dives: the disc is deeper than they may stand.
    pub(super) fn lone_dives(&self, team: &Team, index: usize) -> bool {
        team.method == Method::Alone
            && self.plan.runs.iter().filter(|r| r.team == index && !r.under_way).any(|run| {
                let stand = self.stand_m(self.member(team.members[0]));
                run.legs.iter().any(|leg| match leg.sweep.stretch {
                    Stretch::Disc { centre, radius_m } => self.deepest_in(centre, radius_m) > stand,
                    Stretch::Strip { .. } => true,
                })
            })
    }

    /// Nobody is in two places: everybody can get from one run to the next, and to the first.
    pub(super) fn whereabouts(&mut self) {
        let pace = value("gather_mps");
        for k in 0..self.request.setting.day.crew.len() {
            let member_of = |run: &&Run| self.plan.teams[run.team].members.contains(&k);
            let mut runs: Vec<&Run> = self.plan.runs.iter().filter(member_of).collect();
            runs.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
            let start = self.request.crew.iter().find(|c| c.member == k);
            let mut here = start.map(|c| (c.from_s.max(self.request.now_s), c.at));
            // Whoever drops the marker and only looks there comes from the last seen point.
            let marker = self.plan.last_seen;
            let drops = self.plan.jobs.iter().any(|job| job.0 == k && job.1 == Role::First)
                && runs.iter().all(|run| self.plan.teams[run.team].method != Method::Alone);
            if let Some((from_s, at)) = here.filter(|_| drops && !runs.is_empty()) {
                self.way(k, (at, marker));
                here = Some((from_s + at.distance(marker) / pace, marker));
            }
            for run in runs {
                if let Some((from_s, at)) = here.filter(|_| !run.under_way)
                    && run.from_s + SLACK < from_s + at.distance(run.from) / pace
                {
                    let what = format!(
                        "{} cannot be at the start of the run at {:.0} s from {} off at {from_s:.0} s",
                        self.member(k).name,
                        run.from_s,
                        self.units().distance(at.distance(run.from))
                    );
                    self.object("person", what);
                }
                if let Some((_, at)) = here.filter(|_| !run.under_way) {
                    self.way(k, (at, run.from));
                }
                here = Some((run.to_s, run.to));
            }
        }
    }

    /// The straight way between two places keeps off no-go ground.
    fn way(&mut self, who: usize, ends: (Spot, Spot)) {
        let steps = (ends.0.distance(ends.1) / 0.5).ceil().clamp(1.0, 4_000.0) as usize;
        if (0..=steps).any(|k| self.near_no_go(ends.0.lerp(ends.1, k as f64 / steps as f64))) {
            let what = format!("{} is led past ground to keep off", self.member(who).name);
            self.object("ground", what);
        }
    }

    /// Fins for no more people than there are pairs, a mask or board for whoever looks, a pole or mask for whoever poles.
    pub(super) fn kit(&mut self) {
        let runs = |index: usize| self.plan.runs.iter().any(|run| run.team == index);
        let teams = self.plan.teams.iter().enumerate().filter(|(index, team)| team.fins && runs(*index));
        let worn: usize = teams.map(|(_, team)| team.members.len()).sum();
        let pairs = self.request.setting.day.kit.fins as usize;
        if worn > pairs {
            self.object("kit", format!("fins for {worn} divers, {pairs} pairs are there"));
        }
        let kit = &self.request.setting.day.kit;
        let (masks, boards, poles) = (kit.masks as usize, kit.boards as usize, kit.poles as usize);
        let by = |method: Method| self.plan.teams.iter().filter(|team| team.method == method).count();
        let (lookers, polers) = (by(Method::Look), by(Method::Pole));
        if lookers > masks + boards || polers > masks + poles || lookers + polers > masks + boards + poles {
            let what = format!(
                "{lookers} look and {polers} pole with {masks} masks, {boards} boards, {poles} poles"
            );
            self.object("kit", what);
        }
    }
}
