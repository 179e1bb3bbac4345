//! What a desk asks of a search beside reports: to begin late, to bind an order that was said, to hear the alarm
//! put right, to spread.

use super::state::{Course, Told};
use crate::belief::Belief;
use crate::{Alarm, Setting, Stretch};
use measure::parameters::value;

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
        let mut course = Course::unplanned(setting, told);
        course.now_s = now_s.max(0.0);
        course.replan(setting, told);
        course
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
    /// - `setting` · `told` · `alarm`: whole, in the place of the one before
    pub fn retell(&mut self, setting: &Setting, told: &Told, alarm: Alarm) {
        if alarm == self.alarm {
            return;
        }
        let before = self.last_seen(setting.site);
        self.alarm = alarm;
        self.anew(setting, told);
        let now = self.last_seen(setting.site);
        if now.distance(before) > MARKER_MOVES_M && !self.begun.is_empty() {
            let place = crate::orders::near(setting.site, now);
            self.said.push(format!("the last seen point is now {place}: move the marker, between dives"));
        }
    }

    /// Belief and what has not begun anew, as after the current was timed again.
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
        self.widen_belief(setting, told);
        if self.state == super::State::Searching {
            self.replan(setting, told);
        }
    }

    /// The belief spread once more; each time with chances of its own.
    pub(super) fn widen_belief(&mut self, setting: &Setting, told: &Told) {
        let wide = self.belief.widen(setting, measure::Seed(told.seed.0 ^ (self.widened as u64)));
        self.belief = wide.value;
        self.belief_notes.extend(wide.notes);
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
        self.shore_parts.push((at_s, share.clamp(0.0, 1.0)));
        self.belief.shore_checked(share.clamp(0.0, 1.0) * value("shore_check_detection"));
    }

    /// The belief with every look over shore and surface taken in again.
    pub(super) fn look_again(belief: &mut Belief, shore: (&[f64], &[(f64, f64)]), surface: &[f64]) {
        for _ in shore.0 {
            belief.shore_checked(value("shore_check_detection"));
        }
        for (_, share) in shore.1 {
            belief.shore_checked(share * value("shore_check_detection"));
        }
        for _ in surface {
            belief.surface_looked(value("surface_look_detection"));
        }
    }
}
