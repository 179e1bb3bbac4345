//! The part of the map that stands still: water, features, contours, depth bands, names.

use crate::screen::Words;
use measure::Spot;
use schemars::JsonSchema;
use serde::Serialize;
use water::{Bed, Day, FOOT_M, Ground, Kind, Shape, Site, Support, Units, band_areas, contours};

/// The map of a site on a day, in site metres.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct Chart {
    /// Name of the site.
    pub name: String,
    /// Longitude and latitude of the origin of the site metres.
    pub origin: [f64; 2],
    /// West, south, east, north \[m\].
    pub bounds: [f64; 4],
    /// Bearing that is up on the screen of whoever stands on the shore and faces the water \[degrees\].
    pub facing_deg: f64,
    /// Outer rings and holes of the water.
    pub water: Vec<Vec<Spot>>,
    /// Everything else on the map.
    pub features: Vec<ChartFeature>,
    /// Lines of equal depth.
    pub contours: Vec<ChartContour>,
    /// Depth bands.
    pub bands: Vec<ChartBand>,
    /// `metric` or `feet`.
    pub units: String,
    /// Local emergency number.
    pub emergency: String,
    /// Local plan, in a few lines.
    pub plan: String,
    /// Posts.
    pub posts: Vec<NamedSpot>,
    /// Landmarks and whatever else may be named.
    pub landmarks: Vec<NamedSpot>,
    /// Areas that may be named.
    pub areas: Vec<NamedArea>,
    /// Day of the soundings, as written.
    pub sounded_on: String,
    /// Conditions in words.
    pub conditions: Words,
}

/// A feature of the map.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChartFeature {
    /// What it is.
    pub kind: String,
    /// Name.
    pub name: String,
    /// `point`, `line` or `area`.
    pub shape: String,
    /// Places of a point or line.
    pub points: Vec<Spot>,
    /// Rings of an area.
    pub rings: Vec<Vec<Spot>>,
}

/// Lines of one depth.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChartContour {
    /// Depth \[m\].
    pub depth_m: f64,
    /// Lines.
    pub lines: Vec<Vec<Spot>>,
}

/// One depth band.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct ChartBand {
    /// `wade`, `dive` or `deep`.
    pub band: String,
    /// Rings: outer ones and holes.
    pub rings: Vec<Vec<Spot>>,
}

/// A named place.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NamedSpot {
    /// Name.
    pub name: String,
    /// Where.
    pub spot: Spot,
}

/// A named area.
#[derive(Clone, Debug, PartialEq, Serialize, JsonSchema)]
pub struct NamedArea {
    /// Name.
    pub name: String,
    /// Rings.
    pub rings: Vec<Vec<Spot>>,
}

/// Depths whose contours are drawn, beside the limits of the site \[m\].
const DEPTHS_M: [f64; 10] = [0.5, 1.0, 1.5, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0];
/// The same for a site in feet \[ft\].
const DEPTHS_FT: [f64; 10] = [2.0, 3.0, 5.0, 7.0, 10.0, 13.0, 16.0, 25.0, 33.0, 50.0];

/// The map of a site on a day.
///
/// # Inputs
/// - `site` · `ground`: its bottom at the stage of the day · `day`
///
/// # Gives
/// The chart, to be served once.
///
/// # Source
/// `water::contours`, `water::band_areas`
pub fn chart(site: &Site, ground: &Ground, day: &Day) -> Chart {
    let limits = site.limits;
    let mut depths = match site.units {
        Units::Metric => DEPTHS_M.to_vec(),
        Units::Feet => DEPTHS_FT.map(|feet| feet * FOOT_M).to_vec(),
    };
    depths.push(limits.wade_depth_m);
    depths.push(limits.dive_depth_m);
    depths.sort_by(f64::total_cmp);
    depths.dedup();
    let rings = |shape: &Shape| match shape {
        Shape::Area(polygons) => polygons.iter().flatten().cloned().collect(),
        Shape::Point(_) | Shape::Line(_) => Vec::new(),
    };
    let water: Vec<Vec<Spot>> = site.of_kind(Kind::Water).flat_map(|f| rings(&f.shape)).collect();
    let named = |f: &&water::Feature| !f.name.is_empty() && f.kind != Kind::Water;
    let spot = |f: &water::Feature| NamedSpot { name: f.name.clone(), spot: f.shape.middle() };
    let origin = site.frame.origin();
    Chart {
        name: site.name.clone(),
        origin: [origin.lon, origin.lat],
        bounds: bounds(&water, ground),
        facing_deg: facing(site, ground),
        features: site.features.iter().filter(|f| f.kind != Kind::Water).map(feature).collect(),
        contours: contours(ground, &depths)
            .into_iter()
            .filter(|(_, lines)| !lines.is_empty())
            .map(|(depth_m, lines)| ChartContour { depth_m, lines })
            .collect(),
        bands: band_areas(ground, [limits.wade_depth_m, limits.dive_depth_m])
            .into_iter()
            .map(|band| ChartBand {
                band: if band.name == "too deep" { "deep".into() } else { band.name.into() },
                rings: band.areas.into_iter().flatten().collect(),
            })
            .collect(),
        units: match site.units {
            Units::Metric => "metric".into(),
            Units::Feet => "feet".into(),
        },
        emergency: site.emergency_number.clone(),
        plan: site.plan_text.clone(),
        posts: site.of_kind(Kind::Post).filter(named).map(spot).collect(),
        landmarks: site.features.iter().filter(named).filter(|f| f.kind != Kind::Post).map(spot).collect(),
        areas: site
            .features
            .iter()
            .filter(named)
            .filter(|f| matches!(f.shape, Shape::Area(_)))
            .map(|f| NamedArea { name: f.name.clone(), rings: rings(&f.shape) })
            .collect(),
        sounded_on: site.sounded_on.clone(),
        conditions: conditions(day, site.units),
        water,
    }
}

/// Today's conditions in three lines, in the units of the site.
pub(crate) fn conditions(day: &Day, units: Units) -> Words {
    Words {
        over: day.date.clone(),
        lines: vec![
            format!("Water {:.1} °C, sight {} by the disc", day.water_c, units.length(day.secchi_m)),
            format!("Wind {:.0} m/s from {}", day.wind_mps, day.wind_from.word()),
            format!("Stage {:.2} {}", units.length_of(day.stage_m), units.length_unit()),
        ],
        under: String::new(),
    }
}

fn feature(f: &water::Feature) -> ChartFeature {
    let kind = match f.kind {
        Kind::Water => "water",
        Kind::BathingArea => "bathing_area",
        Kind::Bottom(Bed::Sand) => "bottom_sand",
        Kind::Bottom(Bed::Mud) => "bottom_mud",
        Kind::Bottom(Bed::Weed) => "bottom_weed",
        Kind::Bottom(Bed::Rock) => "bottom_rock",
        Kind::Dock(Support::Solid) | Kind::Dock(Support::Piled) | Kind::Dock(Support::Floating) => "dock",
        Kind::Raft(_) => "raft",
        Kind::Rope => "rope",
        Kind::Post => "post",
        Kind::KitPlace => "kit_place",
        Kind::Landmark => "landmark",
        Kind::Gate => "gate",
        Kind::CatchPoint => "catch_point",
        Kind::NoGo => "no_go",
        Kind::DropOff => "drop_off",
    };
    let (shape, points, rings) = match &f.shape {
        Shape::Point(spot) => ("point", vec![*spot], Vec::new()),
        Shape::Line(places) => ("line", places.clone(), Vec::new()),
        Shape::Area(polygons) => ("area", Vec::new(), polygons.iter().flatten().cloned().collect()),
    };
    ChartFeature { kind: kind.into(), name: f.name.clone(), shape: shape.into(), points, rings }
}

/// The box of the water; of the grid where no outline is given.
fn bounds(water: &[Vec<Spot>], ground: &Ground) -> [f64; 4] {
    let grid = &ground.grid;
    let far = grid.corner + Spot::new(grid.cols as f64, grid.rows as f64) * grid.cell_m;
    let all = water.iter().flatten();
    let found = all.fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, spot| {
        [b[0].min(spot.east), b[1].min(spot.north), b[2].max(spot.east), b[3].max(spot.north)]
    });
    if found[0] > found[2] { [grid.corner.east, grid.corner.north, far.east, far.north] } else { found }
}

/// From the middle of posts, gates and kit towards the middle of the water.
fn facing(site: &Site, ground: &Ground) -> f64 {
    let ashore: Vec<Spot> = [Kind::Post, Kind::Gate, Kind::KitPlace]
        .into_iter()
        .flat_map(|kind| site.of_kind(kind))
        .map(|f| f.shape.middle())
        .filter(|spot| ground.grid.cell(*spot).is_none_or(|cell| !ground.is_water(cell)))
        .collect();
    let wet: Vec<Spot> =
        (0..ground.grid.len()).filter(|&c| ground.is_water(c)).map(|c| ground.grid.centre(c)).collect();
    let middle =
        |all: &[Spot]| all.iter().fold(Spot::default(), |sum, &s| sum + s) * (1.0 / all.len() as f64);
    if ashore.is_empty() || wet.is_empty() {
        return 0.0;
    }
    middle(&ashore).bearing_to(middle(&wet)).degrees()
}
