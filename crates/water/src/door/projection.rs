//! Projected coordinates of a file to site metres and back, by EPSG code.

use crate::{Frame, LonLat};
use measure::Spot;
use proj4rs::{Proj, transform::transform};

/// Ties a file's coordinates to site metres.
pub(crate) struct Projection {
    frame: Frame,
    /// `None` for longitude and latitude on WGS 84.
    file: Option<(Proj, Proj)>,
    shifted: bool,
}

/// The national datum of a code whose shift to WGS 84 is known by a name; `None` where none is needed.
///
/// The definitions in the list name an ellipsoid and no shift: without one, places of an old datum come out a
/// hundred metres and more away, and nothing tells.
fn datum(epsg: u32, definition: &str) -> Result<Option<&'static str>, String> {
    let old = match epsg {
        27700 | 4277 => "OSGB36",
        21780 | 21781 | 21782 | 2056 | 4149 | 4150 => "ch1903",
        31466..=31469 | 4314 => "potsdam",
        31254..=31259 | 31284..=31287 | 4312 => "hermannskogel",
        29902 | 29903 | 4299 | 4300 => "ire65",
        2100 | 4121 => "GGRS87",
        4272 => "nzgd49",
        _ => "",
    };
    if !old.is_empty() {
        return Ok(Some(old));
    }
    let has = |word: &str| definition.split_whitespace().any(|w| w == word);
    // Datums on these ellipsoids lie within a metre or two of WGS 84.
    const LIKE_WGS84: [&str; 6] =
        ["+datum=WGS84", "+datum=NAD83", "+ellps=WGS84", "+ellps=GRS80", "+ellps=GSK2011", "+nadgrids=@null"];
    if LIKE_WGS84.iter().any(|word| has(word)) {
        return Ok(None);
    }
    Err(format!("EPSG:{epsg} rests on a national datum whose shift to WGS 84 is not known here"))
}

impl Projection {
    /// The projection of an EPSG code; an error names what is not known of it.
    ///
    /// # Source
    /// EPSG definitions of the `crs-definitions` list, formulas of the `proj4rs` library; datum shifts by Helmert parameters only.
    pub fn of(epsg: u32, frame: Frame) -> Result<Projection, String> {
        if epsg == 4326 {
            return Ok(Projection { frame, file: None, shifted: false });
        }
        let definition = u16::try_from(epsg)
            .ok()
            .and_then(crs_definitions::from_code)
            .ok_or_else(|| format!("EPSG:{epsg} is not in the list of coordinate systems"))?;
        let datum = datum(epsg, definition.proj4)?;
        let shift = datum.map_or(String::new(), |name| format!(" +datum={name}"));
        let file = Proj::from_proj_string(&format!("{}{shift}", definition.proj4))
            .map_err(|error| format!("EPSG:{epsg} cannot be used ({error})"))?;
        let world = Proj::from_proj_string("+proj=longlat +datum=WGS84 +no_defs")
            .map_err(|error| format!("EPSG:{epsg} cannot be used ({error})"))?;
        if file.is_geocent() || !file.has_inverse() || !file.has_forward() {
            return Err(format!("EPSG:{epsg} has no way between map and longitude and latitude"));
        }
        Ok(Projection { frame, file: Some((file, world)), shifted: datum.is_some() })
    }

    /// Whether the code's own datum is brought to WGS 84 by one shift for the whole country, which is good to some metres.
    pub fn shifted(&self) -> bool {
        self.shifted
    }

    /// Whether the file holds degrees.
    pub fn in_degrees(&self) -> bool {
        self.file.as_ref().is_none_or(|(file, _)| file.is_latlong())
    }

    /// Longitude and latitude of a place in the file; `None` where it has none.
    pub fn to_lonlat(&self, x: f64, y: f64) -> Option<LonLat> {
        let (mut lon, mut lat) = (x, y);
        if let Some((file, world)) = &self.file {
            let mut point =
                if file.is_latlong() { (x.to_radians(), y.to_radians(), 0.0) } else { (x, y, 0.0) };
            transform(file, world, &mut point).ok()?;
            (lon, lat) = (point.0.to_degrees(), point.1.to_degrees());
        }
        (lon.abs() <= 360.0 && lat.abs() <= 90.0).then(|| LonLat { lon: turned(lon), lat })
    }

    /// Site metres of a place in the file.
    pub fn to_site(&self, x: f64, y: f64) -> Option<Spot> {
        let spot = self.frame.to_site(self.to_lonlat(x, y)?);
        spot.is_finite().then_some(spot)
    }

    /// The file's coordinates of a place in site metres; degrees of longitude come out near `about`.
    pub fn to_file(&self, spot: Spot, about: f64) -> Option<(f64, f64)> {
        let LonLat { lon, lat } = self.frame.to_lonlat(spot);
        let Some((file, world)) = &self.file else { return Some((near(lon, about), lat)) };
        let mut point = (lon.to_radians(), lat.to_radians(), 0.0);
        transform(world, file, &mut point).ok()?;
        let (x, y, _) = point;
        let (x, y) = if file.is_latlong() { (near(x.to_degrees(), about), y.to_degrees()) } else { (x, y) };
        (x.is_finite() && y.is_finite()).then_some((x, y))
    }
}

/// A longitude brought into −180 to 180.
pub(crate) fn turned(lon: f64) -> f64 {
    if lon.abs() <= 180.0 { lon } else { lon - 360.0 * (lon / 360.0).round() }
}

/// A longitude a whole number of turns away, as near to `about` as can be.
fn near(lon: f64, about: f64) -> f64 {
    lon + 360.0 * ((about - lon) / 360.0).round()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Code, coordinates, longitude, latitude.
    const DATUM_POINTS: [(u32, f64, f64, f64, f64); 9] = [
        (27_700, 328_859.5, 512_187.7, -3.1, 54.5),
        (27_700, 573_621.2, 180_858.7, 0.5, 51.5),
        (2056, 2_680_270.6, 1_239_333.2, 8.5, 47.3),
        (21_781, 574_196.8, 194_377.2, 7.1, 46.9),
        (31_467, 3_507_436.8, 5_395_830.4, 9.1, 48.7),
        (31_468, 4_470_315.4, 5_329_181.9, 11.6, 48.1),
        (31_256, -2_388.8, 340_177.5, 16.3, 48.2),
        (29_903, 166_712.6, 227_833.3, -8.5, 53.3),
        (2100, 473_511.1, 4_205_569.6, 23.7, 38.0),
    ];

    #[test]
    fn utm_comes_back_and_agrees_with_its_central_meridian() {
        let frame = Frame::new(LonLat { lon: -93.0, lat: 49.0 });
        let utm = Projection::of(32615, frame).expect("UTM 15 north");
        // On the central meridian of zone 15 (93 W) the easting is 500 000 m by definition.
        let spot =
            utm.to_site(500_000.0, utm.to_file(Spot::default(), 0.0).expect("origin").1).expect("place");
        assert!(spot.length() < 1e-3, "{spot:?}");
        let there = Spot::new(900.0, -400.0);
        let (x, y) = utm.to_file(there, 0.0).expect("inside");
        assert!(utm.to_site(x, y).expect("inside").distance(there) < 1e-3);
        assert!((x - 500_000.0 - 900.0 * 0.9996).abs() < 1.0, "scale 0.9996 at the meridian: {x}");
    }

    // An old datum without its shift puts a whole lake a hundred metres off, and nothing would tell.
    #[test]
    fn national_grids_are_shifted_to_wgs_84_or_refused() {
        let frame = Frame::new(LonLat { lon: 0.0, lat: 0.0 });
        // The same points by PROJ 9 with the EPSG data set and no grid files (pyproj), rounded to 0.1 m; five
        // metres is what one shift for a whole country is good for.
        for (epsg, x, y, lon, lat) in DATUM_POINTS {
            let at = Projection::of(epsg, frame).expect("known").to_lonlat(x, y).expect("a place");
            let off = Frame::new(LonLat { lon, lat }).to_site(at).length();
            assert!(off < 5.0, "EPSG:{epsg} is {off:.1} m off");
            assert!(Projection::of(epsg, frame).expect("known").shifted());
        }
        for epsg in [28_992, 31_370, 26_715, 23_030, 3003, 20_255, 4230, 5514] {
            let why = Projection::of(epsg, frame).err().expect("refused");
            assert!(why.contains("datum"), "{why}");
        }
        for epsg in [32_630, 3857, 25_830, 4258, 2193, 2154, 3006, 26_915, 7855, 2263] {
            assert!(!Projection::of(epsg, frame).expect("usable").shifted(), "{epsg}");
        }
    }

    #[test]
    fn unknown_codes_are_said_and_turns_are_taken_out() {
        let frame = Frame::new(LonLat { lon: 0.0, lat: 0.0 });
        for code in [0, 1, 99_999, 65_535] {
            assert!(Projection::of(code, frame).is_err(), "{code}");
        }
        assert!((turned(180.5) + 179.5).abs() < 1e-9);
        assert_eq!(turned(-180.0), -180.0);
        let world = Projection::of(4326, frame).expect("degrees");
        assert_eq!(world.to_lonlat(10.0, 91.0), None);
    }
}
