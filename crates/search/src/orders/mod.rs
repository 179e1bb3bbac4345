//! Orders: a plan in words that a guard with wet hands can act on, one breath each (models P6).
//!
//! Never: says stop, safe or clear; orders anybody who has no part in the plan.
//! Start reading at [`orders`].

mod cautions;
mod place;

pub use cautions::cautions;

use crate::{
    Method, Setting, Stretch,
    plan::{Plan, Role, Run, Team},
};
use measure::{Spot, parameters::value};
use place::Places;
use serde::Serialize;
use water::Site;

/// An order: words to named people.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Order {
    /// When it is given \[s since the alarm\].
    pub at_s: f64,
    /// The same as time of day, `14:38:49`.
    pub clock: String,
    /// Who is called.
    pub to: String,
    /// Radio-short: one breath.
    pub words: String,
    /// The same to read: who; where from and to; which way and how far; what at the end.
    pub lines: Vec<String>,
    /// Crew indices of who must act.
    pub people: Vec<usize>,
    /// Run of the plan it starts, if any.
    pub run: Option<usize>,
    /// Post it sends people to, if any: said once, and again only if people or task change.
    pub post: Option<Role>,
}

/// Orders of a plan, in the order of the trade: marker, lookouts, gate, then lines by time.
///
/// Runs under way are not ordered again.
///
/// # Inputs
/// - `plan` · `setting`: site, for its marks and units, and crew, for names
/// - `alarm_at_s`: time of day of the alarm \[s after midnight\]
///
/// # Gives
/// At least one order, even with nobody to send.
///
/// # Source
/// common practice, no published source
pub fn orders(plan: &Plan, setting: &Setting, alarm_at_s: f64) -> Vec<Order> {
    orders_after(plan, setting, alarm_at_s, &[])
}

/// The same when posts have been given before: those are said again only if people or task have changed.
///
/// # Inputs
/// - `given`: orders with a post that were given since the alarm; the rest as for [`orders`]
///
/// # Gives
/// Orders by time; none if nothing is new.
///
/// # Source
/// common practice, no published source
pub fn orders_after(plan: &Plan, setting: &Setting, alarm_at_s: f64, given: &[Order]) -> Vec<Order> {
    let places = Places::new(setting, plan.last_seen);
    let caller = Caller { plan, setting, places, alarm_at_s, given };
    let mut ranked: Vec<(u8, Order)> = Vec::new();
    ranked.extend(caller.marker().map(|order| (0, order)));
    ranked.extend(caller.lead().map(|order| (1, order)));
    ranked.extend(caller.lookouts().into_iter().map(|order| (2, order)));
    ranked.extend(caller.gate().map(|order| (3, order)));
    for (index, run) in plan.runs.iter().enumerate() {
        let team = &plan.teams[run.team];
        if !run.under_way && team.method != Method::Alone {
            ranked.push((4, caller.search(index, run, team)));
        }
    }
    ranked.extend(caller.standby().map(|order| (5, order)));
    if ranked.is_empty() && plan.jobs.is_empty() {
        ranked.push((0, caller.whoever()));
    }
    ranked.sort_by(|a, b| a.1.at_s.total_cmp(&b.1.at_s).then(a.0.cmp(&b.0)));
    ranked.into_iter().map(|(_, order)| order).collect()
}

/// A place in words, by the nearest named mark of the site: `12 metres north of Jetty end`.
pub fn near(site: &Site, spot: Spot) -> String {
    Places::of_site(site, spot).by_marks(spot)
}

/// `14:38:49` of a moment after an alarm.
pub fn clock(alarm_at_s: f64, after_s: f64) -> String {
    let seconds = (alarm_at_s + after_s).max(0.0).round() as u64;
    format!("{:02}:{:02}:{:02}", seconds / 3600 % 24, seconds / 60 % 60, seconds % 60)
}

struct Caller<'a> {
    plan: &'a Plan,
    setting: &'a Setting<'a>,
    places: Places<'a>,
    alarm_at_s: f64,
    given: &'a [Order],
}

impl Caller<'_> {
    /// Whether somebody was sent to a post before.
    fn was_told(&self, who: usize, post: Role) -> bool {
        self.given.iter().any(|order| order.post == Some(post) && order.people.contains(&who))
    }

    /// Whether somebody was told these very words at a post before.
    fn heard(&self, who: usize, words: &str) -> bool {
        self.given.iter().any(|order| order.people.contains(&who) && order.lines.iter().any(|l| l == words))
    }

    fn name(&self, index: usize) -> &str {
        self.setting.day.crew.get(index).map_or("unknown", |m| m.name.as_str())
    }

    fn names(&self, people: &[usize]) -> String {
        let names: Vec<&str> = people.iter().map(|&k| self.name(k)).collect();
        match names.split_last() {
            Some((last, [])) => (*last).to_string(),
            Some((last, rest)) => format!("{} and {last}", rest.join(", ")),
            None => String::new(),
        }
    }

    fn with(&self, role: Role) -> Vec<usize> {
        let mut people: Vec<usize> = Vec::new();
        for job in self.plan.jobs.iter().filter(|job| job.1 == role) {
            if !people.contains(&job.0) {
                people.push(job.0);
            }
        }
        people
    }

    fn order(&self, at_s: f64, people: Vec<usize>, parts: [String; 3]) -> Order {
        let to = self.names(&people);
        let spoken: Vec<&str> = parts.iter().map(String::as_str).filter(|p| !p.is_empty()).collect();
        let mut lines = vec![to.clone()];
        lines.extend(spoken.iter().map(|s| s.to_string()));
        Order {
            at_s,
            clock: clock(self.alarm_at_s, at_s),
            words: format!("{to}: {}", spoken.join(" ")),
            to,
            lines,
            people,
            run: None,
            post: None,
        }
    }

    fn emergency(&self) -> &str {
        let number = self.setting.site.emergency_number.trim();
        if number.is_empty() { "the emergency number" } else { number }
    }

    /// First guard: marker, then what they may do there.
    fn marker(&self) -> Option<Order> {
        let first = *self.with(Role::First).first()?;
        let found = self.plan.runs.iter().enumerate().find(|(_, run)| {
            let team = &self.plan.teams[run.team];
            team.method == Method::Alone && team.members[0] == first && !run.under_way
        });
        let kit = &self.setting.day.kit;
        let drop = if kit.markers > 0 { "Drop the marker" } else { "Stay there as the marker" };
        let place = self.places.by_marks(self.plan.last_seen);
        let take = if kit.tubes > 0 { "take a tube" } else { "go" };
        let go = format!("{take} to the last seen point, {place}. {drop}.");
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
                let watched = watcher.map_or(String::new(), |k| format!("; {} watches you", self.name(k)));
                (
                    format!("{way}, {} round it{watched}.", self.places.length(reach_m)),
                    self.after_alone(first, run),
                )
            }
            None => (self.why_no_search(first), self.joins(first)),
        };
        let mut order = self.order(self.plan.now_s, vec![first], [go, act, end]);
        order.run = found.map(|(index, _)| index);
        order.post = Some(Role::First);
        Some(order)
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
            _ if depth_m > dives_m.max(wades_m) => {
                "Look from the surface: it is too deep for you to dive.".into()
            }
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

    fn lead(&self) -> Option<Order> {
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
                "Nobody goes in. Mark the last seen point from two shore marks. Look, throw or reach.".into(),
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

    fn lookouts(&self) -> Vec<Order> {
        let lead = self.with(Role::Lead);
        let mut all: Vec<Order> = Vec::new();
        for (index, team) in self.plan.teams.iter().enumerate() {
            let Some(lookout) = team.lookout.filter(|k| !lead.contains(k)) else { continue };
            let runs: Vec<&Run> = self.plan.runs.iter().filter(|r| r.team == index).collect();
            let told = all.iter().any(|order| order.people == [lookout]) || runs.iter().any(|r| r.under_way);
            let Some(first) = runs.first().filter(|_| !told) else { continue };
            let line = self.plan.teams.iter().filter(|t| t.lookout == Some(lookout));
            let most = line.map(|t| t.members.len()).max().unwrap_or(1);
            let whose = match team.method {
                Method::Dive => "the dive line".to_string(),
                _ => self.names(&team.members),
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
            let mut order = self.order(self.plan.now_s, vec![lookout], [what, place, count]);
            order.post = Some(Role::Lookout);
            all.push(order);
        }
        all
    }

    fn gate(&self) -> Option<Order> {
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

    fn standby(&self) -> Option<Order> {
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
    fn whoever(&self) -> Order {
        let place = self.places.by_marks(self.plan.last_seen);
        let mut order = self.order(
            self.plan.now_s,
            Vec::new(),
            [
                format!("call {}.", self.emergency()),
                format!("Keep eyes on the last seen point, {place}. Count everybody out of the water."),
                "Throw or reach from the edge; nobody swims alone.".into(),
            ],
        );
        order.to = "Whoever is there".into();
        order.words = format!("Whoever is there: {}", order.lines[1..].join(" "));
        order.lines[0] = order.to.clone();
        order
    }

    /// The order for a run of a line, a looker or a pole.
    fn search(&self, index: usize, run: &Run, team: &Team) -> Order {
        let first = self.plan.runs.iter().filter(|r| r.team == run.team).all(|r| r.from_s >= run.from_s);
        let way = run.from.bearing_to(run.to);
        let length_m = run.from.distance(run.to);
        let (kind, form) = match team.method {
            Method::Dive if team.members.len() == 1 && team.fins => ("surface dives, fins on", "Start"),
            Method::Dive if team.members.len() == 1 => ("surface dives", "Start"),
            Method::Dive if team.fins => ("dive line, fins on", "Form"),
            Method::Dive => ("dive line", "Form"),
            Method::Wade => ("wading line", if team.spacing_m < 1.0 { "Link elbows" } else { "Link hands" }),
            Method::Look => ("look down, mask or board", "Start"),
            _ => ("pole from the edge", "Start"),
        };
        let amount = match team.method {
            Method::Dive if run.legs.len() == 1 => "1 dive".into(),
            Method::Dive => format!("{} dives", run.legs.len()),
            Method::Wade => format!("{:.0} paces", (length_m / value("pace_length_m")).ceil()),
            _ => format!("{:.0} seconds", run.to_s - run.from_s),
        };
        let watched = match team.lookout {
            Some(k) if team.members.len() == 1 && first => format!("; {} watches you", self.name(k)),
            _ => String::new(),
        };
        let head = if first { format!("{kind}{watched}. {form}") } else { "next lane. Start".into() };
        let start = format!("{head} {}.", self.places.at(run.from));
        let heading = match self.places.ahead(run.from, way) {
            Some(mark) => format!("{} toward {mark}, bearing {way}", way.word()),
            None => format!("{}, bearing {way}", way.word()),
        };
        let go = if team.method == Method::Pole {
            format!(
                "Feel under {} to {}, nobody goes under.",
                self.places.name(run.from.lerp(run.to, 0.5)),
                self.places.length(team.depth_to_m)
            )
        } else {
            format!("Go {heading}, {}, {amount}.", self.places.length(length_m))
        };
        let mut order = self.order(
            if first { self.plan.now_s.max(run.leaves_s) } else { run.leaves_s },
            team.members.clone(),
            [start, go, self.end(run, team)],
        );
        order.run = Some(index);
        if !first && team.members.len() > 1 {
            order.to = format!("{}'s line", self.name(team.leader));
            order.words = format!("{}: {}", order.to, order.lines[1..].join(" "));
        }
        order.lines[1] = format!("from {} to {}", self.places.name(run.from), self.places.name(run.to));
        if matches!(team.method, Method::Wade | Method::Dive) && team.members.len() > 1 {
            let hold = match team.method {
                Method::Dive => "arm's length apart",
                _ if team.spacing_m < 1.0 => "elbows linked",
                _ => "hands linked",
            };
            let hand = if run.shore_left { "left" } else { "right" };
            let (one, last) = (team.members[0], team.members[team.members.len() - 1]);
            let stand = format!(
                "{kind}, {hold}; {} leads; {} on the {hand}, {} at the other end",
                self.name(team.leader),
                self.name(one),
                self.name(last)
            );
            order.lines.insert(1, stand);
        }
        order
    }

    /// What to do at the end of a run.
    fn end(&self, run: &Run, team: &Team) -> String {
        let next = self.plan.runs.iter().find(|r| r.team == run.team && r.from_s >= run.to_s);
        let count =
            if team.members.len() > 1 || team.method == Method::Dive { "Count, report" } else { "Report" };
        match next {
            Some(next) if turns_beside(run, next) => {
                let way = next.from.bearing_to(next.to);
                let turned_deg = run.from.bearing_to(run.to).angle_to(way);
                let mark = self.places.ahead(next.from, way);
                let turn = match mark {
                    // The next lane lies beside this one and goes the same way: it is ordered from its own start.
                    _ if turned_deg < 45.0 => "hold".into(),
                    Some(mark) if turned_deg > 135.0 => format!("turn, back toward {mark}"),
                    Some(mark) => format!("quarter turn toward {mark}"),
                    None if turned_deg > 135.0 => "turn".into(),
                    None => "quarter turn".into(),
                };
                format!("At the end {}, {turn}.", count.to_lowercase())
            }
            Some(_) => format!("At the end {}, hold.", count.to_lowercase()),
            None => format!("At the end {}, hold.", count.to_lowercase()),
        }
    }
}

/// Whether the next run begins beside the end of this one, so that the line only turns.
fn turns_beside(run: &Run, next: &Run) -> bool {
    let aside: Spot = next.from - run.to;
    aside.length() <= 1.6 * run.width_m.max(next.width_m)
}
