//! Depth rasters: cells of a file in the file's own coordinates.

/// A raster as it stands in its file.
#[derive(Clone, Debug, PartialEq)]
pub struct Raster {
    /// Western edge, file coordinates.
    pub west: f64,
    /// Southern edge, file coordinates.
    pub south: f64,
    /// Width and height of a cell, file coordinates.
    pub cell: [f64; 2],
    /// Cells from west to east.
    pub cols: usize,
    /// Cells from south to north.
    pub rows: usize,
    /// Values, row 0 in the south; NaN where there is none.
    pub values: Vec<f64>,
}

/// Reads an Esri ASCII grid.
///
/// # Inputs
/// - `bytes`: header lines of a word and a number (`ncols`, `nrows`, `xllcorner` or `xllcenter`, `yllcorner` or
///   `yllcenter`, `cellsize`, optional `nodata_value`), then values, northern row first
pub fn esri_ascii(bytes: &[u8]) -> Result<Raster, String> {
    let text = std::str::from_utf8(bytes).map_err(|e| format!("byte {} is not UTF-8", e.valid_up_to()))?;
    let mut words = text.trim_start_matches('\u{feff}').split_ascii_whitespace().peekable();
    let mut header = std::collections::BTreeMap::new();
    while let Some(word) = words.next_if(|w| w.starts_with(|c: char| c.is_ascii_alphabetic()) && w.len() > 3)
    {
        let value = words.next().and_then(|w| w.parse::<f64>().ok()).filter(|v| v.is_finite());
        header.insert(word.to_ascii_lowercase(), value.ok_or(format!("{word} has no number"))?);
    }
    let need = |key: &str| header.get(key).copied().ok_or(format!("the header lacks {key}"));
    let (cols, rows, cell) = (need("ncols")?, need("nrows")?, need("cellsize")?);
    if !(cols >= 1.0 && rows >= 1.0 && cols * rows <= 1e8 && cell > 0.0) {
        return Err(format!("{cols} columns, {rows} rows, cells of {cell} cannot be"));
    }
    let side =
        |corner: &str, centre: &str| need(corner).or_else(|_| Ok::<f64, String>(need(centre)? - 0.5 * cell));
    let (west, south) = (side("xllcorner", "xllcenter")?, side("yllcorner", "yllcenter")?);
    let nodata = header.get("nodata_value").copied().unwrap_or(-9999.0);
    let values: Result<Vec<f64>, String> = words
        .map(|w| w.parse::<f64>().map_err(|_| format!("\"{w}\" is not a number")))
        .map(|v| v.map(|v| if v == nodata || !v.is_finite() { f64::NAN } else { v }))
        .collect();
    let (values, cols, rows) = (values?, cols as usize, rows as usize);
    if values.len() != cols * rows {
        return Err(format!("{} values where {cols} by {rows} belong", values.len()));
    }
    let values = values.chunks(cols).rev().flatten().copied().collect();
    Ok(Raster { west, south, cell: [cell, cell], cols, rows, values })
}

/// Reads a GeoTIFF.
pub fn geotiff(_bytes: &[u8], _world: Option<&[u8]>) -> Result<Raster, String> {
    Err("GeoTIFF cannot be read by this version".into())
}
