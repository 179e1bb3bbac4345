//! A search that begins with the morning's card, if the card stands.

use super::state::{Course, Told};
use crate::orders::{Order, orders};
use crate::plan::{Crew, Plan, Request, Run};
use crate::told::Report;
use crate::zero::{Stands, Zero, hold};
use crate::{
    Alarm, Setting,
    belief::{Belief, Currents},
};

/// What is known when the first orders of a search are made.
#[derive(Clone, Copy, Debug, Default)]
pub struct Opening<'a> {
    /// When they are made \[s since the alarm\].
    pub now_s: f64,
    /// Alarms of further people who are missing.
    pub others: &'a [Alarm],
    /// What was reported between the alarm and now.
    pub reports: &'a [Report],
    /// Currents by time, where it was timed again since the alarm; else the current of the setting is the only one.
    pub currents: Option<&'a Currents>,
    /// The morning's card for the place, if one was given out.
    pub card: Option<&'a Zero>,
}

/// The morning's card as it was held against the first plan.
#[derive(Clone, Debug, PartialEq)]
pub struct HeldCard {
    /// Whether people stay with it.
    pub stands: Stands,
    /// Its orders, at their times in this search; empty unless it stands.
    pub orders: Vec<Order>,
    /// The runs of those orders.
    runs: Vec<Run>,
}

impl Course {
    /// The search with its first orders, after everything that was told before them.
    ///
    /// A card that stands is the beginning of the plan: its first orders are given as they stand on it, marker included, and
    /// the plan goes on after them. One that does not stand changes nothing, and [`Course::card`] says why.
    ///
    /// # Inputs
    /// - `setting` · `told`: as for [`Course::open`] · `opening`
    ///
    /// # Gives
    /// The search at that second.
    ///
    /// # Source
    /// docs/handbook/alarm-room.md
    pub fn open_with(setting: &Setting, told: &Told, opening: &Opening) -> Course {
        let steady = || Currents::steady(setting.flow.clone());
        let mut course = Course::unplanned(setting, told, opening.currents.cloned().unwrap_or_else(steady));
        course.now_s = opening.now_s.max(0.0);
        if !opening.others.is_empty() {
            course.others = opening.others.to_vec();
            course.rebuild(setting, told);
        }
        for report in opening.reports {
            course.take(setting, told, report);
        }
        if course.state == super::State::Searching {
            course.replan(setting, told);
            if let Some(card) = opening.card {
                course.hold_card(setting, told, card);
            }
        }
        course
    }

    /// Holds the card against the plan that was just made; nothing of that plan has begun.
    fn hold_card(&mut self, setting: &Setting, told: &Told, card: &Zero) {
        let day = self.day.clone();
        let setting = Setting { day: &day, ..*setting };
        let crew = self.crew(setting.site);
        let Some(broad) = self.broad.take() else { return };
        let request = Request { effort: told.effort / 4, ..self.request(&setting, told, (&broad, &crew)) };
        let held = hold(card, &self.plan, &request);
        self.broad = Some(broad);
        let (mut orders_of_card, mut runs) = (Vec::new(), Vec::new());
        if let (Stands::Keep { .. }, Some(plan)) = (&held.stands, held.plan) {
            let first = card.first(self.now_s);
            orders_of_card = orders(&first, &setting, self.alarm.at_s);
            runs.clone_from(&first.runs);
            self.marker = Some(card.marker());
            self.take_plan(plan, (&setting, told), &crew);
        }
        self.card = Some(HeldCard { stands: held.stands, orders: orders_of_card, runs });
    }

    /// A plan as the search's own: promised of the belief itself, its runs numbered.
    pub(super) fn take_plan(&mut self, plan: Plan, (setting, told): (&Setting, &Told), crew: &[Crew]) {
        let unseen = self.marker.is_none() && self.told_spot(setting.site).is_none();
        self.plan = Plan { unseen, ..plan };
        let request = self.request(setting, told, (&self.belief, crew));
        self.plan.found_by = crate::plan::check::promise(&self.plan, &request);
        self.number_runs();
    }

    /// What a plan of now is asked for, with nothing under way.
    pub(super) fn request<'a>(
        &self,
        setting: &Setting<'a>,
        told: &Told,
        (belief, crew): (&'a Belief, &'a [Crew]),
    ) -> Request<'a> {
        Request {
            setting: *setting,
            belief,
            crew,
            now_s: self.now_s,
            alarm_at_s: self.alarm.at_s,
            last_seen: self.last_seen(setting.site),
            missing_height_m: self.alarm.missing.height_m,
            before: None,
            seed: told.seed,
            // Later plans start from orders that stand: they change less, and there are many.
            effort: if self.begun.is_empty() { told.effort } else { told.effort / 4 },
        }
    }

    /// Whether every order of a card that stands is still what is ordered: under way, ended, or waiting as it was given.
    pub fn follows_card(&self) -> bool {
        let is_there = |run: &Run| {
            self.begun.iter().any(|begun| super::same_run(&begun.run, run))
                || self.plan.runs.iter().any(|other| other.from == run.from && other.to == run.to)
        };
        self.card
            .as_ref()
            .is_some_and(|card| matches!(card.stands, Stands::Keep { .. }) && card.runs.iter().all(is_there))
    }

    /// An order of the card keeps the words of the card: people have read them.
    pub(super) fn word_of_card(&self, order: &mut Order) {
        let Some(card) = &self.card else { return };
        let run = order.run.and_then(|run| self.plan.runs.get(run));
        let same = |read: &&Order| {
            let of_card = read.run.and_then(|k| card.runs.get(k));
            run.zip(of_card).is_some_and(|(run, other)| super::same_run(run, other))
                && read.people == order.people
        };
        if let Some(read) = card.orders.iter().find(same) {
            order.words.clone_from(&read.words);
            order.lines.clone_from(&read.lines);
        }
    }
}
