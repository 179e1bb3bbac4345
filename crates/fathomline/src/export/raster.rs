//! The belief as a raster: Esri ASCII grid with a projection file beside it, and GeoTIFF that carries its own.
//!
//! Site metres are azimuthal equidistant about the site's origin on WGS 84; both files say so, so that other programs place them.

use std::fmt::Write as _;
use std::io::Cursor;
use tiff::encoder::{TiffEncoder, colortype::Gray32Float};
use tiff::tags::Tag;
use water::{Field, Frame};

/// Stands for cells without a number.
const NO_VALUE: f64 = -9999.0;

/// A field as Esri ASCII grid, northernmost row first, cells without a number as −9999.
///
/// # Inputs
/// - `field`: such as mass in each cell
///
/// # Gives
/// The text of an `.asc` file; its projection is [`prj`].
pub fn esri_ascii(field: &Field<f64>) -> String {
    let g = &field.grid;
    let mut text = format!(
        "ncols {}\nnrows {}\nxllcorner {}\nyllcorner {}\ncellsize {}\nNODATA_value {NO_VALUE}\n",
        g.cols, g.rows, g.corner.east, g.corner.north, g.cell_m
    );
    for row in (0..g.rows).rev() {
        for col in 0..g.cols {
            let value = field.values[row * g.cols + col];
            let gap = if col == 0 { "" } else { " " };
            let _ = match value {
                v if !v.is_finite() => write!(text, "{gap}{NO_VALUE}"),
                0.0 => write!(text, "{gap}0"),
                v => write!(text, "{gap}{v:.6e}"),
            };
        }
        text.push('\n');
    }
    text
}

/// Well-known text of site metres, for the `.prj` file beside an ASCII grid.
pub fn prj(frame: &Frame) -> String {
    let origin = frame.origin();
    format!(
        "PROJCS[\"fathomline site metres\",GEOGCS[\"GCS_WGS_1984\",DATUM[\"D_WGS_1984\",\
         SPHEROID[\"WGS_1984\",6378137.0,298.257223563]],PRIMEM[\"Greenwich\",0.0],\
         UNIT[\"Degree\",0.0174532925199433]],PROJECTION[\"Azimuthal_Equidistant\"],\
         PARAMETER[\"False_Easting\",0.0],PARAMETER[\"False_Northing\",0.0],\
         PARAMETER[\"Central_Meridian\",{:?}],PARAMETER[\"Latitude_Of_Origin\",{:?}],UNIT[\"Meter\",1.0]]\n",
        origin.lon, origin.lat
    )
}

/// A field as GeoTIFF: 32-bit floats, northernmost row first, user-defined projection about the site's origin.
///
/// # Inputs
/// - `field`: such as mass in each cell · `frame`: ties site metres to the globe
///
/// # Gives
/// The bytes of a `.tif` file; in words why not, where the grid is empty or too large.
///
/// # Source
/// OGC GeoTIFF 1.1 key numbers, from memory; a file written so was read back by GDAL as azimuthal equidistant about the origin
pub fn geotiff(field: &Field<f64>, frame: &Frame) -> Result<Vec<u8>, String> {
    let g = &field.grid;
    let (Ok(cols), Ok(rows)) = (u32::try_from(g.cols), u32::try_from(g.rows)) else {
        return Err(format!("a raster {} by {} cells is too large; take coarser cells", g.cols, g.rows));
    };
    if g.is_empty() {
        return Err("a raster without cells cannot be written; the site has no water".into());
    }
    let mut dots = Vec::with_capacity(g.len());
    for row in (0..g.rows).rev() {
        let values = &field.values[row * g.cols..(row + 1) * g.cols];
        dots.extend(values.iter().map(|v| if v.is_finite() { *v as f32 } else { NO_VALUE as f32 }));
    }
    let north = g.corner.north + g.rows as f64 * g.cell_m;
    let place = [0.0, 0.0, 0.0, g.corner.east, north, 0.0];
    let scale = [g.cell_m, g.cell_m, 0.0];
    let (keys, doubles) = geo_keys(frame);
    let write = || -> tiff::TiffResult<Vec<u8>> {
        let mut bytes = Cursor::new(Vec::new());
        let mut file = TiffEncoder::new(&mut bytes)?;
        let mut image = file.new_image::<Gray32Float>(cols, rows)?;
        let tags = image.encoder();
        tags.write_tag(Tag::ModelPixelScaleTag, &scale[..])?;
        tags.write_tag(Tag::ModelTiepointTag, &place[..])?;
        tags.write_tag(Tag::GeoKeyDirectoryTag, &keys[..])?;
        tags.write_tag(Tag::GeoDoubleParamsTag, &doubles[..])?;
        tags.write_tag(Tag::GeoAsciiParamsTag, CITATION)?;
        tags.write_tag(Tag::GdalNodata, "-9999")?;
        image.write_data(&dots)?;
        Ok(bytes.into_inner())
    };
    write().map_err(|e| format!("the raster could not be written as GeoTIFF: {e}"))
}

/// Names the projection; the bar ends a text among the keys.
const CITATION: &str = "fathomline site metres|";

/// The key directory and its doubles: a projection of our own, azimuthal equidistant about the origin, metres, WGS 84.
fn geo_keys(frame: &Frame) -> (Vec<u16>, [f64; 4]) {
    const DOUBLES: u16 = 34736;
    const TEXT: u16 = 34737;
    let length = CITATION.len() as u16;
    let keys: [[u16; 4]; 13] = [
        [1024, 0, 1, 1],         // model: projected
        [1025, 0, 1, 1],         // a raster cell is an area
        [1026, TEXT, length, 0], // citation
        [2048, 0, 1, 4326],      // geographic: WGS 84
        [2054, 0, 1, 9102],      // degrees
        [3072, 0, 1, 32767],     // projected system: user-defined
        [3074, 0, 1, 32767],     // projection: user-defined
        [3075, 0, 1, 12],        // method: azimuthal equidistant
        [3076, 0, 1, 9001],      // metres
        [3082, DOUBLES, 1, 0],   // false easting
        [3083, DOUBLES, 1, 1],   // false northing
        [3088, DOUBLES, 1, 2],   // longitude of the centre
        [3089, DOUBLES, 1, 3],   // latitude of the centre
    ];
    let mut directory = vec![1, 1, 0, keys.len() as u16];
    directory.extend(keys.iter().flatten());
    let origin = frame.origin();
    (directory, [0.0, 0.0, origin.lon, origin.lat])
}
