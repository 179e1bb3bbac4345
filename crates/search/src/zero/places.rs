//! Places of cards: bathing zones and squares of water.

use crate::{Seen, Setting};
use measure::Spot;
use water::{Ground, Kind, Shape};

/// Side of a place \[m\].
const SIDE_M: f64 = 10.0;
/// Most squares of a water: beyond that they are made wider.
const SQUARES_MOST: usize = 400;

/// A place for which first orders are wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Last seen point: where the marker is dropped.
    pub last_seen: Spot,
    /// What is known of the place: a point with its error, or a zone.
    pub seen: Seen,
}

impl Place {
    /// The middle of a ten-metre cell: anywhere in it is as good.
    ///
    /// # Gives
    /// A point with the standard error of a cell and of a companion's pointing together.
    pub fn cell(middle: Spot) -> Self {
        // A square of side 10 m has a standard deviation of 10/√12 m per axis.
        let error_m = (100.0 / 12.0 + 7.0 * 7.0_f64).sqrt();
        Place { last_seen: middle, seen: Seen::Point { spot: middle, error_m: Some(error_m), stood: None } }
    }

    /// A zone, by its outlines: anywhere in it is as good.
    pub fn zone(name: &str, middle: Spot, rings: Vec<Vec<Vec<Spot>>>) -> Self {
        Place { last_seen: middle, seen: Seen::Area { name: name.into(), rings } }
    }
}

/// Middles of the ten-metre cells of water within outlines, west to east, then south to north.
///
/// # Inputs
/// - `setting` · `rings`: polygons of rings, as of a bathing area
///
/// # Gives
/// Cells whose middle is water inside the outlines.
pub fn cells(setting: &Setting, rings: &[Vec<Vec<Spot>>]) -> Vec<Spot> {
    let all = || rings.iter().flatten().flatten();
    let (mut low, mut high) =
        (Spot::new(f64::INFINITY, f64::INFINITY), Spot::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    for spot in all().filter(|spot| spot.is_finite()) {
        low = Spot::new(low.east.min(spot.east), low.north.min(spot.north));
        high = Spot::new(high.east.max(spot.east), high.north.max(spot.north));
    }
    let ground = setting.ground;
    let wet = |spot: Spot| ground.grid.cell(spot).is_some_and(|cell| ground.is_water(cell));
    let count = |metres: f64| (metres / SIDE_M).ceil().clamp(0.0, 1_000.0) as usize;
    let (cols, rows) = (count(high.east - low.east), count(high.north - low.north));
    (0..rows)
        .flat_map(|row| (0..cols).map(move |col| Spot::new(col as f64 + 0.5, row as f64 + 0.5) * SIDE_M))
        .map(|off| low + off)
        .filter(|&spot| wet(spot) && crate::belief::inside(rings, spot))
        .collect()
}

/// Bathing zones with a name, in the order of the site.
///
/// # Inputs
/// - `setting`
///
/// # Gives
/// Each with its marker: its middle, or the wet square nearest to it where the middle of a bent zone is land.
///
/// # Source
/// by definition
pub fn zones(setting: &Setting) -> Vec<(String, Place)> {
    let mut all = Vec::new();
    for area in setting.site.of_kind(Kind::BathingArea).filter(|area| !area.name.is_empty()) {
        let Shape::Area(rings) = &area.shape else { continue };
        let middle = area.shape.middle();
        let near = |a: &Spot, b: &Spot| a.distance(middle).total_cmp(&b.distance(middle));
        let marker = cells(setting, rings).into_iter().min_by(near).unwrap_or(middle);
        all.push((area.name.clone(), Place::zone(&area.name, marker, rings.clone())));
    }
    all
}

/// Middles of the squares that hold water, in rows from the south-west: ten metres wide, wider where that makes too many.
///
/// # Inputs
/// - `ground`
///
/// # Gives
/// At most four hundred places.
///
/// # Source
/// by definition
pub fn squares(ground: &Ground) -> Vec<Spot> {
    let wet: Vec<Spot> = (0..ground.grid.len())
        .filter(|&cell| ground.is_water(cell))
        .map(|cell| ground.grid.centre(cell))
        .collect();
    let mut side_m = SIDE_M;
    loop {
        let square = |s: &Spot| ((s.north / side_m).floor() as i64, (s.east / side_m).floor() as i64);
        let mut all: Vec<(i64, i64)> = wet.iter().map(square).collect();
        all.sort_unstable();
        all.dedup();
        if all.len() <= SQUARES_MOST {
            let middle = |(row, col): (i64, i64)| Spot::new(col as f64 + 0.5, row as f64 + 0.5) * side_m;
            return all.into_iter().map(middle).collect();
        }
        side_m *= 1.5;
    }
}
