//! What a plan is asked for: the water, the belief, who is there, what is under way, and how much effort.

use super::Plan;
use crate::{Detection, Method, Setting, belief::Belief, lines::Chances};
use measure::{Seed, Spot, parameters::value};

/// What somebody has behind them: what rests and turns are counted from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spent {
    /// How they searched last.
    pub method: Method,
    /// When that ended, or will end if it is under way \[s since the alarm\].
    pub ended_s: f64,
    /// Dives made since they were last relieved.
    pub dives: usize,
    /// Since when they have been in the water, rests between dives and lanes among it \[s since the alarm\].
    pub since_s: f64,
}

/// Where and when one person of the crew can be sent.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Crew {
    /// Index into `Day::crew`.
    pub member: usize,
    /// From when they can be sent \[s since the alarm\].
    pub from_s: f64,
    /// Where they are then.
    pub at: Spot,
    /// Out: hurt, tired, sent away. Nobody plans with them.
    pub out: bool,
    /// What they have searched before `from_s`, if anything.
    pub spent: Option<Spent>,
}

/// A request for a plan.
#[derive(Clone, Copy, Debug)]
pub struct Request<'a> {
    /// Water and day.
    pub setting: Setting<'a>,
    /// Belief to plan on (mixed with its broad form, models P9).
    pub belief: &'a Belief,
    /// Who can be sent; a member listed twice counts once, by the first entry.
    pub crew: &'a [Crew],
    /// Now \[s since the alarm\].
    pub now_s: f64,
    /// Time of day of the alarm \[s after midnight\], for who is on duty.
    pub alarm_at_s: f64,
    /// Last seen point: where the marker is dropped.
    pub last_seen: Spot,
    /// Height of the missing person \[m\].
    pub missing_height_m: f64,
    /// The plan before; its runs that are under way are kept exactly as they are, the others where a new plan
    /// gains less than `keep_threshold` of what they are worth.
    pub before: Option<&'a Plan>,
    /// Seed of the incident.
    pub seed: Seed,
    /// Whole plans to evaluate before the best is given; a greedy fill counts a hundred. The first sound plan
    /// is always finished; more effort never gives a plan worth less.
    pub effort: u64,
}

impl Request<'_> {
    /// Effort that gives a first plan at once.
    pub const FIRST_EFFORT: u64 = 30;
    /// Effort that keeps the whole way from alarm to orders within a second on two cores of a plain laptop.
    pub const SECOND_EFFORT: u64 = 40_000;
    /// How far a plan looks ahead \[s\].
    pub const AHEAD_S: f64 = 1800.0;
}

/// What a plan takes for true of finds, their weight and the price of orders; by default as the register says.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Outlook {
    /// Survival weight at eight minutes.
    pub v_8: f64,
    /// The chance of one pass, as a share of what the register gives.
    pub contact: f64,
    /// What orders and quarter turns are priced at, as a share of the register's prices: 0 shows what they cost.
    pub price: f64,
}

impl Default for Outlook {
    fn default() -> Self {
        Outlook { v_8: value("survival_v_8"), contact: 1.0, price: 1.0 }
    }
}

impl Outlook {
    /// A chance of detection as this outlook has it: the mean times the share, the weight of what is known kept.
    ///
    /// # Inputs
    /// - `detection`: of the register
    ///
    /// # Gives
    /// The same with another mean, which a share above one lifts to `pod_ceiling` at most: no pass is certain.
    ///
    /// # Source
    /// assumed
    pub fn detection(&self, detection: Detection) -> Detection {
        let whole = detection.a + detection.b;
        let most = (value("pod_ceiling") * whole).max(detection.a);
        let hits = (detection.a * self.contact.max(0.0)).min(most);
        if self.contact == 1.0 { detection } else { Detection { a: hits, b: whole - hits } }
    }

    pub(super) fn chances(&self, chances: Chances) -> Chances {
        Chances { firm: self.detection(chances.firm), rough: self.detection(chances.rough) }
    }
}
