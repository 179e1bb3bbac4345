//! Walks along lanes and cuts them into legs where a line may go.

use super::{
    footing::to_segment,
    lanes::{self, CatLeg, Catalogue, Lane},
    problem::{Advances, DIVE_BY_M, Problem},
};
use crate::{
    Method,
    lines::{DiveStep, wade_line_mps},
};
use measure::{Spot, parameters::value};
use std::sync::Arc;
use water::{Kind, Shape};

/// Length of a leg that is not a dive \[m\].
const LEG_M: f64 = 5.0;
/// Shortest leg \[m\].
const LEG_LEAST_M: f64 = 2.0;

/// Straight pieces of the site's ropes.
fn ropes(problem: &Problem) -> Vec<(Spot, Spot)> {
    let lines = problem.setting().site.of_kind(Kind::Rope).filter_map(|rope| match &rope.shape {
        Shape::Line(places) => Some(places),
        _ => None,
    });
    lines.flat_map(|places| places.windows(2).map(|pair| (pair[0], pair[1]))).collect()
}

/// Walks along lanes and cuts them into legs.
pub(super) struct Walker<'a> {
    problem: &'a Problem<'a>,
    shape: lanes::Shape,
    step_m: f64,
    still: bool,
    steps: Advances,
    /// Pace of a wading line by its deepest place: (up to so deep \[m\], pace \[m/s\]).
    wading: [(f64, f64); 4],
    look_mps: f64,
    /// Ropes that guide a lane, piece by piece.
    ropes: Vec<(Spot, Spot)>,
}

/// What a line meets at one step along a lane.
#[derive(Clone, Copy, Default)]
struct Sample {
    /// Whether everybody may stand there, shore to the left; shore to the right.
    fits: [bool; 2],
    deepest_m: f32,
    /// Left edge shallower than the right one by so much.
    tilt_m: f32,
    ways: (bool, bool),
}

impl<'a> Walker<'a> {
    pub fn new(problem: &'a Problem<'a>, shape: &lanes::Shape) -> Self {
        let steps = match shape.method {
            Method::Dive => problem.dive_steps(shape.limits_m.len(), shape.fins),
            _ => Arc::new([]),
        };
        Walker {
            problem,
            shape: shape.clone(),
            step_m: problem.cells.grid.cell_m.min(1.0),
            still: problem.footing.still(),
            steps,
            wading: [0.3, 0.6, 0.9, f64::INFINITY].map(|depth_m| (depth_m, wade_line_mps(depth_m))),
            look_mps: value("look_mps"),
            ropes: ropes(problem),
        }
    }

    /// Whether a rope runs along a stretch of a lane, within a metre of its strip.
    fn roped(&self, ends: (Spot, Spot), along: Spot) -> bool {
        let near_m = 0.5 * self.shape.width_m() + 1.0;
        self.ropes.iter().any(|&(a, b)| {
            (b - a).unit().is_some_and(|step| step.cross(along).abs() < 0.2)
                && [ends.0, ends.1].iter().all(|&end| to_segment(end, a, b) <= near_m)
        })
    }

    pub fn cannot_advance(&self) -> bool {
        let least = (self.problem.rules.dive_least_m / DIVE_BY_M) as usize;
        self.shape.method == Method::Dive && self.steps.get(least).is_none_or(Option::is_none)
    }

    /// Dive at a depth; depths between two entries count as the deeper one.
    fn dive(&self, depth_m: f32) -> Option<DiveStep> {
        self.steps.get((f64::from(depth_m) / DIVE_BY_M).ceil() as usize).copied().flatten()
    }

    /// Whether the line's method may work over a cell, for somebody.
    pub fn open(&self, cell: usize) -> bool {
        let most = self.shape.limits_m.iter().copied().fold(0.0, f64::max);
        let (depth, _) = self.meets(cell);
        f64::from(depth) <= most
    }

    /// Worst depth of a cell, infinite where the line's method may not work, and whether it holds water.
    #[inline]
    fn meets(&self, cell: usize) -> (f32, bool) {
        let footing = &self.problem.footing;
        match self.shape.method {
            Method::Wade => {
                let depth = footing.wade_m(cell);
                (depth, depth > 0.0)
            }
            Method::Look => (footing.dive_m(cell), true),
            _ => {
                let deep = f64::from(footing.shallow_m(cell)) >= self.problem.rules.dive_least_m;
                (if deep { footing.dive_m(cell) } else { f32::INFINITY }, true)
            }
        }
    }

    fn sample(&self, spot: Spot, along: Spot, across: Spot) -> Sample {
        let n = self.shape.limits_m.len();
        let mut sample = Sample { fits: [true; 2], ways: (true, true), ..Sample::default() };
        let (mut wet, mut edges) = (0, [0.0_f32; 2]);
        for place in 0..n {
            // Place 0 is the left edge.
            let v = (0.5 * (n - 1) as f64 - place as f64) * self.shape.spacing_m;
            let Some(cell) = self.problem.cells.grid.cell(spot + across * v) else {
                return Sample::default();
            };
            let (depth, water) = self.meets(cell);
            let left = f64::from(depth) <= self.shape.limits_m[place];
            let right = f64::from(depth) <= self.shape.limits_m[n - 1 - place];
            sample.fits = [sample.fits[0] && left, sample.fits[1] && right];
            if !sample.fits[0] && !sample.fits[1] {
                return Sample::default();
            }
            sample.deepest_m = sample.deepest_m.max(depth);
            wet += usize::from(water);
            if place == 0 {
                edges[0] = depth;
            }
            if place + 1 == n {
                edges[1] = depth;
            }
            if !self.still {
                let ways = self.problem.footing.ways(cell, along);
                sample.ways = (sample.ways.0 && ways.0, sample.ways.1 && ways.1);
            }
        }
        sample.tilt_m = edges[1] - edges[0];
        if 2 * wet < n || sample.ways == (false, false) {
            return Sample::default();
        }
        sample
    }

    /// Cuts the lane from `origin` along `along` for `length_m` into lanes of legs.
    pub fn walk(&self, origin: Spot, along: Spot, length_m: f64, into: &mut Catalogue) {
        let across = along.left();
        let count = (length_m / self.step_m).ceil() as usize + 1;
        let samples: Vec<Sample> = (0..count)
            .map(|k| self.sample(origin + along * (k as f64 * self.step_m), along, across))
            .collect();
        let window = (LEG_M / self.step_m).ceil() as usize;
        let mut at = 0;
        while at < count {
            if samples[at].fits == [false; 2] {
                at += 1;
                continue;
            }
            let tilt: f32 = samples[at..count.min(at + window)].iter().map(|s| s.tilt_m).sum();
            let likely = usize::from(tilt < 0.0);
            let side = if samples[at].fits[likely] { likely } else { 1 - likely };
            let mut ways = (true, true);
            let mut past = at;
            while past < count && samples[past].fits[side] {
                let next = (ways.0 && samples[past].ways.0, ways.1 && samples[past].ways.1);
                if next == (false, false) {
                    break;
                }
                ways = next;
                past += 1;
            }
            let lane = Lane {
                origin,
                along,
                first: 0,
                past: 0,
                forth: ways.0,
                back: ways.1,
                shore_left: side == 0,
                family: 0,
            };
            self.cut(&samples, at, past, &lane, into);
            at = past.max(at + 1);
        }
    }

    /// Cuts the stretch of steps `at..past` into legs.
    fn cut(&self, samples: &[Sample], at: usize, past: usize, lane: &Lane, into: &mut Catalogue) {
        let end_m = (past - 1) as f64 * self.step_m;
        let mut from_m = at as f64 * self.step_m;
        let deepest = |from_m: f64, to_m: f64| {
            let (a, b) = ((from_m / self.step_m) as usize, (to_m / self.step_m).ceil() as usize);
            samples[a..=b.min(past - 1)].iter().map(|s| s.deepest_m).fold(0.0, f32::max)
        };
        let mut first = into.legs.len();
        let close = |first: &mut usize, into: &mut Catalogue| {
            if into.legs.len() > *first {
                into.lanes.push(Lane { first: *first, past: into.legs.len(), ..lane.clone() });
            }
            *first = into.legs.len();
        };
        while end_m - from_m >= LEG_LEAST_M {
            let mut to_m = (from_m + LEG_M).min(end_m);
            let mut depth_m = deepest(from_m, to_m);
            let mut next_m = to_m;
            let seconds = if self.shape.method == Method::Dive {
                let ahead_m = (from_m + 2.0 * LEG_M).min(end_m);
                let Some(step) = self.dive(deepest(from_m, ahead_m)) else {
                    close(&mut first, into);
                    from_m += self.step_m;
                    continue;
                };
                to_m = (from_m + step.cycle.bottom_m).min(end_m);
                depth_m = deepest(from_m, to_m);
                next_m = if to_m < end_m { from_m + step.advance_m } else { end_m };
                step.cycle.under_s
            } else if self.shape.method == Method::Look {
                (to_m - from_m) / self.look_mps
            } else {
                let band = self.wading.iter().position(|&(most_m, _)| f64::from(depth_m) <= most_m);
                (to_m - from_m) / self.wading[band.unwrap_or(3)].1
            };
            if to_m - from_m < LEG_LEAST_M.min(0.5 * LEG_M) {
                break;
            }
            let ends = (lane.origin + lane.along * from_m, lane.origin + lane.along * to_m);
            let roped = self.roped(ends, lane.along);
            into.legs.push(CatLeg { from_m, to_m, depth_m: f64::from(depth_m.max(0.0)), seconds, roped });
            from_m = next_m;
        }
        close(&mut first, into);
    }
}
