//! Lanes: what one line could search, in two directions at several offsets, cut where it may not go (models L6).

use super::{
    cells::{Cells, NONE},
    cover::{Blur, Edge, steer_m},
    draft::Placed,
    fill::LEAST_GAIN,
    problem::Problem,
    walk::Walker,
};
use crate::{Method, lines::look_half_width};
use measure::Spot;
use std::sync::OnceLock;

/// Offsets of each family of lanes in the plan that is given: more gain nothing.
pub(super) const FINE: usize = 8;
/// Offsets enough to tell which split of the people is worth more.
pub(super) const COARSE: usize = 2;
/// Offsets closer than this are one lane to those who walk it \[m\]: half of what an unmarked lane is off.
const OFFSET_LEAST_M: f64 = 1.25;
/// Offsets of lines so narrow that even these are closer.
const NARROW: usize = 3;
/// Covered shares below this are dropped: the outermost rim of a strip, some thousandths of what it covers.
const SHARE_LEAST: f64 = 0.02;

/// What makes two lines alike for lanes: method and the limit of each place in the line, shore side first.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Shape {
    pub method: Method,
    pub limits_m: Vec<f64>,
    pub spacing_m: f64,
    /// Whether all of them wear fins.
    pub fins: bool,
}

impl Shape {
    /// Width swept by one pass \[m\].
    pub fn width_m(&self) -> f64 {
        self.spacing_m * self.limits_m.len() as f64
    }

    /// Offsets of a family: `most`, but none closer than steering can tell apart.
    fn offsets(&self, most: usize) -> usize {
        // The outermost lane that waders can stand in holds most, and its place is a matter of decimetres.
        let finer = if self.method == Method::Wade { 2 } else { 1 };
        let told_apart = (self.width_m() / OFFSET_LEAST_M).ceil() as usize;
        finer * most.min(told_apart.max(NARROW))
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
    /// Which family it is of.
    pub family: usize,
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
    /// Whether a rope guides it.
    pub roped: bool,
}

/// All lanes of one shape of line, with what each leg covers.
#[derive(Clone, Debug)]
pub(super) struct Catalogue {
    pub shape: Shape,
    pub lanes: Vec<Lane>,
    pub legs: Vec<CatLeg>,
    /// Leg → blocks: start of each leg's part of `cover`.
    starts: Vec<u32>,
    /// (block, share of it).
    cover: Vec<(u32, f32)>,
    /// Block → legs.
    block_starts: Vec<u32>,
    /// (leg, share).
    by_block: Vec<(u32, f32)>,
    /// What a cell is of a strip, by family, made when first asked for.
    sharp: [OnceLock<Strip>; 2],
    /// Whether a dive line found no depth at which it can advance.
    pub cannot_advance: bool,
}

impl Catalogue {
    /// Lays out the lanes of a shape at so many offsets.
    pub fn new(problem: &Problem, shape: Shape, offsets: usize) -> Self {
        let mut all = Catalogue {
            shape,
            lanes: Vec::new(),
            legs: Vec::new(),
            starts: vec![0],
            cover: Vec::new(),
            block_starts: Vec::new(),
            by_block: Vec::new(),
            sharp: Default::default(),
            cannot_advance: false,
        };
        let walker = Walker::new(problem, &all.shape);
        all.cannot_advance = walker.cannot_advance();
        let offsets = all.shape.offsets(offsets);
        if let Some(probable) = probable(problem, &walker) {
            for (family, axis) in [probable.along, probable.along.left()].into_iter().enumerate() {
                let first = all.lanes.len();
                let bands = Bands::new(problem, &probable, axis);
                all.family(problem, &walker, Family { middle: probable.middle, axis, bands, offsets });
                all.lanes[first..].iter_mut().for_each(|lane| lane.family = family);
            }
        }
        all.turn_over(problem.blocks.all.len());
        all
    }

    fn family(&mut self, problem: &Problem, walker: &Walker, family: Family) {
        let width = self.shape.width_m();
        let strip = Strip::new(&problem.blocks.all, family.axis, width);
        let across = family.axis.left();
        let (from_v, to_v) = family.bands.across();
        let least = LEAST_GAIN * problem.cells.total;
        let mut rows = Vec::new();
        for offset in 0..family.offsets {
            let shift = width * offset as f64 / family.offsets as f64;
            // Whole widths from the middle, so that a family lies alike however far the mass reaches.
            let first = ((from_v - shift) / width).floor() as i64;
            let last = ((to_v - shift) / width).ceil() as i64;
            for k in first..=last {
                let v = shift + k as f64 * width;
                let Some((from_u, to_u)) = family.bands.reach(v, 0.5 * width, least) else { continue };
                let origin = family.middle + across * v + family.axis * from_u;
                walker.walk(origin, family.axis, to_u - from_u, self);
                self.rasterise(problem, &strip, &mut rows);
            }
        }
    }

    /// Finds what the legs that have no cover yet cover; lanes that cover nothing are dropped.
    fn rasterise(&mut self, problem: &Problem, strip: &Strip, rows: &mut Vec<(u32, u32, f32)>) {
        let done = self.starts.len() - 1;
        let mut k = self.lanes.partition_point(|lane| lane.past <= done);
        while k < self.lanes.len() {
            let (first, past) = (self.lanes[k].first, self.lanes[k].past);
            rows.clear();
            strip.over(&problem.blocks.all, &self.lanes[k], &self.legs[first..past], rows);
            if rows.is_empty() {
                self.drop_lane(k, past - first);
                continue;
            }
            self.take_in(rows, past - first);
            k += 1;
        }
    }

    /// Takes in the blocks of a lane's legs: rows come in the order of blocks, and are dealt out by leg.
    fn take_in(&mut self, rows: &[(u32, u32, f32)], legs: usize) {
        let begin = self.cover.len();
        let mut next = vec![0_usize; legs + 1];
        for row in rows {
            next[row.0 as usize + 1] += 1;
        }
        for leg in 0..legs {
            next[leg + 1] += next[leg];
            self.starts.push((begin + next[leg + 1]) as u32);
        }
        self.cover.resize(begin + rows.len(), (0, 0.0));
        for &(leg, block, share) in rows {
            self.cover[begin + next[leg as usize]] = (block, share);
            next[leg as usize] += 1;
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

    fn turn_over(&mut self, blocks: usize) {
        let mut starts = vec![0_u32; blocks + 1];
        for &(block, _) in &self.cover {
            starts[block as usize + 1] += 1;
        }
        for k in 0..blocks {
            starts[k + 1] += starts[k];
        }
        let mut next = starts.clone();
        let mut by_block = vec![(0, 0.0); self.cover.len()];
        for leg in 0..self.legs.len() {
            for &(block, share) in self.blocks_of(leg) {
                by_block[next[block as usize] as usize] = (leg as u32, share);
                next[block as usize] += 1;
            }
        }
        self.block_starts = starts;
        self.by_block = by_block;
    }

    /// The cells under each leg of a run, from its lowest leg to its highest.
    pub fn cells_under(&self, problem: &Problem, run: &Placed) -> Vec<Vec<(u32, f32)>> {
        let lane = &self.lanes[run.lane];
        let make = || Strip::new(&problem.cells, lane.along, self.shape.width_m());
        let (low, high) = (run.legs.0.min(run.legs.1), run.legs.0.max(run.legs.1));
        let mut rows = Vec::new();
        self.sharp[lane.family].get_or_init(make).over(
            &problem.cells,
            lane,
            &self.legs[low..=high],
            &mut rows,
        );
        let mut legs = vec![Vec::new(); high + 1 - low];
        for (leg, cell, share) in rows {
            legs[leg as usize].push((cell, share));
        }
        legs
    }

    /// What a leg covers.
    #[inline]
    pub fn blocks_of(&self, leg: usize) -> &[(u32, f32)] {
        &self.cover[self.starts[leg] as usize..self.starts[leg + 1] as usize]
    }

    /// Which legs cover a block.
    #[inline]
    pub fn legs_of(&self, block: usize) -> &[(u32, f32)] {
        &self.by_block[self.block_starts[block] as usize..self.block_starts[block + 1] as usize]
    }
}

struct Family {
    middle: Spot,
    axis: Spot,
    bands: Bands,
    offsets: usize,
}

/// Where the mass that a shape may reach lies across a family of lanes: in bands a cell wide.
struct Bands {
    /// Across the lanes where the first band begins, from the middle \[m\].
    from_v: f64,
    step_m: f64,
    /// Mass of all bands before each.
    sums: Vec<f64>,
    /// Reach of each band's mass along the lanes \[m\].
    spans: Vec<(f64, f64)>,
}

impl Bands {
    fn new(problem: &Problem, probable: &Probable, axis: Spot) -> Self {
        let (across, step_m) = (axis.left(), problem.cells.grid.cell_m);
        let place = |spot: Spot| ((spot - probable.middle).dot(across), (spot - probable.middle).dot(axis));
        let spots = || probable.kept.iter().map(|&(spot, mass)| (place(spot), mass));
        let (low, high) = spots()
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), ((v, _), _)| (low.min(v), high.max(v)));
        let count = ((high - low) / step_m) as usize + 1;
        let mut bands = Bands {
            from_v: low,
            step_m,
            sums: vec![0.0; count + 1],
            spans: vec![(f64::INFINITY, f64::NEG_INFINITY); count],
        };
        for ((v, u), mass) in spots() {
            let band = (((v - low) / step_m) as usize).min(count - 1);
            bands.sums[band + 1] += mass;
            let span = &mut bands.spans[band];
            *span = (span.0.min(u), span.1.max(u));
        }
        for band in 0..count {
            bands.sums[band + 1] += bands.sums[band];
        }
        bands
    }

    /// First and last place across the lanes that holds mass \[m\].
    fn across(&self) -> (f64, f64) {
        (self.from_v, self.from_v + self.step_m * self.spans.len() as f64)
    }

    /// From where to where a lane about `v` meets mass \[m\]; `None` where it holds less than an order is worth.
    fn reach(&self, v: f64, half_m: f64, least: f64) -> Option<(f64, f64)> {
        // A cell's middle may lie up to its half diagonal outside a strip that touches it.
        let pad = 0.75 * self.step_m;
        let place = |v: f64| (((v - self.from_v) / self.step_m).max(0.0) as usize).min(self.spans.len());
        let (a, b) = (place(v - half_m - pad), place(v + half_m + pad + self.step_m));
        if a >= b || self.sums[b] - self.sums[a] < least {
            return None;
        }
        let (low, high) =
            self.spans[a..b].iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), span| {
                (low.min(span.0), high.max(span.1))
            });
        (low <= high).then_some((low - self.step_m, high + self.step_m))
    }
}

/// Where the mass lies that a shape may reach.
struct Probable {
    middle: Spot,
    /// Direction of the depth contour there.
    along: Spot,
    /// Cells with their mass.
    kept: Vec<(Spot, f64)>,
}

/// Middle of the mass a shape may reach, and the direction of the depth contour there.
fn probable(problem: &Problem, walker: &Walker) -> Option<Probable> {
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
        if cells.mass[k] < least || !cells.in_window(k) || !walker.open(cell) {
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
    for &(spot, mass) in &kept {
        add_tensor(&mut spread, spot - mean, mass);
    }
    // The contour runs across the gradient; the line of most spread stands in where the bottom is flat.
    let along = main_axis(slope).map(Spot::left).or_else(|| main_axis(spread)).unwrap_or(Spot::new(1.0, 0.0));
    Some(Probable { middle: (low + high) * 0.5, along, kept })
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

/// What a cell or a block is of a strip of one width that runs one way.
#[derive(Clone, Debug)]
struct Strip {
    /// A cell seen along the strip.
    edge: Edge,
    /// Shares across it, without a rope and with one.
    blurs: [Blur; 2],
}

impl Strip {
    fn new(cells: &Cells, along: Spot, width_m: f64) -> Self {
        let edge = Edge::new(cells.grid.cell_m, along.east, along.north);
        Strip { edge, blurs: [false, true].map(|roped| Blur::new(edge, 0.5 * width_m, steer_m(roped))) }
    }

    /// Cells under a lane: (leg within the lane, active cell, share), steering errors included.
    fn over(&self, cells: &Cells, lane: &Lane, legs: &[CatLeg], rows: &mut Vec<(u32, u32, f32)>) {
        let (grid, kinds) = (cells.grid, cells.kinds);
        let (along, across) = (lane.along, lane.along.left());
        let asides = Asides::new(&self.blurs, legs);
        // The middle of a block's mass may lie off the middle of the block.
        let slack = if kinds > 1 { 0.5 * grid.cell_m } else { 0.0 };
        let (pad, wide) = (self.edge.reach() + slack, asides.main.reach() + slack);
        let (start, end) = (legs[0].from_m, legs[legs.len() - 1].to_m);
        let corners =
            [(start, -wide), (start, wide), (end, -wide), (end, wide)].map(|(u, v)| along * u + across * v);
        let north = corners.map(|c| lane.origin.north + c.north - grid.corner.north);
        let bounds = |low: f64, high: f64, most: usize| {
            (low.floor().max(0.0) as usize, (high.ceil().max(0.0) as usize).min(most))
        };
        let scale = 1.0 / grid.cell_m;
        let mut at = 0;
        let (row0, row1) = bounds(
            (north.iter().copied().fold(f64::INFINITY, f64::min) - pad) * scale,
            (north.iter().copied().fold(f64::NEG_INFINITY, f64::max) + pad) * scale,
            grid.rows,
        );
        for row in row0..row1 {
            let slots = cells.row(row);
            if slots.is_empty() {
                continue;
            }
            let y = grid.corner.north + (row as f64 + 0.5) * grid.cell_m - lane.origin.north;
            // East of the cells whose middle lies in the padded strip: two linear conditions.
            let mut span = (f64::NEG_INFINITY, f64::INFINITY);
            clip(&mut span, along.east, along.north * y, start - pad, end + pad);
            clip(&mut span, across.east, across.north * y, -wide, wide);
            let base = lane.origin.east - grid.corner.east;
            let (col0, col1) =
                bounds((span.0 + base) * scale - 0.5, (span.1 + base) * scale + 0.5, grid.cols);
            for &slot in slots.get(kinds * col0..kinds * col1).unwrap_or(&[]) {
                if slot == NONE {
                    continue;
                }
                let off = cells.spots[slot as usize] - lane.origin;
                let shares = asides.of(off.dot(across));
                if shares[0].max(shares[1]) >= SHARE_LEAST {
                    self.deal(legs, (slot, off.dot(along), shares), &mut at, rows);
                }
            }
        }
    }

    /// Deals a cell out to the legs over it; `at` is the first leg that may reach it, as it was for the cell before.
    #[inline]
    fn deal(
        &self,
        legs: &[CatLeg],
        (slot, u, asides): (u32, f64, [f64; 2]),
        at: &mut usize,
        rows: &mut Vec<(u32, u32, f32)>,
    ) {
        let pad = self.edge.reach();
        while *at + 1 < legs.len() && legs[*at].to_m < u - pad {
            *at += 1;
        }
        while *at > 0 && legs[*at - 1].to_m >= u - pad {
            *at -= 1;
        }
        for (k, leg) in legs.iter().enumerate().skip(*at) {
            if leg.from_m > u + pad {
                break;
            }
            let aside = asides[usize::from(leg.roped)];
            let within = u - pad >= leg.from_m && u + pad <= leg.to_m;
            let share = if within { aside } else { aside * self.edge.between(leg.from_m - u, leg.to_m - u) };
            if share >= SHARE_LEAST {
                rows.push((k as u32, slot, share as f32));
            }
        }
    }
}

/// Shares across the legs of a lane: one table where all are roped or none is.
struct Asides<'a> {
    /// The wider one of those that count.
    main: &'a Blur,
    /// That of roped legs, where legs differ.
    other: Option<&'a Blur>,
}

impl<'a> Asides<'a> {
    fn new(blurs: &'a [Blur; 2], legs: &[CatLeg]) -> Self {
        let (all, any) = (legs.iter().all(|leg| leg.roped), legs.iter().any(|leg| leg.roped));
        Asides { main: &blurs[usize::from(all)], other: (all != any).then_some(&blurs[1]) }
    }

    /// Without a rope and with one, so far aside.
    #[inline]
    fn of(&self, v: f64) -> [f64; 2] {
        let aside = self.main.share(v);
        [aside, self.other.map_or(aside, |blur| blur.share(v))]
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

/// Width and depth reachable for one looker at today's clarity: (half width \[m\], depth \[m\]); `None` if nothing is seen.
pub(super) fn look_shape(secchi_m: f64) -> Option<(f64, f64)> {
    // Planned at the depth at which half of the widest view is left.
    let widest = look_half_width(secchi_m, 0.0);
    let depth_m = widest * 0.75_f64.sqrt();
    let half_m = look_half_width(secchi_m, depth_m);
    (half_m >= 0.75 && depth_m >= 0.5).then_some((half_m, depth_m))
}
