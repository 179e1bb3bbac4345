//! GeoTIFF out: 64-bit samples, Deflate, with the system of coordinates named.

use super::Raster;
use crate::LonLat;
use std::io::Cursor;
use tiff::encoder::{Compression, DeflateLevel, TiffEncoder, colortype::Gray64Float};
use tiff::tags::Tag;

/// The system of coordinates a written raster is in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Crs {
    /// A geographic system by its EPSG code, such as 4326: degrees.
    Geographic(u16),
    /// A projected system by its EPSG code: metres.
    Projected(u16),
    /// Site metres: azimuthal equidistant about the site's origin on WGS 84.
    SiteMetres(LonLat),
}

impl Crs {
    /// GeoKey directory and the doubles it points to.
    fn keys(self) -> (Vec<u16>, Vec<f64>) {
        const HERE: u16 = 0;
        const DOUBLES: u16 = 34_736;
        const OWN: u16 = 32_767;
        // Model type (1 projected, 2 geographic), then values stand for cells.
        let model = if matches!(self, Crs::Geographic(_)) { 2 } else { 1 };
        let mut keys = vec![[1024, HERE, 1, model], [1025, HERE, 1, 1]];
        let mut doubles = Vec::new();
        match self {
            Crs::Geographic(code) => keys.push([2048, HERE, 1, code]),
            Crs::Projected(code) => keys.push([3072, HERE, 1, code]),
            Crs::SiteMetres(origin) => {
                doubles = vec![0.0, 0.0, origin.lon, origin.lat];
                keys.extend([
                    [2048, HERE, 1, 4326],
                    [3072, HERE, 1, OWN],
                    [3074, HERE, 1, OWN],
                    [3075, HERE, 1, 12],   // azimuthal equidistant
                    [3076, HERE, 1, 9001], // metres
                    [3082, DOUBLES, 1, 0], // false easting
                    [3083, DOUBLES, 1, 1],
                    [3088, DOUBLES, 1, 2], // centre
                    [3089, DOUBLES, 1, 3],
                ]);
            }
        }
        let mut directory = vec![1, 1, 0, keys.len() as u16];
        directory.extend(keys.into_iter().flatten());
        (directory, doubles)
    }
}

/// Writes a GeoTIFF; values read back are the same to the last bit.
///
/// # Inputs
/// - `raster`: in the coordinates of `crs`; NaN where there is no value
/// - `crs`: the system they are in
///
/// # Gives
/// The bytes of the file.
///
/// # Panics
/// If the raster has no cell or its values do not fill it: our own mistake.
///
/// # Source
/// as [`super::geotiff`]
pub fn write_geotiff(raster: &Raster, crs: Crs) -> Vec<u8> {
    let Raster { west, south, cell, cols, rows, ref values } = *raster;
    assert!(
        cols > 0 && rows > 0 && values.len() == cols * rows,
        "{cols} x {rows} cells, {} values",
        values.len()
    );
    let north_first = Raster::turned_over(cols, values);
    let (directory, doubles) = crs.keys();
    let north = south + rows as f64 * cell[1];
    let write = |out: &mut Cursor<Vec<u8>>| -> tiff::TiffResult<()> {
        let mut file = TiffEncoder::new(out)?.with_compression(Compression::Deflate(DeflateLevel::Fast));
        let mut image = file.new_image::<Gray64Float>(cols as u32, rows as u32)?;
        let tags = image.encoder();
        tags.write_tag(Tag::ModelPixelScaleTag, &[cell[0], cell[1], 0.0][..])?;
        tags.write_tag(Tag::ModelTiepointTag, &[0.0, 0.0, 0.0, west, north, 0.0][..])?;
        tags.write_tag(Tag::GeoKeyDirectoryTag, &directory[..])?;
        if !doubles.is_empty() {
            tags.write_tag(Tag::GeoDoubleParamsTag, &doubles[..])?;
        }
        tags.write_tag(Tag::GdalNodata, "nan")?;
        image.write_data(&north_first)
    };
    let mut out = Cursor::new(Vec::new());
    write(&mut out).expect("writing to memory");
    out.into_inner()
}
