//! Which cells of a row lie inside the hull: its edges, met by the row of the cells' middles.

use super::{Face, NONE, Surface};
use crate::Grid;
use std::ops::Range;

/// Columns of each row whose middles lie inside the hull; empty where none does.
///
/// The test at either end is that of the walk from face to face, so that both say the same of every cell.
pub(super) fn spans(surface: &Surface, grid: &Grid) -> Vec<Range<usize>> {
    let nothing = (0_i64, grid.cols as i64);
    let mut ends = vec![nothing; grid.rows];
    let mut met = vec![false; grid.rows];
    for (face, e) in surface.faces.iter().flat_map(|face| [0, 1, 2].map(|e| (face, e))) {
        if face.across[e] == NONE {
            cut(surface, grid, (face, e), &mut ends, &mut met);
        }
    }
    let span = |(&(first, last), &met): (&(i64, i64), &bool)| {
        if met && first < last { first as usize..last as usize } else { 0..0 }
    };
    ends.iter().zip(&met).map(span).collect()
}

/// Takes away what lies beyond one edge of the hull, in the rows that meet it.
fn cut(surface: &Surface, grid: &Grid, (face, e): (&Face, usize), ends: &mut [(i64, i64)], met: &mut [bool]) {
    let [a, b] = [face.corner[e], face.corner[(e + 1) % 3]].map(|c| surface.corners[c as usize].spot);
    let (south, north) = (a.north.min(b.north), a.north.max(b.north));
    for row in rows(grid, south, north) {
        let place = |col: i64| {
            let mut place = grid.centre(row * grid.cols);
            place.east = grid.corner.east + (col as f64 + 0.5) * grid.cell_m;
            place
        };
        let beyond = |col: i64| (a - place(col)).cross(b - place(col)) < 0.0;
        let northing = place(0).north;
        met[row] = true;
        if a.north == b.north {
            continue; // the edges beside it bound this row
        }
        // An edge that hardly rises says little about where a row meets it: the search then begins at its outer end.
        let (rise, run) = (b.north - a.north, b.east - a.east);
        let east = match rise.abs() * 1e9 > run.abs() {
            true => a.east + (northing - a.north) / rise * run,
            false if rise > 0.0 => a.east.max(b.east),
            false => a.east.min(b.east),
        };
        let near = ((east - grid.corner.east) / grid.cell_m - 0.5).clamp(-2.0, grid.cols as f64 + 1.0) as i64;
        let (first, last) = &mut ends[row];
        if rise > 0.0 {
            let mut end = (near + 2).clamp(0, grid.cols as i64);
            while end > 0 && beyond(end - 1) {
                end -= 1;
            }
            *last = end.min(*last);
        } else {
            let mut start = (near - 1).clamp(0, grid.cols as i64);
            while start < grid.cols as i64 && beyond(start) {
                start += 1;
            }
            *first = start.max(*first);
        }
    }
}

/// Rows whose middles lie between two northings, both included.
pub(super) fn rows(grid: &Grid, south: f64, north: f64) -> Range<usize> {
    let middle = |row: usize| grid.centre(row * grid.cols).north;
    let in_rows =
        |northing: f64| ((northing - grid.corner.north) / grid.cell_m - 0.5).clamp(-1.0, grid.rows as f64);
    // One row more at either end, then the comparison itself decides.
    let (mut first, mut end) =
        ((in_rows(south) - 1.0).max(0.0) as usize, ((in_rows(north) + 3.0).max(0.0) as usize).min(grid.rows));
    while first < end && middle(first) < south {
        first += 1;
    }
    while first < end && middle(end - 1) > north {
        end -= 1;
    }
    first..end
}
