//! The water's outline: overlapping polygons made one, or drawn round the soundings where there is none.

use crate::door::rings;
use crate::formats::words::short;
use crate::problem::{At, Report};
use crate::site::{Feature, Kind, Shape};
use geo::{
    Area, BoundingRect, ConvexHull, Coord, LineString, MultiPoint, MultiPolygon, Point, Polygon, unary_union,
};
use measure::Spot;
use measure::parameters::value;

/// A list of polygons, each an outer ring then holes.
type Polygons = Vec<Vec<Vec<Spot>>>;

fn to_geo(polygon: &[Vec<Spot>]) -> Polygon {
    let line =
        |ring: &Vec<Spot>| ring.iter().map(|s| Coord { x: s.east, y: s.north }).collect::<LineString>();
    Polygon::new(line(&polygon[0]), polygon[1..].iter().map(line).collect())
}

fn from_geo(polygon: &Polygon) -> Vec<Vec<Spot>> {
    let ring = |line: &LineString| line.coords().map(|c| Spot::new(c.x, c.y)).collect::<Vec<_>>();
    std::iter::once(ring(polygon.exterior())).chain(polygon.interiors().iter().map(ring)).collect()
}

/// All water polygons of the features.
pub(crate) fn water(features: &[Feature]) -> Polygons {
    let water = features.iter().filter(|f| f.kind == Kind::Water);
    let areas =
        water.filter_map(|f| if let Shape::Area(polygons) = &f.shape { Some(polygons) } else { None });
    areas.flatten().cloned().collect()
}

/// Makes one water of polygons that overlap or share an edge, so that no shore is taken to run between them.
pub(crate) fn unite(features: &mut Vec<Feature>, report: &mut Report) {
    let parts = water(features);
    if parts.len() < 2 || !any_boxes_meet(&parts) {
        return;
    }
    let polygons: Vec<Polygon> = parts.iter().map(|p| to_geo(p)).collect();
    let before: f64 = polygons.iter().map(Area::unsigned_area).sum();
    let union: MultiPolygon = unary_union(&polygons);
    let lost = before - union.unsigned_area();
    if union.0.is_empty() || (union.0.len() == parts.len() && lost < 0.5) {
        return;
    }
    let Some(first) = features.iter().position(|f| f.kind == Kind::Water) else { return };
    let shape = Shape::Area(union.iter().map(from_geo).collect());
    features[first].shape = shape;
    let mut n = 0;
    features.retain(|f| {
        n += 1;
        f.kind != Kind::Water || n == first + 1
    });
    report.note(
        "W219",
        At::item(format!("water \"{}\"", short(&features[first].name))),
        format!(
            "{} water polygons overlap or share an edge (overlap {lost:.0} m²): taken as {} without a shore between",
            parts.len(),
            union.0.len()
        ),
        "draw each piece of water once",
    );
}

fn any_boxes_meet(parts: &Polygons) -> bool {
    let boxes: Vec<_> = parts.iter().filter_map(|p| to_geo(p).bounding_rect()).collect();
    boxes.iter().enumerate().any(|(n, a)| {
        boxes[..n].iter().any(|b| {
            a.min().x <= b.max().x + rings::SAME_M
                && b.min().x <= a.max().x + rings::SAME_M
                && a.min().y <= b.max().y + rings::SAME_M
                && b.min().y <= a.max().y + rings::SAME_M
        })
    })
}

/// Names features that lie far from all water.
pub(crate) fn name_far_features(features: &[Feature], report: &mut Report) {
    let water = water(features);
    let far = value("feature_far_m");
    if water.is_empty() {
        return;
    }
    for feature in features.iter().filter(|f| f.kind != Kind::Water) {
        let metres = distance(&water, feature.shape.middle());
        if metres > far {
            report.note(
                "W218",
                At::item(format!("\"{}\"", short(&feature.name))),
                format!("lies {metres:.0} m from the water, more than {far:.0} m"),
                "mend its position, or leave it if it is meant",
            );
        }
    }
}

/// Distance of a place to polygons \[m\]; 0 inside.
pub(crate) fn distance(polygons: &Polygons, spot: Spot) -> f64 {
    let mut least = f64::INFINITY;
    for polygon in polygons {
        let odd = polygon.iter().filter(|ring| rings::inside(ring, spot)).count() % 2 == 1;
        if odd {
            return 0.0;
        }
        for pair in polygon.iter().flat_map(|ring| ring.windows(2)) {
            least = least.min(to_edge(pair[0], pair[1], spot));
        }
    }
    least
}

fn to_edge(a: Spot, b: Spot, spot: Spot) -> f64 {
    let along = b - a;
    let square = along.dot(along);
    let t = if square > 0.0 { ((spot - a).dot(along) / square).clamp(0.0, 1.0) } else { 0.0 };
    spot.distance(a.lerp(b, t))
}

/// A water outline round places that are known to be water: their convex hull with the margin of the register.
pub(crate) fn round(places: &[Spot]) -> Option<Feature> {
    let margin = value("outline_margin_m");
    let hull = MultiPoint::from(places.iter().map(|s| Point::new(s.east, s.north)).collect::<Vec<_>>())
        .convex_hull();
    if hull.exterior().0.is_empty() {
        return None;
    }
    // The hull of small polygons about its corners is the hull moved out by the margin.
    let widened: Vec<Point> = hull
        .exterior()
        .coords()
        .flat_map(|c| {
            (0..16).map(move |n| {
                let step = Spot::towards(measure::Bearing::new(f64::from(n) * 22.5), margin);
                Point::new(c.x + step.east, c.y + step.north)
            })
        })
        .collect();
    let ring = from_geo(&MultiPoint::from(widened).convex_hull()).swap_remove(0);
    // Long edges get corners in between, so that the shore counts all along and not only at its corners.
    let mut fine = Vec::new();
    for pair in ring.windows(2) {
        let steps = (pair[0].distance(pair[1]) / 5.0).ceil().clamp(1.0, 2000.0) as usize;
        fine.extend((0..steps).map(|n| pair[0].lerp(pair[1], n as f64 / steps as f64)));
    }
    fine.push(*fine.first()?);
    let shape = Shape::Area(vec![vec![fine]]);
    Some(Feature { name: "outline round the soundings".into(), kind: Kind::Water, shape })
}
