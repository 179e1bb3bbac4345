//! What would help: the same incidents once more on a changed day, and the gain of each change with its error.

use crate::bathers::{Zone, zones};
use crate::incident::scaled;
use crate::shares::Mean;
use crate::today::{Asked, Case, Reach, cases};
use measure::{Spot, parameters::value};
use search::Setting;
use search::orders::near;
use serde::Serialize;
use water::{Day, Flow, Ground, Member, Shape, Site};

/// One change.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub enum WhatIf {
    /// One guard more, who may do everything, where people without a post are.
    GuardMore,
    /// The last named guard on duty is not there.
    GuardFewer,
    /// So many pairs of fins more.
    Fins(u32),
    /// A rope holds bathers in water no deeper than this \[m\].
    Rope(f64),
    /// A post stands somewhere else.
    Post(String, Spot),
    /// The water stands so much higher \[m\].
    Stage(f64),
    /// The current, as a share of today's.
    Current(f64),
    /// One sees so much deeper into the water \[m\].
    Clarity(f64),
}

impl WhatIf {
    /// In words, with the units and the marks of the site.
    pub fn words(&self, site: &Site) -> String {
        match self {
            WhatIf::GuardMore => "one guard more".into(),
            WhatIf::GuardFewer => "one guard fewer".into(),
            WhatIf::Fins(count) => format!("fins for {count} more"),
            WhatIf::Rope(depth_m) => format!("rope at the {} contour", site.units.told(*depth_m)),
            WhatIf::Post(name, to) => format!("{name} moved to {}", near(site, *to)),
            WhatIf::Stage(by_m) => format!("water {}", site.units.change(*by_m)),
            WhatIf::Current(share) => format!("current × {share}"),
            WhatIf::Clarity(by_m) => {
                let way = if *by_m < 0.0 { "less clear" } else { "clearer" };
                format!("{} {way}", site.units.told(by_m.abs()))
            }
        }
    }
}

/// A day that owns what a setting borrows.
#[derive(Clone, Debug)]
pub struct Scene {
    /// The site.
    pub site: Site,
    /// The day.
    pub day: Day,
    /// The bottom.
    pub ground: Ground,
    /// The current.
    pub flow: Flow,
    /// Bathers keep to water no deeper than this \[m\].
    pub rope_m: Option<f64>,
}

impl Scene {
    /// As a search sees it.
    pub fn setting(&self) -> Setting<'_> {
        Setting { site: &self.site, day: &self.day, ground: &self.ground, flow: &self.flow }
    }

    /// Where bathers are.
    pub fn zones(&self) -> Vec<Zone> {
        zones(&self.setting(), self.rope_m)
    }

    /// The scene with one change.
    ///
    /// # Inputs
    /// - `change` · `at_s`: time of day, for who is on duty \[s after midnight\]
    /// - `cut`: makes the bottom of another stage the excerpt that is simulated
    ///
    /// # Gives
    /// The changed scene; `None` if there is nothing to change: no such post, no guard to leave out.
    ///
    /// # Source
    /// assumed
    pub fn changed(
        &self,
        change: &WhatIf,
        at_s: f64,
        cut: &dyn Fn(&Site, Ground) -> Ground,
    ) -> Option<Scene> {
        let mut other = self.clone();
        match change {
            WhatIf::GuardMore => other.day.crew.push(all_rounder()),
            WhatIf::GuardFewer => {
                let guard = |m: &Member| m.on_duty(at_s) && !m.volunteer && (m.wade || m.dive_m.is_some());
                let last = other.day.crew.iter().rposition(guard)?;
                other.day.crew.remove(last);
            }
            WhatIf::Fins(count) => other.day.kit.fins += count,
            WhatIf::Rope(depth_m) => other.rope_m = Some(*depth_m),
            WhatIf::Post(name, to) => {
                let post = other.site.features.iter_mut().find(|f| f.name.eq_ignore_ascii_case(name))?;
                post.shape = Shape::Point(*to);
            }
            WhatIf::Stage(by_m) => {
                other.day.stage_m += by_m;
                other.ground = cut(&other.site, Ground::build(&other.site, other.day.stage_m).value);
            }
            WhatIf::Current(share) => other.flow = scaled(&other.flow, *share),
            WhatIf::Clarity(by_m) => other.day.secchi_m = (other.day.secchi_m + by_m).max(0.0),
        }
        Some(other)
    }
}

/// A guard who may do everything.
fn all_rounder() -> Member {
    Member {
        name: "one more guard".into(),
        height_m: value("height_guard_m"),
        wade: true,
        dive_m: Some(value("dive_warn_depth_m")),
        board: true,
        lookout: true,
        lead: true,
        volunteer: false,
        post: String::new(),
        hours: Vec::new(),
    }
}

/// What a change gives.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Effect {
    /// The change, in words.
    pub what: String,
    /// Share found within ten minutes, changed less today, over all zones by area.
    pub found_10_min: Mean,
    /// The same within thirty minutes.
    pub found_30_min: Mean,
    /// First guard at the last seen point, changed less today \[s\].
    pub first_guard_s: Mean,
    /// Whether the gain within ten minutes is told apart from chance.
    pub told_apart: bool,
    /// Whether the next in the ranking is not told apart from it: another seed may change their order.
    pub level_with_next: bool,
}

/// The effect of a change: today's cases and those of the changed day, alarm by alarm.
///
/// # Inputs
/// - `today`, `changed`: cases of the same seed and the same zones in the same order · `areas_m2`: of the zones
///
/// # Gives
/// Differences with the error between alarms; alarms that only one of the two has are left out.
///
/// # Source
/// common random numbers (textbook)
pub fn effect(what: String, (today, changed): (&[Case], &[Case]), areas_m2: &[f64]) -> Effect {
    let whole: f64 = areas_m2.iter().sum();
    let by = |value: &dyn Fn(&Case) -> f64| {
        let (mut mean, mut square) = (0.0, 0.0);
        for (zone, area_m2) in areas_m2.iter().enumerate().filter(|(_, a)| **a > 0.0) {
            let of = |all: &[Case]| -> Vec<f64> {
                all.iter().filter(|case| case.zone == zone).map(value).collect()
            };
            let (before, after) = (of(today), of(changed));
            let part = Mean::of(before.iter().zip(&after).map(|(a, b)| b - a));
            let weight = area_m2 / whole;
            mean += weight * part.mean;
            square += weight * weight * part.error * part.error;
        }
        Mean { mean, error: square.sqrt() }
    };
    let found_10_min = by(&|case| case.found_by[2]);
    Effect {
        what,
        found_10_min,
        found_30_min: by(&|case| case.found_by[4]),
        first_guard_s: by(&|case| case.first_s.unwrap_or(f64::NAN)),
        told_apart: found_10_min.told_apart(),
        level_with_next: false,
    }
}

/// Works through the same alarms on a changed scene.
///
/// # Inputs
/// - `asked`: today · `scene`, `reach`: the changed ones · `tell`: as [`cases`]
///
/// # Source
/// as [`cases`]
pub fn cases_on(asked: &Asked, scene: &Scene, reach: &Reach, tell: &dyn Fn(u64) -> bool) -> Vec<Case> {
    let zones = scene.zones();
    // Gains are those of first plans: new plans of two days differ by chance as much as by the change.
    cases(&Asked { setting: scene.setting(), zones: &zones, reach, anew: 0, ..*asked }, tell)
}

/// Standard errors from which the order of two neighbours counts: more than for one gain, since there are many pairs at once.
const ORDER_SIGMAS: f64 = 3.0;

/// Effects by the gain within ten minutes, greatest first; those whose order chance may have made are marked.
pub fn ranked(mut effects: Vec<Effect>) -> Vec<Effect> {
    effects.sort_by(|a, b| b.found_10_min.mean.total_cmp(&a.found_10_min.mean).then(a.what.cmp(&b.what)));
    for at in 0..effects.len() {
        let next = effects.get(at + 1).map(|e| e.found_10_min);
        let own = effects[at].found_10_min;
        // Both on the same incidents: their errors mostly move together, so that this is rather too careful.
        let gap = next.map(|next| Mean { mean: own.mean - next.mean, error: own.error.hypot(next.error) });
        effects[at].level_with_next = gap.is_some_and(|gap| gap.sigmas().abs() < ORDER_SIGMAS);
    }
    effects
}
