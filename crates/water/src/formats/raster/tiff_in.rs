//! GeoTIFF in: the samples by the `tiff` crate, place and size of the cells from the tags by us.

use super::{Raster, check_size};
use std::io::Cursor;
use tiff::decoder::{Decoder, DecodingResult, Limits};
use tiff::tags::Tag;

/// GeoKey: whether a value stands for a cell (1) or for the point in its middle (2).
const RASTER_TYPE: u16 = 1025;
/// GeoKey: EPSG code of a geographic system.
const GEOGRAPHIC: u16 = 2048;
/// GeoKey: EPSG code of a projected system.
const PROJECTED: u16 = 3072;
/// Beyond this a value stands for "none", whatever the nodata tag says: depths are not that large.
const NO_DEPTH: f64 = 1e30;

type Open<'a> = Decoder<Cursor<&'a [u8]>>;

/// Where the cells lie: corner of the north-west cell, and the size of a cell.
#[derive(Clone, Copy)]
struct Lie {
    west: f64,
    north: f64,
    cell: [f64; 2],
}

/// Reads a GeoTIFF of one band.
///
/// Integer and floating-point samples, strips or tiles, plain, LZW or Deflate. The place comes from the
/// scale and tie-point tags (or a transformation without rotation), else from the world file. Rows may run north
/// or south; a scale and an offset of the samples are applied.
///
/// # Inputs
/// - `bytes`: the .tif
/// - `tfw`: the world file beside it, if there is one
///
/// # Gives
/// The raster, or what is wrong, with value, rule and way out.
///
/// # Source
/// the GeoTIFF tags and keys as files show them; from memory, unverified
pub fn geotiff(bytes: &[u8], tfw: Option<&[u8]>) -> Result<Raster, String> {
    let mut file = open(bytes)?;
    let (cols, rows) = file.dimensions().map_err(unreadable)?;
    let (cols, rows) = (cols as usize, rows as usize);
    let cells = check_size(cols, rows)?;
    let bands = file.find_tag_unsigned::<u32>(Tag::SamplesPerPixel).map_err(unreadable)?.unwrap_or(1);
    if bands != 1 {
        return Err(format!("{bands} bands; a depth raster has one: export one band"));
    }
    let lie = place(&mut file, tfw)?;
    let nodata = nodata(&mut file);
    let (scale, offset) = scaling(&mut file)?;
    let samples = numbers(file.read_image().map_err(unreadable)?);
    if samples.len() != cells {
        return Err(format!(
            "{} samples where {cols} x {rows} = {cells} are due; export the raster again",
            samples.len()
        ));
    }
    let known = |value: f64| {
        let is_none = nodata.is_some_and(|none| value == none);
        if is_none || !value.is_finite() || value.abs() >= NO_DEPTH {
            f64::NAN
        } else {
            value * scale + offset
        }
    };
    let values: Vec<f64> = samples.into_iter().map(known).collect();
    // Some programs write the south row first: then the first row's edge is the south edge.
    let south_first = lie.cell[1] < 0.0;
    Raster {
        west: lie.west,
        south: if south_first { lie.north } else { lie.north - rows as f64 * lie.cell[1] },
        cell: [lie.cell[0], lie.cell[1].abs()],
        cols,
        rows,
        values: if south_first { values } else { Raster::turned_over(cols, &values) },
    }
    .checked()
}

/// The EPSG code a GeoTIFF names for its coordinates; `None` where it names none (or its own system).
pub fn geotiff_epsg(bytes: &[u8]) -> Option<u32> {
    let mut file = open(bytes).ok()?;
    let code = geo_key(&mut file, PROJECTED).or_else(|| geo_key(&mut file, GEOGRAPHIC))?;
    // 0 is undefined and 32767 a system of the file's own.
    (code != 0 && code != 32_767).then_some(u32::from(code))
}

fn open(bytes: &[u8]) -> Result<Open<'_>, String> {
    // Ten bytes a cell: the widest sample has eight.
    let mut limits = Limits::default();
    limits.decoding_buffer_size = super::CELLS_MOST * 10;
    limits.intermediate_buffer_size = super::CELLS_MOST * 10;
    Ok(Decoder::new(Cursor::new(bytes)).map_err(unreadable)?.with_limits(limits))
}

fn unreadable(error: tiff::TiffError) -> String {
    format!(
        "not a TIFF that can be read: {error}; export it as plain GeoTIFF (no compression, LZW or Deflate)"
    )
}

fn numbers(samples: DecodingResult) -> Vec<f64> {
    fn all<T: Into<f64>>(samples: Vec<T>) -> Vec<f64> {
        samples.into_iter().map(Into::into).collect()
    }
    match samples {
        DecodingResult::U8(s) => all(s),
        DecodingResult::U16(s) => all(s),
        DecodingResult::U32(s) => all(s),
        DecodingResult::U64(s) => s.into_iter().map(|v| v as f64).collect(),
        DecodingResult::I8(s) => all(s),
        DecodingResult::I16(s) => all(s),
        DecodingResult::I32(s) => all(s),
        DecodingResult::I64(s) => s.into_iter().map(|v| v as f64).collect(),
        DecodingResult::F16(s) => s.into_iter().map(f64::from).collect(),
        DecodingResult::F32(s) => all(s),
        DecodingResult::F64(s) => s,
    }
}

fn doubles(file: &mut Open, tag: Tag) -> Option<Vec<f64>> {
    file.find_tag(tag).ok()??.into_f64_vec().ok()
}

fn nodata(file: &mut Open) -> Option<f64> {
    let text = file.find_tag(Tag::GdalNodata).ok()??.into_string().ok()?;
    text.trim_end_matches('\0').trim().parse().ok()
}

/// Scale and offset of the samples, as programs that write integers note them: value = sample × scale + offset.
fn scaling(file: &mut Open) -> Result<(f64, f64), String> {
    const NOTES: u16 = 42112;
    let notes = file.find_tag(Tag::Unknown(NOTES)).ok().flatten().and_then(|tag| tag.into_string().ok());
    let read = |role: &str, usual: f64| -> Result<f64, String> {
        let Some((_, rest)) = notes.as_deref().unwrap_or("").split_once(&format!("role=\"{role}\"")) else {
            return Ok(usual);
        };
        let text = rest.split(['>', '<']).nth(1).unwrap_or("").trim();
        text.parse::<f64>()
            .ok()
            .filter(|number| number.is_finite())
            .ok_or_else(|| format!("the {role} of its samples is \"{text}\"; it must be a number"))
    };
    Ok((read("scale", 1.0)?, read("offset", 0.0)?))
}

fn geo_key(file: &mut Open, key: u16) -> Option<u16> {
    let directory = file.find_tag(Tag::GeoKeyDirectoryTag).ok()??.into_u16_vec().ok()?;
    // Four numbers a key: id, where its value is (0: here), how many, value. The first four are the header.
    directory.chunks_exact(4).skip(1).find(|k| k[0] == key && k[1] == 0).map(|k| k[3])
}

fn place(file: &mut Open, tfw: Option<&[u8]>) -> Result<Lie, String> {
    let tagged = by_tags(file)?;
    let beside = tfw.map(by_world_file).transpose()?;
    match (tagged, beside) {
        (Some(own), Some(other)) => {
            let apart = |a: f64, b: f64, cell: f64| (a - b).abs() > 0.5 * cell.abs();
            if apart(own.west, other.west, own.cell[0]) || apart(own.north, other.north, own.cell[1]) {
                return Err(format!(
                    "the file's own tags put its corner at {}, {} and the world file at {}, {}; remove the wrong one",
                    own.west, own.north, other.west, other.north
                ));
            }
            Ok(own)
        }
        (Some(lie), None) | (None, Some(lie)) => Ok(lie),
        (None, None) => Err("no scale and tie-point tags and no world file: nothing says where it lies; \
                             export as GeoTIFF or put the .tfw beside it"
            .into()),
    }
}

fn by_tags(file: &mut Open) -> Result<Option<Lie>, String> {
    let turned = |b: f64, d: f64| format!("the raster is turned (terms {b}, {d}); export it north-up");
    let lie = if let (Some(scale), Some(tie)) =
        (doubles(file, Tag::ModelPixelScaleTag), doubles(file, Tag::ModelTiepointTag))
    {
        if scale.len() < 2 || tie.len() < 6 {
            return Err("scale or tie-point tag is too short; export the raster again".into());
        }
        // A tie point is column, row, level, then x, y, z of the same place.
        let cell = [scale[0], scale[1]];
        Lie { west: tie[3] - tie[0] * cell[0], north: tie[4] + tie[1] * cell[1], cell }
    } else if let Some(m) = doubles(file, Tag::ModelTransformationTag) {
        if m.len() < 8 {
            return Err("transformation tag is too short; export the raster again".into());
        }
        if m[1] != 0.0 || m[4] != 0.0 {
            return Err(turned(m[1], m[4]));
        }
        Lie { west: m[3], north: m[7], cell: [m[0], -m[5]] }
    } else {
        return Ok(None);
    };
    let shift = if geo_key(file, RASTER_TYPE) == Some(2) { 0.5 } else { 0.0 };
    Ok(Some(Lie { west: lie.west - shift * lie.cell[0], north: lie.north + shift * lie.cell[1], ..lie }))
}

/// World file: six numbers; the last two are the middle of the north-west cell.
fn by_world_file(bytes: &[u8]) -> Result<Lie, String> {
    let text = String::from_utf8_lossy(bytes);
    let terms: Vec<f64> =
        text.trim_start_matches('\u{feff}').split_whitespace().map_while(|word| word.parse().ok()).collect();
    let [width, turn_b, turn_d, height, east, north] = terms[..] else {
        return Err(format!("the world file has {} numbers; it must have six", terms.len()));
    };
    if turn_b != 0.0 || turn_d != 0.0 {
        return Err(format!(
            "the world file turns the raster (terms {turn_b}, {turn_d}); export it north-up"
        ));
    }
    let cell = [width, -height];
    Ok(Lie { west: east - 0.5 * cell[0], north: north + 0.5 * cell[1], cell })
}
