//! What a plan is worth on the raw particles, by the checker's own reading.

use super::super::{Plan, Request};
use crate::{Detection, Method, Stretch, Sweep, survival::survival_weight};
use measure::{Spot, parameters::value};
use water::{Bed, Cover};

/// Value and chances by time from the particles themselves: each leg finds, at its end, who rests in it by then.
pub(super) fn worth(plan: &Plan, request: &Request) -> (f64, Vec<(f64, f64)>) {
    let cloud = &request.belief.cloud;
    let ground = request.setting.ground;
    let mut sweeps: Vec<&Sweep> = plan.runs.iter().flat_map(|r| &r.legs).map(|leg| &leg.sweep).collect();
    sweeps.retain(|s| s.to_s > request.now_s);
    sweeps.sort_by(|a, b| a.to_s.total_cmp(&b.to_s));
    let hidden = [Bed::Sand, Bed::Mud, Bed::Weed, Bed::Rock].map(Bed::hidden_share);
    let weights = weight_rows(request);
    let tiles = Tiles::new(&sweeps);
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
        let mut passes = [Passes::default(); 5];
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
            let kept = passes[sweep.method.index()].missed_by(cover, sweep.detection(cloud.bed[k]));
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

/// How many passes of one method have been over a place.
///
/// Every strip strays by itself, so two that each cover a place with chance one half may both meet it, or neither: more
/// often missed than by one pass for certain.
#[derive(Clone, Copy, Debug, Default)]
struct Passes {
    /// Before the plan.
    done: f64,
    /// Chance that so many of the plan's strips have met the place; none counted means that none was planned over it.
    chance: [f64; Passes::MOST + 1],
    /// Most that can have.
    most: usize,
}

impl Passes {
    /// More than that count as that many: hardly anybody who can be found is still missed.
    const MOST: usize = 12;

    fn after(done: f64) -> Self {
        let mut passes = Passes { done, ..Passes::default() };
        passes.chance[0] = 1.0;
        passes
    }

    /// Adds a strip that meets the place with chance `cover`; gives the chance that it misses too who was missed so far.
    fn missed_by(&mut self, cover: f64, detection: Detection) -> f64 {
        let before = self.miss(detection);
        if self.most < Passes::MOST {
            self.most += 1;
        }
        for n in (0..=self.most).rev() {
            let (held, come) = (self.chance[n], if n == 0 { 0.0 } else { self.chance[n - 1] });
            let leaves = if n == Passes::MOST { 0.0 } else { cover };
            self.chance[n] = held * (1.0 - leaves) + come * cover;
        }
        if before > 0.0 { self.miss(detection) / before } else { 1.0 }
    }

    fn miss(&self, detection: Detection) -> f64 {
        let chances = self.chance[..=self.most].iter().zip(0_u32..);
        chances
            .filter(|(chance, _)| **chance > 0.0)
            .map(|(chance, n)| chance * detection.miss(self.done + f64::from(n)))
            .sum()
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strips_that_stray_each_by_itself_miss_more_than_their_sum() {
        let detection = Detection::undrilled(0.7);
        let covers = [0.5, 0.5, 0.3, 1.0, 0.8];
        for done in [0.0, 1.0, 2.4] {
            let mut passes = Passes::after(done);
            let mut missed = 1.0;
            for count in 1..=covers.len() {
                missed *= passes.missed_by(covers[count - 1], detection);
                // Every way in which the strips may have met the place.
                let all: f64 = (0..1_u32 << count)
                    .map(|met| {
                        let chance = |k: usize| if met >> k & 1 == 1 { covers[k] } else { 1.0 - covers[k] };
                        (0..count).map(chance).product::<f64>()
                            * detection.miss(done + f64::from(met.count_ones()))
                    })
                    .sum();
                assert!((missed * detection.miss(done) - all).abs() < 1e-12, "{count} after {done}");
                let summed = detection.miss(done + covers[..count].iter().sum::<f64>());
                assert!(count == 1 || all > summed, "{all} against {summed}");
            }
        }
        // A half and a half over each other.
        let mut passes = Passes::after(0.0);
        let half = passes.missed_by(0.5, detection) * passes.missed_by(0.5, detection);
        assert!((half - 0.433).abs() < 0.001, "{half}");
    }

    #[test]
    fn very_many_strips_never_raise_a_chance() {
        let mut passes = Passes::after(0.0);
        for _ in 0..40 {
            let kept = passes.missed_by(0.9, Detection::undrilled(0.9));
            assert!((0.0..=1.0 + 1e-12).contains(&kept), "{kept}");
        }
        let mut none = Passes::after(0.0);
        assert_eq!(none.missed_by(1.0, Detection { a: 0.0, b: 1.0 }), 1.0);
    }
}
