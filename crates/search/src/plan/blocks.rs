//! Blocks of cells, by which trials walk a plan: the same mass and the same first finds on a quarter of the places.
//!
//! A leg covers the share of a block's mass that it covers of its cells, so that what a first pass finds is exactly that of
//! the cells; only where passes overlap within a block do the two differ.

use super::{cells::MissTable, fill::Field, lanes::Catalogue, problem::Problem};
use crate::Method;

/// Side of a block \[m\]: less than the steering error of a lane, which blurs what is finer.
const SIDE_M: f64 = 2.0;

/// A block: cells of one kind of bottom in a square.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Block {
    pub rough: bool,
    pub mass: f64,
    /// Mass out of reach of contact.
    pub hidden: f64,
    /// Mean passes so far, by method.
    pub passes: [f64; 5],
}

/// What a leg covers of blocks, leg by leg.
#[derive(Clone, Debug)]
struct Cover {
    starts: Vec<u32>,
    shares: Vec<(u32, f32)>,
}

/// A piece by the moment it ends: (s, method, (block, share, share missed)).
pub(super) type Spread = (f64, Method, Vec<(u32, f32, f32)>);

/// The cells of a problem in blocks, with what the lanes and pieces of one split cover of them.
#[derive(Clone, Debug)]
pub(super) struct Blocks {
    pub all: Vec<Block>,
    covers: Vec<Cover>,
    /// Which cover each line uses: lines of one shape share one.
    cover_of: Vec<usize>,
    /// Pieces in the order they end.
    pub pieces: Vec<Spread>,
}

/// Cells dealt out to blocks.
struct Deal {
    block_of: Vec<u32>,
    /// Share of its block's mass in reach of contact, and of all its mass.
    parts: [Vec<f32>; 2],
}

impl Blocks {
    /// Deals out the cells, and what the lanes and pieces of a split cover of them.
    pub fn new(problem: &Problem, field: &Field) -> Self {
        let (all, deal) = dealt(problem);
        let (mut covers, mut cover_of): (Vec<Cover>, Vec<usize>) = (Vec::new(), Vec::new());
        for (line, catalogue) in field.catalogues.iter().enumerate() {
            let same = field.catalogues[..line].iter().position(|c| std::ptr::eq(*c, *catalogue));
            cover_of.push(same.map_or(covers.len(), |k| cover_of[k]));
            if same.is_none() {
                covers.push(deal.cover(catalogue, all.len()));
            }
        }
        let pieces = pieces(problem, field, &deal, all.len());
        Blocks { all, covers, cover_of, pieces }
    }

    /// What a leg of a line covers.
    #[inline]
    pub fn of_leg(&self, line: usize, leg: usize) -> &[(u32, f32)] {
        let cover = &self.covers[self.cover_of[line]];
        &cover.shares[cover.starts[leg] as usize..cover.starts[leg + 1] as usize]
    }
}

fn dealt(problem: &Problem) -> (Vec<Block>, Deal) {
    let cells = &problem.cells;
    let grid = cells.grid;
    let side = ((SIDE_M / grid.cell_m) as usize).max(1);
    let cols = grid.cols / side + 1;
    let place = |k: usize| {
        let cell = cells.index[k] as usize;
        let (col, row) = (cell % grid.cols / side, cell / grid.cols / side);
        2 * (row * cols + col) + usize::from(cells.rough[k])
    };
    // Cells come row by row: a block is looked up by its place in the rows of blocks now open.
    let mut open: Vec<(usize, u32)> = vec![(usize::MAX, 0); 2 * cols];
    let mut all: Vec<Block> = Vec::new();
    let mut block_of = Vec::with_capacity(cells.len());
    for k in 0..cells.len() {
        let at = place(k);
        let known = &mut open[at % (2 * cols)];
        if known.0 != at {
            *known = (at, all.len() as u32);
            all.push(Block { rough: cells.rough[k], ..Block::default() });
        }
        block_of.push(known.1);
        let block = &mut all[known.1 as usize];
        block.mass += cells.mass[k];
        block.hidden += cells.mass[k] * cells.hidden[k];
        for (sum, passes) in block.passes.iter_mut().zip(&cells.passes[k]) {
            *sum += cells.mass[k] * passes;
        }
    }
    for block in &mut all {
        block.passes = block.passes.map(|sum| sum / block.mass);
    }
    let part = |mass: f64, whole: f64| if whole > 0.0 { (mass / whole) as f32 } else { 0.0 };
    let of = |k: usize| &all[block_of[k] as usize];
    let open = |k: usize| part(cells.mass[k] * (1.0 - cells.hidden[k]), of(k).mass - of(k).hidden);
    let whole = |k: usize| part(cells.mass[k], of(k).mass);
    let parts = [(0..cells.len()).map(open).collect(), (0..cells.len()).map(whole).collect()];
    (all, Deal { block_of, parts })
}

impl Deal {
    /// Shares of blocks from shares of cells; no block comes twice.
    fn gather(&self, cells: &[(u32, f32)], contact: bool, sums: &mut Sums, into: &mut Vec<(u32, f32)>) {
        let parts = &self.parts[usize::from(!contact)];
        let begin = into.len();
        sums.number += 1;
        for &(cell, share) in cells {
            let block = self.block_of[cell as usize];
            let row = &mut sums.rows[block as usize];
            if row.0 != sums.number {
                *row = (sums.number, into.len() as u32);
                into.push((block, 0.0));
            }
            into[row.1 as usize].1 += share * parts[cell as usize];
        }
        debug_assert!(into[begin..].iter().all(|row| row.1 >= 0.0));
    }

    fn cover(&self, catalogue: &Catalogue, blocks: usize) -> Cover {
        let mut cover = Cover { starts: vec![0], shares: Vec::with_capacity(catalogue.cover.len() / 2) };
        let mut sums = Sums::new(blocks);
        for leg in 0..catalogue.legs.len() {
            let contact = catalogue.shape.method.by_contact();
            self.gather(catalogue.cells_of(leg), contact, &mut sums, &mut cover.shares);
            cover.starts.push(cover.shares.len() as u32);
        }
        cover
    }
}

/// Where each block stands in the list being gathered: (number of the list, place).
struct Sums {
    number: u32,
    rows: Vec<(u32, u32)>,
}

impl Sums {
    fn new(blocks: usize) -> Self {
        Sums { number: 0, rows: vec![(0, 0); blocks] }
    }
}

/// Pieces in the order they end, with what each misses of a block.
fn pieces(problem: &Problem, field: &Field, deal: &Deal, blocks: usize) -> Vec<Spread> {
    let mut order: Vec<usize> = (0..field.pieces.len()).collect();
    order.sort_by(|&a, &b| field.pieces[a].to_s.total_cmp(&field.pieces[b].to_s).then(a.cmp(&b)));
    let mut passes: Vec<[f64; 5]> = problem.cells.passes.clone();
    let mut sums = Sums::new(blocks);
    let mut gathered = |cells: &[(u32, f32)], method: Method| {
        let mut rows = Vec::new();
        deal.gather(cells, method.by_contact(), &mut sums, &mut rows);
        rows
    };
    order
        .into_iter()
        .map(|k| {
            let piece = &field.pieces[k];
            let way = piece.method.index();
            let missed = |&(cell, share): &(u32, f32)| {
                let row = &mut passes[cell as usize][way];
                let table: &MissTable = &piece.tables[usize::from(problem.cells.rough[cell as usize])];
                let kept = table.at(*row + f64::from(share)) / table.at(*row);
                *row += f64::from(share);
                (cell, (1.0 - kept) as f32)
            };
            let found: Vec<(u32, f32)> = piece.cells.iter().map(missed).collect();
            let shares = gathered(&piece.cells, piece.method);
            let found = gathered(&found, piece.method);
            let both = shares.into_iter().zip(found);
            (
                piece.to_s,
                piece.method,
                both.map(|((block, share), (_, found))| (block, share, 1.0 - found)).collect(),
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_leg_finds_of_blocks_what_it_finds_of_cells() {
        let (mass, block_of) = ([1.0_f32, 3.0, 2.0], vec![0, 0, 1]);
        let parts = vec![0.25, 0.75, 1.0];
        let deal = Deal { block_of, parts: [parts.clone(), parts] };
        let (mut sums, mut rows) = (Sums::new(2), Vec::new());
        for cells in [vec![(0, 1.0), (2, 0.5), (1, 0.5)], vec![(1, 0.125)]] {
            rows.clear();
            deal.gather(&cells, true, &mut sums, &mut rows);
            let blocks: f32 = rows.iter().map(|&(block, share)| [4.0, 2.0][block as usize] * share).sum();
            let found: f32 = cells.iter().map(|&(cell, share)| mass[cell as usize] * share).sum();
            assert!((blocks - found).abs() < 1e-6, "{blocks} {found}");
        }
        assert_eq!(rows.len(), 1);
    }
}
