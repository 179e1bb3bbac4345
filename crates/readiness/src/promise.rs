//! What a row of sweeps is expected to find, on the places a belief holds possible.

use measure::{Spot, parameters::value};
use search::belief::Cloud;
use search::plan::{Outlook, Plan};
use search::survival::Curve;
use search::{Method, Passes, Stretch, Sweep};
use water::{Bed, Cover, Ground};

/// The sweeps of a plan in the order in which they end.
pub fn sweeps(plan: &Plan) -> Vec<Sweep> {
    let mut all: Vec<Sweep> = plan.runs.iter().flat_map(|run| &run.legs).map(|leg| leg.sweep).collect();
    all.sort_by(|a, b| a.to_s.total_cmp(&b.to_s));
    all
}

/// What sweeps are expected to find of somebody who is on the bottom.
#[derive(Clone, Debug, PartialEq)]
pub struct Promise {
    /// Chance found by each of the times asked for.
    pub by: Vec<f64>,
    /// Survival-weighted chance: the worth of the sweeps, in the unit of `Plan::value`.
    pub worth: f64,
}

/// How finds are counted.
#[derive(Clone, Copy, Debug)]
pub struct Counting<'a> {
    /// The bottom.
    pub ground: &'a Ground,
    /// Water temperature \[°C\].
    pub water_c: f64,
    /// What the chances and the weight really are.
    pub outlook: Outlook,
    /// Times asked for \[s since the alarm\].
    pub times_s: &'a [f64],
}

/// What a row of sweeps finds of a cloud that nothing has searched yet: each finds, at its end, who rests in it at its begin.
///
/// # Inputs
/// - `sweeps`: in the order of their ends · `cloud`: its mass counts as one · `counting`
///
/// # Gives
/// Chances for somebody on the bottom.
///
/// # Source
/// models B6, B7, P1
pub fn promise(sweeps: &[Sweep], cloud: &Cloud, counting: &Counting) -> Promise {
    let total: f64 = cloud.prior.iter().sum();
    let mut gains = vec![0.0; sweeps.len()];
    let mut worth = 0.0;
    let near: Vec<(Spot, f64)> = sweeps.iter().map(surround).collect();
    let curve = Curve { v_8: counting.outlook.v_8, water_c: counting.water_c };
    let ashore_s = value("ashore_s");
    for at in 0..cloud.len() {
        let (spot, bed) = (cloud.spot(at), cloud.bed[at]);
        let share = cloud.prior[at] / total;
        let under =
            || counting.ground.grid.cell(spot).is_some_and(|c| counting.ground.cover[c] == Cover::Under);
        let mut seen = Misses::new(bed);
        let mut before = 1.0;
        for (k, sweep) in sweeps.iter().enumerate() {
            let apart = spot - near[k].0;
            if apart.dot(apart) > near[k].1 || f64::from(cloud.rest_s[at]) > sweep.from_s {
                continue;
            }
            let cover = sweep.cover(spot);
            if cover <= 0.0 || (sweep.method == Method::Pole && !under()) {
                continue;
            }
            seen.pass(sweep, cover, &counting.outlook);
            let after = seen.missed();
            let gain = share * (before - after);
            before = after;
            gains[k] += gain;
            worth += gain * curve.at((sweep.to_s + ashore_s - f64::from(cloud.rest_s[at])) / 60.0);
        }
    }
    let by =
        |time_s: &f64| sweeps.iter().zip(&gains).filter(|(s, _)| s.to_s <= *time_s).map(|(_, g)| g).sum();
    Promise { by: counting.times_s.iter().map(by).collect(), worth }
}

/// Chance that everything so far missed one place: one pool a method and chance of detection.
struct Misses {
    bed: Bed,
    pools: Vec<(Method, search::Detection, Passes)>,
}

impl Misses {
    fn new(bed: Bed) -> Self {
        Misses { bed, pools: Vec::new() }
    }

    fn pass(&mut self, sweep: &Sweep, cover: f64, outlook: &Outlook) {
        let detection = outlook.detection(sweep.detection(self.bed));
        let at = self.pools.iter().position(|pool| pool.0 == sweep.method && pool.1 == detection);
        let at = at.unwrap_or_else(|| {
            self.pools.push((sweep.method, detection, Passes::after(0.0)));
            self.pools.len() - 1
        });
        self.pools[at].2.add(cover);
    }

    fn missed(&self) -> f64 {
        let hidden = self.bed.hidden_share();
        let (mut touch, mut sight) = (1.0, 1.0);
        for (method, detection, passes) in &self.pools {
            let miss = passes.miss(|n| detection.miss(n));
            if method.by_contact() { touch *= miss } else { sight *= miss }
        }
        (hidden + (1.0 - hidden) * touch) * sight
    }
}

/// Middle of a sweep and the square of the distance past which it covers nothing worth counting.
fn surround(sweep: &Sweep) -> (Spot, f64) {
    let (middle, reach) = match sweep.stretch {
        Stretch::Strip { from, to, width_m } => (from.lerp(to, 0.5), 0.5 * (from.distance(to) + width_m)),
        Stretch::Disc { centre, radius_m } => (centre, radius_m),
    };
    let far = reach + 5.0 * sweep.steer_m;
    (middle, far * far)
}

/// When the ground that held `share` of the mass at the alarm has been passed over once.
///
/// # Inputs
/// - `sweeps`: in the order of their ends · `places`: the particles of the region · `enough`: share of them that counts as covered
///
/// # Gives
/// \[s since the alarm\]; `None` if these sweeps never do.
///
/// # Source
/// counted here
pub fn covered_at(sweeps: &[Sweep], places: &[(Spot, f64)], enough: f64) -> Option<f64> {
    let near: Vec<(Spot, f64)> = sweeps.iter().map(surround).collect();
    let total: f64 = places.iter().map(|place| place.1).sum();
    let mut left: Vec<(Spot, f64)> = places.to_vec();
    let mut done = 0.0;
    for (sweep, (middle, far)) in sweeps.iter().zip(near) {
        left.retain(|&(spot, mass)| {
            let apart = spot - middle;
            // A place counts as passed over where the strip is more likely than not to have held it.
            let met = apart.dot(apart) <= far && sweep.cover(spot) >= 0.5;
            done += if met { mass } else { 0.0 };
            !met
        });
        if total > 0.0 && done >= enough * total {
            return Some(sweep.to_s);
        }
    }
    None
}
