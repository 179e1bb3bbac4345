//! The water round the bathing areas, cut out of a large one: simulations need no far shore.

use measure::Spot;
use water::{Grid, Ground, Kind, Shape, Site};

/// A water of more cells than this is cut for simulations, unless somebody asks for the whole.
pub const MOST_CELLS: usize = 150_000;

/// The bottom within a distance of the bathing areas, on the same cells.
///
/// # Inputs
/// - `site`: its bathing areas · `ground` · `margin_m` ≥ 0
///
/// # Gives
/// The cut bottom; the whole, where there is no bathing area or nothing to cut off. What was told that points
/// beyond the cut is taken to its edge.
///
/// # Source
/// assumed
pub fn about_bathers(site: &Site, ground: &Ground, margin_m: f64) -> Ground {
    let rings = site.of_kind(Kind::BathingArea).filter_map(|feature| match &feature.shape {
        Shape::Area(rings) => Some(rings),
        Shape::Point(_) | Shape::Line(_) => None,
    });
    let spots: Vec<Spot> = rings.flatten().flatten().flatten().copied().filter(|s| s.is_finite()).collect();
    let grid = ground.grid;
    let Some(first) = spots.first().copied() else { return ground.clone() };
    let (low, high) = spots.iter().fold((first, first), |(low, high), s| {
        (
            Spot::new(low.east.min(s.east), low.north.min(s.north)),
            Spot::new(high.east.max(s.east), high.north.max(s.north)),
        )
    });
    let place = |at: f64, corner: f64, most: usize| {
        (((at - corner) / grid.cell_m).floor().max(0.0) as usize).min(most)
    };
    let (west, east) = (
        place(low.east - margin_m, grid.corner.east, grid.cols - 1),
        place(high.east + margin_m, grid.corner.east, grid.cols - 1),
    );
    let (south, north) = (
        place(low.north - margin_m, grid.corner.north, grid.rows - 1),
        place(high.north + margin_m, grid.corner.north, grid.rows - 1),
    );
    let corner = grid.corner + Spot::new(west as f64, south as f64) * grid.cell_m;
    let small = Grid { corner, cell_m: grid.cell_m, cols: east - west + 1, rows: north - south + 1 };
    Ground {
        grid: small,
        stage_m: ground.stage_m,
        depth_m: cut(&ground.depth_m, grid.cols, (west, south), &small),
        cover: cut(&ground.cover, grid.cols, (west, south), &small),
        bed: cut(&ground.bed, grid.cols, (west, south), &small),
        to_sounding_m: cut(&ground.to_sounding_m, grid.cols, (west, south), &small),
        beyond: cut(&ground.beyond, grid.cols, (west, south), &small),
        keep_off: cut(&ground.keep_off, grid.cols, (west, south), &small),
        notes: ground.notes.clone(),
    }
}

fn cut<T: Copy>(values: &[T], cols: usize, (west, south): (usize, usize), small: &Grid) -> Vec<T> {
    (0..small.rows)
        .flat_map(|row| {
            let begin = (south + row) * cols + west;
            values[begin..begin + small.cols].iter().copied()
        })
        .collect()
}
