//! Places brought into the order of their cells, four to a line of memory.
//!
//! A first walk keys and counts the places of each cell, a second writes each where it belongs. A place is packed small
//! for that: its weight, where in its cell it lies, and which place of the input it was. A cell's open line is one line of
//! memory, and the next one is asked for ahead of its use, so the writes hardly ever wait.

use measure::fastmath;
use std::ops::Range;
use water::Grid;

/// Places of one group: all that is known of them fills a line of memory of 64 bytes, and their weights a vector.
pub const GROUP: usize = 4;

/// A cell's side is cut into this many steps; places are known within their cell to one step.
pub const STEPS: f64 = 65_536.0;

/// Turned over, these bits make steps from the middle of a cell of those from its corner, and the other way round.
const MIDDLES: u32 = 0x8000_8000;

/// Places keyed at a time: a vector loop over what the first-level cache holds.
const BLOCK: usize = 512;

/// Four places that follow one another in the order.
#[derive(Clone, Copy, Debug, Default)]
#[repr(align(64))]
pub struct Group {
    /// Steps east (lower half) and north (upper half) of the middle of the cell, each with its sign.
    pub(super) steps: [u32; GROUP],
    /// Number in the input.
    from: [u32; GROUP],
    /// Weights.
    pub weight: [f64; GROUP],
}

impl Group {
    /// Steps east and north in its cell, each 0 to 65,535.
    #[inline(always)]
    pub fn steps(&self, slot: usize) -> [usize; 2] {
        let steps = self.steps[slot] ^ MIDDLES;
        [(steps & 0xFFFF) as usize, (steps >> 16) as usize]
    }

    /// Steps east and north of the middle of its cell.
    #[inline(always)]
    pub(super) fn off_middle(&self, slot: usize) -> [i16; 2] {
        [self.steps[slot] as i16, (self.steps[slot] >> 16) as i16]
    }

    /// Which place of the input this one was.
    #[inline(always)]
    pub fn from(&self, slot: usize) -> usize {
        self.from[slot] as usize
    }
}

/// Places in the order of their cells.
///
/// Kept between sorts it keeps its memory, so that a large sort need not ask for it again.
#[derive(Clone, Debug, Default)]
pub struct Sorted {
    groups: Vec<Group>,
    count: usize,
    /// Cell and steps of each place of the input, worked out once for both walks.
    keys: Vec<u64>,
}

impl Sorted {
    /// Groups that hold these places; the first and the last may hold others as well.
    #[inline(always)]
    pub fn groups(&self, of: &Range<usize>) -> &[Group] {
        &self.groups[of.start / GROUP..of.end.div_ceil(GROUP)]
    }

    /// The same, to change weights.
    #[inline(always)]
    pub fn groups_mut(&mut self, of: &Range<usize>) -> &mut [Group] {
        &mut self.groups[of.start / GROUP..of.end.div_ceil(GROUP)]
    }

    /// Which place of the input this one was.
    #[inline(always)]
    pub fn from(&self, place: usize) -> usize {
        self.groups[place / GROUP].from(place % GROUP)
    }

    /// Weight of a place.
    #[inline(always)]
    pub fn weight(&self, place: usize) -> f64 {
        self.groups[place / GROUP].weight[place % GROUP]
    }

    /// Changes the weight of a place.
    #[inline(always)]
    pub fn set_weight(&mut self, place: usize, weight: f64) {
        self.groups[place / GROUP].weight[place % GROUP] = weight;
    }

    /// All weights, in the order.
    pub fn weights(&self) -> impl Iterator<Item = f64> {
        self.groups.iter().flat_map(|group| group.weight).take(self.count)
    }

    /// Sum of the weights of neighbouring places, in four parts that a vector adds at once.
    #[inline(always)]
    pub fn sum(&self, of: Range<usize>) -> f64 {
        let (head, tail) = (of.start.next_multiple_of(GROUP).min(of.end), of.end / GROUP * GROUP);
        let mut sums = [0.0; GROUP];
        for group in self.groups.get(head / GROUP..tail / GROUP).unwrap_or_default() {
            for k in 0..GROUP {
                sums[k] += group.weight[k];
            }
        }
        let ends = (of.start..head).chain(tail.max(head)..of.end);
        sums.iter().sum::<f64>() + ends.map(|place| self.weight(place)).sum::<f64>()
    }

    /// Asks for the lines of memory of places that come next, so that they are there when their turn comes.
    #[inline(always)]
    pub fn ask_for(&self, of: Range<usize>) {
        (of.start / GROUP..of.end.div_ceil(GROUP)).for_each(|line| soon::<false>(&self.groups, line));
    }

    /// The places without the room that only a next sort would use.
    pub(super) fn settled(mut self) -> Self {
        self.keys = Vec::new();
        self
    }

    /// Values of the input brought into the order.
    ///
    /// # Panics
    /// If there are not as many values as places were sorted.
    pub fn arranged<T: Copy>(&self, values: &[T]) -> Vec<T> {
        assert_eq!(values.len(), self.count, "one value a place");
        (0..self.count).map(|place| values[self.from(place)]).collect()
    }

    /// Sorts places (east, north, weight) by cell, keeping the order within a cell.
    ///
    /// # Gives
    /// First place of each cell and of the outside (cell `grid.len()`), then the end.
    ///
    /// # Source
    /// counting sort (textbook)
    pub(super) fn fill(&mut self, grid: &Grid, places: [&[f64]; 3]) -> Vec<u32> {
        let [east, north, weight] = places;
        assert!(east.len() == north.len() && east.len() == weight.len(), "east, north and weight in step");
        assert!(east.len() < u32::MAX as usize && grid.len() < i32::MAX as usize, "counts fit 32 bits");
        // Entry c + 1 counts cell c, then tells where its next place goes, and in the end where the cell ends.
        let mut first = vec![0_u32; grid.len() + 2];
        let next = &mut first[1..];
        self.keys.resize(east.len(), 0);
        fastmath::wide(
            #[inline(always)]
            || count(grid, [east, north], &mut self.keys, next),
        );
        let mut sum = 0;
        for count in next.iter_mut() {
            sum += std::mem::replace(count, sum);
        }
        self.count = east.len();
        self.groups.resize(east.len().div_ceil(GROUP), Group::default());
        if let Some(last) = self.groups.last_mut() {
            *last = Group::default();
        }
        place(&self.keys, weight, next, &mut self.groups);
        first
    }
}

/// First walk: keys of all places, and how many each cell holds.
#[inline(always)]
fn count(grid: &Grid, [east, north]: [&[f64]; 2], keys: &mut [u64], counts: &mut [u32]) {
    let per_step = STEPS / grid.cell_m;
    // A side that is a power of two has an exact inverse; any other is divided by, to agree with `Grid::cell`.
    let exact = grid.cell_m.to_bits() << 12 == 0;
    for ((east, north), keys) in east.chunks(BLOCK).zip(north.chunks(BLOCK)).zip(keys.chunks_mut(BLOCK)) {
        if exact {
            key(grid, [east, north], keys, |metres| metres * per_step);
        } else {
            key(grid, [east, north], keys, |metres| metres / grid.cell_m * STEPS);
        }
        keys.iter().for_each(|&key| counts[(key >> 32) as usize] += 1);
    }
}

/// Second walk: each place into the next free slot of its cell.
fn place(keys: &[u64], weights: &[f64], next: &mut [u32], groups: &mut [Group]) {
    for (from, (&key, &weight)) in (0_u32..).zip(keys.iter().zip(weights)) {
        let at = &mut next[(key >> 32) as usize];
        let (line, slot) = (*at as usize / GROUP, *at as usize % GROUP);
        *at += 1;
        soon::<true>(groups, line + 1);
        let group = &mut groups[line];
        (group.steps[slot], group.from[slot], group.weight[slot]) = (key as u32, from, weight);
    }
}

/// Asks for a line of memory that will soon be read, or written at once, so that nobody need wait for it.
#[inline(always)]
fn soon<const WRITTEN: bool>(groups: &[Group], line: usize) {
    #[cfg(target_arch = "x86_64")]
    // SAFETY: asking for memory reads and writes nothing and cannot fault, wherever the address points.
    unsafe {
        use std::arch::x86_64::{_MM_HINT_ET0, _MM_HINT_T1, _mm_prefetch};
        let at = groups.as_ptr().wrapping_add(line).cast();
        if WRITTEN { _mm_prefetch::<_MM_HINT_ET0>(at) } else { _mm_prefetch::<_MM_HINT_T1>(at) }
    }
    #[cfg(not(target_arch = "x86_64"))]
    let _ = (groups, line);
}

/// Key of every place of a block: its cell (`grid.len()` is outside) over its steps north and east of the middle.
#[inline(always)]
fn key(grid: &Grid, [east, north]: [&[f64]; 2], keys: &mut [u64], in_steps: impl Fn(f64) -> f64) {
    let (cols, rows) = (grid.cols as f64 * STEPS, grid.rows as f64 * STEPS);
    let (per_row, outside) = (u64::from(grid.cols as u32), grid.len() as u64);
    for ((&east, &north), key) in east.iter().zip(north).zip(keys) {
        let (col, row) = (in_steps(east - grid.corner.east), in_steps(north - grid.corner.north));
        let inside = (col >= 0.0) & (row >= 0.0) & (col < cols) & (row < rows);
        let (col, row) = (fastmath::whole(fastmath::floor(col)), fastmath::whole(fastmath::floor(row)));
        let within = u64::from((row >> 16) as u32) * per_row + u64::from((col >> 16) as u32);
        let steps = (row & 0xFFFF) << 16 | col & 0xFFFF;
        *key = (if inside { within } else { outside }) << 32 | steps ^ u64::from(MIDDLES);
    }
}
