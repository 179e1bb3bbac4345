//! Orders to posts: marker, lead, lookouts, gate and shore, standby.

use super::{Caller, Order, clock};
use crate::{
    Method, Stretch,
    plan::{Role, Run},
};
use measure::parameters::value;

impl Caller<'_> {
    /// First guard: marker, then what they may do there.
    pub(super) fn marker(&self) -> Option<Order> {
        let first = *self.with(Role::First).first()?;
        let found = self.plan.runs.iter().enumerate().find(|(_, run)| {
            let team = &self.plan.teams[run.team];
            team.method == Method::Alone && team.members[0] == first && !run.under_way
        });
        let kit = &self.setting.day.kit;
        let drop = if kit.markers > 0 { "Drop the marker" } else { "Stay there as the marker" };
        let place = self.places.by_marks(self.plan.last_seen);
        let take = if kit.tubes > 0 { "take a tube" } else { "go" };
        let go = format!("{take} to the {}, {place}. {drop}.", self.whither());
        let (act, end) = match found {
            Some((_, run)) => {
                let reach_m = match run.legs[0].sweep.stretch {
                    Stretch::Disc { radius_m, .. } => radius_m,
                    Stretch::Strip { width_m, .. } => 0.5 * width_m,
                };
                let stand_m =
                    crate::lines::wade_depth(&self.setting.day.crew[first], &self.setting.site.limits);
                let wades = stand_m.is_some_and(|limit| run.legs[0].depth_m <= limit);
                let way = if wades { "Feel with your feet" } else { "Surface dives" };
                let watcher = self.plan.teams[run.team].lookout;
                let watches = if wades { "watches" } else { "watches you" };
                let watched = watcher.map_or(String::new(), |k| format!("; {} {watches}", self.name(k)));
                (
                    format!("{way}, {} round{watched}.", self.places.length(reach_m)),
                    self.after_alone(first, run),
                )
            }
            None => (self.why_no_search(first), self.joins(first)),
        };
        let (go, act) = match found {
            None if self.current_beats(first) => (
                format!(
                    "the current beats a swimmer: stay out. {} to the bank down-current of {place}.",
                    if kit.tubes > 0 { "Take a tube" } else { "Go" }
                ),
                "Watch, throw or reach.".to_string(),
            ),
            _ => (go, act),
        };
        let mut order = self.order(self.plan.now_s, vec![first], [go, act, end]);
        order.run = found.map(|(index, _)| index);
        order.post = Some(Role::First);
        Some(order)
    }

    /// Whether the water at the marker is too deep for this guard to stand and runs faster than they swim with a tube.
    fn current_beats(&self, first: usize) -> bool {
        let (spot, setting) = (self.plan.last_seen, self.setting);
        let depth_m = setting.ground.grid.cell(spot).map_or(0.0, |cell| setting.ground.depth_m[cell]);
        let stands_m = crate::lines::wade_depth(&setting.day.crew[first], &setting.site.limits);
        let swims = !stands_m.is_some_and(|limit| depth_m <= limit);
        swims && setting.flow.at(spot).length() > value("swim_tube_mps")
    }

    /// What the place of the marker is: nobody may be told of a last seen point that nobody saw.
    fn whither(&self) -> &'static str {
        if self.plan.unseen { "most probable place" } else { "last seen point" }
    }

    /// Why the first guard only looks: the water is too deep for their feet and nobody watches, or for any dive of theirs.
    fn why_no_search(&self, first: usize) -> String {
        let spot = self.plan.last_seen;
        let ground = self.setting.ground;
        let depth_m = ground.grid.cell(spot).map_or(0.0, |cell| ground.depth_m[cell]);
        let limits = &self.setting.site.limits;
        let member = &self.setting.day.crew[first];
        let dives_m = crate::lines::dive_depth(member, limits).unwrap_or(0.0);
        let wades_m = crate::lines::wade_depth(member, limits).unwrap_or(0.0);
        match () {
            _ if depth_m > dives_m.max(wades_m) => "Look from the surface: too deep for you to dive.".into(),
            _ if depth_m > wades_m && self.watcher_of(first).is_none() => {
                "Look from the surface, no dives: nobody watches you.".into()
            }
            _ => "Look from the surface.".into(),
        }
    }

    fn watcher_of(&self, who: usize) -> Option<usize> {
        self.plan.teams.iter().find(|t| t.members.contains(&who)).and_then(|team| team.lookout)
    }

    /// What a first guard who only looks does next.
    fn joins(&self, first: usize) -> String {
        let team = self.plan.teams.iter().find(|team| team.members.contains(&first));
        match team {
            Some(team) if team.members.len() == 1 => String::new(),
            Some(team) if team.leader == first => "Then form your line.".into(),
            Some(team) => format!("Then join {}'s line.", self.name(team.leader)),
            None => "Then hold, report.".into(),
        }
    }

    /// Where the first guard goes when the line forms.
    fn after_alone(&self, first: usize, alone: &Run) -> String {
        let line = self.plan.teams.iter().find(|team| {
            matches!(team.method, Method::Wade | Method::Dive)
                && team.members.contains(&first)
                && team.formed_s >= alone.to_s
        });
        match line {
            Some(team) => {
                let whose = if team.leader == first {
                    "form your".into()
                } else {
                    format!("join {}'s", self.name(team.leader))
                };
                format!("At {} {whose} line.", clock(self.alarm_at_s, alone.to_s))
            }
            None => "Then hold, report.".into(),
        }
    }

    pub(super) fn lead(&self) -> Option<Order> {
        let lead = *self.with(Role::Lead).first()?;
        let known = self.was_told(lead, Role::Lead);
        let watches: Vec<usize> = self
            .plan
            .teams
            .iter()
            .filter(|t| t.lookout == Some(lead))
            .flat_map(|t| t.members.clone())
            .collect();
        let call = if self.with(Role::Gate).is_empty()
            && (watches.is_empty() || self.with(Role::Standby).is_empty())
        {
            format!("call {}. Clear and count the water.", self.emergency())
        } else {
            "you are in charge. Clear and count the water.".into()
        };
        let mut watched = watches;
        watched.sort_unstable();
        watched.dedup();
        let alone = self.plan.jobs.iter().all(|job| job.0 == lead);
        let (watch, end) = if alone {
            (
                match self.plan.unseen {
                    true => "Nobody goes in. Look, throw or reach.".into(),
                    false => {
                        "Nobody goes in. Mark the last seen point from two shore marks. Look, throw or reach."
                            .into()
                    }
                },
                "Send somebody for help.".to_string(),
            )
        } else if watched.is_empty() {
            ("Stay out, where you see everybody.".into(), "Call every order; log every report.".to_string())
        } else {
            (
                format!("Lookout: tube in hand, eyes on {}.", self.names(&watched)),
                "Count heads after every dive.".to_string(),
            )
        };
        // In charge already: only whom to watch is new.
        if known && (watched.is_empty() || self.heard(lead, &watch)) {
            return None;
        }
        let call = if known { String::new() } else { call };
        let mut order = self.order(self.plan.now_s, vec![lead], [call, watch, end]);
        order.post = Some(Role::Lead);
        Some(order)
    }

    pub(super) fn lookouts(&self) -> Vec<Order> {
        let lead = self.with(Role::Lead);
        let mut all: Vec<Order> = Vec::new();
        for (index, team) in self.plan.teams.iter().enumerate() {
            let Some(lookout) = team.lookout.filter(|k| !lead.contains(k)) else { continue };
            let runs: Vec<&Run> = self.plan.runs.iter().filter(|r| r.team == index).collect();
            let told = all.iter().any(|order| order.people == [lookout]) || runs.iter().any(|r| r.under_way);
            let Some(first) = runs.first().filter(|_| !told) else { continue };
            let line = self.plan.teams.iter().filter(|t| t.lookout == Some(lookout));
            let most = line.map(|t| t.members.len()).max().unwrap_or(1);
            let dives = |t: &&crate::plan::Team| t.method == Method::Dive && t.members.len() > 1;
            let whose = match team.members.len() {
                1 => self.names(&team.members),
                _ if self.plan.teams.iter().filter(dives).count() > 1 => {
                    format!("{}'s dive line", self.name(team.leader))
                }
                _ => "the dive line".to_string(),
            };
            let what = format!("lookout for {whose}.");
            let count = match most {
                1 => "Eyes on them; after every dive, call them by name.".to_string(),
                _ => format!("Count {most} after every dive; one short, shout."),
            };
            if self.heard(lookout, &what) && self.heard(lookout, &count) {
                continue;
            }
            let place = format!("Tube in hand, above the water {}.", self.places.near(first.from));
            let mut order =
                self.order(self.plan.now_s.max(first.leaves_s), vec![lookout], [what, place, count]);
            order.post = Some(Role::Lookout);
            all.push(order);
        }
        all
    }

    pub(super) fn gate(&self) -> Option<Order> {
        let all = self.with(Role::Gate);
        if self.with(Role::Lead).is_empty() && !all.is_empty() {
            // Nobody here may search: the same as for whoever is there, by name.
            let mut order = self.whoever();
            order.to = self.names(&all);
            order.words = format!("{}: {}", order.to, order.lines[1..].join(" "));
            order.lines[0] = order.to.clone();
            order.people = all;
            order.post = Some(Role::Gate);
            return (!order.people.iter().all(|&k| self.was_told(k, Role::Gate))).then_some(order);
        }
        let people: Vec<usize> = all.iter().copied().filter(|&k| !self.was_told(k, Role::Gate)).collect();
        let one = *people.first()?;
        let gate = self.setting.site.of_kind(water::Kind::Gate).find(|f| !f.name.is_empty());
        let where_to = gate.map_or("the gate".to_string(), |f| f.name.clone());
        let first = if people.len() == all.len() {
            format!("call {}, then {where_to}: nobody leaves uncounted.", self.emergency())
        } else {
            format!("to {where_to}: nobody leaves uncounted.")
        };
        let rest = match people.len() {
            1 => "Then changing rooms, toilets and shore.".to_string(),
            _ => format!("Others: changing rooms, toilets, shore, at {}'s word.", self.name(one)),
        };
        let mut order = self.order(self.plan.now_s, people, [first, rest, "Report.".into()]);
        order.post = Some(Role::Gate);
        Some(order)
    }

    pub(super) fn standby(&self) -> Option<Order> {
        let people: Vec<usize> =
            self.with(Role::Standby).into_iter().filter(|&k| !self.was_told(k, Role::Standby)).collect();
        if people.is_empty() {
            return None;
        }
        let lead = self.with(Role::Lead);
        let with = lead.first().map_or("on the shore".to_string(), |&k| format!("with {}", self.name(k)));
        // Whoever watches a diver has no hand for a telephone.
        let watching =
            self.plan.teams.iter().any(|t| t.lookout.is_some() && t.lookout == lead.first().copied());
        let calls = watching && self.given.is_empty() && self.with(Role::Gate).is_empty();
        let parts = if calls {
            let who =
                if people.len() > 1 { format!("{} calls", self.name(people[0])) } else { "call".into() };
            [
                format!("{who} {}.", self.emergency()),
                "Count everybody out, keep them out.".into(),
                format!("Then stand by {with}; you relieve next."),
            ]
        } else {
            [
                format!("stand by {with}, warm and ready."),
                "Watch the water.".into(),
                "You relieve next.".into(),
            ]
        };
        let mut order = self.order(self.plan.now_s, people, parts);
        order.post = Some(Role::Standby);
        Some(order)
    }

    /// With nobody of the crew there.
    pub(super) fn whoever(&self) -> Order {
        let place = self.places.by_marks(self.plan.last_seen);
        let mut order = self.order(
            self.plan.now_s,
            Vec::new(),
            [
                format!("call {}.", self.emergency()),
                format!("Keep eyes on the {}, {place}. Count everybody out of the water.", self.whither()),
                "Throw or reach from the edge; nobody swims alone.".into(),
            ],
        );
        order.to = "Whoever is there".into();
        order.words = format!("Whoever is there: {}", order.lines[1..].join(" "));
        order.lines[0] = order.to.clone();
        order
    }
}
