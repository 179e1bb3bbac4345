//! Places from bearings: two stands crossing, one stand with a distance (models B2).

use measure::{Bearing, Spot, parameters::value};

/// A place with its error ellipse.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fix {
    /// Most probable place.
    pub spot: Spot,
    /// Covariance \[m²\]: east-east, east-north, north-north.
    pub covariance: [f64; 3],
}

impl Fix {
    /// Standard errors along the axes of the ellipse and the bearing of the longer one:
    /// (major \[m\], minor \[m\], bearing in \[0, 180)).
    pub fn ellipse(&self) -> (f64, f64, Bearing) {
        let [ee, en, nn] = self.covariance;
        let mean = 0.5 * (ee + nn);
        let half = (0.25 * (ee - nn) * (ee - nn) + en * en).sqrt();
        // A round ellipse has no longer axis: north, and not whatever rounding says.
        let angle = if half <= 1e-12 * mean { 0.0 } else { 0.5 * libm::atan2(2.0 * en, nn - ee) };
        let degrees = angle.to_degrees().rem_euclid(180.0);
        (
            (mean + half).sqrt(),
            (mean - half).max(0.0).sqrt(),
            // An axis a hair west of north is north: nobody wants to read 180.
            Bearing::new(if degrees > 180.0 - 1e-9 { 0.0 } else { degrees }),
        )
    }
}

/// Where bearings from several stands cross: least squares, with its error.
///
/// Row of H per stand (dn/r², −de/r²) in rad/m, covariance σ² (HᵀH)⁻¹; Gauss-Newton from the crossing
/// of the first pair of lines that do cross. Model `cross_bearing`, docs/models/sightings.md.
///
/// # Inputs
/// - `posts`: where they stood \[m\] · `bearings` · `sigma_deg`: error of each bearing \[degrees\]
///
/// # Gives
/// The fix; `None` with fewer than two stands, lines that never cross in front of their stands, or
/// bearings that fit no place.
///
/// # Source
/// least squares of bearings (textbook)
pub fn cross_bearing(posts: &[Spot], bearings: &[Bearing], sigma_deg: f64) -> Option<Fix> {
    let n = posts.len().min(bearings.len());
    let mut spot = (0..n).flat_map(|i| (0..i).map(move |j| (j, i))).find_map(|(i, j)| {
        let (a, b) = (Spot::towards(bearings[i], 1.0), Spot::towards(bearings[j], 1.0));
        let cross = a.cross(b);
        if cross.abs() < 1e-6 {
            return None;
        }
        let gap = posts[j] - posts[i];
        let (along, other) = (gap.cross(b) / cross, gap.cross(a) / cross);
        (along > 0.0 && other > 0.0).then(|| posts[i] + a * along)
    })?;
    let sigma = sigma_deg.to_radians();
    for _ in 0..100 {
        let Normal { ee, en, nn, pull } = Normal::at(spot, &posts[..n], bearings);
        let det = ee * nn - en * en;
        // Relative to the size of the system: stands far away give small numbers without crossing badly.
        if det <= 1e-12 * (ee + nn) * (ee + nn) {
            return None;
        }
        let step =
            Spot::new(nn * pull.east - en * pull.north, ee * pull.north - en * pull.east) * (1.0 / det);
        spot = spot + step;
        let far = posts[..n].iter().map(|post| post.distance(spot)).fold(0.0, f64::max);
        if step.length() < 1e-9 + 1e-12 * far {
            let covariance = [nn, -en, ee].map(|x| sigma * sigma * x / det);
            return Some(Fix { spot, covariance });
        }
    }
    // Bearings that fit no place at all send the steps round for ever.
    None
}

/// Normal equations of the bearings about a place.
struct Normal {
    ee: f64,
    en: f64,
    nn: f64,
    pull: Spot,
}

impl Normal {
    fn at(spot: Spot, posts: &[Spot], bearings: &[Bearing]) -> Normal {
        let mut normal = Normal { ee: 0.0, en: 0.0, nn: 0.0, pull: Spot::default() };
        for (post, bearing) in posts.iter().zip(bearings) {
            let step = spot - *post;
            let square = step.dot(step).max(1e-12);
            let (he, hn) = (step.north / square, -step.east / square);
            let miss = (bearing.degrees() - step.bearing().degrees() + 540.0).rem_euclid(360.0) - 180.0;
            normal.ee += he * he;
            normal.en += he * hn;
            normal.nn += hn * hn;
            normal.pull = normal.pull + Spot::new(he, hn) * miss.to_radians();
        }
        normal
    }
}

/// Where one stand saw somebody: bearing and stated distance, with errors across and along.
///
/// # Inputs
/// - `post` · `bearing`, `sigma_deg` · `range_m`: distance taken as true \[m\] · `range_share`: its relative error
///
/// # Gives
/// (place, error across \[m\], error along \[m\]).
///
/// # Source
/// first-order error propagation
pub fn bearing_range(
    post: Spot,
    bearing: Bearing,
    sigma_deg: f64,
    range_m: f64,
    range_share: f64,
) -> (Spot, f64, f64) {
    (post + Spot::towards(bearing, range_m), range_m * sigma_deg.to_radians(), range_m * range_share)
}

/// True distance expected from a stated one \[m\], and its relative error: by a mark without bias, by eye with the register's.
///
/// # Source
/// assumed between nelson-hendrick and vista-distance (they disagree in sign with distance)
pub fn true_range(stated_m: f64, by_mark: bool) -> (f64, f64) {
    if by_mark {
        (stated_m, value("range_mark_sigma_share"))
    } else {
        (stated_m * value("range_bias"), value("range_sigma_share"))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: ST-1
    #[test]
    fn two_stands_at_right_angles_cross_with_equal_errors() {
        let posts = [Spot::new(0.0, 0.0), Spot::new(40.0, 40.0)];
        let fix = cross_bearing(&posts, &[Bearing::new(0.0), Bearing::new(270.0)], 3.0).unwrap();
        assert!(fix.spot.distance(Spot::new(0.0, 40.0)) < 1e-6);
        let (major, minor, _) = fix.ellipse();
        let expect = 40.0 * 3.0_f64.to_radians();
        assert!((major - expect).abs() < 1e-9 && (minor - expect).abs() < 1e-9);
    }

    // shows: ST-2
    #[test]
    fn lines_that_never_cross_give_no_place() {
        let posts = [Spot::new(0.0, 0.0), Spot::new(10.0, 0.0)];
        for pair in [[0.0, 0.0], [270.0, 90.0], [300.0, 60.0]] {
            assert!(cross_bearing(&posts, &pair.map(Bearing::new), 3.0).is_none(), "{pair:?}");
        }
        assert!(cross_bearing(&posts[..1], &[Bearing::new(0.0)], 3.0).is_none());
    }

    // shows: ST-3
    #[test]
    fn the_long_axis_points_along_flat_crossings() {
        let posts = [Spot::new(-5.0, 0.0), Spot::new(5.0, 0.0)];
        let target = Spot::new(0.0, 60.0);
        let bearings = posts.map(|post| post.bearing_to(target));
        let (major, minor, bearing) = cross_bearing(&posts, &bearings, 3.0).unwrap().ellipse();
        assert!(
            major > 5.0 * minor
                && bearing.angle_to(Bearing::new(0.0)).min(bearing.angle_to(Bearing::new(180.0))) < 1e-6
        );
    }

    // shows: ST-4
    #[test]
    fn errors_across_and_along_grow_with_distance() {
        let (spot, across, along) = bearing_range(Spot::new(10.0, 0.0), Bearing::new(90.0), 3.0, 50.0, 0.1);
        assert!(spot.distance(Spot::new(60.0, 0.0)) < 1e-12);
        assert!((across - 50.0 * 3.0_f64.to_radians()).abs() < 1e-14 && (along - 5.0).abs() < 1e-14);
    }

    // shows: ST-1
    #[test]
    fn stands_far_away_cross_as_well_as_near_ones() {
        let posts = [Spot::new(0.0, 0.0), Spot::new(4e6, 4e6)];
        let fix = cross_bearing(&posts, &[Bearing::new(0.0), Bearing::new(270.0)], 3.0).unwrap();
        assert!((fix.ellipse().0 / (4e6 * 3.0_f64.to_radians()) - 1.0).abs() < 1e-9);
    }
}
