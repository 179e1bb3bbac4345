//! How much a plan loses when the world is not as it takes it, against a plan that knew; with and without the broad mixture.
//!
//! Nothing is drawn but the alarms: every plan is valued on the whole cloud of the world it meets.

use crate::chain::{Thinking, told};
use crate::incident::Source;
use crate::promise::{Counting, promise, sweeps};
use crate::shares::Mean;
use measure::{Seed, Spot};
use rayon::prelude::*;
use search::belief::basin::{Basin, Bottom};
use search::belief::{Belief, Cloud};
use search::course::Course;
use search::plan::{Outlook, Plan, Request, plan_by};
use search::{Method, Setting, Sweep};
use serde::Serialize;

/// One way in which the world differs.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub enum Wrong {
    /// In nothing.
    Nothing,
    /// Places spread about their sightings by this factor.
    Spread(f64),
    /// Everything lies so far off in one direction \[m\].
    Shift(f64),
    /// The chance of a pass times this.
    Contact(f64),
    /// The survival weight at eight minutes.
    Weight(f64),
}

impl Wrong {
    /// The rows of the table.
    pub const ALL: [Wrong; 8] = [
        Wrong::Nothing,
        Wrong::Spread(1.5),
        Wrong::Spread(2.0),
        Wrong::Shift(20.0),
        Wrong::Contact(2.0 / 3.0),
        Wrong::Contact(4.0 / 3.0),
        Wrong::Weight(0.60),
        Wrong::Weight(0.78),
    ];

    /// In words.
    pub fn words(self) -> String {
        match self {
            Wrong::Nothing => "as modelled".into(),
            Wrong::Spread(by) => format!("spread × {by}"),
            Wrong::Shift(m) => format!("all {m:.0} m off"),
            Wrong::Contact(by) => format!("chance of a pass × {by:.2}"),
            Wrong::Weight(v) => format!("V(8 min) = {v:.2}"),
        }
    }

    fn outlook(self) -> Outlook {
        match self {
            Wrong::Contact(contact) => Outlook { contact, ..Outlook::default() },
            Wrong::Weight(v_8) => Outlook { v_8, ..Outlook::default() },
            Wrong::Nothing | Wrong::Spread(_) | Wrong::Shift(_) => Outlook::default(),
        }
    }

    /// The cloud of this world.
    fn world(self, setting: &Setting, belief: &Belief, seed: Seed) -> Cloud {
        let basin = Basin::new(setting.ground, setting.site.units);
        let mut cloud = Cloud { passes: Default::default(), mass: Vec::new(), ..belief.cloud.clone() };
        let middles = belief.middles();
        let (sin, cos) = measure::fastmath::sin_cos_turns(seed.stream("shift").u01(0));
        for at in 0..cloud.len() {
            let spot = cloud.spot(at);
            let step = match self {
                Wrong::Spread(by) => (spot - middles[at]) * (by - 1.0),
                Wrong::Shift(m) => Spot::new(sin, cos) * m,
                Wrong::Nothing | Wrong::Contact(_) | Wrong::Weight(_) => continue,
            };
            // Where it would be land they lie half way, and again.
            let place = [1.0, 0.5, 0.25].into_iter().map(|share| spot + step * share);
            let Some(place) = place.into_iter().find(|&place| basin.is_water(place)) else { continue };
            (cloud.east[at], cloud.north[at]) = (place.east, place.north);
            cloud.bed[at] = basin.bed(place);
        }
        cloud
    }
}

/// One row: how much of the worth of a plan that knew is lost.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Row {
    /// What is wrong.
    pub wrong: Wrong,
    /// Worth of plans that knew, mean over alarms.
    pub knew: Mean,
    /// Share of it lost by plans on the belief itself.
    pub loss_plain: Mean,
    /// Share of it lost by plans on the belief with the broad mixture, as the product plans.
    pub loss_broad: Mean,
}

/// The table.
///
/// # Inputs
/// - `source`: of alarms · `seed`, `alarms`: how many · `thinking`: the same for every plan
/// - `tell`: hears how many alarms are done; `false` ends it there
///
/// # Gives
/// One row for each of [`Wrong::ALL`], over the alarms done.
///
/// # Source
/// models P9; worth by [`promise`]
pub fn table(
    source: &Source,
    (seed, alarms): (Seed, u64),
    thinking: Thinking,
    tell: &dyn Fn(u64) -> bool,
) -> Vec<Row> {
    let mut all: Vec<Vec<[f64; 3]>> = Vec::new();
    let mut first = 0;
    while first < alarms {
        let end = (first + 4).min(alarms);
        let block: Vec<Option<Vec<[f64; 3]>>> =
            (first..end).into_par_iter().map(|number| one(source, (seed, number), thinking)).collect();
        all.extend(block.into_iter().flatten());
        first = end;
        if !tell(first) {
            break;
        }
    }
    let row = |(k, wrong): (usize, Wrong)| {
        let knew = Mean::of(all.iter().map(|alarm| alarm[k][2]));
        // A loss is taken over the mean of what knowing gives, so that alarms with little to find do not count most.
        let loss = |column: usize| {
            Mean::of(all.iter().map(|alarm| (alarm[k][2] - alarm[k][column]) / knew.mean.max(1e-12)))
        };
        Row { wrong, knew, loss_plain: loss(0), loss_broad: loss(1) }
    };
    Wrong::ALL.into_iter().enumerate().map(row).collect()
}

/// Worth in each world of one alarm: planned plain, planned broad, planned knowing.
fn one(source: &Source, (seed, number): (Seed, u64), thinking: Thinking) -> Option<Vec<[f64; 3]>> {
    let incident = source.draw(seed, number)?;
    let setting = &source.setting;
    let told = told(&incident, thinking);
    // The course at the alarm knows where people are and what is the last seen point.
    let course = Course::open(setting, &search::course::Told { effort: 1, ..told.clone() });
    let crew = course.crew(setting.site);
    let belief = &course.belief;
    let last_seen = course.last_seen(setting.site);
    let planned = |belief: &Belief, outlook: &Outlook| {
        let request = Request {
            setting: *setting,
            belief,
            crew: &crew,
            now_s: 0.0,
            alarm_at_s: source.at_s,
            last_seen,
            missing_height_m: incident.alarm.missing.height_m,
            before: None,
            seed: told.seed,
            effort: thinking.effort,
        };
        plan_by(&request, outlook)
    };
    let register = Outlook::default();
    let plain = sweeps(&planned(belief, &register));
    let broad = sweeps(&planned(&belief.broad(setting, told.seed), &register));
    let worth = |sweeps: &[Sweep], cloud: &Cloud, outlook: Outlook| {
        let counting =
            Counting { ground: setting.ground, water_c: setting.day.water_c, outlook, times_s: &[] };
        promise(sweeps, cloud, &counting).worth
    };
    let rows = Wrong::ALL.map(|wrong| {
        let (outlook, cloud) = (wrong.outlook(), wrong.world(setting, belief, incident.seed));
        let world = Belief::from_cloud(cloud.clone(), belief.masses);
        let knew = as_known(&planned(&world, &outlook), &outlook);
        let known = Outlook { contact: 1.0, ..outlook };
        [worth(&plain, &cloud, outlook), worth(&broad, &cloud, outlook), worth(&knew, &cloud, known)]
    });
    Some(rows.to_vec())
}

/// The sweeps of a plan made with an outlook, every one with the chance that outlook gives it.
///
/// Lines and looks carry it already; the planner works out first guard and pole by the register.
fn as_known(plan: &Plan, outlook: &Outlook) -> Vec<Sweep> {
    let mut all = sweeps(plan);
    for sweep in all.iter_mut().filter(|s| matches!(s.method, Method::Alone | Method::Pole)) {
        (sweep.firm, sweep.rough) = (outlook.detection(sweep.firm), outlook.detection(sweep.rough));
    }
    all
}
