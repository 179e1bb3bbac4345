//! Depth and bed rasters in and out: Esri ASCII grids and GeoTIFF, in the coordinates of the file.
//!
//! Never: reprojects. Start reading at [`Raster`].

mod ascii;
mod tiff_in;
mod tiff_out;

pub use ascii::{esri_ascii, write_esri_ascii};
pub use tiff_in::{geotiff, geotiff_epsg};
pub use tiff_out::{Crs, write_geotiff};

/// Most cells of a raster that is read.
pub const CELLS_MOST: usize = 50_000_000;

/// Cells of one size with a value each, in the coordinates of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Raster {
    /// West edge of the westernmost cells.
    pub west: f64,
    /// South edge of the southernmost cells.
    pub south: f64,
    /// Size of a cell, along east and along north.
    pub cell: [f64; 2],
    /// Cells from west to east.
    pub cols: usize,
    /// Cells from south to north.
    pub rows: usize,
    /// Values, row 0 in the south; NaN where the file has none.
    pub values: Vec<f64>,
}

impl Raster {
    /// Area of one cell in the square of the file's unit.
    pub fn cell_area(&self) -> f64 {
        self.cell[0] * self.cell[1]
    }

    /// Middle of a cell in the coordinates of the file.
    pub fn middle(&self, index: usize) -> (f64, f64) {
        let (col, row) = (index % self.cols, index / self.cols);
        (self.west + (col as f64 + 0.5) * self.cell[0], self.south + (row as f64 + 0.5) * self.cell[1])
    }

    /// Checks size and position, whatever the format it came in.
    fn checked(self) -> Result<Raster, String> {
        let [width, height] = self.cell;
        if !(width > 0.0 && height > 0.0 && width.is_finite() && height.is_finite()) {
            return Err(format!("cell size {width} x {height} must be above 0; correct the header"));
        }
        if !(self.west.is_finite() && self.south.is_finite()) {
            return Err(format!("corner {}, {} must be numbers; correct the header", self.west, self.south));
        }
        Ok(self)
    }

    /// Rows turned over: files have the north row first, the raster the south row.
    fn turned_over(cols: usize, values: &[f64]) -> Vec<f64> {
        values.chunks_exact(cols.max(1)).rev().flatten().copied().collect()
    }
}

/// Refuses sizes that are nothing or too much before any memory is taken for them.
fn check_size(cols: usize, rows: usize) -> Result<usize, String> {
    match cols.checked_mul(rows) {
        Some(0) | None => Err(format!("{cols} columns by {rows} rows hold no cell; export the raster again")),
        Some(cells) if cells > CELLS_MOST => Err(format!(
            "{cols} columns by {rows} rows are more than {CELLS_MOST} cells; cut the raster to the water or make it coarser"
        )),
        Some(cells) => Ok(cells),
    }
}

#[cfg(test)]
mod tests;
