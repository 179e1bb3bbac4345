//! Site metres: azimuthal equidistant about the site's origin on the WGS 84 ellipsoid (model F1).

use geo::{Destination, Geodesic, GeodesicBearing, Point};
use measure::{Bearing, Spot};
use serde::{Deserialize, Serialize};

/// Longitude and latitude in degrees, WGS 84, as in RFC 7946 files.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct LonLat {
    /// Degrees east, −180 to 180.
    pub lon: f64,
    /// Degrees north, −90 to 90.
    pub lat: f64,
}

/// Ties site metres to longitude and latitude.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Frame {
    origin: LonLat,
}

impl Frame {
    /// The frame about `origin`.
    pub fn new(origin: LonLat) -> Self {
        Frame { origin }
    }

    /// The origin.
    pub fn origin(&self) -> LonLat {
        self.origin
    }

    /// Site metres of a place: geodesic distance and azimuth from the origin, laid off in the plane.
    ///
    /// # Valid
    /// Anywhere; distances and bearings *from the origin* are exact to about 15 nm, those between two
    /// other places within 5 km of it are off by less than 1e-7 of their length. At a pole all
    /// azimuths from the origin are still defined; the way back is unique except at the antipode.
    ///
    /// # Source
    /// karney-2013 (geodesic); the azimuthal equidistant projection is its definition.
    pub fn to_site(&self, place: LonLat) -> Spot {
        let (origin, place) = (point(self.origin), point(place));
        // One inverse problem gives both.
        let (bearing, distance) = origin.geodesic_bearing_distance(place);
        if distance == 0.0 {
            return Spot::default();
        }
        Spot::towards(Bearing::new(bearing), distance)
    }

    /// Longitude and latitude of a place in site metres; inverse of [`Frame::to_site`], round trip under 1 mm within 5 km.
    pub fn to_lonlat(&self, spot: Spot) -> LonLat {
        let there = Geodesic.destination(point(self.origin), spot.bearing().degrees(), spot.length());
        LonLat { lon: there.x(), lat: there.y() }
    }
}

fn point(place: LonLat) -> Point {
    Point::new(place.lon, place.lat)
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: FR-1
    #[test]
    fn round_trip_is_under_a_millimetre_within_five_kilometres() {
        for (lon, lat) in
            [(-3.1, 54.5), (179.99, -16.5), (20.0, 89.99), (0.0, -90.0), (-93.69, 49.69), (100.5, 0.0)]
        {
            let frame = Frame::new(LonLat { lon, lat });
            for (east, north) in [(0.0, 0.0), (3.0, -2.0), (-4000.0, 3000.0), (1.0, 4999.0)] {
                let spot = Spot::new(east, north);
                let back = frame.to_site(frame.to_lonlat(spot));
                assert!(back.distance(spot) < 1e-3, "{lon} {lat}: {spot:?} came back as {back:?}");
            }
        }
    }

    // shows: FR-2
    #[test]
    fn a_meridian_is_as_long_as_its_series() {
        // WGS 84 meridian from the equator to 1 degree: a (1 − e²) ∫ (1 − e² sin²φ)^(−3/2) dφ, Simpson over 200 steps.
        let (a, e2) = (6_378_137.0, 0.006_694_379_990_141_316);
        let (n, top) = (200, 1.0_f64.to_radians());
        let rate = |phi: f64| (1.0 - e2 * phi.sin().powi(2)).powf(-1.5);
        let mut sum = rate(0.0) + rate(top);
        for k in 1..n {
            sum += rate(top * f64::from(k) / f64::from(n)) * if k % 2 == 1 { 4.0 } else { 2.0 };
        }
        let length = a * (1.0 - e2) * sum * top / f64::from(n) / 3.0;
        let spot = Frame::new(LonLat { lon: 12.0, lat: 0.0 }).to_site(LonLat { lon: 12.0, lat: 1.0 });
        assert!(spot.east.abs() < 1e-6 && (spot.north - length).abs() < 1e-6, "{spot:?} {length}");
    }
}
