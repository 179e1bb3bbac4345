//! Readiness of a day: incidents where bathers are, and what today's crew would make of them, zone by zone.
//!
//! Planning anew at every report is too dear for every alarm. Each is planned once, and the first plan is carried out at the
//! crew's pace over many truths that fit what was told; some alarms are also searched through with every report and new plan,
//! and what that adds puts the shares right (docs/models/readiness.md).

use crate::TIMES_S;
use crate::bathers::Zone;
use crate::chain::{Thinking, found_by, searched, sweeps_at_pace, told};
use crate::incident::{Source, Truths, Witnesses, World};
use crate::luck::Luck;
use crate::promise::{covered_at, sweeps};
use crate::shares::Mean;
use crate::short::{Shortage, shortage};
use measure::{Seed, Spot, parameters::value};
use rayon::prelude::*;
use search::belief::Belief;
use search::course::Course;
use search::{Method, Setting, Sweep};
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
    /// Alarms in each zone that are also planned anew at every report; at most all.
    pub anew: u64,
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
    /// Share of its truths found by each of [`TIMES_S`], by the first plan.
    pub found_by: [f64; TIMES_S.len()],
    /// The same with every report and new plan, where that was tried.
    pub found_anew_by: Option<[f64; TIMES_S.len()]>,
    /// Whether the first plan sends a wading line, a dive line.
    pub lines: (bool, bool),
}

/// Alarms worked through side by side before anybody is asked whether to go on.
const BLOCK: u64 = 8;
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
    let (incident, truths) = source.draw_with_truths((asked.seed, number), asked.truths)?;
    let told = told(&incident, asked.thinking);
    let course = Course::open(setting, &told);
    let last_seen = course.last_seen(setting.site);
    let first_s = (asked.reach)(last_seen).map(|s| s + value("reaction_s"));
    let plan = course.plan.clone();
    let region = half_region(&course.belief, setting.ground);
    // One crew at its own pace for all truths of an alarm; chances of a pass are each one's own.
    let luck = Luck { seed: incident.seed, outlook: world.outlook(), pace_sd: world.pace_sd };
    let shares = |made: &[Sweep]| {
        let one = |(body, seed): &(_, Seed)| found_by(made, body, &Luck { seed: *seed, ..luck });
        let found: Vec<Option<f64>> = truths.iter().map(one).collect();
        let n = found.len().max(1) as f64;
        TIMES_S.map(|t| found.iter().filter(|f| f.is_some_and(|s| s <= t)).count() as f64 / n)
    };
    let sends = |method: Method| {
        plan.runs.iter().any(|run| plan.teams[run.team].method == method && run.to_s > run.from_s)
    };
    let anew = is_anew(asked, number).then(|| {
        let horizon_s = TIMES_S[TIMES_S.len() - 1];
        shares(&searched((setting, course), &told, &luck, horizon_s))
    });
    Some(Case {
        zone,
        first_s,
        half_covered_s: covered_at(&sweeps(&plan), &region, COVERED),
        found_by: shares(&sweeps_at_pace(&plan, &luck)),
        found_anew_by: anew,
        lines: (sends(Method::Wade), sends(Method::Dive)),
    })
}

/// Whether an alarm of a zone is one of those planned anew: they are spread evenly, so that an early end has its share.
fn is_anew(asked: &Asked, number: u64) -> bool {
    let before = |n: u64| n * asked.anew.min(asked.alarms) / asked.alarms.max(1);
    before(number + 1) > before(number)
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
    /// Share of those on the bottom who are found by each of [`TIMES_S`], with every report and new plan; the error is that
    /// between alarms.
    pub found_by: Vec<Mean>,
    /// The same if the first plan were all there is.
    pub found_by_first_plan: Vec<Mean>,
    /// Alarms that were planned anew at every report.
    pub alarms_anew: usize,
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
                found_by: in_the_end(&own),
                found_by_first_plan: (0..TIMES_S.len())
                    .map(|k| share(own.iter().map(|c| c.found_by[k])))
                    .collect(),
                alarms_anew: own.iter().filter(|c| c.found_anew_by.is_some()).count(),
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

/// Shares found by each of the times with new plans, from the first plans of all alarms and the new ones of some.
fn in_the_end(own: &[&Case]) -> Vec<Mean> {
    let mut least = 0.0;
    let one = |k: usize| {
        let cases: Vec<(f64, Option<f64>)> =
            own.iter().map(|c| (c.found_by[k], c.found_anew_by.map(|by| by[k]))).collect();
        let mean = with_doubt(Mean::put_right(&cases), own.len());
        // Nobody is lost again: a share by a later time is no smaller, whatever a few alarms say.
        least = mean.mean.clamp(least, 1.0);
        Mean { mean: least, ..mean }
    };
    (0..TIMES_S.len()).map(one).collect()
}

fn share(values: impl Iterator<Item = f64>) -> Mean {
    let all: Vec<f64> = values.collect();
    with_doubt(Mean::of(all.iter().copied()), all.len())
}

/// A mean over alarms that are all alike (nobody found) still has an error: one alarm more could differ.
fn with_doubt(mean: Mean, alarms: usize) -> Mean {
    let least = 1.0 / (alarms as f64 + 2.0);
    if mean.error == 0.0 { Mean { error: least / (alarms.max(1) as f64).sqrt(), ..mean } } else { mean }
}

/// The value that a share of all alarms does not exceed; `None` if those who never come are among them.
fn quantile(values: impl Iterator<Item = Option<f64>>, share: f64) -> Option<f64> {
    let all: Vec<Option<f64>> = values.collect();
    crate::shares::found_within(&all, share)
}
