//! Projected coordinates of a file to site metres and back, by EPSG code.

use crate::{Frame, LonLat};
use measure::Spot;
use proj4rs::{Proj, transform::transform};

/// Ties a file's coordinates to site metres.
pub(crate) struct Projection {
    frame: Frame,
    /// `None` for longitude and latitude on WGS 84.
    file: Option<(Proj, Proj)>,
}

impl Projection {
    /// The projection of an EPSG code; an error names what is not known of it.
    ///
    /// # Source
    /// EPSG definitions and formulas of the `proj4rs` library; datum shifts by Helmert parameters only.
    pub fn of(epsg: u32, frame: Frame) -> Result<Projection, String> {
        if epsg == 4326 {
            return Ok(Projection { frame, file: None });
        }
        let code = u16::try_from(epsg)
            .map_err(|_| format!("EPSG:{epsg} is not in the list of coordinate systems"))?;
        let file =
            Proj::from_epsg_code(code).map_err(|error| format!("EPSG:{epsg} cannot be used ({error})"))?;
        let world = Proj::from_proj_string("+proj=longlat +datum=WGS84 +no_defs")
            .map_err(|error| format!("EPSG:{epsg} cannot be used ({error})"))?;
        if file.is_geocent() || !file.has_inverse() || !file.has_forward() {
            return Err(format!("EPSG:{epsg} has no way between map and longitude and latitude"));
        }
        Ok(Projection { frame, file: Some((file, world)) })
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
