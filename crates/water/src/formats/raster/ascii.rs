//! Esri ASCII grid: a header of names and numbers, then rows from north to south.

use super::{Raster, check_size};
use std::fmt::Write;

/// What an Esri ASCII grid holds where it has no value, unless the header says otherwise.
const NODATA: f64 = -9999.0;

#[derive(Default)]
struct Header {
    cols: Option<usize>,
    rows: Option<usize>,
    west: Option<(f64, bool)>,
    south: Option<(f64, bool)>,
    width: Option<f64>,
    height: Option<f64>,
    nodata: Option<f64>,
}

/// Reads an Esri ASCII grid.
///
/// # Inputs
/// - `bytes`: the file; a byte-order mark and any line ends are accepted; header names in any case:
///   `ncols`, `nrows`, `xllcorner` or `xllcenter`, `yllcorner` or `yllcenter`, `cellsize` or `dx` and `dy`,
///   `NODATA_value` (−9999 if missing)
///
/// # Gives
/// The raster, or what is wrong, with value, rule and way out.
///
/// # Source
/// the open text format, as files show it; from memory, unverified
pub fn esri_ascii(bytes: &[u8]) -> Result<Raster, String> {
    let text = std::str::from_utf8(bytes)
        .map_err(|e| format!("byte {} is not text; an Esri ASCII grid is plain text", e.valid_up_to() + 1))?;
    let text = text.trim_start_matches('\u{feff}');
    let mut header = Header::default();
    let mut body = 0;
    for (number, line) in text.split_inclusive('\n').enumerate() {
        let mut words = line.split_whitespace();
        let first = words.next().unwrap_or("");
        // "nan" and "inf" begin a row of values, not a header line.
        if first.parse::<f64>().is_ok() {
            break;
        }
        body += line.len();
        if !first.is_empty() {
            header.take(first, words.next()).map_err(|what| format!("line {}: {what}", number + 1))?;
        }
    }
    header.raster(&text[body..])
}

impl Header {
    fn take(&mut self, name: &str, value: Option<&str>) -> Result<(), String> {
        let value = value.unwrap_or("");
        let number: f64 = value
            .parse()
            .map_err(|_| format!("{name} is {value:?}; it must be a number with a decimal point"))?;
        let count = || {
            (number >= 1.0 && number.fract() == 0.0 && number < 1e9)
                .then_some(number as usize)
                .ok_or_else(|| format!("{name} is {value}; it must be a whole number of at least 1"))
        };
        match name.to_ascii_lowercase().as_str() {
            "ncols" => self.cols = Some(count()?),
            "nrows" => self.rows = Some(count()?),
            "xllcorner" => self.west = Some((number, false)),
            "xllcenter" => self.west = Some((number, true)),
            "yllcorner" => self.south = Some((number, false)),
            "yllcenter" => self.south = Some((number, true)),
            "cellsize" => (self.width, self.height) = (Some(number), Some(number)),
            "dx" => self.width = Some(number),
            "dy" => self.height = Some(number),
            "nodata_value" | "nodata" => self.nodata = Some(number),
            _ => {
                return Err(format!(
                    "{name:?} is no header name; names are ncols, nrows, xllcorner, yllcorner, cellsize, NODATA_value"
                ));
            }
        }
        Ok(())
    }

    fn raster(self, body: &str) -> Result<Raster, String> {
        let missing = |name: &str| format!("the header has no {name}; add it");
        let (cols, rows) = (self.cols.ok_or(missing("ncols"))?, self.rows.ok_or(missing("nrows"))?);
        let cell = [self.width.ok_or(missing("cellsize"))?, self.height.ok_or(missing("cellsize"))?];
        let (west, west_is_middle) = self.west.ok_or(missing("xllcorner"))?;
        let (south, south_is_middle) = self.south.ok_or(missing("yllcorner"))?;
        let cells = check_size(cols, rows)?;
        let nodata = self.nodata.unwrap_or(NODATA);
        // A cell takes at least two characters, so a short file takes no more memory than its size.
        let mut values = Vec::with_capacity(cells.min(body.len() / 2 + 1));
        for word in body.split_whitespace() {
            let value: f64 = word.parse().map_err(|_| {
                format!(
                    "value {} of the grid is {word:?}; it must be a number with a decimal point",
                    values.len() + 1
                )
            })?;
            if values.len() == cells {
                return Err(format!("more than {cols} x {rows} = {cells} values; correct ncols or nrows"));
            }
            values.push(if value == nodata || !value.is_finite() { f64::NAN } else { value });
        }
        if values.len() < cells {
            return Err(format!(
                "{} values where {cols} x {rows} = {cells} are due; the file is cut short or its header is wrong",
                values.len()
            ));
        }
        let half = |is_middle: bool, size: f64| if is_middle { 0.5 * size } else { 0.0 };
        Raster {
            west: west - half(west_is_middle, cell[0]),
            south: south - half(south_is_middle, cell[1]),
            cell,
            cols,
            rows,
            values: Raster::turned_over(cols, &values),
        }
        .checked()
    }
}

/// Writes an Esri ASCII grid; values read back are the same to the last bit.
///
/// # Inputs
/// - `raster`: in the coordinates the file is to have
///
/// # Gives
/// The text; `dx` and `dy` instead of `cellsize` where cells are not square.
///
/// # Source
/// as [`esri_ascii`]
pub fn write_esri_ascii(raster: &Raster) -> String {
    let mut text = format!(
        "ncols {}\nnrows {}\nxllcorner {}\nyllcorner {}\n",
        raster.cols, raster.rows, raster.west, raster.south
    );
    let [width, height] = raster.cell;
    // Writing to a string cannot fail.
    let _ = if width == height {
        writeln!(text, "cellsize {width}")
    } else {
        writeln!(text, "dx {width}\ndy {height}")
    };
    let nodata = free_value(&raster.values);
    let _ = writeln!(text, "NODATA_value {nodata}");
    for row in raster.values.chunks_exact(raster.cols.max(1)).rev() {
        for (col, value) in row.iter().enumerate() {
            let gap = if col == 0 { "" } else { " " };
            let _ =
                if value.is_finite() { write!(text, "{gap}{value}") } else { write!(text, "{gap}{nodata}") };
        }
        text.push('\n');
    }
    text
}

/// A value for "none" that no cell has: −9999, or one more nine.
fn free_value(values: &[f64]) -> f64 {
    let mut nodata = NODATA;
    while values.contains(&nodata) {
        nodata = nodata * 10.0 - 9.0;
    }
    nodata
}
