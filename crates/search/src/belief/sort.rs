//! Places brought into the order of their cells, in two steps that both stay within a core's own cache.
//!
//! Writing each place straight to its cell would touch tens of thousands of lines of memory in no order. So places go first
//! to one of some hundred bands of neighbouring cells, whose ends all fit the cache, and then, band by band, to their cell.

use measure::fastmath;
use std::ops::Range;
use water::Grid;

/// Most bands of the first step: their growing ends, a line of 64 bytes each, must stay well within the second-level cache.
const BANDS: usize = 1024;

/// Places keyed at a time: a vector loop over what the first-level cache holds.
const BLOCK: usize = 512;

/// Places in the order of their cells, and which place of the input each one was.
///
/// Kept between sorts it keeps its memory, so that a large sort need not ask for it again.
#[derive(Clone, Debug, Default)]
pub struct Sorted {
    /// Metres east.
    pub east: Vec<f64>,
    /// Metres north.
    pub north: Vec<f64>,
    /// Weight.
    pub weight: Vec<f64>,
    /// Number in the input.
    pub from: Vec<u32>,
    banded: Vec<Record>,
    /// Cell of each place of the input, worked out once for both walks of the first step.
    keys: Vec<u32>,
    next: Vec<u32>,
}

/// One place on its way: bits of east, north and weight, then cell and number; half a cache line, written at one stroke.
#[derive(Clone, Copy, Debug, Default)]
#[repr(align(32))]
struct Record([u64; 4]);

impl Record {
    #[inline(always)]
    fn new([east, north, weight]: [f64; 3], cell: u32, from: u32) -> Self {
        let tag = u64::from(cell) << 32 | u64::from(from);
        Record([east.to_bits(), north.to_bits(), weight.to_bits(), tag])
    }

    #[inline(always)]
    fn place(&self) -> [f64; 3] {
        [0, 1, 2].map(|k| f64::from_bits(self.0[k]))
    }

    #[inline(always)]
    fn cell(&self) -> usize {
        (self.0[3] >> 32) as usize
    }

    #[inline(always)]
    fn from(&self) -> u32 {
        self.0[3] as u32
    }
}

impl Sorted {
    /// Values of the input brought into the order.
    ///
    /// # Panics
    /// If there are not as many values as places were sorted.
    pub fn arranged<T: Copy>(&self, values: &[T]) -> Vec<T> {
        assert_eq!(values.len(), self.from.len(), "one value a place");
        self.from.iter().map(|&from| values[from as usize]).collect()
    }

    /// Sorts places (east, north, weight) by cell, keeping the order within a cell.
    ///
    /// # Gives
    /// First place of each cell and of the outside (cell `grid.len()`), then the end.
    ///
    /// # Source
    /// counting sort, the more significant part of the key first (textbook)
    pub(super) fn fill(&mut self, grid: &Grid, places: [&[f64]; 3]) -> Vec<u32> {
        let [east, north, weight] = places;
        assert!(east.len() == north.len() && east.len() == weight.len(), "east, north and weight in step");
        assert!(east.len() < u32::MAX as usize && grid.len() < i32::MAX as usize, "counts fit 32 bits");
        let shift = (0..32).find(|shift| grid.len() >> shift < BANDS).unwrap_or(31);
        let ends = fastmath::wide(
            #[inline(always)]
            || self.band(grid, places, shift),
        );
        self.east.resize(east.len(), 0.0);
        self.north.resize(east.len(), 0.0);
        self.weight.resize(east.len(), 0.0);
        self.from.resize(east.len(), 0);
        let mut first = vec![0_u32; grid.len() + 2];
        let mut start = 0;
        for (band, end) in ends.into_iter().enumerate() {
            let base = band << shift;
            let cells = (1 << shift).min(grid.len() + 1 - base);
            fastmath::wide(
                #[inline(always)]
                || self.settle(start..end as usize, base, &mut first[base..=base + cells]),
            );
            start = end as usize;
        }
        first
    }

    /// First step: records into bands of 2^`shift` cells; gives each band's end.
    #[inline(always)]
    fn band(&mut self, grid: &Grid, [east, north, weight]: [&[f64]; 3], shift: usize) -> Vec<u32> {
        let mut next = vec![0_u32; (grid.len() >> shift) + 1];
        self.keys.resize(east.len(), 0);
        for ((east, north), cells) in
            east.chunks(BLOCK).zip(north.chunks(BLOCK)).zip(self.keys.chunks_mut(BLOCK))
        {
            key(grid, east, north, cells);
            for &cell in &*cells {
                next[cell as usize >> shift] += 1;
            }
        }
        let mut sum = 0;
        for count in &mut next {
            sum += std::mem::replace(count, sum);
        }
        self.banded.resize(east.len(), Record::default());
        let banded = self.banded.as_mut_slice();
        let places = self.keys.iter().zip(east).zip(north).zip(weight);
        for (from, (((&cell, &east), &north), &weight)) in (0_u32..).zip(places) {
            let at = &mut next[cell as usize >> shift];
            banded[*at as usize] = Record::new([east, north, weight], cell, from);
            *at += 1;
        }
        next
    }

    /// Second step: one band's records to their cells; `first` takes where each cell begins, and the end.
    #[inline(always)]
    fn settle(&mut self, band: Range<usize>, base: usize, first: &mut [u32]) {
        let records = &self.banded[band.clone()];
        let next = &mut self.next;
        next.clear();
        next.resize(first.len() - 1, 0);
        records.iter().for_each(|record| next[record.cell() - base] += 1);
        let mut sum = 0;
        for (first, next) in first.iter_mut().zip(next.iter_mut()) {
            *first = band.start as u32 + sum;
            sum += std::mem::replace(next, sum);
        }
        first[next.len()] = band.end as u32;
        let (east, north) = (&mut self.east[band.clone()], &mut self.north[band.clone()]);
        let (weight, from) = (&mut self.weight[band.clone()], &mut self.from[band]);
        for record in records {
            let next = &mut next[record.cell() - base];
            let at = *next as usize;
            *next += 1;
            [east[at], north[at], weight[at]] = record.place();
            from[at] = record.from();
        }
    }
}

/// Cell of every place of a block; number `grid.len()` is outside.
fn key(grid: &Grid, east: &[f64], north: &[f64], cells: &mut [u32]) {
    let per_cell = 1.0 / grid.cell_m;
    // A side that is a power of two has an exact inverse; any other is divided by, to agree with `Grid::cell`.
    if grid.cell_m.to_bits() << 12 == 0 {
        fastmath::wide(
            #[inline(always)]
            || cells_by(grid, east, north, cells, |metres| metres * per_cell),
        );
    } else {
        fastmath::wide(
            #[inline(always)]
            || cells_by(grid, east, north, cells, |metres| metres / grid.cell_m),
        );
    }
}

#[inline(always)]
fn cells_by(grid: &Grid, east: &[f64], north: &[f64], cells: &mut [u32], in_cells: impl Fn(f64) -> f64) {
    let (cols, rows) = (grid.cols as f64, grid.rows as f64);
    for ((&east, &north), cell) in east.iter().zip(north).zip(cells) {
        let (col, row) = (in_cells(east - grid.corner.east), in_cells(north - grid.corner.north));
        let inside = (col >= 0.0) & (row >= 0.0) & (col < cols) & (row < rows);
        let within = fastmath::floor(row) * cols + fastmath::floor(col);
        *cell = fastmath::index(if inside { within } else { cols * rows });
    }
}
