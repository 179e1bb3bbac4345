//! One small searcher-path problem on a grid, and its lowering to places, looks, moves and time.

use super::field::{Field, Rows};

/// How the instance tells its paths.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Telling {
    /// One list of cells per searcher, without the start.
    PerSearcher,
    /// One list of cells, the start first.
    FromStart,
    /// Cells counted from one, written one behind the other.
    CountedFromOne,
}

/// A target that moves after each look: it stays, or goes to one of the side neighbours, all alike.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wandering {
    /// Chance that it stays where it is.
    pub stays: f64,
}

/// A searcher-path problem. Each step every searcher makes one move, then one look at the cell it is in (PA-1).
#[derive(Clone, Debug, PartialEq)]
pub struct Instance {
    /// Its name; may be empty.
    pub id: String,
    /// Rows of the grid; cell = row x columns + column.
    pub rows: usize,
    /// Columns of the grid.
    pub cols: usize,
    /// Chance that the target is in each cell (at first, if it wanders).
    pub prior: Vec<f64>,
    /// Chance that one look finds a target in its cell.
    pub contact: Vec<f64>,
    /// Weight of what is found at each step; its length is the number of steps.
    pub weight: Vec<f64>,
    /// Cell of each searcher before its first move.
    pub starts: Vec<usize>,
    /// Cells that cannot be entered.
    pub blocked: Vec<bool>,
    /// Whether corners may be crossed.
    pub king: bool,
    /// Whether a searcher may stay and look again.
    pub stay: bool,
    /// How the target moves, if it does.
    pub wandering: Option<Wandering>,
    /// How the instance tells its paths.
    pub telling: Telling,
}

impl Instance {
    /// Number of cells.
    pub fn cells(&self) -> usize {
        self.rows * self.cols
    }

    /// Cells one move away, in the order up, left, (stay), right, down.
    ///
    /// # Inputs
    /// - `cell`: from where
    /// - `king`, `stay`: whether corners count, and the cell itself
    ///
    /// # Gives
    /// Cells inside the grid, blocked ones left out, rising.
    pub fn around(&self, cell: usize, king: bool, stay: bool) -> Vec<u32> {
        let (row, col) = ((cell / self.cols) as isize, (cell % self.cols) as isize);
        let mut around = Vec::new();
        for (down, right) in (-1..=1).flat_map(|d| (-1..=1).map(move |r| (d, r))) {
            let here = down == 0 && right == 0;
            let corner = down != 0 && right != 0;
            let (to_row, to_col) = (row + down, col + right);
            let inside =
                (0..self.rows as isize).contains(&to_row) && (0..self.cols as isize).contains(&to_col);
            if !inside || (here && !stay) || (corner && !king) {
                continue;
            }
            let to = to_row as usize * self.cols + to_col as usize;
            if !self.blocked[to] {
                around.push(to as u32);
            }
        }
        around
    }

    /// Moves allowed from `cell`.
    pub fn moves(&self, cell: usize) -> Vec<u32> {
        self.around(cell, self.king, self.stay)
    }

    /// What paths are worth: weighted mass newly found, summed over looks (PA-2), straight from its definition.
    ///
    /// # Inputs
    /// - `paths`: per searcher, the cell of each look; a standing target
    ///
    /// # Gives
    /// The value; `None` where a path breaks a rule (length, blocked cell, jump) or the target wanders.
    pub fn value(&self, paths: &[Vec<usize>]) -> Option<f64> {
        let whole = paths.len() == self.starts.len() && paths.iter().all(|p| p.len() == self.weight.len());
        if !whole || self.wandering.is_some() {
            return None;
        }
        for (path, &start) in paths.iter().zip(&self.starts) {
            let mut at = start;
            for &cell in path {
                if !self.moves(at).contains(&(cell as u32)) {
                    return None;
                }
                at = cell;
            }
        }
        let mut left = self.prior.clone();
        let mut value = 0.0;
        for (step, weight) in self.weight.iter().enumerate() {
            for path in paths {
                let cell = path[step];
                value += weight * left[cell] * self.contact[cell];
                left[cell] *= 1.0 - self.contact[cell];
            }
        }
        Some(value)
    }

    /// The path as the instance's own format tells it.
    pub fn told(&self, paths: &[Vec<usize>]) -> serde_json::Value {
        match self.telling {
            Telling::PerSearcher => serde_json::json!(paths),
            Telling::FromStart => {
                let first = paths.first().map(Vec::as_slice).unwrap_or_default();
                let told: Vec<usize> = self.starts.iter().take(1).chain(first).copied().collect();
                serde_json::json!(told)
            }
            Telling::CountedFromOne => {
                let first = paths.first().map(Vec::as_slice).unwrap_or_default();
                let words: Vec<String> = first.iter().map(|cell| (cell + 1).to_string()).collect();
                serde_json::json!(words.join(if self.cells() > 9 { " " } else { "" }))
            }
        }
    }

    /// Lowers the grid to places, looks, moves and time.
    ///
    /// # Gives
    /// One place and one piece a cell; the k-th look at a cell is worth p q (1 - q)^(k-1) (PA-2).
    pub fn field(&self) -> Field {
        let most = self.weight.len() * self.starts.len();
        let first = |cell: usize| self.prior[cell] * self.contact[cell];
        let largest = (0..self.cells()).map(first).fold(0.0, f64::max);
        let gains = (0..self.cells()).map(|cell| {
            let mut gain = if self.blocked[cell] { 0.0 } else { first(cell) };
            let mut row = Vec::new();
            while row.len() < most && gain > NEGLIGIBLE * largest {
                row.push(gain);
                gain *= 1.0 - self.contact[cell];
            }
            row
        });
        let looks = |cell: usize| vec![cell as u32; usize::from(!self.blocked[cell])];
        Field {
            weight: self.weight.clone(),
            starts: self.starts.iter().map(|&cell| cell as u32).collect(),
            gains: Rows::pack(gains.collect()),
            moves: Rows::pack((0..self.cells()).map(|cell| self.moves(cell)).collect()),
            looks: Rows::pack((0..self.cells()).map(looks).collect()),
        }
    }
}

/// Looks worth less than this share of the best first look are left out; their sum cannot reach the eleventh digit.
const NEGLIGIBLE: f64 = 1e-17;
