//! Readiness of a day: incidents where bathers are, and what today's crew would make of them, zone by zone.
//!
//! Planning anew at every report is too dear for ten thousand incidents. Each alarm is planned once, and the first
//! plan is carried out at the crew's pace over many truths that fit what was told. How far that lies from the
//! whole chain is stated and tested (docs/models/readiness.md).

use crate::TIMES_S;
use crate::bathers::Zone;
use crate::chain::{Thinking, found_at_pace, told};
use crate::incident::{Incident, Source, Truths, Witnesses, World};
use crate::luck::{Body, Luck};
use crate::promise::{covered_at, sweeps};
use crate::shares::Mean;
use crate::short::{Shortage, shortage};
use measure::{Seed, Spot, parameters::value};
use rayon::prelude::*;
use search::belief::Belief;
use search::course::Course;
use search::{Method, Setting};
use serde::Serialize;
use water::Ground;

/// Seconds from the alarm until the first guard is at a place, the reaction left out; `None` where nobody gets to.
pub type Reach<'a> = dyn Fn(Spot) -> Option<f64> + Sync + 'a;

/// What is asked of a day.
#[derive(Clone, Copy)]
pub struct Asked<'a> {
    /// Water, day and crew.
    pub setting: Setting<'a>,
    /// Bathing areas.
    pub zones: &'a [Zone],
    /// Time of day \[s after midnight\].
    pub at_s: f64,
    /// Alarms in each zone.
    pub alarms: u64,
    /// Truths that are tried against each alarm.
    pub truths: u64,
    /// How hard the plans are thought about.
    pub thinking: Thinking,
    /// How fast a guard gets there.
    pub reach: &'a Reach<'a>,
    /// Seed of all of it.
    pub seed: Seed,
}

/// One alarm and what came of its truths.
#[derive(Clone, Debug, PartialEq)]
pub struct Case {
    /// Zone, by index.
    pub zone: usize,
    /// When the first guard is at the last seen point \[s since the alarm\].
    pub first_s: Option<f64>,
    /// When the first plan has passed over the region of 50 % once \[s since the alarm\].
    pub half_covered_s: Option<f64>,
    /// Share of its truths found by each of [`TIMES_S`].
    pub found_by: [f64; TIMES_S.len()],
    /// Whether the first plan sends a wading line, a dive line.
    pub lines: (bool, bool),
}

/// Alarms worked through side by side before anybody is asked whether to go on.
const BLOCK: u64 = 8;
/// Particles from which truths are drawn.
const TRUTH_PARTICLES: usize = 2_000;
/// A region counts as covered when so much of it has been passed over.
const COVERED: f64 = 0.9;

/// Works through the alarms.
///
/// # Inputs
/// - `asked` · `tell`: hears how many alarms are done; `false` ends it there
///
/// # Gives
/// The cases done, zone after zone turn by turn, so that an early end leaves every zone with its share. The same on any
/// number of threads.
///
/// # Source
/// docs/models/readiness.md
pub fn cases(asked: &Asked, tell: &dyn Fn(u64) -> bool) -> Vec<Case> {
    let zones = asked.zones.len() as u64;
    let total = asked.alarms * zones;
    let mut all = Vec::new();
    let mut first = 0;
    while first < total {
        let end = (first + BLOCK).min(total);
        let block: Vec<Option<Case>> = (first..end)
            .into_par_iter()
            .map(|number| one(asked, (number % zones) as usize, number / zones))
            .collect();
        all.extend(block.into_iter().flatten());
        first = end;
        if !tell(first) {
            break;
        }
    }
    all
}

fn one(asked: &Asked, zone: usize, number: u64) -> Option<Case> {
    let setting = &asked.setting;
    let world = World::as_modelled(Truths::Bathers);
    let source = Source {
        setting: *setting,
        zone: &asked.zones[zone],
        witnesses: Witnesses::Mixed,
        world,
        at_s: asked.at_s,
    };
    let incident = source.draw(asked.seed, number)?;
    let told = told(&incident, asked.thinking);
    let course = Course::open(setting, &told);
    let last_seen = course.last_seen(setting.site);
    let first_s = (asked.reach)(last_seen).map(|s| s + value("reaction_s"));
    let plan = &course.plan;
    let region = half_region(&course.belief, setting.ground);
    let bodies = bodies(setting, &incident, asked.truths);
    let found: Vec<Option<f64>> = bodies
        .iter()
        .map(|(body, seed)| {
            let luck = Luck { seed: *seed, outlook: world.outlook(), pace_sd: world.pace_sd };
            found_at_pace(plan, &Incident { body: *body, ..incident.clone() }, &luck)
        })
        .collect();
    let n = found.len().max(1) as f64;
    let by = |t: f64| found.iter().filter(|f| f.is_some_and(|s| s <= t)).count() as f64 / n;
    let sends = |method: Method| {
        plan.runs.iter().any(|run| plan.teams[run.team].method == method && run.to_s > run.from_s)
    };
    Some(Case {
        zone,
        first_s,
        half_covered_s: covered_at(&sweeps(plan), &region, COVERED),
        found_by: TIMES_S.map(by),
        lines: (sends(Method::Wade), sends(Method::Dive)),
    })
}

/// Particles of the region of 50 % at the alarm, with their mass.
fn half_region(belief: &Belief, ground: &Ground) -> Vec<(Spot, f64)> {
    let regions = belief.regions(&ground.grid, &[0.5]);
    let Some(region) = regions.first() else { return Vec::new() };
    let mut cells = region.cells.clone();
    cells.sort_unstable();
    let cloud = &belief.cloud;
    (0..cloud.len())
        .filter(|&k| {
            let cell = ground.grid.cell(cloud.spot(k));
            cell.is_some_and(|cell| cells.binary_search(&(cell as u32)).is_ok())
        })
        .map(|k| (cloud.spot(k), cloud.mass[k]))
        .collect()
}

/// Truths that fit what was told: drawn from a belief of their own seed, which the plan has not seen.
fn bodies(setting: &Setting, incident: &Incident, count: u64) -> Vec<(Body, Seed)> {
    let seed = incident.seed;
    let other = Seed(seed.stream("truth").bits(0));
    let belief = Belief::start(setting, &incident.alarm, other, TRUTH_PARTICLES).value;
    let cloud = &belief.cloud;
    let mut sums = Vec::with_capacity(cloud.len());
    let mut total = 0.0;
    for mass in &cloud.prior {
        total += mass;
        sums.push(total);
    }
    if cloud.is_empty() || total <= 0.0 {
        return Vec::new();
    }
    let (which, hidden, own) = (seed.stream("which"), seed.stream("hidden"), seed.stream("luck"));
    (0..count)
        .map(|k| {
            // One truth in every part of the mass: the same spread with less chance in it.
            let u = (k as f64 + which.u01(k)) / count as f64;
            let at = sums.partition_point(|&sum| sum <= u * total).min(cloud.len() - 1);
            let place = (cloud.spot(at), f64::from(cloud.rest_s[at]));
            (Body::at(setting, place, hidden.u01(k)), Seed(own.bits(k)))
        })
        .collect()
}

/// What is said of one bathing area, or of all together.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ZoneReport {
    /// Name.
    pub name: String,
    /// Area with water \[m²\].
    pub area_m2: f64,
    /// Alarms worked through.
    pub alarms: usize,
    /// First guard at the last seen point \[s since the alarm\]: half of the alarms, nine in ten; `None`: not reached.
    pub first_guard_s: [Option<f64>; 2],
    /// First plan has passed over the most probable half once \[s\]: half of the alarms; `None`: not within the plan.
    pub half_covered_s: Option<f64>,
    /// Share of those on the bottom who are found by each of [`TIMES_S`], with the error between alarms.
    pub found_by: Vec<Mean>,
    /// What the crew can search of it, and what is short.
    pub shortage: Shortage,
}

/// Readiness of a day.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Readiness {
    /// Times of the shares \[s since the alarm\].
    pub times_s: Vec<f64>,
    /// Zones in the order of the map.
    pub zones: Vec<ZoneReport>,
    /// All zones, by area.
    pub found_by: Vec<Mean>,
    /// Incidents: alarms times truths.
    pub incidents: u64,
}

/// What the cases say.
///
/// # Inputs
/// - `asked` · `cases`: done so far
///
/// # Gives
/// One report a zone; a zone without water has none found and says so.
///
/// # Source
/// textbook (means over alarms)
pub fn readiness(asked: &Asked, cases: &[Case]) -> Readiness {
    let grid = &asked.setting.ground.grid;
    let zones: Vec<ZoneReport> = asked
        .zones
        .iter()
        .enumerate()
        .map(|(index, zone)| {
            let own: Vec<&Case> = cases.iter().filter(|case| case.zone == index).collect();
            ZoneReport {
                name: zone.name.clone(),
                area_m2: zone.area_m2(grid),
                alarms: own.len(),
                first_guard_s: [0.5, 0.9].map(|share| quantile(own.iter().map(|c| c.first_s), share)),
                half_covered_s: quantile(own.iter().map(|c| c.half_covered_s), 0.5),
                found_by: (0..TIMES_S.len()).map(|k| share(own.iter().map(|c| c.found_by[k]))).collect(),
                shortage: shortage(&asked.setting, zone, asked.at_s),
            }
        })
        .collect();
    let area: f64 = zones.iter().filter(|zone| zone.alarms > 0).map(|zone| zone.area_m2).sum();
    let all = |k: usize| {
        let parts = zones.iter().filter(|zone| zone.alarms > 0 && area > 0.0);
        let (mut mean, mut square) = (0.0, 0.0);
        for zone in parts {
            let weight = zone.area_m2 / area;
            mean += weight * zone.found_by[k].mean;
            square += (weight * zone.found_by[k].error).powi(2);
        }
        Mean { mean, error: square.sqrt() }
    };
    Readiness {
        times_s: TIMES_S.to_vec(),
        found_by: (0..TIMES_S.len()).map(all).collect(),
        zones,
        incidents: cases.len() as u64 * asked.truths,
    }
}

/// A mean over alarms that are all alike (nobody found) still has an error: one alarm more could differ.
fn share(values: impl Iterator<Item = f64>) -> Mean {
    let all: Vec<f64> = values.collect();
    let mean = Mean::of(all.iter().copied());
    let least = 1.0 / (all.len() as f64 + 2.0);
    if mean.error == 0.0 { Mean { error: least / (all.len().max(1) as f64).sqrt(), ..mean } } else { mean }
}

/// The value that a share of all alarms does not exceed; `None` if those who never come are among them.
fn quantile(values: impl Iterator<Item = Option<f64>>, share: f64) -> Option<f64> {
    let all: Vec<Option<f64>> = values.collect();
    crate::shares::found_within(&all, share)
}
