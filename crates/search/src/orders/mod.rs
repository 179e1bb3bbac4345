//! Orders: a plan in words that a guard with wet hands can act on, one breath each (models P6).
//!
//! Never: says stop, safe or clear; orders anybody who has no part in the plan.
//! Start reading at [`orders`].

mod cautions;
mod lanes;
mod place;
mod posts;

pub use cautions::cautions;

use crate::{
    Method, Setting,
    plan::{Plan, Role},
};
use measure::Spot;
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

/// Most words of an order after the call by name: one breath, twelve seconds at the pace of a radio.
pub const BREATH_WORDS: usize = 32;

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
}
