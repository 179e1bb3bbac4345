//! Blocks of cells, by which plans are built and tried: the same mass on a quarter of the places.
//!
//! Never: what a plan that is kept is worth; that is counted on the cells.

use super::{
    cells::{Cells, Stray},
    draft::State,
    fill::Field,
    lone::Piece,
    problem::Problem,
};

/// Side of a block \[m\]: less than the steering error of a lane, which blurs what is finer.
const SIDE_M: f64 = 2.0;

/// The cells of a problem in blocks.
#[derive(Clone, Debug)]
pub(super) struct Blocks {
    /// The blocks, as cells of a coarser grid.
    pub all: Cells,
    /// The block of each cell.
    block_of: Vec<u32>,
    /// Share of its block's mass in reach of contact, and of all its mass, by cell.
    parts: [Vec<f32>; 2],
}

/// A piece by the moment it ends: (s, its strip, (block, share, share missed)).
pub(super) type Spread = (f64, Stray, Vec<(u32, f32, f32)>);

impl Blocks {
    /// Deals out the cells.
    pub fn new(cells: &Cells) -> Self {
        let (all, block_of) = cells.coarser(((SIDE_M / cells.grid.cell_m) as usize).max(1));
        let part = |mass: f64, whole: f64| if whole > 0.0 { (mass / whole) as f32 } else { 0.0 };
        let of = |k: usize| block_of[k] as usize;
        let reach = |cells: &Cells, k: usize| cells.mass[k] * (1.0 - cells.hidden[k]);
        let open = |k: usize| part(reach(cells, k), reach(&all, of(k)));
        let whole = |k: usize| part(cells.mass[k], all.mass[of(k)]);
        let parts = [(0..cells.len()).map(open).collect(), (0..cells.len()).map(whole).collect()];
        Blocks { all, block_of, parts }
    }

    /// The block of a cell.
    pub fn of(&self, cell: usize) -> usize {
        self.block_of[cell] as usize
    }

    /// Shares of blocks from shares of cells, by mass in reach of contact or by all of it; no block comes twice.
    pub fn gather(&self, cells: &[(u32, f32)], contact: bool) -> Vec<(u32, f32)> {
        let parts = &self.parts[usize::from(!contact)];
        let mut rows: Vec<(u32, f32)> = cells
            .iter()
            .map(|&(cell, share)| (self.block_of[cell as usize], share * parts[cell as usize]))
            .collect();
        rows.sort_by_key(|row| row.0);
        rows.dedup_by(|later, row| {
            let same = later.0 == row.0;
            if same {
                row.1 += later.1;
            }
            same
        });
        rows
    }

    /// The same of a piece.
    pub fn of_piece(&self, piece: &Piece) -> Vec<(u32, f32)> {
        self.gather(&piece.cells, piece.method.by_contact())
    }
}

/// The pieces of a field in the order they end, with what each misses of a block.
pub(super) fn spreads(problem: &Problem, field: &Field) -> Vec<Spread> {
    let mut order: Vec<usize> = (0..field.pieces.len()).collect();
    order.sort_by(|&a, &b| field.pieces[a].to_s.total_cmp(&field.pieces[b].to_s).then(a.cmp(&b)));
    let mut state = State::new(&problem.cells);
    order
        .into_iter()
        .map(|k| {
            let piece = &field.pieces[k];
            let missed = |&(cell, share): &(u32, f32)| {
                let kept = state.kept((piece.stray(), &piece.tables), cell, share);
                (cell, (1.0 - kept) as f32)
            };
            let found: Vec<(u32, f32)> = piece.cells.iter().map(missed).collect();
            let found = problem.blocks.gather(&found, piece.method.by_contact());
            let both = problem.blocks.of_piece(piece).into_iter().zip(found);
            (
                piece.to_s,
                piece.stray(),
                both.map(|((block, share), (_, found))| (block, share, 1.0 - found)).collect(),
            )
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lines::{Grip, chances};
    use measure::Spot;
    use water::{Bed, Grid};

    #[test]
    fn blocks_hold_what_cells_hold() {
        let grid = Grid { corner: Spot::new(-3.0, 2.0), cell_m: 1.0, cols: 7, rows: 5 };
        let mass: Vec<f64> = (0..35).map(|k| f64::from(k * 11 % 13)).collect();
        let bed: Vec<Bed> = (0..35).map(|k| if k % 5 == 0 { Bed::Rock } else { Bed::Sand }).collect();
        let cells = Cells::gather((grid, 0..35), (&mass, &[]), &bed, &chances(Grip::Hands, 1.4));
        let blocks = Blocks::new(&cells);
        assert!(blocks.all.len() < cells.len());
        let (sum, hidden) = (
            |c: &Cells| c.mass.iter().sum::<f64>(),
            |c: &Cells| c.mass.iter().zip(&c.hidden).map(|(m, h)| m * h).sum::<f64>(),
        );
        assert!((sum(&cells) - sum(&blocks.all)).abs() < 1e-9);
        assert!((hidden(&cells) - hidden(&blocks.all)).abs() < 1e-9);
        for k in 0..cells.len() {
            let block = blocks.of(k);
            assert_eq!(cells.rough[k], blocks.all.rough[block]);
            let off = cells.spots[k] - blocks.all.spots[block];
            assert!(off.east.abs() < 2.0 && off.north.abs() < 2.0, "{off:?}");
        }
        // A strip over half of every cell takes half of every block, and once over all of them all.
        for contact in [true, false] {
            let half: Vec<(u32, f32)> = (0..cells.len() as u32).map(|k| (k, 0.5)).collect();
            let rows = blocks.gather(&half, contact);
            assert_eq!(rows.len(), blocks.all.len());
            assert!(rows.iter().all(|row| (row.1 - 0.5).abs() < 1e-6), "{rows:?}");
        }
    }
}
