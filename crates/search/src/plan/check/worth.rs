//! What a plan is worth on the raw particles, by the checker's own reading.

use super::super::{Plan, Request};
use crate::{Detection, Method, Passes, Stretch, Sweep, survival::survival_weight};
use measure::{Spot, parameters::value};
use water::{Bed, Cover};

/// Value and chances by time from the particles themselves: each leg finds, at its end, who rests in it by then,
/// and strays by itself.
pub(super) fn worth(plan: &Plan, request: &Request) -> (f64, Vec<(f64, f64)>) {
    let cloud = &request.belief.cloud;
    let ground = request.setting.ground;
    let mut sweeps: Vec<&Sweep> = plan.runs.iter().flat_map(|r| &r.legs).map(|leg| &leg.sweep).collect();
    sweeps.retain(|s| s.to_s > request.now_s);
    sweeps.sort_by(|a, b| a.to_s.total_cmp(&b.to_s));
    let hidden = [Bed::Sand, Bed::Mud, Bed::Weed, Bed::Rock].map(Bed::hidden_share);
    let weights = weight_rows(request);
    let tiles = Tiles::new(&sweeps);
    let tables: Vec<[Table; 2]> = sweeps.iter().map(|s| [s.firm, s.rough].map(Table::new)).collect();
    let mut found = vec![0.0; sweeps.len()];
    let mut total = 0.0;
    for k in 0..cloud.len() {
        let (spot, mass) = (Spot::new(cloud.east[k], cloud.north[k]), cloud.mass[k]);
        if mass.is_nan() || mass <= 0.0 || !spot.is_finite() {
            continue;
        }
        let near = tiles.at(spot);
        if near.is_empty() {
            continue;
        }
        let under = ground.grid.cell(spot).is_some_and(|c| ground.cover[c] == Cover::Under);
        let h = hidden[cloud.bed[k] as usize];
        // Posterior hidden share after the passes made so far, then what each sweep of the plan adds.
        let mut passes = [Passes::after(0.0); 5];
        let mut past = 1.0;
        for method in Method::ALL {
            let done = cloud.passes[method.index()].get(k).map_or(0.0, |&p| f64::from(p));
            passes[method.index()] = Passes::after(done);
            if let Some(sweep) = sweeps.iter().find(|s| s.method == method).filter(|_| method.by_contact()) {
                past *= sweep.detection(cloud.bed[k]).miss(done);
            }
        }
        let hidden_now = h / (h + (1.0 - h) * past);
        let (mut touch, mut seen) = (1.0, 1.0);
        for &j in near {
            let sweep = sweeps[j];
            if f64::from(cloud.rest_s[k]) > sweep.to_s || (sweep.method == Method::Pole && !under) {
                continue;
            }
            let cover = sweep.cover(spot);
            if cover <= 0.0 {
                continue;
            }
            let rough = matches!(cloud.bed[k], Bed::Weed | Bed::Rock);
            let kept = tables[j][usize::from(rough)].kept(&mut passes[sweep.method.index()], cover);
            let before = (hidden_now + (1.0 - hidden_now) * touch) * seen;
            if sweep.method.by_contact() {
                touch *= kept
            } else {
                seen *= kept
            }
            let after = (hidden_now + (1.0 - hidden_now) * touch) * seen;
            let gain = mass * (before - after);
            found[j] += gain;
            total += gain * weights[weight_row(f64::from(cloud.rest_s[k]), sweep.to_s)];
        }
    }
    let by = plan.found_by.iter().map(|&(after_s, _)| {
        let until_s = request.now_s + after_s;
        (after_s, sweeps.iter().zip(&found).filter(|(s, _)| s.to_s <= until_s).map(|(_, f)| f).sum())
    });
    (total, by.collect())
}

/// Chances that whole numbers of passes all miss, worked out once for a sweep.
struct Table([f64; Table::MOST + 1]);

impl Table {
    /// More passes than these find nobody whom these did not.
    const MOST: usize = 60;

    fn new(detection: Detection) -> Self {
        Table(std::array::from_fn(|n| detection.miss(n as f64)))
    }

    /// Adds a strip; gives the chance that it too misses whom all before have missed.
    fn kept(&self, passes: &mut Passes, cover: f64) -> f64 {
        let before = passes.miss(|n| self.miss(n));
        passes.add(cover);
        if before > 0.0 { passes.miss(|n| self.miss(n)) / before } else { 1.0 }
    }

    fn miss(&self, passes: f64) -> f64 {
        let passes = passes.clamp(0.0, Table::MOST as f64 - 1.0);
        let whole = passes as usize;
        self.0[whole] + (self.0[whole + 1] - self.0[whole]) * (passes - whole as f64)
    }
}

/// Which sweeps may cover a place at all, by square tiles of the water.
struct Tiles {
    corner: Spot,
    side_m: f64,
    cols: usize,
    /// Sweeps of each tile, in the order they end.
    near: Vec<Vec<usize>>,
}

impl Tiles {
    /// Side of a tile \[m\], where the strips lie within a few hundred metres.
    const SIDE_M: f64 = 6.0;
    /// Most tiles along one side.
    const MOST: f64 = 100.0;

    fn new(sweeps: &[&Sweep]) -> Self {
        let around: Vec<(Spot, f64)> = sweeps.iter().map(|s| surround(s)).collect();
        let (mut low, mut high) =
            (Spot::new(f64::INFINITY, f64::INFINITY), Spot::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
        for (middle, far_m) in around.iter().filter(|(middle, far_m)| middle.is_finite() && far_m.is_finite())
        {
            low = Spot::new(low.east.min(middle.east - far_m), low.north.min(middle.north - far_m));
            high = Spot::new(high.east.max(middle.east + far_m), high.north.max(middle.north + far_m));
        }
        let extent = high - low;
        let side_m = (extent.east.max(extent.north) / Self::MOST).max(Self::SIDE_M);
        let count = |metres: f64| (metres / side_m).ceil().clamp(0.0, Self::MOST + 1.0) as usize;
        let (cols, rows) = (count(extent.east), count(extent.north));
        let mut tiles = Tiles { corner: low, side_m, cols, near: vec![Vec::new(); cols * rows] };
        for (j, sweep) in sweeps.iter().enumerate() {
            for tile in 0..tiles.near.len() {
                let middle = low + Spot::new((tile % cols) as f64 + 0.5, (tile / cols) as f64 + 0.5) * side_m;
                // Half a diagonal away from the middle lie the corners.
                if may_cover(sweep, around[j], middle, 0.75 * side_m) {
                    tiles.near[tile].push(j);
                }
            }
        }
        tiles
    }

    fn at(&self, spot: Spot) -> &[usize] {
        let off = (spot - self.corner) * (1.0 / self.side_m);
        if !(off.east >= 0.0 && off.north >= 0.0) || off.east as usize >= self.cols {
            return &[];
        }
        self.near.get(off.north as usize * self.cols + off.east as usize).map_or(&[], Vec::as_slice)
    }
}

/// Whether a sweep may cover anything within `reach_m` of a place.
fn may_cover(sweep: &Sweep, around: (Spot, f64), spot: Spot, reach_m: f64) -> bool {
    let (middle, far_m) = around;
    if spot.distance(middle) > far_m + reach_m {
        return false;
    }
    let Stretch::Strip { from, to, width_m } = sweep.stretch else { return true };
    let Some(along) = (to - from).unit() else { return true };
    let stray_m = 5.0 * sweep.steer_m + reach_m;
    let off = spot - middle;
    off.dot(along).abs() <= 0.5 * from.distance(to) + stray_m
        && along.cross(off).abs() <= 0.5 * width_m + stray_m
}

/// Middle of a sweep and the distance past which it covers nothing worth counting.
fn surround(sweep: &Sweep) -> (Spot, f64) {
    let (middle, reach) = match sweep.stretch {
        Stretch::Strip { from, to, width_m } => (from.lerp(to, 0.5), 0.5 * (from.distance(to) + width_m)),
        Stretch::Disc { centre, radius_m } => (centre, radius_m),
    };
    (middle, reach + 5.0 * sweep.steer_m)
}

/// Rows of the weight by time under water, ten seconds apart, up to an hour.
fn weight_row(rest_s: f64, found_s: f64) -> usize {
    ((((found_s - rest_s) / 10.0).max(0.0)) as usize).min(360)
}

fn weight_rows(request: &Request) -> Vec<f64> {
    let ashore_s = value("ashore_s");
    let water_c = request.setting.day.water_c;
    (0..=360).map(|k| survival_weight((f64::from(k) * 10.0 + 5.0 + ashore_s) / 60.0, water_c)).collect()
}
