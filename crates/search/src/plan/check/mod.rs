//! The checker: replays a plan by its own reading of the rules and the raw particles (models P5).
//!
//! It shares no code with the planner: it reads only the plan, the request, the register and the models'
//! public functions. Start reading at [`check`].

mod outline;
mod worth;

use super::{Plan, Request, Role, Run, Team};
use crate::{Method, Stretch, Sweep};
use measure::{Bearing, Spot, parameters::value};
use outline::{edge_distance, gap_between, winds_round};
use water::{Cover, Kind, Member, Shape};
use worth::worth;

/// A broken rule.
#[derive(Clone, Debug, PartialEq)]
pub struct Violation {
    /// Rule in a word: `person`, `depth`, `current`, `apart`, `lookout`, `rest`, `time`, `ground`, `under way`, `kit`, `figures`.
    pub rule: &'static str,
    /// What broke it, with names and values.
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

    /// People of new runs are there, not out, on duty, and may do their part.
    fn people(&mut self) {
        for (index, team) in self.plan.teams.iter().enumerate() {
            let runs: Vec<&Run> = self.plan.runs.iter().filter(|r| r.team == index).collect();
            let kept = runs.iter().any(|r| r.under_way);
            let first_s = runs.iter().map(|r| r.from_s).fold(f64::INFINITY, f64::min);
            for &k in team.members.iter().chain(&team.lookout).filter(|_| !kept) {
                let name = self.member(k).name.clone();
                let there = self.request.crew.iter().find(|c| c.member == k);
                match there {
                    Some(c) if !c.out && c.from_s <= first_s + SLACK => {}
                    _ => self.object(
                        "person",
                        format!("{name} is not there at {first_s:.0} s for a team by {:?}", team.method),
                    ),
                }
                if first_s.is_finite() && !self.member(k).on_duty(self.request.alarm_at_s + first_s) {
                    self.object("person", format!("{name} is not on duty"));
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

    /// Volunteers between guards, lines of two and more, lookouts named and out of the water.
    fn teams(&mut self) {
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
            let twice = self.plan.teams.iter().enumerate().filter(|(_, t)| t.method == Method::Dive).any(
                |(other, t)| {
                    other > index
                        && team.method == Method::Dive
                        && t.lookout == team.lookout
                        && self.overlap(index, other)
                },
            );
            if twice {
                self.object("lookout", format!("one lookout for two dive lines, team {index} is one"));
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
    fn lone_dives(&self, team: &Team, index: usize) -> bool {
        team.method == Method::Alone
            && self.plan.runs.iter().filter(|r| r.team == index && !r.under_way).any(|run| {
                let stand = self.stand_m(self.member(team.members[0]));
                run.legs.iter().any(|leg| match leg.sweep.stretch {
                    Stretch::Disc { centre, radius_m } => self.deepest_in(centre, radius_m) > stand,
                    Stretch::Strip { .. } => true,
                })
            })
    }

    fn deepest_in(&self, centre: Spot, radius_m: f64) -> f64 {
        let ground = self.request.setting.ground;
        (0..ground.grid.len())
            .filter(|&c| ground.cover[c] != Cover::Land && ground.grid.centre(c).distance(centre) <= radius_m)
            .map(|c| if ground.depth_m[c].is_nan() { f64::INFINITY } else { ground.depth_m[c] })
            .fold(0.0, f64::max)
    }

    /// Deepest water a member may stand in.
    fn stand_m(&self, member: &Member) -> f64 {
        let share = value(if member.volunteer { "waist_share" } else { "chest_share" });
        let height = if member.height_m > 0.0 { member.height_m } else { value("height_guard_m") };
        (share * height).min(self.request.setting.site.limits.wade_depth_m)
    }

    /// One run: where everybody goes, which way, how long, with what rests.
    fn run(&mut self, run: &Run) {
        if run.under_way {
            return;
        }
        let team = &self.plan.teams[run.team];
        for leg in &run.legs {
            match leg.sweep.stretch {
                Stretch::Strip { from, to, width_m } if team.method != Method::Pole => {
                    if width_m > team.spacing_m * team.members.len() as f64 + SLACK {
                        self.object("figures", format!("a strip of {width_m:.1} m is wider than its line"));
                    }
                    self.tracks(run, team, (from, to));
                    self.against(team, (from, to));
                    self.pace(team, &leg.sweep, from.distance(to), leg.depth_m);
                }
                Stretch::Strip { .. } => {}
                Stretch::Disc { centre, radius_m } => {
                    let deepest = self.deepest_in(centre, radius_m);
                    let m = self.member(team.members[0]);
                    let dive_m = m.dive_m.unwrap_or(0.0).min(self.request.setting.site.limits.dive_depth_m);
                    if deepest > self.stand_m(m).max(dive_m) + SLACK {
                        let what = format!("{} alone in {deepest:.1} m of water", m.name);
                        self.object("depth", what);
                    }
                }
            }
        }
        if team.method == Method::Dive {
            self.rests(run.team);
        }
        let limit_s = self.turn_s();
        let begin_s = self.plan.runs.iter().filter(|r| r.team == run.team).map(|r| r.from_s);
        let begin_s = begin_s.fold(f64::INFINITY, f64::min);
        if team.method != Method::Pole && run.to_s - begin_s > limit_s + SLACK {
            self.object("rest", format!("team {} is in the water for {:.0} s", run.team, run.to_s - begin_s));
        }
    }

    fn turn_s(&self) -> f64 {
        let water_c = self.request.setting.day.water_c;
        let names = ["turn_25_s", "turn_20_s", "turn_15_s", "turn_10_s"];
        let warm = [25.0, 20.0, 15.0, 10.0].iter().position(|&least| water_c >= least);
        value(warm.map_or("turn_cold_s", |k| names[k]))
    }

    /// Follows everybody of a line along a leg in steps of a quarter metre.
    fn tracks(&mut self, run: &Run, team: &Team, ends: (Spot, Spot)) {
        let (from, to) = ends;
        let Some(along) = (to - from).unit() else {
            return self.object("figures", "a leg has no length".into());
        };
        let count = team.members.len();
        let ground = self.request.setting.ground;
        let steps = (from.distance(to) / 0.25).ceil() as usize;
        for (k, &index) in team.members.iter().enumerate() {
            // The first stands at the left end of the line, or at the right one.
            let place = if run.shore_left { k } else { count - 1 - k };
            let aside = (0.5 * (count as f64 - 1.0) - place as f64) * team.spacing_m;
            let m = self.member(index);
            let limit_m = match team.method {
                Method::Wade => self.stand_m(m),
                Method::Dive => m.dive_m.unwrap_or(0.0).min(self.request.setting.site.limits.dive_depth_m),
                _ => f64::INFINITY,
            };
            for step in 0..=steps {
                let spot = from.lerp(to, step as f64 / steps.max(1) as f64) + along.left() * aside;
                let Some(cell) = ground.grid.cell(spot) else {
                    return self.object("ground", format!("{} leaves the map", self.member(index).name));
                };
                let depth = ground.depth_m[cell];
                let dry = ground.cover[cell] == Cover::Land && (depth.is_nan() || depth <= 0.0);
                let wades = team.method == Method::Wade;
                if ground.cover[cell] != Cover::Open && !(dry && wades) {
                    let what = format!("{} is led over land or under a dock", self.member(index).name);
                    return self.object("ground", what);
                }
                if depth.is_nan() && !dry || depth > limit_m + SLACK {
                    let what = format!(
                        "{} is sent into {depth:.2} m, limit {limit_m:.2} m",
                        self.member(index).name
                    );
                    return self.object("depth", what);
                }
                if (wades && ground.keep_off[cell]) || self.near_no_go(spot) {
                    let what = format!("{} comes too near ground to keep off", self.member(index).name);
                    return self.object("ground", what);
                }
                let speed = self.request.setting.flow.at(spot).length();
                let stop = self.request.setting.site.limits.wade_product_stop_m2ps;
                if (wades && depth * speed >= stop) || (!wades && speed > value("dive_current_mps")) {
                    let what =
                        format!("{} in a current of {speed:.2} m/s, {depth:.1} m", self.member(index).name);
                    return self.object("current", what);
                }
            }
        }
    }

    fn near_no_go(&self, spot: Spot) -> bool {
        let keep_m = self.request.setting.site.limits.keep_off_m;
        self.request.setting.site.of_kind(Kind::NoGo).any(|feature| match &feature.shape {
            Shape::Point(place) => place.distance(spot) < keep_m,
            Shape::Line(places) => edge_distance(places, spot) < keep_m,
            Shape::Area(polygons) => polygons.iter().any(|rings| {
                rings.iter().any(|ring| edge_distance(ring, spot) < keep_m)
                    || rings.iter().filter(|ring| winds_round(ring, spot)).count() % 2 == 1
            }),
        })
    }

    /// A line goes with the current where one runs.
    fn against(&mut self, team: &Team, ends: (Spot, Spot)) {
        for share in [0.0, 0.5, 1.0] {
            let current = self.request.setting.flow.at(ends.0.lerp(ends.1, share));
            if current.length() > value("line_current_mps") {
                let way: Bearing = ends.0.bearing_to(ends.1);
                let off = way.angle_to(current.bearing());
                if off > value("down_current_deg") + 0.01 {
                    self.object(
                        "current",
                        format!("a {:?} line goes {off:.0}° off the current", team.method),
                    );
                    return;
                }
            }
        }
    }

    /// Nobody is asked to be faster than the register says.
    fn pace(&mut self, team: &Team, sweep: &Sweep, length_m: f64, depth_m: f64) {
        let seconds = sweep.to_s - sweep.from_s;
        let most = match team.method {
            Method::Wade => value(match depth_m {
                d if d <= 0.3 => "wade_line_knee_mps",
                d if d <= 0.6 => "wade_line_thigh_mps",
                d if d <= 0.9 => "wade_line_waist_mps",
                _ => "wade_line_chest_mps",
            }),
            Method::Dive if team.fins => value("bottom_fins_mps"),
            Method::Dive => value("bottom_mps"),
            _ => value("look_mps"),
        };
        if length_m > most * seconds + 1e-3 {
            self.object("time", format!("{length_m:.1} m in {seconds:.0} s is faster than {most} m/s"));
        }
    }

    /// Dives are short enough, rested between, and not more than a turn allows.
    fn rests(&mut self, team: usize) {
        let water_c = self.request.setting.day.water_c;
        if water_c < value("wetsuit_cold_c") || water_c.is_nan() {
            return self.object("rest", format!("dives at {water_c} °C"));
        }
        let longest =
            if water_c > value("cold_dive_c") { value("dive_time_s") } else { value("dive_time_cold_s") };
        let mut runs: Vec<&Run> = self.plan.runs.iter().filter(|r| r.team == team).collect();
        runs.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
        let legs: Vec<&Sweep> = runs.iter().flat_map(|r| &r.legs).map(|leg| &leg.sweep).collect();
        let mut made = 0;
        for pair in legs.windows(2) {
            let under_s = pair[0].to_s - pair[0].from_s;
            let rest_s = pair[1].from_s - pair[0].to_s;
            made += 1;
            let tired = made >= value("dives_fresh") as usize;
            let factor = value(if tired { "rest_factor_tired" } else { "rest_factor" });
            let mut least_s = (factor * under_s).max(value("rest_least_s"));
            if made >= value("dives_before_rest") as usize {
                least_s = value("relief_s");
                made = 0;
            } else if rest_s >= value("relief_s") {
                made = 0;
            }
            if rest_s < least_s - SLACK {
                return self.object("rest", format!("{rest_s:.0} s of rest, {least_s:.0} s are due"));
            }
        }
        if legs.iter().any(|leg| leg.to_s - leg.from_s > longest + SLACK) {
            self.object("rest", format!("a dive of more than {longest:.0} s"));
        }
    }

    /// No two teams at work in the same water at once.
    fn apart(&mut self) {
        let legs: Vec<(usize, &Sweep)> =
            self.plan.runs.iter().flat_map(|run| run.legs.iter().map(|leg| (run.team, &leg.sweep))).collect();
        let apart_m = value("lines_apart_m");
        for (k, (team, a)) in legs.iter().enumerate() {
            for (other, b) in &legs[k + 1..] {
                if team == other || a.from_s >= b.to_s || b.from_s >= a.to_s {
                    continue;
                }
                let gap = gap_between(&a.stretch, &b.stretch);
                if gap < apart_m - 0.01 {
                    return self.object(
                        "apart",
                        format!(
                            "teams {team} and {other} are {gap:.1} m apart at {:.0} s",
                            a.from_s.max(b.from_s)
                        ),
                    );
                }
            }
        }
    }

    /// Nobody is in two places: everybody can get from one run to the next, and to the first.
    fn whereabouts(&mut self) {
        let pace = value("gather_mps");
        for k in 0..self.request.setting.day.crew.len() {
            let member_of = |run: &&Run| self.plan.teams[run.team].members.contains(&k);
            let mut runs: Vec<&Run> = self.plan.runs.iter().filter(member_of).collect();
            runs.sort_by(|a, b| a.from_s.total_cmp(&b.from_s));
            let start = self.request.crew.iter().find(|c| c.member == k);
            let mut here = start.map(|c| (c.from_s.max(self.request.now_s), c.at));
            for run in runs {
                if let Some((from_s, at)) = here.filter(|_| !run.under_way)
                    && run.from_s + SLACK < from_s + at.distance(run.from) / pace
                {
                    let what = format!(
                        "{} cannot be at the start of the run at {:.0} s from {:.0} m off at {from_s:.0} s",
                        self.member(k).name,
                        run.from_s,
                        at.distance(run.from)
                    );
                    self.object("person", what);
                }
                here = Some((run.to_s, run.to));
            }
        }
    }

    /// Fins for no more people than there are pairs.
    fn kit(&mut self) {
        let runs = |index: usize| self.plan.runs.iter().any(|run| run.team == index);
        let teams = self.plan.teams.iter().enumerate().filter(|(index, team)| team.fins && runs(*index));
        let worn: usize = teams.map(|(_, team)| team.members.len()).sum();
        let pairs = self.request.setting.day.kit.fins as usize;
        if worn > pairs {
            self.object("kit", format!("fins for {worn} divers, {pairs} pairs are there"));
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
