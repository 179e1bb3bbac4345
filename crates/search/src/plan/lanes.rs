//! Lanes: what one line could search, in two directions at several offsets, cut where it may not go (models L6).

use super::{
    cells::{Cells, NONE},
    cover::Edge,
    problem::Problem,
};
use crate::{
    Method,
    lines::{DiveStep, dive_steps, look_half_width, wade_line_mps},
};
use measure::{Spot, parameters::value};

/// Length of a leg that is not a dive \[m\].
const LEG_M: f64 = 5.0;
/// Shortest leg \[m\].
const LEG_LEAST_M: f64 = 2.0;
/// Offsets of each family of lanes.
const OFFSETS: usize = 8;
/// Step of the table of dives \[m of depth\].
const BY_M: f64 = 0.05;
/// Covered shares below this are dropped.
const SHARE_LEAST: f64 = 1e-3;

/// What makes two lines alike for lanes: method and the limit of each place in the line, shore side first.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shape {
    pub method: Method,
    pub limits_m: Vec<f64>,
    pub spacing_m: f64,
}

impl Shape {
    /// Width swept by one pass \[m\].
    pub fn width_m(&self) -> f64 {
        self.spacing_m * self.limits_m.len() as f64
    }
}

/// A lane.
#[derive(Clone, Debug)]
pub(super) struct Lane {
    /// A place on its middle line; legs are measured from here.
    pub origin: Spot,
    /// Unit step along it.
    pub along: Spot,
    /// First leg.
    pub first: usize,
    /// One past the last leg.
    pub past: usize,
    /// Whether it may be gone along `along`.
    pub forth: bool,
    /// Whether it may be gone the other way.
    pub back: bool,
    /// Whether the shore lies to the left of `along`.
    pub shore_left: bool,
}

/// A leg of a lane.
#[derive(Clone, Copy, Debug)]
pub(super) struct CatLeg {
    pub from_m: f64,
    pub to_m: f64,
    /// Deepest water \[m\].
    pub depth_m: f64,
    /// Seconds of searching.
    pub seconds: f64,
}

/// All lanes of one shape of line, with what each leg covers.
#[derive(Clone, Debug)]
pub(super) struct Catalogue {
    pub shape: Shape,
    pub lanes: Vec<Lane>,
    pub legs: Vec<CatLeg>,
    /// Leg → cells: start of each leg's part of `cover`.
    pub starts: Vec<u32>,
    /// (active cell, share of it).
    pub cover: Vec<(u32, f32)>,
    /// Cell → legs.
    pub cell_starts: Vec<u32>,
    /// (leg, share).
    pub by_cell: Vec<(u32, f32)>,
    /// Whether a dive line found no depth at which it can advance.
    pub cannot_advance: bool,
}

impl Catalogue {
    /// Lays out every lane of a shape.
    pub fn new(problem: &Problem, shape: Shape) -> Self {
        let mut all = Catalogue {
            shape,
            lanes: Vec::new(),
            legs: Vec::new(),
            starts: vec![0],
            cover: Vec::new(),
            cell_starts: Vec::new(),
            by_cell: Vec::new(),
            cannot_advance: false,
        };
        let walker = Walker::new(problem, &all.shape);
        all.cannot_advance = walker.cannot_advance();
        if let Some((middle, along, half)) = probable(problem, &walker) {
            for axis in [along, along.left()] {
                all.family(problem, &walker, Family { middle, axis, half });
            }
        }
        all.turn_over(problem.cells.len());
        all
    }

    fn family(&mut self, problem: &Problem, walker: &Walker, family: Family) {
        let width = self.shape.width_m();
        let across = family.axis.left();
        let reach = family.half.length() + width;
        for offset in 0..OFFSETS {
            let shift = width * offset as f64 / OFFSETS as f64;
            let count = (2.0 * reach / width).ceil() as usize;
            for k in 0..=count {
                let v = -reach + shift + k as f64 * width;
                let origin = family.middle + across * v - family.axis * reach;
                walker.walk(origin, family.axis, 2.0 * reach, self);
                self.rasterise(problem);
            }
        }
    }

    /// Finds what the legs that have no cover yet cover; lanes that cover nothing are dropped.
    fn rasterise(&mut self, problem: &Problem) {
        let done = self.starts.len() - 1;
        let mut k = self.lanes.partition_point(|lane| lane.past <= done);
        let mut rows: Vec<(u32, u32, f32)> = Vec::new();
        while k < self.lanes.len() {
            let (first, past) = (self.lanes[k].first, self.lanes[k].past);
            rows.clear();
            strip_cells(
                &problem.cells,
                &self.lanes[k],
                &self.legs[first..past],
                self.shape.width_m(),
                &mut rows,
            );
            if rows.is_empty() {
                self.drop_lane(k, past - first);
                continue;
            }
            rows.sort_unstable_by_key(|row| (row.0, row.1));
            let mut at = 0;
            for leg in 0..(past - first) as u32 {
                while at < rows.len() && rows[at].0 == leg {
                    self.cover.push((rows[at].1, rows[at].2));
                    at += 1;
                }
                self.starts.push(self.cover.len() as u32);
            }
            k += 1;
        }
    }

    fn drop_lane(&mut self, k: usize, legs: usize) {
        let lane = self.lanes.remove(k);
        self.legs.drain(lane.first..lane.past);
        for later in &mut self.lanes[k..] {
            later.first -= legs;
            later.past -= legs;
        }
    }

    fn turn_over(&mut self, cells: usize) {
        let mut starts = vec![0_u32; cells + 1];
        for &(cell, _) in &self.cover {
            starts[cell as usize + 1] += 1;
        }
        for k in 0..cells {
            starts[k + 1] += starts[k];
        }
        let mut next = starts.clone();
        let mut by_cell = vec![(0, 0.0); self.cover.len()];
        for leg in 0..self.legs.len() {
            for &(cell, share) in self.cells_of(leg) {
                by_cell[next[cell as usize] as usize] = (leg as u32, share);
                next[cell as usize] += 1;
            }
        }
        self.cell_starts = starts;
        self.by_cell = by_cell;
    }

    /// What a leg covers.
    #[inline]
    pub fn cells_of(&self, leg: usize) -> &[(u32, f32)] {
        &self.cover[self.starts[leg] as usize..self.starts[leg + 1] as usize]
    }

    /// Which legs cover a cell.
    #[inline]
    pub fn legs_of(&self, cell: usize) -> &[(u32, f32)] {
        &self.by_cell[self.cell_starts[cell] as usize..self.cell_starts[cell + 1] as usize]
    }
}

struct Family {
    middle: Spot,
    axis: Spot,
    half: Spot,
}

/// Middle of the mass a shape may reach, the direction of the depth contour there, and half its extent.
fn probable(problem: &Problem, walker: &Walker) -> Option<(Spot, Spot, Spot)> {
    let cells = &problem.cells;
    let grid = cells.grid;
    let (mut low, mut high) =
        (Spot::new(f64::INFINITY, f64::INFINITY), Spot::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    // Tensors of the depth gradient and of the mass itself, for a flat bottom.
    let (mut slope, mut spread, mut sum, mut total) = ([0.0; 3], [0.0; 3], Spot::default(), 0.0);
    let least = 1e-5 * cells.total;
    let depth = |cell: usize| problem.setting().ground.depth_m[cell];
    let mut kept = Vec::new();
    for k in 0..cells.len() {
        let cell = cells.index[k] as usize;
        if cells.mass[k] < least || !walker.open(cell) {
            continue;
        }
        let spot = grid.centre(cell);
        low = Spot::new(low.east.min(spot.east), low.north.min(spot.north));
        high = Spot::new(high.east.max(spot.east), high.north.max(spot.north));
        let (col, row) = (cell % grid.cols, cell / grid.cols);
        if col > 0 && row > 0 && col + 1 < grid.cols && row + 1 < grid.rows {
            let g = Spot::new(
                depth(cell + 1) - depth(cell - 1),
                depth(cell + grid.cols) - depth(cell - grid.cols),
            );
            if g.is_finite() {
                add_tensor(&mut slope, g, cells.mass[k]);
            }
        }
        sum = sum + spot * cells.mass[k];
        total += cells.mass[k];
        kept.push((spot, cells.mass[k]));
    }
    if kept.is_empty() {
        return None;
    }
    let mean = sum * (1.0 / total);
    for (spot, mass) in kept {
        add_tensor(&mut spread, spot - mean, mass);
    }
    // The contour runs across the gradient; the line of most spread stands in where the bottom is flat.
    let along = main_axis(slope).map(Spot::left).or_else(|| main_axis(spread)).unwrap_or(Spot::new(1.0, 0.0));
    Some(((low + high) * 0.5, along, (high - low) * 0.5))
}

fn add_tensor(tensor: &mut [f64; 3], step: Spot, mass: f64) {
    tensor[0] += mass * step.east * step.east;
    tensor[1] += mass * step.east * step.north;
    tensor[2] += mass * step.north * step.north;
}

/// Axis of largest spread; `None` if there is none to tell.
fn main_axis([ee, en, nn]: [f64; 3]) -> Option<Spot> {
    let gap = (0.25 * (ee - nn) * (ee - nn) + en * en).sqrt();
    (gap > 1e-3 * (ee + nn) && gap > 0.0).then(|| {
        let angle = 0.5 * libm::atan2(2.0 * en, ee - nn);
        Spot::new(libm::cos(angle), libm::sin(angle))
    })
}

/// Cells under a lane: (leg within the lane, active cell, share).
fn strip_cells(cells: &Cells, lane: &Lane, legs: &[CatLeg], width_m: f64, rows: &mut Vec<(u32, u32, f32)>) {
    let grid = cells.grid;
    let (along, across) = (lane.along, lane.along.left());
    let edge = Edge::new(grid.cell_m, along.east, along.north);
    let half = 0.5 * width_m;
    let (start, end) = (legs[0].from_m, legs[legs.len() - 1].to_m);
    let corners = [(start, -half), (start, half), (end, -half), (end, half)]
        .map(|(u, v)| lane.origin + along * u + across * v);
    let north = corners.map(|c| c.north);
    let bounds = |low: f64, high: f64, most: usize| {
        (low.floor().max(0.0) as usize, (high.ceil().max(0.0) as usize).min(most))
    };
    let pad = edge.reach();
    let scale = 1.0 / grid.cell_m;
    let (row0, row1) = bounds(
        (north.iter().copied().fold(f64::INFINITY, f64::min) - pad - grid.corner.north) * scale,
        (north.iter().copied().fold(f64::NEG_INFINITY, f64::max) + pad - grid.corner.north) * scale,
        grid.rows,
    );
    for row in row0..row1 {
        let y = grid.corner.north + (row as f64 + 0.5) * grid.cell_m - lane.origin.north;
        // East of the cells whose middle lies in the padded strip: two linear conditions.
        let mut span = (f64::NEG_INFINITY, f64::INFINITY);
        clip(&mut span, along.east, along.north * y, start - pad, end + pad);
        clip(&mut span, across.east, across.north * y, -half - pad, half + pad);
        let base = lane.origin.east - grid.corner.east;
        let (col0, col1) = bounds((span.0 + base) * scale - 0.5, (span.1 + base) * scale + 0.5, grid.cols);
        for col in col0..col1 {
            let slot = cells.slot[row * grid.cols + col];
            if slot == NONE {
                continue;
            }
            let x = grid.corner.east + (col as f64 + 0.5) * grid.cell_m - lane.origin.east;
            let (u, v) = (along.east * x + along.north * y, across.east * x + across.north * y);
            let aside = edge.between(-half - v, half - v);
            if aside < SHARE_LEAST {
                continue;
            }
            let first = legs.partition_point(|leg| leg.to_m < u - pad);
            for (k, leg) in legs.iter().enumerate().skip(first) {
                if leg.from_m > u + pad {
                    break;
                }
                let share = aside * edge.between(leg.from_m - u, leg.to_m - u);
                if share >= SHARE_LEAST {
                    rows.push((k as u32, slot, share as f32));
                }
            }
        }
    }
}

/// Narrows `span` to the x with low ≤ a x + b ≤ high.
fn clip(span: &mut (f64, f64), a: f64, b: f64, low: f64, high: f64) {
    if a.abs() < 1e-9 {
        if b < low || b > high {
            *span = (1.0, 0.0);
        }
        return;
    }
    let (p, q) = ((low - b) / a, (high - b) / a);
    span.0 = span.0.max(p.min(q));
    span.1 = span.1.min(p.max(q));
}

/// Walks along lanes and cuts them into legs.
struct Walker<'a> {
    problem: &'a Problem<'a>,
    shape: Shape,
    step_m: f64,
    steps: Vec<Option<DiveStep>>,
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
    fn new(problem: &'a Problem<'a>, shape: &Shape) -> Self {
        let steps = match (shape.method, problem.rules.dive_s) {
            (Method::Dive, Some(dive_s)) => {
                dive_steps(shape.limits_m.len(), dive_s, &problem.rules.pace, 0..241, BY_M)
            }
            _ => Vec::new(),
        };
        Walker { problem, shape: shape.clone(), step_m: problem.cells.grid.cell_m.min(1.0), steps }
    }

    fn cannot_advance(&self) -> bool {
        let least = (self.problem.rules.dive_least_m / BY_M) as usize;
        self.shape.method == Method::Dive && self.steps.get(least).is_none_or(Option::is_none)
    }

    /// Dive at a depth; depths between two entries count as the deeper one.
    fn dive(&self, depth_m: f32) -> Option<DiveStep> {
        self.steps.get((f64::from(depth_m) / BY_M).ceil() as usize).copied().flatten()
    }

    /// Whether the line's method may work over a cell, for somebody.
    fn open(&self, cell: usize) -> bool {
        let most = self.shape.limits_m.iter().copied().fold(0.0, f64::max);
        self.may(cell, most).0
    }

    /// Whether somebody with this limit may be over a cell, its worst depth, and whether it holds water.
    #[inline]
    fn may(&self, cell: usize, limit_m: f64) -> (bool, f32, bool) {
        let footing = &self.problem.footing;
        match self.shape.method {
            Method::Wade => {
                let depth = footing.wade_m[cell];
                (f64::from(depth) <= limit_m, depth, depth > 0.0)
            }
            Method::Look => {
                let depth = footing.dive_m[cell];
                (f64::from(depth) <= limit_m, depth, true)
            }
            _ => {
                let depth = footing.dive_m[cell];
                let deep = f64::from(footing.shallow_m[cell]) >= self.problem.rules.dive_least_m;
                (deep && f64::from(depth) <= limit_m, depth, true)
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
            let (left, depth, water) = self.may(cell, self.shape.limits_m[place]);
            let (right, ..) = self.may(cell, self.shape.limits_m[n - 1 - place]);
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
    fn walk(&self, origin: Spot, along: Spot, length_m: f64, into: &mut Catalogue) {
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
            let lane =
                Lane { origin, along, first: 0, past: 0, forth: ways.0, back: ways.1, shore_left: side == 0 };
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
                (to_m - from_m) / value("look_mps")
            } else {
                (to_m - from_m) / wade_line_mps(f64::from(depth_m))
            };
            if to_m - from_m < LEG_LEAST_M.min(0.5 * LEG_M) {
                break;
            }
            into.legs.push(CatLeg { from_m, to_m, depth_m: f64::from(depth_m.max(0.0)), seconds });
            from_m = next_m;
        }
        close(&mut first, into);
    }
}

/// Width and depth reachable for one looker at today's clarity: (half width \[m\], depth \[m\]); `None` if nothing is seen.
pub(super) fn look_shape(secchi_m: f64) -> Option<(f64, f64)> {
    // Planned at the depth at which half of the widest view is left.
    let widest = look_half_width(secchi_m, 0.0);
    let depth_m = widest * 0.75_f64.sqrt();
    let half_m = look_half_width(secchi_m, depth_m);
    (half_m >= 0.75 && depth_m >= 0.5).then_some((half_m, depth_m))
}
