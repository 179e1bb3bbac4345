//! What a desk asks of a search beside reports: to begin late, to bind an order that was said, to hear the alarm
//! put right, to spread.

use super::card::Opening;
use super::state::{Course, Told};
use crate::belief::{Belief, Currents};
use crate::{Alarm, Setting, Stretch};
use measure::{Noted, Seed, parameters::value};

/// A last seen point that moves farther than this takes the marker along \[m\] (assumed).
const MARKER_MOVES_M: f64 = 5.0;

impl Course {
    /// The search with its first orders made some time after the alarm, when where and when had been told.
    ///
    /// # Inputs
    /// - `setting` · `told`: as for [`Course::open`] · `now_s`: s since the alarm
    ///
    /// # Gives
    /// The search at that second.
    ///
    /// # Source
    /// docs/handbook/alarm-room.md
    pub fn open_at(setting: &Setting, told: &Told, now_s: f64) -> Course {
        Course::open_with(setting, told, &Opening { now_s, ..Opening::default() })
    }

    /// Binds an order that was said to its people: from now on nothing changes it.
    ///
    /// # Inputs
    /// - `number`: its number now
    ///
    /// # Gives
    /// Whether it is under way; not while its people are bound by another.
    pub fn bind(&mut self, number: usize) -> bool {
        if self.begun.iter().any(|b| b.number == number) {
            return true;
        }
        let waiting = self.numbers.iter().position(|&n| n == number).filter(|&k| self.is_free_to_begin(k));
        if let Some(k) = waiting.filter(|_| self.state == super::State::Searching) {
            self.begin(k);
            return true;
        }
        false
    }

    /// Takes the alarm as it is told now: sightings, kind, who is missing. Everything searched so far counts on.
    ///
    /// # Inputs
    /// - `setting` · `told` · `alarms`: whole, one for each who is missing still, in the place of those before;
    ///   none changes nothing
    pub fn retell(&mut self, setting: &Setting, told: &Told, mut alarms: Vec<Alarm>) {
        if alarms.is_empty() || (alarms[0] == self.alarm && alarms[1..] == self.others[..]) {
            return;
        }
        let before = self.told_place(setting.site);
        self.others = alarms.split_off(1);
        self.alarm = alarms.remove(0);
        self.rebuild(setting, told);
        let now = self.told_place(setting.site);
        let moves = now.distance(before) > MARKER_MOVES_M;
        self.marker = self.marker.filter(|_| !moves);
        if self.state == super::State::Searching {
            self.replan(setting, told);
        }
        if moves && !self.begun.is_empty() {
            let place = crate::orders::near(setting.site, now);
            self.said.push(format!("the last seen point is now {place}: move the marker, between dives"));
        }
    }

    /// The current was timed again: belief and what has not begun anew.
    ///
    /// What drifted before drifted with the current of before; rules for searchers ask the current of `setting`, the newest.
    ///
    /// # Inputs
    /// - `setting`: with the newest current · `told` · `currents`: by time
    pub fn current_timed(&mut self, setting: &Setting, told: &Told, currents: Currents) {
        self.currents = currents;
        self.anew(setting, told);
    }

    /// Belief and what has not begun anew.
    ///
    /// # Inputs
    /// - `setting`: with what has changed · `told`
    pub fn anew(&mut self, setting: &Setting, told: &Told) {
        self.rebuild(setting, told);
        if self.state == super::State::Searching {
            self.replan(setting, told);
        }
    }

    /// Spreads the search because the probable ground is spent.
    ///
    /// # Inputs
    /// - `setting` · `told`
    pub fn widen(&mut self, setting: &Setting, told: &Told) {
        self.widened += 1;
        let before = if self.clouds.is_empty() { vec![self.belief.clone()] } else { self.clouds.clone() };
        let mut clouds = Vec::with_capacity(before.len());
        for (k, belief) in before.iter().enumerate() {
            let seed = Seed(told.seed.0.wrapping_add((k as u64) << 32));
            let wide = wider(belief, setting, (seed, self.widened));
            self.belief_notes.extend(wide.notes);
            clouds.push(wide.value);
        }
        self.take_clouds(clouds);
        if self.state == super::State::Searching {
            self.replan(setting, told);
        }
    }

    /// Belief anew from all sightings and everything searched so far.
    pub(super) fn rebuild(&mut self, setting: &Setting, told: &Told) {
        let day = self.day.clone();
        let setting = Setting { day: &day, ..*setting };
        let count = 1 + self.others.len();
        let mut clouds = Vec::with_capacity(count);
        self.belief_notes.clear();
        for (k, alarm) in std::iter::once(&self.alarm).chain(&self.others).enumerate() {
            // One person's chances are not another's.
            let seed = Seed(told.seed.0.wrapping_add((k as u64) << 32));
            let made = Belief::rebuild_in(
                (&setting, &self.currents),
                alarm,
                (seed, told.particles / count),
                &self.sweeps,
            );
            let mut belief = made.value;
            self.look_again(&mut belief);
            if self.widened > 0 {
                belief = wider(&belief, &setting, (seed, self.widened)).value;
            }
            self.belief_notes.extend(made.notes);
            clouds.push(belief);
        }
        self.belief_notes.dedup();
        self.take_clouds(clouds);
    }

    /// Takes in what was searched or looked at, for everybody who is missing.
    pub(super) fn believe(&mut self, learn: impl Fn(&mut Belief)) {
        if self.clouds.is_empty() {
            learn(&mut self.belief);
            self.broad.iter_mut().for_each(learn);
            return;
        }
        let mut clouds = std::mem::take(&mut self.clouds);
        clouds.iter_mut().for_each(learn);
        self.take_clouds(clouds);
    }

    fn take_clouds(&mut self, mut clouds: Vec<Belief>) {
        self.broad = None;
        if clouds.len() > 1 {
            if let Some(mean) = Belief::mean(&clouds) {
                self.belief = mean;
            }
            self.clouds = clouds;
        } else if let Some(belief) = clouds.pop() {
            self.belief = belief;
            self.clouds.clear();
        }
    }

    /// Counts what a line has walked of its lane so far, in whole legs.
    ///
    /// # Inputs
    /// - `number`: the order · `at_s` · `metres`: from the start of the lane
    pub fn walked_to(&mut self, number: usize, at_s: f64, metres: f64) {
        self.bind(number);
        let Some(k) = self.begun.iter().position(|b| b.number == number && !b.reported) else { return };
        let mut whole_m = 0.0;
        for leg in &self.begun[k].run.legs {
            let Stretch::Strip { from, to, .. } = leg.sweep.stretch else { return };
            // Half a metre is a pace counted short.
            if whole_m + from.distance(to) > metres + 0.5 {
                break;
            }
            whole_m += from.distance(to);
        }
        if whole_m > 0.0 {
            self.apply_legs(k, at_s, (whole_m, false));
        }
    }

    /// One place ashore was looked at, and nobody was there.
    ///
    /// # Inputs
    /// - `at_s` · `share`: of all the places ashore, 0 to 1
    pub fn shore_looked(&mut self, at_s: f64, share: f64) {
        let share = if share.is_nan() { 0.0 } else { share.clamp(0.0, 1.0) };
        self.shore_parts.push((at_s, share));
        self.believe(|belief| belief.shore_checked(share * value("shore_check_detection")));
    }

    /// Every look over shore and surface taken in again.
    fn look_again(&self, belief: &mut Belief) {
        for _ in &self.shore_checks {
            belief.shore_checked(value("shore_check_detection"));
        }
        for (_, share) in &self.shore_parts {
            belief.shore_checked(share * value("shore_check_detection"));
        }
        for _ in &self.surface_looks {
            belief.surface_looked(value("surface_look_detection"));
        }
    }
}

/// A belief spread once more; each time with chances of its own.
fn wider(belief: &Belief, setting: &Setting, (seed, times): (Seed, usize)) -> Noted<Belief> {
    belief.widen(setting, Seed(seed.0 ^ times as u64))
}
