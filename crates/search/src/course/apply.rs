//! Following the reports one by one.

use super::state::{Begun, Course, State, Told, same_run};
use crate::belief::{Belief, Currents};
use crate::plan::{Plan, Role, Run};
use crate::told::{Happening, Newcomer, Report};
use crate::{Method, Setting, Sighting, Stretch, Sweep};
use measure::parameters::value;
use water::Units;

/// A search may be followed this long before a reported time is called absurd \[s\].
const LATE_S: f64 = 60.0;
/// A last seen point that moves farther than this takes the marker along \[m\] (assumed).
const MARKER_MOVES_M: f64 = 5.0;

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
        let mut course = Course::open(setting, told);
        for (k, report) in told.reports.iter().enumerate() {
            // No two dives of a line end in the same second, so a line written twice is one report; but in a minute two may end, and
            // of a time on the full minute nobody knows whether it was written to the second.
            let on_minute = (told.alarm.at_s + report.at_s).rem_euclid(60.0) == 0.0;
            let same = |other: &&Report| {
                !on_minute && other.at_s == report.at_s && other.happening == report.happening
            };
            match told.reports[..k].iter().find(same) {
                Some(first) => {
                    let words =
                        format!("says the same as line {} at the same second; counted once", first.line);
                    course.say(report, words);
                }
                None => course.report(setting, told, report),
            }
        }
        if let Some(now_s) = told.now_s {
            course.pass_to(now_s);
        }
        course.say_overdue();
        course
    }

    /// The search at the alarm: belief and first plan, before any report.
    ///
    /// # Inputs
    /// - `setting` · `told`: as for [`Course::follow`]; its reports and its `now_s` are not looked at
    ///
    /// # Gives
    /// The search at second 0.
    ///
    /// # Source
    /// docs/handbook/alarm.md (which report does what)
    pub fn open(setting: &Setting, told: &Told) -> Course {
        Course::open_at(setting, told, 0.0)
    }

    /// The search before any plan.
    pub(super) fn unplanned(setting: &Setting, told: &Told, currents: Currents) -> Course {
        let belief = Belief::start_in((setting, &currents), &told.alarm, (told.seed, told.particles));
        Course {
            alarm: told.alarm.clone(),
            day: setting.day.clone(),
            gone: Vec::new(),
            came: Vec::new(),
            sweeps: Vec::new(),
            shore_checks: Vec::new(),
            shore_parts: Vec::new(),
            widened: 0,
            others: Vec::new(),
            clouds: Vec::new(),
            surface_looks: Vec::new(),
            begun: Vec::new(),
            broad: None,
            belief: belief.value,
            belief_notes: belief.notes,
            plan: Plan::default(),
            state: State::Searching,
            now_s: 0.0,
            numbers: Vec::new(),
            given: Vec::new(),
            short: Vec::new(),
            said: Vec::new(),
            card: None,
            currents,
            marker: None,
        }
    }

    /// Takes one more report and plans anew what has not begun, if the report changes anything.
    ///
    /// A report may be entered late: it counts from when it happened, and orders that have begun since stay
    /// as they were given.
    ///
    /// # Inputs
    /// - `setting` · `told`: as at the beginning of this search
    pub fn report(&mut self, setting: &Setting, told: &Told, report: &Report) {
        self.pass_to(report.at_s);
        if self.take(setting, told, report) && self.state == State::Searching {
            self.replan(setting, told);
        }
    }

    /// Lets time pass: orders whose people leave by `now_s` begin, unless their people are still bound.
    ///
    /// # Inputs
    /// - `now_s`: s since the alarm; a moment already passed changes nothing
    pub fn pass_to(&mut self, now_s: f64) {
        self.now_s = self.now_s.max(now_s);
        if self.state != State::Searching {
            return;
        }
        let mut due: Vec<usize> =
            (0..self.plan.runs.len()).filter(|&k| self.plan.runs[k].leaves_s <= self.now_s).collect();
        due.sort_by_key(|&k| self.numbers[k]);
        for k in due {
            if self.is_free_to_begin(k) {
                self.begin(k);
            }
        }
        // A first guard whose time is up joins the line without a word; what they searched counts once reported.
        for k in 0..self.begun.len() {
            let (b, end_s) = (&self.begun[k], self.begun[k].run.to_s);
            let elsewhere = |who: &usize| self.begun.iter().any(|o| o.number != b.number && o.binds(*who));
            if b.team.method == Method::Alone
                && b.ended_s.is_none()
                && end_s <= self.now_s
                && b.team.members.iter().any(elsewhere)
            {
                self.begun[k].ended_s = Some(end_s);
            }
        }
    }

    /// Whether none of its people is bound by another order; a first guard's own moment ends before the line begins.
    pub(super) fn is_free_to_begin(&self, k: usize) -> bool {
        let run = &self.plan.runs[k];
        let team = &self.plan.teams[run.team];
        let joins = |b: &Begun| b.team.method == Method::Alone && b.run.to_s <= run.from_s;
        let bound = |who: &usize| self.begun.iter().any(|b| b.binds(*who) && !joins(b));
        let already = self.begun.iter().any(|b| same_run(&b.run, run));
        let gone = |who: &usize| self.gone.contains(who);
        !already && !team.members.iter().any(|who| bound(who) || gone(who))
    }

    pub(super) fn begin(&mut self, k: usize) {
        let run = self.plan.runs[k].clone();
        let team = self.plan.teams[run.team].clone();
        self.plan.runs[k].under_way = true;
        // Nobody in a line is standing by any more: they are told again if they are to.
        for order in self.given.iter_mut().filter(|order| order.post == Some(Role::Standby)) {
            order.people.retain(|who| !team.members.contains(who));
        }
        let number = self.numbers[k];
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
    pub(super) fn take(&mut self, setting: &Setting, told: &Told, report: &Report) -> bool {
        let units = setting.site.units;
        match &report.happening {
            Happening::LaneWalked { order } => self.lane_ended((report, units), *order, None, false),
            Happening::StoppedHere { order, metres } => {
                self.lane_ended((report, units), *order, *metres, true)
            }
            Happening::DiveMade { order, up } => return self.dive_made(report, *order, *up),
            Happening::Contact { order, note } => {
                let lane = order.map(|n| format!(" on order {n}")).unwrap_or_default();
                let what = if note.is_empty() { String::new() } else { format!(" ({note})") };
                self.say(report, format!("contact{lane}{what}, not the person; the lane goes on"));
                return false;
            }
            Happening::ShoreChecked => {
                self.shore_checks.push(report.at_s);
                self.believe(|belief| belief.shore_checked(value("shore_check_detection")));
                return false;
            }
            Happening::SurfaceLooked => {
                self.surface_looks.push(report.at_s);
                self.believe(|belief| belief.surface_looked(value("surface_look_detection")));
                return false;
            }
            Happening::Witness(sighting) => {
                self.hear(setting, told, (report, sighting));
            }
            Happening::PeopleCame(people) => self.people_came(report, people),
            Happening::PeopleLeft(names) => self.people_left(report, names),
            Happening::AllOut { reason } => {
                self.state = State::AllOut { reason: reason.clone() };
                self.end_open_lanes(report.at_s);
                // Lookouts and whoever stood by are told again when the search goes on.
                self.given.retain(|order| !matches!(order.post, Some(Role::Lookout | Role::Standby)));
            }
            Happening::BackIn => match self.short.first() {
                Some(&(order, up, down)) => {
                    self.say(
                        report,
                        format!("order {order} is short of a head: recount before anybody goes in"),
                    );
                    self.state = State::CountShort { order, up, down };
                }
                None => {
                    if self.state == State::Found {
                        let words = "somebody was reported found before; the search goes on for whoever is still missing";
                        self.say(report, words.into());
                    }
                    self.state = State::Searching;
                }
            },
            Happening::Found => {
                self.state = State::Found;
                self.end_open_lanes(report.at_s);
            }
        }
        true
    }

    /// The begun order with this number; begins it if the report runs ahead of the plan's clock.
    fn find_begun(&mut self, number: usize, report: &Report) -> Option<usize> {
        let known = self.begun.iter().any(|b| b.number == number);
        let waiting = self
            .numbers
            .iter()
            .position(|&n| n == number)
            .filter(|&k| !known && self.state == State::Searching && self.is_free_to_begin(k));
        if let Some(k) = waiting {
            self.begin(k);
        }
        let found = self.begun.iter().position(|b| b.number == number);
        if found.is_none() {
            self.say(
                report,
                format!("order {number} has not been given; check the number. The report changes nothing"),
            );
        }
        found
    }

    fn say(&mut self, report: &Report, words: String) {
        self.said.push(format!("report line {}: {words}", report.line));
    }

    fn lane_ended(
        &mut self,
        (report, units): (&Report, Units),
        number: usize,
        metres: Option<f64>,
        short: bool,
    ) {
        let Some(k) = self.find_begun(number, report) else {
            return;
        };
        if self.begun[k].reported {
            let complete = self.begun[k].legs_reported == self.begun[k].run.legs.len();
            // "Lane walked" after the last dive only says again what the dives said.
            if short || !complete || self.begun[k].team.method != Method::Dive {
                self.say(report, format!("order {number} had already ended; nothing is counted twice"));
            }
            return;
        }
        let run = self.begun[k].run.clone();
        let length_m = run.from.distance(run.to);
        let searched_m = match (short, metres) {
            (false, _) => length_m,
            (true, Some(metres)) => metres.clamp(0.0, length_m),
            // Dives were counted one by one: no more than those.
            (true, None) if self.begun[k].legs_reported > 0 => 0.0,
            (true, None) => {
                let searched_m = searched_by_clock(&run, report.at_s);
                let words = format!(
                    "order {number}: {} of {} taken as searched, by the clock; say the metres if they differ",
                    units.distance(searched_m),
                    units.distance(length_m)
                );
                if length_m > 0.0 {
                    self.say(report, words);
                }
                searched_m
            }
        };
        // A first guard who broke off early has not searched the round.
        let whole_round = !short || report.at_s >= run.to_s;
        self.apply_legs(k, report.at_s, (searched_m, whole_round));
        self.begun[k].ended_s = Some(self.begun[k].ended_s.unwrap_or(report.at_s));
        self.begun[k].reported = true;
        self.begun[k].stopped_short =
            short && (searched_m < length_m - 0.5 || !whole_round && length_m == 0.0);
        if report.at_s + LATE_S < run.from_s {
            self.say(
                report,
                format!("order {number} ended before it could have begun; check the number and the time"),
            );
        }
    }

    /// Applies every leg not yet reported up to `searched_m` along the lane, the last one cut to it.
    pub(super) fn apply_legs(&mut self, k: usize, at_s: f64, searched: (f64, bool)) {
        let (searched_m, whole_round) = searched;
        let run = self.begun[k].run.clone();
        let mut behind_m = 0.0;
        for (index, leg) in run.legs.iter().enumerate() {
            let length = stretch_length(&leg.sweep);
            let left = searched_m - behind_m;
            behind_m += length;
            let nothing = if length > 0.0 { left <= 0.0 } else { !whole_round };
            if index < self.begun[k].legs_reported || nothing {
                continue;
            }
            let mut sweep = leg.sweep;
            sweep.to_s = sweep.to_s.min(at_s);
            sweep.from_s = sweep.from_s.min(sweep.to_s);
            if let (Stretch::Strip { from, to, width_m }, true) = (sweep.stretch, left < length) {
                sweep.stretch = Stretch::Strip { from, to: from.lerp(to, left / length), width_m };
            }
            self.search(sweep);
            self.begun[k].legs_reported = index + 1;
        }
    }

    fn search(&mut self, sweep: Sweep) {
        self.believe(|belief| belief.apply(&sweep));
        self.sweeps.push(sweep);
    }

    fn dive_made(&mut self, report: &Report, number: usize, up: Option<usize>) -> bool {
        let Some(k) = self.find_begun(number, report) else { return false };
        let down = self.begun[k].team.members.len();
        let was_short = self.short.iter().any(|&(order, ..)| order == number);
        match up {
            Some(up) if up > down => {
                self.say(report, format!("{up} heads up but {down} went down; count again"));
                return false;
            }
            Some(up) if up < down => {
                self.short.retain(|&(order, ..)| order != number);
                self.short.push((number, up, down));
                if matches!(self.state, State::Searching | State::CountShort { .. }) {
                    self.state = State::CountShort { order: number, up, down };
                }
                return false;
            }
            None if was_short => {
                self.say(report, format!("order {number} is short of a head: say how many are up"));
                return false;
            }
            _ => {}
        }
        if was_short {
            return self.recounted(report, number, down);
        }
        if self.begun[k].reported {
            self.say(report, format!("order {number} had already ended; nothing is counted twice"));
            return false;
        }
        let legs = &self.begun[k].run.legs;
        let (leg, last) = (legs.get(self.begun[k].legs_reported), legs.len());
        let Some(sweep) = leg.map(|leg| leg.sweep) else { return false };
        self.begun[k].legs_reported += 1;
        self.search(sweep);
        // With its last dive the order is done.
        let done = self.begun[k].legs_reported == last;
        if done {
            self.begun[k].ended_s = Some(self.begun[k].ended_s.unwrap_or(report.at_s));
            self.begun[k].reported = true;
        }
        done
    }

    /// All heads of a short line are up after a recount; the dive that was short counts for nothing.
    fn recounted(&mut self, report: &Report, number: usize, down: usize) -> bool {
        self.short.retain(|&(order, ..)| order != number);
        self.say(report, format!("order {number}: all {down} are up after a recount"));
        if matches!(self.state, State::CountShort { .. }) {
            self.state = match self.short.first() {
                Some(&(order, up, down)) => State::CountShort { order, up, down },
                None => State::Searching,
            };
        }
        true
    }

    /// A sighting, new, or put right by the same witness; says where the marker belongs if that moves.
    fn hear(&mut self, setting: &Setting, told: &Told, heard: (&Report, &Sighting)) {
        let (report, sighting) = heard;
        let before = self.told_place(setting.site);
        let named = sighting.by != "a witness";
        match self.alarm.sightings.iter_mut().find(|s| named && s.by.eq_ignore_ascii_case(&sighting.by)) {
            Some(old) => {
                *old = sighting.clone();
                self.say(
                    report,
                    format!("{} has put their sighting right; the earlier one counts no more", sighting.by),
                );
            }
            None => self.alarm.sightings.push(sighting.clone()),
        }
        self.rebuild(setting, told);
        let now = self.told_place(setting.site);
        if now.distance(before) > MARKER_MOVES_M {
            self.marker = None;
            let place = crate::orders::near(setting.site, now);
            self.say(report, format!("the last seen point is now {place}: move the marker, between dives"));
        }
    }

    fn people_came(&mut self, report: &Report, people: &[Newcomer]) {
        for newcomer in people {
            let mut member = newcomer.member.clone();
            let known = self.day.crew.iter().position(|m| m.name.eq_ignore_ascii_case(&member.name));
            if let Some(who) = known.filter(|who| self.gone.contains(who)) {
                self.gone.retain(|&k| k != who);
                self.came.retain(|&(k, ..)| k != who);
                self.came.push((who, report.at_s, newcomer.at.clone()));
                self.say(report, format!("{} is back, as they were known before", member.name));
                continue;
            }
            if known.is_some() {
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
            let Some(who) = self.day.crew.iter().position(|member| member.name.eq_ignore_ascii_case(name))
            else {
                self.say(report, format!("{name} is not in the crew"));
                continue;
            };
            if !self.gone.contains(&who) {
                self.gone.push(who);
            }
            for order in &mut self.given {
                order.people.retain(|&k| k != who);
            }
            // A lookout may watch more than one line.
            for k in 0..self.begun.len() {
                if self.begun[k].binds(who) {
                    self.leave_line(report, k, who);
                }
            }
        }
    }

    /// A line closes up, or comes to its end if it is too small now or has lost its lookout.
    fn leave_line(&mut self, report: &Report, k: usize, who: usize) {
        let name = self.day.crew[who].name.clone();
        let begun = &mut self.begun[k];
        let number = begun.number;
        let unwatched = begun.team.lookout == Some(who);
        let was = begun.team.members.len();
        begun.team.members.retain(|&member| member != who);
        if unwatched {
            begun.team.lookout = None;
        }
        let left = begun.team.members.len();
        if unwatched || left == 0 || (was > 1 && left < 2) {
            begun.ended_s = Some(report.at_s);
            begun.stopped_short = true;
            let why =
                if unwatched { "leaves order {} without a lookout" } else { "leaves too few on order {}" };
            let why = why.replace("{}", &number.to_string());
            self.say(
                report,
                format!("{name} {why}: everybody of it comes out; report \"stopped here\" with the metres"),
            );
            return;
        }
        if begun.team.leader == who {
            begun.team.leader = begun.team.members[0];
        }
        self.say(report, format!("{name} leaves order {number}: the line closes up, {left} go on"));
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
        if self.state != State::Searching {
            return;
        }
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
