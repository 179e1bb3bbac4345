//! The water as a body meets it: depth between cell centres, and where land or a solid dock stops it.

use super::sink::{LANES, Row};
use measure::{Spot, fastmath, parameters::value};
use water::{Bed, Cover, Grid, Ground, Units};

/// What sinking needs to know of the bottom. Kernels are generic over it; the yardsticks bring their own.
pub trait Bottom: Sync {
    /// Whether there is a shore at all; without one, nothing stops a body.
    const SHORED: bool;

    /// Depths under a row of places \[m\], never negative.
    fn depths(&self, east: &Row, north: &Row, depth_m: &mut Row);

    /// Whether a body can be at a place.
    fn is_water(&self, spot: Spot) -> bool;

    /// Whether all of a row of places are water; may say no when unsure.
    fn all_water(&self, east: &Row, north: &Row) -> bool {
        (0..LANES).all(|j| self.is_water(Spot::new(east[j], north[j])))
    }
}

/// Depths at cell centres, read bilinearly; beyond the outermost centres the edge value holds.
#[derive(Clone, Debug)]
pub struct DepthGrid {
    corner: Spot,
    per_cell: f64,
    cols: usize,
    /// Rows of `cols` values; at least two rows and two columns.
    depth_m: Vec<f64>,
    /// Largest place on the grid, in cells from the first centre.
    end: (f64, f64),
}

impl DepthGrid {
    /// The surface through `depth_m`, one value a cell of `grid`; a single row or column is doubled.
    ///
    /// # Panics
    /// If there is not one depth a cell.
    pub fn new(grid: &Grid, depth_m: &[f64]) -> Self {
        assert_eq!(grid.len(), depth_m.len(), "one depth a cell");
        let (cols, rows) = (grid.cols.max(2), grid.rows.max(2));
        let mut values = Vec::with_capacity(cols * rows);
        for row in 0..rows {
            for col in 0..cols {
                let inside =
                    row.min(grid.rows.saturating_sub(1)) * grid.cols + col.min(grid.cols.saturating_sub(1));
                values.push(depth_m.get(inside).copied().unwrap_or(0.0));
            }
        }
        DepthGrid {
            corner: grid.corner,
            per_cell: 1.0 / grid.cell_m,
            cols,
            depth_m: values,
            // A hair less than the last centre, so that the cell to the right always exists.
            end: (cols as f64 - 1.000_001, rows as f64 - 1.000_001),
        }
    }

    /// Depths under a row of places \[m\]; not clipped at zero.
    ///
    /// # Inputs
    /// - `east`, `north`: places \[m\]; what is not a number reads the south-west corner
    ///
    /// # Gives
    /// Bilinear depth between the four nearest cell centres.
    ///
    /// # Source
    /// bilinear interpolation (textbook)
    #[inline(always)]
    pub fn read(&self, east: &Row, north: &Row, depth_m: &mut Row) {
        let mut first = [0_u32; LANES];
        let (mut across, mut up) = ([0.0; LANES], [0.0; LANES]);
        let cols = self.cols as f64;
        for j in 0..LANES {
            let x = held((east[j] - self.corner.east) * self.per_cell - 0.5, self.end.0);
            let y = held((north[j] - self.corner.north) * self.per_cell - 0.5, self.end.1);
            let (col, row) = (fastmath::floor(x), fastmath::floor(y));
            across[j] = x - col;
            up[j] = y - row;
            first[j] = fastmath::index(row * cols + col);
        }
        // Loads are kept apart from the arithmetic, which then runs in whole vectors.
        let mut corner = [[0.0; LANES]; 4];
        for j in 0..LANES {
            let start = first[j] as usize;
            let four = &self.depth_m[start..start + self.cols + 2];
            corner[0][j] = four[0];
            corner[1][j] = four[1];
            corner[2][j] = four[self.cols];
            corner[3][j] = four[self.cols + 1];
        }
        for j in 0..LANES {
            let low = corner[0][j] + across[j] * (corner[1][j] - corner[0][j]);
            let high = corner[2][j] + across[j] * (corner[3][j] - corner[2][j]);
            depth_m[j] = low + up[j] * (high - low);
        }
    }
}

/// `x` held within 0 to `end`; 0 for what is not a number.
#[inline(always)]
fn held(x: f64, end: f64) -> f64 {
    let x = if x > 0.0 { x } else { 0.0 };
    if x < end { x } else { end }
}

/// Today's water, with every cell's depth known or assumed.
#[derive(Clone, Debug)]
pub struct Basin {
    /// The cells.
    pub grid: Grid,
    depth: DepthGrid,
    /// Whether each cell is wet, and one dry entry for everything outside the grid.
    wet: Vec<bool>,
    bed: Vec<Bed>,
    /// Cells that hold water, in order.
    pub cells: Vec<u32>,
    /// Units of the site, in which notes say lengths.
    pub units: Units,
    /// What had to be assumed.
    pub notes: Vec<String>,
}

impl Basin {
    /// The water of `ground`: wet where it is not land and deeper than nothing, or where nobody knows the depth.
    ///
    /// # Inputs
    /// - `ground`: the bottom at today's stage · `units`: of the site, for what the notes say
    ///
    /// # Gives
    /// Unknown depths are taken as the median known depth of the water, or `unknown_depth_m`, and noted.
    ///
    /// # Source
    /// assumed (for unknown depths)
    pub fn new(ground: &Ground, units: Units) -> Self {
        let grid = ground.grid;
        let mut known: Vec<f64> =
            (0..grid.len()).filter(|&cell| ground.is_water(cell)).map(|cell| ground.depth_m[cell]).collect();
        let median = if known.is_empty() {
            value("unknown_depth_m")
        } else {
            let middle = known.len() / 2;
            *known.select_nth_unstable_by(middle, f64::total_cmp).1
        };
        let mut unknown = 0_usize;
        let mut wet = vec![false; grid.len() + 1];
        let mut depth = vec![0.0; grid.len()];
        for cell in 0..grid.len() {
            let open = ground.cover[cell] != Cover::Land;
            let missing = open && !ground.depth_m[cell].is_finite();
            unknown += usize::from(missing);
            wet[cell] = missing || ground.is_water(cell);
            // Land and solid docks count as depth zero, so that the water beside them shoals towards them.
            depth[cell] = if missing {
                median
            } else if wet[cell] {
                ground.depth_m[cell]
            } else {
                0.0
            };
        }
        let mut notes = Vec::new();
        if unknown > 0 {
            notes.push(format!(
                "depth unknown on {:.0} {} of the water; {} is assumed there",
                units.area_of(unknown as f64 * grid.cell_area_m2()),
                units.area_unit(),
                units.length(median)
            ));
        }
        let cells = (0..grid.len() as u32).filter(|&cell| wet[cell as usize]).collect();
        Basin {
            grid,
            depth: DepthGrid::new(&grid, &depth),
            wet,
            bed: ground.bed.clone(),
            cells,
            units,
            notes,
        }
    }

    /// Area of the water \[m²\].
    pub fn area_m2(&self) -> f64 {
        self.cells.len() as f64 * self.grid.cell_area_m2()
    }

    /// Depth under one place \[m\].
    pub fn depth(&self, spot: Spot) -> f64 {
        let mut depth_m = [0.0; LANES];
        self.depth.read(&[spot.east; LANES], &[spot.north; LANES], &mut depth_m);
        depth_m[0].max(0.0)
    }

    /// Bottom type at a place.
    pub fn bed(&self, spot: Spot) -> Bed {
        self.grid.cell(spot).map_or(Bed::Sand, |cell| self.bed[cell])
    }

    /// Nearest water to a place: itself if it is in the water, else the middle of the nearest wet cell; `None` without water.
    pub fn nearest(&self, spot: Spot) -> Option<Spot> {
        if self.is_water(spot) {
            return Some(spot);
        }
        self.cells
            .iter()
            .map(|&cell| self.grid.centre(cell as usize))
            .map(|centre| (centre.distance(spot), centre))
            .min_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, centre)| centre)
    }

    /// Distance to the nearest dry cell or the edge of the map \[m\]: a witness on shore stood at least so far.
    pub fn to_shore_m(&self, spot: Spot) -> f64 {
        let far = self.grid.corner
            + Spot::new(self.grid.cols as f64 * self.grid.cell_m, self.grid.rows as f64 * self.grid.cell_m);
        let edge = (spot.east - self.grid.corner.east)
            .min(spot.north - self.grid.corner.north)
            .min(far.east - spot.east)
            .min(far.north - spot.north)
            .max(0.0);
        (0..self.grid.len())
            .filter(|&cell| !self.wet[cell])
            .map(|cell| self.grid.centre(cell).distance(spot))
            .fold(edge, f64::min)
    }
}

impl Bottom for Basin {
    const SHORED: bool = true;

    #[inline(always)]
    fn depths(&self, east: &Row, north: &Row, depth_m: &mut Row) {
        self.depth.read(east, north, depth_m);
    }

    #[inline(always)]
    fn is_water(&self, spot: Spot) -> bool {
        self.grid.cell(spot).is_some_and(|cell| self.wet[cell])
    }

    #[inline(always)]
    fn all_water(&self, east: &Row, north: &Row) -> bool {
        let grid = &self.grid;
        let (cols, rows) = (grid.cols as f64, grid.rows as f64);
        let mut cells = [0_u32; LANES];
        for j in 0..LANES {
            // Divided as in `Grid::cell`, so that both agree on every edge.
            let (col, row) =
                ((east[j] - grid.corner.east) / grid.cell_m, (north[j] - grid.corner.north) / grid.cell_m);
            let inside = (col >= 0.0) & (row >= 0.0) & (col < cols) & (row < rows);
            let cell = fastmath::floor(row) * cols + fastmath::floor(col);
            cells[j] = fastmath::index(if inside { cell } else { cols * rows });
        }
        cells.iter().fold(true, |all, &cell| all & self.wet[cell as usize])
    }
}
