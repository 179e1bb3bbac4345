//! Lines and areas of equal depth, in site metres, for pictures.

use crate::{Cover, Ground};
use contour::ContourBuilder;
use measure::Spot;
use std::collections::BTreeMap;

/// Lines of equal depth.
///
/// # Inputs
/// - `ground`: at today's stage
/// - `levels`: depths \[m\]
///
/// # Gives
/// For each level its lines; a closed one repeats its first place. Land counts as depth 0, and where the depth
/// is unknown there is no line.
///
/// # Source
/// marching squares over the middles of the cells
pub fn contours(ground: &Ground, levels: &[f64]) -> Vec<(f64, Vec<Vec<Spot>>)> {
    let heights: Vec<f64> = (0..ground.grid.len()).map(|cell| drawn_depth(ground, cell)).collect();
    levels.iter().map(|&level| (level, Lines::at(ground, &heights, level).join())).collect()
}

/// Depth as it is drawn: 0 on land, so that lines close along the shore.
fn drawn_depth(ground: &Ground, cell: usize) -> f64 {
    let depth_m = ground.depth_m[cell];
    if ground.cover[cell] == Cover::Land && depth_m.is_nan() { 0.0 } else { depth_m }
}

/// A side between the middles of two neighbouring cells, by the first cell and whether it runs north.
type Side = (usize, bool);

/// Pieces of one line, each from side to side of a square.
struct Lines {
    places: BTreeMap<Side, Spot>,
    joins: BTreeMap<Side, Vec<Side>>,
}

impl Lines {
    fn at(ground: &Ground, heights: &[f64], level: f64) -> Lines {
        let grid = &ground.grid;
        let mut lines = Lines { places: BTreeMap::new(), joins: BTreeMap::new() };
        for row in 0..grid.rows.saturating_sub(1) {
            for col in 0..grid.cols.saturating_sub(1) {
                let sw = row * grid.cols + col;
                // South-west, south-east, north-east, north-west.
                let corners = [sw, sw + 1, sw + grid.cols + 1, sw + grid.cols];
                let high = corners.map(|c| heights[c]);
                if high.iter().any(|h| h.is_nan())
                    || high.iter().all(|h| *h >= level) == high.iter().any(|h| *h >= level)
                {
                    continue;
                }
                let sides: [Side; 4] = [(sw, false), (sw + 1, true), (sw + grid.cols, false), (sw, true)];
                let mut crossed = Vec::with_capacity(4);
                for i in 0..4 {
                    let (a, b) = (corners[i], corners[(i + 1) % 4]);
                    if (heights[a] >= level) != (heights[b] >= level) {
                        let share = (level - heights[a]) / (heights[b] - heights[a]);
                        lines
                            .places
                            .entry(sides[i])
                            .or_insert_with(|| grid.centre(a).lerp(grid.centre(b), share));
                        crossed.push(sides[i]);
                    }
                }
                if let [a, b, c, d] = crossed[..] {
                    // A saddle: the middle of the square says which corners belong together.
                    let middle_high = high.iter().sum::<f64>() * 0.25 >= level;
                    if middle_high == (high[0] >= level) {
                        lines.tie(a, b);
                        lines.tie(c, d);
                    } else {
                        lines.tie(d, a);
                        lines.tie(b, c);
                    }
                } else if let [a, b] = crossed[..] {
                    lines.tie(a, b);
                }
            }
        }
        lines
    }

    fn tie(&mut self, a: Side, b: Side) {
        self.joins.entry(a).or_default().push(b);
        self.joins.entry(b).or_default().push(a);
    }

    /// Pieces joined to lines: first those with ends, then the closed ones, each from its lowest side on.
    fn join(mut self) -> Vec<Vec<Spot>> {
        let ends: Vec<Side> =
            self.joins.iter().filter(|(_, next)| next.len() == 1).map(|(s, _)| *s).collect();
        let all: Vec<Side> = self.joins.keys().copied().collect();
        let mut lines = Vec::new();
        for start in ends.into_iter().chain(all) {
            let mut line = vec![self.places[&start]];
            let mut here = start;
            while let Some(next) = self.joins.get_mut(&here).and_then(Vec::pop) {
                if let Some(back) = self.joins.get_mut(&next) {
                    back.iter().position(|s| *s == here).map(|at| back.remove(at));
                }
                line.push(self.places[&next]);
                here = next;
            }
            if line.len() > 1 {
                lines.push(line);
            }
        }
        lines
    }
}

/// One depth band as areas.
#[derive(Clone, Debug, PartialEq)]
pub struct BandArea {
    /// `wade`, `dive` or `too deep`.
    pub name: &'static str,
    /// From this depth \[m\].
    pub from_m: f64,
    /// To this depth \[m\]; infinite for the last.
    pub to_m: f64,
    /// Polygons, each an outer ring then holes.
    pub areas: Vec<Vec<Vec<Spot>>>,
}

/// The water as three areas: wade, dive, too deep.
///
/// # Inputs
/// - `ground`: at today's stage
/// - `wade_m`, `dive_m`: deepest wading and deepest surface dive \[m\]; a band with no depth between is left out
///
/// # Gives
/// The bands, smoothed between the middles of cells; water of unknown depth is in none.
///
/// # Source
/// marching squares (crate `contour`)
pub fn band_areas(ground: &Ground, [wade_m, dive_m]: [f64; 2]) -> Vec<BandArea> {
    // Low enough that shallow water is in, and no cell lies on it.
    const WET_M: f64 = 1e-6;
    const DEEPEST_M: f64 = 1e5;
    let grid = &ground.grid;
    let height = |cell: usize| {
        let depth_m = drawn_depth(ground, cell);
        if depth_m.is_nan() || ground.cover[cell] == Cover::Land {
            -1.0
        } else {
            depth_m.clamp(-1.0, DEEPEST_M)
        }
    };
    let heights: Vec<f64> = (0..grid.len()).map(height).collect();
    let builder = ContourBuilder::new(grid.cols, grid.rows, true)
        .x_origin(grid.corner.east)
        .y_origin(grid.corner.north)
        .x_step(grid.cell_m)
        .y_step(grid.cell_m);
    let mut bands = Vec::new();
    for (name, from_m, to_m) in
        [("wade", 0.0, wade_m), ("dive", wade_m, dive_m), ("too deep", dive_m.max(wade_m), f64::INFINITY)]
    {
        if to_m.is_nan() || from_m.is_nan() || to_m <= from_m {
            continue;
        }
        let limits = [f64::max(from_m, WET_M), to_m.min(2.0 * DEEPEST_M)];
        let Ok(found) = builder.isobands(&heights, &limits) else { continue };
        let ring = |line: &geo::LineString| line.0.iter().map(|c| Spot::new(c.x, c.y)).collect::<Vec<_>>();
        let areas = found
            .iter()
            .flat_map(|band| band.geometry().0.iter())
            .map(|polygon| std::iter::once(polygon.exterior()).chain(polygon.interiors()).map(ring).collect())
            .collect();
        bands.push(BandArea { name, from_m, to_m, areas });
    }
    bands
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Bed, Grid};

    /// A round pit: depth 10 − distance to the middle, over 41 × 41 m.
    fn pit(land: impl Fn(Spot) -> bool) -> Ground {
        let grid = Grid { corner: Spot::new(100.0, -50.0), cell_m: 1.0, cols: 41, rows: 41 };
        let middle = grid.corner + Spot::new(20.5, 20.5);
        let n = grid.len();
        let cover: Vec<Cover> =
            (0..n).map(|c| if land(grid.centre(c) - middle) { Cover::Land } else { Cover::Open }).collect();
        let depth_m = (0..n)
            .map(|c| if cover[c] == Cover::Land { f64::NAN } else { 10.0 - grid.centre(c).distance(middle) })
            .collect();
        Ground {
            grid,
            stage_m: 0.0,
            depth_m,
            cover,
            bed: vec![Bed::Sand; n],
            to_sounding_m: vec![0.0; n],
            beyond: vec![false; n],
            keep_off: vec![false; n],
            notes: vec![],
        }
    }

    fn area(ring: &[Spot]) -> f64 {
        0.5 * ring.windows(2).map(|w| (w[0] - ring[0]).cross(w[1] - ring[0])).sum::<f64>()
    }

    #[test]
    fn a_round_pit_has_round_closed_lines() {
        let ground = pit(|_| false);
        let found = contours(&ground, &[2.5, 5.0, 20.0]);
        assert_eq!(found[2], (20.0, vec![]));
        for (level, lines) in &found[..2] {
            assert_eq!(lines.len(), 1);
            assert_eq!(lines[0].first(), lines[0].last());
            let middle = Spot::new(120.5, -29.5);
            for place in &lines[0] {
                assert!((place.distance(middle) - (10.0 - level)).abs() < 0.05, "{place:?}");
            }
        }
    }

    #[test]
    fn unknown_water_breaks_a_line_and_land_closes_it() {
        let mut ground = pit(|_| false);
        for cell in 0..ground.grid.len() {
            if ground.grid.centre(cell).east < 120.0 {
                ground.depth_m[cell] = f64::NAN;
            }
        }
        let open = &contours(&ground, &[5.0])[0].1;
        assert!(open.len() == 1 && open[0].first() != open[0].last());
        let closed = &contours(&pit(|p| p.east < -1.0), &[5.0])[0].1;
        assert!(closed.len() == 1 && closed[0].first() == closed[0].last());
    }

    #[test]
    fn bands_share_the_pit_between_them() {
        let ground = pit(|p| p.length() > 9.5);
        let bands = band_areas(&ground, [1.5, 4.0]);
        assert_eq!(bands.iter().map(|b| b.name).collect::<Vec<_>>(), ["wade", "dive", "too deep"]);
        let size = |band: &BandArea| -> f64 {
            band.areas
                .iter()
                .map(|rings| area(&rings[0]).abs() - rings[1..].iter().map(|r| area(r).abs()).sum::<f64>())
                .sum()
        };
        let ring = |from: f64, to: f64| std::f64::consts::PI * (to * to - from * from);
        assert!((size(&bands[2]) / ring(0.0, 6.0) - 1.0).abs() < 0.01, "{}", size(&bands[2]));
        assert!((size(&bands[1]) / ring(6.0, 8.5) - 1.0).abs() < 0.01, "{}", size(&bands[1]));
        // The shore lies within a cell.
        assert!(size(&bands[0]) > ring(8.5, 9.3) && size(&bands[0]) < ring(8.5, 10.5), "{}", size(&bands[0]));
        let first = bands[2].areas[0][0][0];
        assert!(
            (first.distance(Spot::new(120.5, -29.5)) - 6.0).abs() < 0.1,
            "{first:?} is not placed in site metres"
        );
        assert_eq!(band_areas(&ground, [4.0, 1.5]).len(), 2);
    }
}
