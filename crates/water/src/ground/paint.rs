//! Which cells a polygon covers, and which lie near a line.

use crate::{Grid, Shape};
use measure::Spot;

/// Calls `mark` for every cell whose middle lies inside the polygons (even-odd within each one, so holes are out).
///
/// The work is the number of rows each edge spans plus the cells covered.
pub(crate) fn inside(grid: &Grid, polygons: &[Vec<Vec<Spot>>], mut mark: impl FnMut(usize)) {
    for rings in polygons {
        let mut crossings: Vec<Vec<f64>> = vec![Vec::new(); grid.rows];
        for edge in rings.iter().flat_map(|ring| ring.windows(2)) {
            cross_rows(grid, (edge[0], edge[1]), &mut crossings);
        }
        for (row, along) in crossings.iter_mut().enumerate() {
            along.sort_by(f64::total_cmp);
            for pair in along.chunks_exact(2) {
                let from = first_middle_at(pair[0], grid.cols);
                let to = first_middle_at(pair[1], grid.cols);
                (from..to).for_each(|col| mark(row * grid.cols + col));
            }
        }
    }
}

/// First column whose middle is at or past `east` (in cells from the corner), at most `cols`.
fn first_middle_at(east: f64, cols: usize) -> usize {
    ((east - 0.5).ceil().max(0.0) as usize).min(cols)
}

/// Where an edge crosses the middle lines of the rows, in cells east of the corner.
fn cross_rows(grid: &Grid, edge: (Spot, Spot), crossings: &mut [Vec<f64>]) {
    let cells = |spot: Spot| (spot - grid.corner) * (1.0 / grid.cell_m);
    let (mut low, mut high) = (cells(edge.0), cells(edge.1));
    if !(low.is_finite() && high.is_finite()) || low.north == high.north {
        return;
    }
    if low.north > high.north {
        (low, high) = (high, low);
    }
    // Half-open in north, so that a corner on a middle line is crossed once.
    let from = ((low.north - 0.5).ceil().max(0.0) as usize).min(grid.rows);
    let to = ((high.north - 0.5).ceil().max(0.0) as usize).min(grid.rows);
    let slope = (high.east - low.east) / (high.north - low.north);
    for (row, along) in crossings.iter_mut().enumerate().take(to).skip(from) {
        along.push(low.east + (row as f64 + 0.5 - low.north) * slope);
    }
}

/// Calls `mark` for every cell whose middle is within `metres` of a shape's outline, line or point.
pub(crate) fn near(grid: &Grid, shape: &Shape, metres: f64, mut mark: impl FnMut(usize)) {
    match shape {
        Shape::Point(spot) => near_edge(grid, (*spot, *spot), metres, &mut mark),
        Shape::Line(places) => {
            places.windows(2).for_each(|w| near_edge(grid, (w[0], w[1]), metres, &mut mark));
        }
        Shape::Area(polygons) => polygons
            .iter()
            .flatten()
            .flat_map(|ring| ring.windows(2))
            .for_each(|w| near_edge(grid, (w[0], w[1]), metres, &mut mark)),
    }
}

fn near_edge(grid: &Grid, edge: (Spot, Spot), metres: f64, mark: &mut impl FnMut(usize)) {
    let (a, b) = edge;
    if !(a.is_finite() && b.is_finite()) {
        return;
    }
    let span = |from: f64, to: f64, corner: f64, most: usize| {
        let first = ((from.min(to) - metres - corner) / grid.cell_m).floor().max(0.0) as usize;
        let last = ((from.max(to) + metres - corner) / grid.cell_m).ceil().max(0.0) as usize;
        first.min(most)..last.min(most)
    };
    for row in span(a.north, b.north, grid.corner.north, grid.rows) {
        for col in span(a.east, b.east, grid.corner.east, grid.cols) {
            let cell = row * grid.cols + col;
            if to_edge(grid.centre(cell), edge) <= metres {
                mark(cell);
            }
        }
    }
}

/// Distance from a place to a straight edge \[m\].
pub(crate) fn to_edge(spot: Spot, (a, b): (Spot, Spot)) -> f64 {
    let (along, to) = (b - a, spot - a);
    let length2 = along.dot(along);
    let share = if length2 > 0.0 { (to.dot(along) / length2).clamp(0.0, 1.0) } else { 0.0 };
    spot.distance(a.lerp(b, share))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(places: &[(f64, f64)]) -> Vec<Spot> {
        places.iter().map(|&(e, n)| Spot::new(e, n)).collect()
    }

    #[test]
    fn a_hole_is_out_and_a_shared_border_is_painted_once() {
        let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols: 10, rows: 10 };
        let square = |a: f64, b: f64| ring(&[(a, a), (b, a), (b, b), (a, b), (a, a)]);
        let mut hits = vec![0; 100];
        inside(&grid, &[vec![square(0.0, 10.0), square(3.0, 6.0)]], |c| hits[c] += 1);
        assert_eq!(hits.iter().sum::<i32>(), 100 - 9);
        // Border on the middles: the two halves share no cell and leave none out.
        let half =
            |from: f64, to: f64| ring(&[(from, 0.0), (to, 0.0), (to, 10.0), (from, 10.0), (from, 0.0)]);
        let mut hits = vec![0; 100];
        inside(&grid, &[vec![half(0.0, 4.5)], vec![half(4.5, 10.0)]], |c| hits[c] += 1);
        assert!(hits.iter().all(|&h| h == 1));
    }

    #[test]
    fn cells_near_a_line_are_those_within_the_distance() {
        let grid = Grid { corner: Spot::new(-5.0, -5.0), cell_m: 0.5, cols: 40, rows: 40 };
        let line = Shape::Line(ring(&[(0.0, 0.0), (6.0, 3.0), (6.0, 40.0)]));
        let mut hit = vec![false; grid.len()];
        near(&grid, &line, 2.0, |c| hit[c] = true);
        for cell in 0..grid.len() {
            let p = grid.centre(cell);
            let distance = to_edge(p, (Spot::new(0.0, 0.0), Spot::new(6.0, 3.0)))
                .min(to_edge(p, (Spot::new(6.0, 3.0), Spot::new(6.0, 40.0))));
            assert_eq!(hit[cell], distance <= 2.0, "{p:?}");
        }
    }
}
