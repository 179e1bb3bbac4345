//! Order zero: the first orders for a last-seen place, worked out in the morning with the crew of the day.
//!
//! A card says who does what before anybody has thought. When the alarm comes, the plan made then is held
//! against the card, and people are moved only where that is worth it. Start reading at [`order_zero`].

mod hold;
mod places;

pub use hold::{Held, Stands, hold, stands};
pub use places::{Place, cells, squares, zones};

use crate::{
    Alarm, AlarmKind, Missing, Setting, Sighting, WitnessClass,
    belief::Belief,
    course::meeting_place,
    orders::{Order, clock, orders},
    plan::{Crew, Plan, Request, Run, plan},
};
use measure::{Seed, Spot};

/// First orders for a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Zero {
    /// The place.
    pub place: Place,
    /// The plan that the orders begin.
    pub plan: Plan,
    /// Posts, and the first lane of every line: what people do in the first minutes.
    pub orders: Vec<Order>,
}

impl Zero {
    /// Where the marker is dropped.
    pub fn marker(&self) -> Spot {
        self.place.last_seen
    }

    /// The card as a plan: everybody's post, and the first lane of every line, begun at a later moment.
    ///
    /// # Inputs
    /// - `now_s`: when the card is called \[s since the alarm\]
    ///
    /// # Gives
    /// The plan of the morning without what comes after its first orders, every time moved by `now_s`.
    ///
    /// # Source
    /// by definition
    pub fn first(&self, now_s: f64) -> Plan {
        first_of(&self.plan, now_s)
    }
}

/// A plan without what comes after the first run of every team, every time later by `by_s`.
fn first_of(plan: &Plan, by_s: f64) -> Plan {
    let is_first = |run: &&Run| plan.runs.iter().all(|o| o.team != run.team || o.from_s >= run.from_s);
    let mut first = Plan {
        now_s: plan.now_s + by_s,
        last_seen: plan.last_seen,
        teams: plan.teams.clone(),
        jobs: plan.jobs.clone(),
        runs: plan.runs.iter().filter(is_first).cloned().collect(),
        ..Plan::default()
    };
    first.teams.iter_mut().for_each(|team| team.formed_s += by_s);
    for run in &mut first.runs {
        for moment in [&mut run.leaves_s, &mut run.from_s, &mut run.to_s] {
            *moment += by_s;
        }
        for leg in &mut run.legs {
            leg.sweep.from_s += by_s;
            leg.sweep.to_s += by_s;
        }
    }
    first
}

/// For whom and when first orders are worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Morning {
    /// Time of day an alarm is taken to come at \[s after midnight\].
    pub alarm_at_s: f64,
    /// Height of the person who would be missing \[m\].
    pub missing_height_m: f64,
    /// Seed of the day.
    pub seed: Seed,
}

/// Particles of a card: enough for the first lanes, few enough for every cell of a beach.
const PARTICLES: usize = 6_000;
/// Seconds before the alarm that the person was last seen.
const AGO_S: f64 = 120.0;

/// The first orders for a place, with whoever is on duty at their posts.
///
/// # Inputs
/// - `setting`: water and day · `place` · `morning`
///
/// # Gives
/// Orders as the plan of an alarm with nothing but this place known would give them. The same every time.
///
/// # Source
/// as [`plan`]; `AGO_S` and the height are assumed
pub fn order_zero(setting: &Setting, place: &Place, morning: Morning) -> Zero {
    let alarm = Alarm {
        kind: AlarmKind::CountShort,
        at_s: morning.alarm_at_s,
        missing: Missing { height_m: morning.missing_height_m, swimmer: None },
        sightings: vec![Sighting {
            by: "somebody".into(),
            class: WitnessClass::Companion,
            seen: place.seen.clone(),
            heading: None,
            from_s: -AGO_S,
            to_s: -AGO_S,
            went_under: false,
            talked_with: Vec::new(),
        }],
    };
    let belief = Belief::start(setting, &alarm, morning.seed, PARTICLES).value;
    let crew = at_posts(setting);
    let request = Request {
        setting: *setting,
        belief: &belief,
        crew: &crew,
        now_s: 0.0,
        alarm_at_s: morning.alarm_at_s,
        last_seen: place.last_seen,
        missing_height_m: morning.missing_height_m,
        before: None,
        seed: morning.seed,
        effort: Request::FIRST_EFFORT,
    };
    let plan = plan(&request);
    let orders =
        on_paper(orders(&first_of(&plan, 0.0), setting, morning.alarm_at_s), &plan, morning.alarm_at_s);
    Zero { place: place.clone(), plan, orders }
}

/// A card is read at any hour: where orders name a time of day, the card names the seconds since the alarm.
fn on_paper(mut orders: Vec<Order>, plan: &Plan, alarm_at_s: f64) -> Vec<Order> {
    for run in &plan.runs {
        let hour = format!("At {} ", clock(alarm_at_s, run.to_s));
        let after = format!("{:.0} seconds after the alarm ", run.to_s);
        for order in &mut orders {
            order.words = order.words.replace(&hour, &after);
            order.lines.iter_mut().for_each(|line| *line = line.replace(&hour, &after));
        }
    }
    orders
}

/// Everybody of the day at their posts, or where people gather.
///
/// # Inputs
/// - `setting`
///
/// # Gives
/// One entry a member; who is off duty is left to the plan.
pub fn at_posts(setting: &Setting) -> Vec<Crew> {
    let hut = meeting_place(setting.site);
    let at = |post: &str| setting.site.named(post).map_or(hut, |feature| feature.shape.middle());
    let one = |(member, person): (usize, &water::Member)| Crew {
        member,
        from_s: 0.0,
        at: at(&person.post),
        out: false,
        spent: None,
    };
    setting.day.crew.iter().enumerate().map(one).collect()
}
