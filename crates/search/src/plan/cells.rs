//! The belief on cells: mass, hidden share and earlier passes of every cell that holds any.

use crate::{Detection, Method, belief::Cloud, lines::Chances};
use measure::Spot;
use std::ops::Range;
use water::{Bed, Grid, Ground};

/// Half the side of the window of lanes \[m\]: more than lines of people can cover in the time of a plan, so nothing that
/// could be ordered is lost, and a water of kilometres costs no more than a lake.
const WINDOW_HALF_M: f64 = 400.0;
/// Side of the tiles by which the window is placed \[m\].
const TILE_M: f64 = 200.0;

/// No cell.
pub(super) const NONE: u32 = u32::MAX;

/// Cells that hold mass, in the order of the grid; or blocks of them, see [`Cells::coarser`].
#[derive(Clone, Debug)]
pub(super) struct Cells {
    /// The grid.
    pub grid: Grid,
    /// Grid index of each active cell.
    pub index: Vec<u32>,
    /// Cells of the grid before the first of the rows that hold mass.
    before: usize,
    /// Active cell of each grid cell from there on, or [`NONE`]; so many for each as [`Cells::kinds`] says.
    slots: Vec<u32>,
    /// Active cells that one cell of the grid may hold: one; two where each has one kind of bottom.
    pub kinds: usize,
    /// Where each lies: its middle, or the middle of a block's mass.
    pub spots: Vec<Spot>,
    /// Mass now.
    pub mass: Vec<f64>,
    /// Share of that mass hidden from contact, given what was searched.
    pub hidden: Vec<f64>,
    /// Weed or rock.
    pub rough: Vec<bool>,
    /// Mean passes so far, by method.
    pub passes: Vec<[f64; 5]>,
    /// Mass of all cells.
    pub total: f64,
    /// Middle of the window in which lanes are laid where the mass reaches wider than a search does.
    window: Option<Spot>,
}

impl Cells {
    /// Puts the particles that rest within two minutes from now on the cells of the bottom.
    pub fn new(cloud: &Cloud, ground: &Ground, chances: &[Chances; 5], now_s: f64) -> Self {
        let grid = ground.grid;
        let mut mass = vec![0.0; grid.len()];
        let mut passes =
            vec![[0.0; 5]; if cloud.passes.iter().any(|p| !p.is_empty()) { grid.len() } else { 0 }];
        let (mut first, mut last) = (usize::MAX, 0);
        for k in 0..cloud.len() {
            let m = cloud.mass[k];
            if !(m > 0.0 && m.is_finite()) || f64::from(cloud.rest_s[k]) > now_s + 120.0 {
                continue;
            }
            let Some(cell) = grid.cell(Spot::new(cloud.east[k], cloud.north[k])) else { continue };
            mass[cell] += m;
            (first, last) = (first.min(cell), last.max(cell));
            for (method, row) in cloud.passes.iter().enumerate() {
                if let Some(&count) = row.get(k) {
                    passes[cell][method] += m * f64::from(count);
                }
            }
        }
        // Whole rows: a grid may hold a million cells, and mass lies in few of them.
        let cols = grid.cols.max(1);
        let held = if first > last { 0..0 } else { first / cols * cols..(last / cols + 1) * cols };
        Self::gather((grid, held), (&mass, &passes), &ground.bed, chances)
    }

    pub(super) fn gather(
        (grid, held): (Grid, Range<usize>),
        (mass, passes): (&[f64], &[[f64; 5]]),
        bed: &[Bed],
        chances: &[Chances; 5],
    ) -> Self {
        let mut cells = Cells {
            grid,
            index: Vec::new(),
            before: held.start,
            slots: vec![NONE; held.len()],
            kinds: 1,
            spots: Vec::new(),
            mass: Vec::new(),
            hidden: Vec::new(),
            rough: Vec::new(),
            passes: Vec::new(),
            total: 0.0,
            window: None,
        };
        let least = least_kept(&mass[held.clone()]);
        let hidden = [Bed::Sand, Bed::Mud, Bed::Weed, Bed::Rock].map(Bed::hidden_share);
        for cell in held {
            if mass[cell] <= least {
                continue;
            }
            let done = passes.get(cell).map_or([0.0; 5], |p| p.map(|sum| sum / mass[cell]));
            let rough = matches!(bed[cell], Bed::Weed | Bed::Rock);
            let h = hidden[bed[cell] as usize];
            let missed: f64 = Method::ALL
                .iter()
                .filter(|m| m.by_contact())
                .map(|m| on_bed(&chances[m.index()], rough).miss(done[m.index()]))
                .product();
            cells.slots[cell - cells.before] = cells.index.len() as u32;
            cells.index.push(cell as u32);
            cells.spots.push(grid.centre(cell));
            cells.mass.push(mass[cell]);
            cells.hidden.push(h / (h + (1.0 - h) * missed));
            cells.rough.push(rough);
            cells.passes.push(done);
            cells.total += mass[cell];
        }
        cells.open_window();
        cells
    }

    /// Whether lanes are laid over an active cell: within the window, where there is one.
    pub fn in_window(&self, cell: usize) -> bool {
        self.window.is_none_or(|middle| {
            let off = self.grid.centre(self.index[cell] as usize) - middle;
            off.east.abs().max(off.north.abs()) <= WINDOW_HALF_M
        })
    }

    /// Puts the window over the tile that holds most, if the mass reaches wider than the window.
    fn open_window(&mut self) {
        let spots = || self.index.iter().map(|&cell| self.grid.centre(cell as usize));
        let Some(first) = spots().next() else { return };
        let (low, high) = spots().fold((first, first), |(low, high), spot| {
            (
                Spot::new(low.east.min(spot.east), low.north.min(spot.north)),
                Spot::new(high.east.max(spot.east), high.north.max(spot.north)),
            )
        });
        let extent = high - low;
        if extent.east.max(extent.north) <= 2.0 * WINDOW_HALF_M {
            return;
        }
        let tile = |spot: Spot| {
            let off = (spot - low) * (1.0 / TILE_M);
            ((off.north as usize), (off.east as usize))
        };
        let cols = tile(high).1 + 1;
        let mut held = vec![0.0; cols * (tile(high).0 + 1)];
        for (spot, mass) in spots().zip(&self.mass) {
            let (row, col) = tile(spot);
            held[row * cols + col] += mass;
        }
        let most = (1..held.len()).fold(0, |best, k| if held[k] > held[best] { k } else { best });
        let middle = Spot::new((most % cols) as f64 + 0.5, (most / cols) as f64 + 0.5);
        self.window = Some(low + middle * TILE_M);
    }

    /// Active cell of a grid cell, or [`NONE`].
    #[inline]
    pub fn slot(&self, cell: usize) -> u32 {
        self.slots.get(cell.wrapping_sub(self.before)).copied().unwrap_or(NONE)
    }

    /// Active cells of a row of the grid, so many for each cell as it may hold; nothing where the row holds no mass.
    #[inline]
    pub fn row(&self, row: usize) -> &[u32] {
        let from = (row * self.grid.cols).wrapping_sub(self.before);
        let (from, past) =
            (from.wrapping_mul(self.kinds), from.wrapping_add(self.grid.cols).wrapping_mul(self.kinds));
        self.slots.get(from..past).unwrap_or(&[])
    }

    /// Squares of `side` cells, each in at most two blocks of one kind of bottom; and the block of each cell.
    pub fn coarser(&self, side: usize) -> (Cells, Vec<u32>) {
        let cols = self.grid.cols.max(1);
        let grid = Grid {
            cell_m: self.grid.cell_m * side as f64,
            cols: self.grid.cols.div_ceil(side),
            rows: self.grid.rows.div_ceil(side),
            ..self.grid
        };
        let place = |cell: u32| (cell as usize / cols / side, cell as usize % cols / side);
        let ends = [self.index.first(), self.index.last()].map(|cell| cell.map_or(0, |&cell| place(cell).0));
        let mut all = Cells {
            grid,
            index: Vec::new(),
            before: ends[0] * grid.cols,
            slots: vec![NONE; 2 * (ends[1] + 1 - ends[0]) * grid.cols],
            kinds: 2,
            spots: Vec::new(),
            mass: Vec::new(),
            hidden: Vec::new(),
            rough: Vec::new(),
            passes: Vec::new(),
            total: self.total,
            window: self.window,
        };
        let mut block_of = Vec::with_capacity(self.len());
        for (k, &cell) in self.index.iter().enumerate() {
            let (row, col) = place(cell);
            let square = row * grid.cols + col;
            let slot = &mut all.slots[2 * (square - all.before) + usize::from(self.rough[k])];
            if *slot == NONE {
                *slot = all.index.len() as u32;
                all.index.push(square as u32);
                all.spots.push(Spot::default());
                all.rough.push(self.rough[k]);
                all.mass.push(0.0);
                all.hidden.push(0.0);
                all.passes.push([0.0; 5]);
            }
            let (block, mass) = (*slot as usize, self.mass[k]);
            all.mass[block] += mass;
            all.hidden[block] += mass * self.hidden[k];
            all.spots[block] = all.spots[block] + self.spots[k] * mass;
            for (sum, passes) in all.passes[block].iter_mut().zip(self.passes[k]) {
                *sum += mass * passes;
            }
            block_of.push(block as u32);
        }
        for block in 0..all.len() {
            let share = 1.0 / all.mass[block];
            all.hidden[block] *= share;
            all.spots[block] = all.spots[block] * share;
            all.passes[block] = all.passes[block].map(|sum| sum * share);
        }
        (all, block_of)
    }

    /// Rows of the grid within so many metres of the mass or of a place.
    pub fn rows_about(&self, spot: Spot, metres: f64) -> Range<usize> {
        let cols = self.grid.cols.max(1);
        let ends = [self.index.first(), self.index.last()].into_iter().flatten().map(|&cell| cell as usize);
        let all = || ends.clone().chain(self.grid.cell(spot)).map(|cell| cell / cols);
        let reach = (metres / self.grid.cell_m).ceil() as usize;
        match (all().min(), all().max()) {
            (Some(low), Some(high)) => low.saturating_sub(reach)..(high + reach + 1).min(self.grid.rows),
            _ => 0..0,
        }
    }

    /// Number of active cells.
    pub fn len(&self) -> usize {
        self.index.len()
    }
}

/// Mass of a cell up to which cells are left out of planning: together half a percent of all.
fn least_kept(mass: &[f64]) -> f64 {
    let mut sorted: Vec<f64> = mass.iter().copied().filter(|m| *m > 0.0).collect();
    sorted.sort_unstable_by(f64::total_cmp);
    let total: f64 = sorted.iter().sum();
    let mut left = 0.005 * total;
    let mut least = 0.0;
    for m in sorted {
        left -= m;
        if left < 0.0 {
            break;
        }
        least = m;
    }
    // Cells of equal mass stay together: all of them are kept.
    least * (1.0 - 1e-12)
}

/// Chance on one of the two kinds of bottom.
pub(super) fn on_bed(chances: &Chances, rough: bool) -> Detection {
    if rough { chances.rough } else { chances.firm }
}

/// What strays as one over a cell, each strip by itself: a run whose legs follow one another, so that parts of a cell add up; but of
/// dives, which overlap, every one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Stray(u16);

impl Stray {
    /// Nobody's.
    pub const NONE: Stray = Stray(0);
    /// Number of the first run of a draft; below it are runs under way, from one, and who searches alone, zero.
    pub const DRAFT: usize = 1000;

    /// The strip of a leg of a run.
    pub fn of(run: usize, leg: usize, method: Method) -> Self {
        // Only neighbours overlap.
        let number = 2 * run + if method == Method::Dive { leg % 2 } else { 0 };
        Stray((number * Method::ALL.len() + method.index() + 1) as u16)
    }

    /// Method of the run; of nobody's the first.
    pub fn method(self) -> Method {
        Method::ALL[usize::from(self.0.saturating_sub(1)) % Method::ALL.len()]
    }
}

/// Chance that passes miss, tabulated: `beta_miss` at whole passes, linear between.
#[derive(Clone, Debug)]
pub(super) struct MissTable {
    miss: Vec<f64>,
}

impl MissTable {
    /// Whole passes tabulated; beyond them a further pass is worth nothing.
    const MOST: usize = 24;

    /// The table of one detection.
    pub fn new(detection: Detection) -> Self {
        MissTable { miss: (0..=Self::MOST).map(|k| detection.miss(k as f64)).collect() }
    }

    /// Miss after `k` passes, k ≥ 0.
    #[inline]
    pub fn at(&self, k: f64) -> f64 {
        let whole = (k as usize).min(Self::MOST - 1);
        self.miss[whole] + (self.miss[whole + 1] - self.miss[whole]) * (k - whole as f64).min(1.0)
    }

    /// Miss after `k` passes and then a strip that covers `part` of the place.
    #[inline]
    pub fn and_strip(&self, k: f64, part: f64) -> f64 {
        let (met, more) = (self.at(k), self.at(k + 1.0));
        met + (more - met) * part.min(1.0)
    }

    /// Passes after which so much is missed, at least `from`: [`MissTable::at`] the other way round.
    pub fn passes(&self, miss: f64, from: f64) -> f64 {
        let mut whole = (from as usize).min(Self::MOST - 1);
        while whole < Self::MOST - 1 && self.miss[whole + 1] > miss {
            whole += 1;
        }
        let (met, more) = (self.miss[whole], self.miss[whole + 1]);
        let part = if met > more { ((met - miss) / (met - more)).clamp(0.0, 1.0) } else { 0.0 };
        (whole as f64 + part).max(from)
    }

    /// What one whole further pass takes away from the miss at `k`, as a share of that miss.
    #[inline]
    pub fn slope(&self, k: f64) -> f64 {
        let miss = self.at(k);
        // Whoever a pass finds for certain is not missed a second time: nothing is left to take.
        if miss > 0.0 { 1.0 - self.at(k + 1.0) / miss } else { 0.0 }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_pass_that_finds_for_certain_leaves_nothing_to_a_second() {
        let sure = MissTable::new(Detection { a: 4.0, b: 0.0 });
        assert_eq!(
            (sure.slope(0.0), sure.slope(0.5), sure.slope(1.0), sure.slope(7.3)),
            (1.0, 1.0, 0.0, 0.0)
        );
        let never = MissTable::new(Detection { a: 0.0, b: 4.0 });
        assert_eq!((never.slope(0.0), never.slope(3.0)), (0.0, 0.0));
        for (k, part) in [(0.0, 0.4), (1.3, 0.7), (2.0, 1.0)] {
            let table = MissTable::new(Detection::undrilled(0.7));
            let (one, none) = (table.at(k + 1.0), table.at(k));
            assert!((table.and_strip(k, part) - (part * one + (1.0 - part) * none)).abs() < 1e-15);
        }
    }
}
