//! A card held against the plan of an alarm: stay with it, or depart and say so.

use super::Zero;
use crate::plan::{Plan, Request, Role, check::check, plan};
use measure::parameters::value;

/// Whether people stay with the card when the plan of the alarm is there.
#[derive(Clone, Debug, PartialEq)]
pub enum Stands {
    /// The card stays: the live plan is worth at most the threshold more.
    Keep {
        /// What the live plan would be worth more, as a share of the card's.
        gain: f64,
    },
    /// The live plan is ordered instead.
    Depart {
        /// What it is worth more, as a share of the card's; infinite where the card cannot be carried out.
        gain: f64,
        /// Why, in words.
        why: String,
    },
}

/// A card held against the plan of an alarm.
#[derive(Clone, Debug, PartialEq)]
pub struct Held {
    /// Whether it stands.
    pub stands: Stands,
    /// The card's first orders and the plan that goes on after them, none of it begun; absent where the card cannot be carried out.
    pub plan: Option<Plan>,
}

/// Holds a card against the plan of an alarm: people may be running to the card already.
///
/// The card's first orders are taken as given, and what follows them is planned as the live plan is. Both are priced on the raw
/// particles of the live belief, and the card must still keep every rule with who is there.
///
/// # Inputs
/// - `zero` · `live`: the plan made for `request` · `request`
///
/// # Gives
/// Keep up to `card_threshold` more; else depart.
///
/// # Source
/// assumed (`card_threshold`)
pub fn hold(zero: &Zero, live: &Plan, request: &Request) -> Held {
    let first = zero.first(request.now_s);
    if let Some(why) = absent(&first, request) {
        return Held { stands: Stands::Depart { gain: f64::INFINITY, why }, plan: None };
    }
    let mut begun = first.clone();
    begun.runs.iter_mut().for_each(|run| run.under_way = true);
    let mut carried = plan(&Request { before: Some(&begun), last_seen: zero.marker(), ..*request });
    // Nobody has set out yet: the rules are asked of the card's own lanes too.
    carried.runs.iter_mut().for_each(|run| run.under_way = false);
    let told = |job: &&(usize, Role, Option<usize>)| job.1 == Role::First && job.2.is_none();
    let marker: Vec<_> =
        first.jobs.iter().filter(told).filter(|job| !carried.jobs.contains(job)).copied().collect();
    carried.jobs.extend(marker);
    let stands = stands(&carried, live, request);
    let broken = matches!(stands, Stands::Depart { gain, .. } if gain.is_infinite());
    Held { stands, plan: (!broken).then_some(carried) }
}

/// Who has a part on the card and cannot be sent.
fn absent(first: &Plan, request: &Request) -> Option<String> {
    let day = request.setting.day;
    let here = |who: usize| {
        request.crew.iter().any(|crew| {
            crew.member == who
                && !crew.out
                && crew.from_s <= request.now_s
                && day.crew.get(who).is_some_and(|member| member.on_duty(request.alarm_at_s + request.now_s))
        })
    };
    let missing = first.jobs.iter().find(|job| job.1 != Role::Standby && !here(job.0))?;
    Some(format!(
        "{} has a part on it and is not here",
        day.crew.get(missing.0).map_or("somebody", |m| &m.name)
    ))
}

/// Whether a plan that begins with a card's orders stands against the plan of an alarm.
///
/// # Inputs
/// - `card` · `live`: the plan made for `request` · `request`
///
/// # Gives
/// As [`hold`].
///
/// # Source
/// assumed (`card_threshold`)
pub fn stands(card: &Plan, live: &Plan, request: &Request) -> Stands {
    let priced = check(card, request);
    if let Some(broken) = priced.violations.first() {
        return Stands::Depart { gain: f64::INFINITY, why: broken.what.clone() };
    }
    let worth = check(live, request).value;
    let gain = if priced.value > 0.0 {
        worth / priced.value - 1.0
    } else if worth > 0.0 {
        f64::INFINITY
    } else {
        0.0
    };
    if gain <= value("card_threshold") {
        return Stands::Keep { gain };
    }
    let why = if gain.is_finite() {
        format!("what is known now makes other orders worth {:.0} % more", 100.0 * gain)
    } else {
        "the card finds nothing of what is believed now".to_string()
    };
    Stands::Depart { gain, why }
}
