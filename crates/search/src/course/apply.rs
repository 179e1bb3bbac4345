//! Following the reports one by one.

use super::state::{Begun, Course, State, Told, same_run};
use crate::belief::Belief;
use crate::plan::{Plan, Run};
use crate::told::{Happening, Newcomer, Report};
use crate::{Method, Setting, Stretch, Sweep};
use measure::parameters::value;

/// A search may be followed this long before a reported time is called absurd \[s\].
const LATE_S: f64 = 60.0;

impl Course {
    /// Follows a search from the alarm to now.
    ///
    /// # Inputs
    /// - `setting`: water, with the crew of the morning · `told`: alarm, reports, seed
    ///
    /// # Gives
    /// The search as it is now: belief, plan, orders begun, what must be said.
    ///
    /// # Source
    /// docs/handbook/alarm.md (which report does what)
    pub fn follow(setting: &Setting, told: &Told) -> Course {
        let belief = Belief::start(setting, &told.alarm, told.seed, told.particles);
        let mut course = Course {
            alarm: told.alarm.clone(),
            day: setting.day.clone(),
            gone: Vec::new(),
            came: Vec::new(),
            sweeps: Vec::new(),
            shore_checks: Vec::new(),
            surface_looks: Vec::new(),
            begun: Vec::new(),
            belief: belief.value,
            belief_notes: belief.notes,
            plan: Plan::default(),
            state: State::Searching,
            now_s: 0.0,
            said: Vec::new(),
        };
        course.replan(setting, told);
        for report in &told.reports {
            course.pass_to(report.at_s);
            if course.take(setting, told, report) && course.state == State::Searching {
                course.replan(setting, told);
            }
        }
        if let Some(now_s) = told.now_s {
            course.pass_to(now_s.max(course.now_s));
        }
        course.say_overdue();
        course
    }

    /// Lets time pass: orders whose people leave by `now_s` begin, unless their people are still bound.
    fn pass_to(&mut self, now_s: f64) {
        self.now_s = now_s;
        if self.state != State::Searching {
            return;
        }
        let mut waiting: Vec<usize> = (0..self.plan.runs.len()).collect();
        waiting.sort_by(|a, b| {
            self.plan.runs[*a].leaves_s.total_cmp(&self.plan.runs[*b].leaves_s).then(a.cmp(b))
        });
        for k in waiting {
            if self.plan.runs[k].leaves_s <= now_s && self.is_free_to_begin(k) {
                self.begin(k);
            }
        }
    }

    fn is_free_to_begin(&self, k: usize) -> bool {
        let run = &self.plan.runs[k];
        let team = &self.plan.teams[run.team];
        let holds =
            |b: &Begun| b.ended_s.is_none() && !(b.team.method == Method::Alone && b.run.to_s <= self.now_s);
        let bound = |who: &usize| self.begun.iter().any(|b| holds(b) && b.people().any(|p| p == *who));
        let already = self.begun.iter().any(|b| same_run(&b.run, run));
        !already && !team.members.iter().any(bound)
    }

    fn begin(&mut self, k: usize) {
        let run = self.plan.runs[k].clone();
        let team = self.plan.teams[run.team].clone();
        self.plan.runs[k].under_way = true;
        // A first guard whose time is up joins the line without a word; what they searched counts once reported.
        for other in self.begun.iter_mut().filter(|b| b.ended_s.is_none()) {
            if other.team.members.iter().any(|who| team.members.contains(who)) {
                other.ended_s = Some(other.run.to_s.min(self.now_s));
            }
        }
        let number = self.begun.len() + 1;
        self.begun.push(Begun {
            number,
            run,
            team,
            legs_reported: 0,
            ended_s: None,
            reported: false,
            stopped_short: false,
        });
    }

    /// Takes one report; gives whether what has not begun must be planned anew.
    fn take(&mut self, setting: &Setting, told: &Told, report: &Report) -> bool {
        match &report.happening {
            Happening::LaneWalked { order } => self.lane_ended(report, *order, None, false),
            Happening::StoppedHere { order, metres } => self.lane_ended(report, *order, *metres, true),
            Happening::DiveMade { order, up } => return self.dive_made(report, *order, *up),
            Happening::Contact { order, note } => {
                let lane = order.map(|n| format!(" on order {n}")).unwrap_or_default();
                self.said.push(format!("contact{lane}, looked at: {note}. the lane goes on"));
                return false;
            }
            Happening::ShoreChecked => {
                self.shore_checks.push(report.at_s);
                self.belief.shore_checked(value("shore_check_detection"));
                return false;
            }
            Happening::SurfaceLooked => {
                self.surface_looks.push(report.at_s);
                self.belief.surface_looked(value("surface_look_detection"));
                return false;
            }
            Happening::Witness(sighting) => {
                self.alarm.sightings.push(sighting.clone());
                self.rebuild(setting, told);
            }
            Happening::PeopleCame(people) => self.people_came(report, people),
            Happening::PeopleLeft(names) => self.people_left(report, names),
            Happening::AllOut { reason } => {
                self.state = State::AllOut { reason: reason.clone() };
                self.end_open_lanes(report.at_s);
            }
            Happening::BackIn => self.state = State::Searching,
            Happening::Found => {
                self.state = State::Found;
                self.end_open_lanes(report.at_s);
            }
        }
        true
    }

    /// Belief anew from all sightings and everything searched so far.
    fn rebuild(&mut self, setting: &Setting, told: &Told) {
        let day = self.day.clone();
        let setting = Setting { day: &day, ..*setting };
        let belief = Belief::rebuild(&setting, &self.alarm, (told.seed, told.particles), &self.sweeps);
        self.belief = belief.value;
        self.belief_notes = belief.notes;
        for _ in &self.shore_checks {
            self.belief.shore_checked(value("shore_check_detection"));
        }
        for _ in &self.surface_looks {
            self.belief.surface_looked(value("surface_look_detection"));
        }
    }

    /// The begun order with this number; begins the next ones if the report runs ahead of the plan's clock.
    fn find_begun(&mut self, number: usize, report: &Report) -> Option<usize> {
        while self.begun.len() < number && self.state == State::Searching {
            let next = (0..self.plan.runs.len())
                .filter(|&k| self.is_free_to_begin(k))
                .min_by(|a, b| self.plan.runs[*a].leaves_s.total_cmp(&self.plan.runs[*b].leaves_s))?;
            self.begin(next);
        }
        let found = self.begun.iter().position(|b| b.number == number);
        if found.is_none() {
            self.say(
                report,
                format!("order {number} was never given; the report is kept but changes nothing"),
            );
        }
        found
    }

    fn say(&mut self, report: &Report, words: String) {
        self.said.push(format!("report line {}: {words}", report.line));
    }

    fn lane_ended(&mut self, report: &Report, number: usize, metres: Option<f64>, short: bool) {
        let Some(k) = self.find_begun(number, report) else {
            return;
        };
        if self.begun[k].reported {
            self.say(report, format!("order {number} had already ended"));
            return;
        }
        let run = self.begun[k].run.clone();
        let length = run.from.distance(run.to);
        let searched_m = match (short, metres) {
            (false, _) => length,
            (true, Some(metres)) => metres.min(length),
            (true, None) => searched_by_clock(&run, report.at_s),
        };
        self.apply_legs(k, report.at_s, searched_m);
        self.begun[k].ended_s = Some(self.begun[k].ended_s.unwrap_or(report.at_s));
        self.begun[k].reported = true;
        self.begun[k].stopped_short = short && searched_m < length - 0.5;
        if report.at_s + LATE_S < run.from_s {
            self.say(
                report,
                format!("order {number} ended before it could have begun; check the number and the time"),
            );
        }
    }

    /// Applies every leg not yet reported up to `searched_m` along the lane, the last one cut to it.
    fn apply_legs(&mut self, k: usize, at_s: f64, searched_m: f64) {
        let run = self.begun[k].run.clone();
        let mut behind_m = 0.0;
        for (index, leg) in run.legs.iter().enumerate() {
            let length = stretch_length(&leg.sweep);
            let left = searched_m - behind_m;
            behind_m += length;
            if index < self.begun[k].legs_reported || (left <= 0.0 && length > 0.0) {
                continue;
            }
            let mut sweep = leg.sweep;
            sweep.to_s = sweep.to_s.min(at_s);
            if let (Stretch::Strip { from, to, width_m }, true) = (sweep.stretch, left < length) {
                sweep.stretch = Stretch::Strip { from, to: from.lerp(to, left / length), width_m };
            }
            self.search(sweep);
            self.begun[k].legs_reported = index + 1;
        }
    }

    fn search(&mut self, sweep: Sweep) {
        self.belief.apply(&sweep);
        self.sweeps.push(sweep);
    }

    fn dive_made(&mut self, report: &Report, number: usize, up: Option<usize>) -> bool {
        let Some(k) = self.find_begun(number, report) else { return false };
        let down = self.begun[k].team.members.len();
        match up {
            Some(up) if up > down => {
                self.say(report, format!("{up} heads up but {down} went down; count again"));
                return false;
            }
            Some(up) if up < down => {
                self.state = State::CountShort { order: number, up, down };
                return false;
            }
            _ => {}
        }
        if self.begun[k].reported {
            self.say(report, format!("order {number} had already ended"));
            return false;
        }
        let was_short = matches!(self.state, State::CountShort { order, .. } if order == number);
        if was_short {
            self.state = State::Searching;
            self.say(report, format!("order {number}: all {down} are up after a recount"));
            return true;
        }
        let legs = &self.begun[k].run.legs;
        if self.begun[k].legs_reported < legs.len() {
            let sweep = legs[self.begun[k].legs_reported].sweep;
            self.begun[k].legs_reported += 1;
            self.search(sweep);
        }
        false
    }

    fn people_came(&mut self, report: &Report, people: &[Newcomer]) {
        for newcomer in people {
            let mut member = newcomer.member.clone();
            if self.day.crew.iter().any(|other| other.name.eq_ignore_ascii_case(&member.name)) {
                self.say(report, format!("{} is already in the crew; nobody was added twice", member.name));
                continue;
            }
            member.post = newcomer.at.clone().unwrap_or_default();
            self.came.push((self.day.crew.len(), report.at_s, newcomer.at.clone()));
            self.day.crew.push(member);
        }
    }

    fn people_left(&mut self, report: &Report, names: &[String]) {
        for name in names {
            match self.day.crew.iter().position(|member| member.name.eq_ignore_ascii_case(name)) {
                Some(who) => {
                    self.gone.push(who);
                    let held =
                        self.begun.iter().find(|b| b.ended_s.is_none() && b.people().any(|p| p == who));
                    if let Some(order) = held.map(|b| b.number) {
                        self.say(report, format!("{name} leaves order {order}: the line closes up or is stopped short; report which"));
                    }
                }
                None => self.say(report, format!("{name} is not in the crew")),
            }
        }
    }

    /// Ends every open lane; what was not reported does not count as searched until it is.
    fn end_open_lanes(&mut self, at_s: f64) {
        for begun in &mut self.begun {
            if begun.ended_s.is_none() {
                begun.ended_s = Some(at_s);
                begun.stopped_short = true;
            }
        }
    }

    fn say_overdue(&mut self) {
        for begun in &self.begun {
            if begun.ended_s.is_none() && self.now_s > begun.run.to_s + LATE_S {
                let late = ((self.now_s - begun.run.to_s) / 60.0).floor();
                self.said
                    .push(format!("order {}: no word for {late:.0} min past its time; ask", begun.number));
            }
        }
    }
}

fn stretch_length(sweep: &Sweep) -> f64 {
    match sweep.stretch {
        Stretch::Strip { from, to, .. } => from.distance(to),
        Stretch::Disc { .. } => 0.0,
    }
}

/// Metres of a lane that its own times say are searched at `at_s`.
fn searched_by_clock(run: &Run, at_s: f64) -> f64 {
    run.legs.iter().filter(|leg| leg.sweep.to_s <= at_s).map(|leg| stretch_length(&leg.sweep)).sum()
}
