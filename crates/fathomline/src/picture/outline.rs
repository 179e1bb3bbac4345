//! Outlines of a field at a level: marching squares over cell middles, as closed rings with the inside on the left.

use measure::Spot;
use water::Field;

/// Closed rings (first place repeated last) around where `field` ≥ `level`; outer rings run counter-clockwise, holes clockwise.
///
/// Cells without a number count as outside; beyond the grid is outside, so every ring closes.
///
/// # Inputs
/// - `field`: values at the middles of cells · `level`: same unit
///
/// # Gives
/// Rings in site metres, in the order of their first cell; none where nothing reaches the level.
///
/// # Source
/// marching squares with linear interpolation; saddles by the mean of their four corners
pub fn rings(field: &Field<f64>, level: f64) -> Vec<Vec<Spot>> {
    let (cols, rows) = (field.grid.cols, field.grid.rows);
    if cols == 0 || rows == 0 || !level.is_finite() || field.values.len() != cols * rows {
        return Vec::new();
    }
    // Nodes are cell middles with one node of outside all round.
    let wide = cols + 2;
    let lattice = Lattice { field, level, wide };
    let mut next = vec![u32::MAX; 2 * wide * (rows + 2)];
    for row in 0..=rows {
        for col in 0..=cols {
            lattice.link(col, row, &mut next);
        }
    }
    let mut found = Vec::new();
    for start in 0..next.len() {
        if next[start] == u32::MAX {
            continue;
        }
        let (mut ring, mut edge) = (Vec::new(), start);
        while next[edge] != u32::MAX {
            ring.push(lattice.crossing(edge));
            edge = std::mem::replace(&mut next[edge], u32::MAX) as usize;
        }
        if ring.len() >= 3 {
            ring.push(ring[0]);
            found.push(ring);
        }
    }
    found
}

/// The nodes marching squares walks over; node `(col, row)` is cell `(col - 1, row - 1)`.
struct Lattice<'a> {
    field: &'a Field<f64>,
    level: f64,
    wide: usize,
}

impl Lattice<'_> {
    fn value(&self, col: usize, row: usize) -> f64 {
        let grid = &self.field.grid;
        let inside = col >= 1 && row >= 1 && col <= grid.cols && row <= grid.rows;
        if inside { self.field.values[(row - 1) * grid.cols + col - 1] } else { f64::NAN }
    }

    fn above(&self, col: usize, row: usize) -> bool {
        self.value(col, row) >= self.level
    }

    /// Enters the one or two pieces of outline in the square whose south-west node is given.
    fn link(&self, col: usize, row: usize, next: &mut [u32]) {
        let corner = [(col, row), (col + 1, row), (col + 1, row + 1), (col, row + 1)];
        let up = corner.map(|(c, r)| self.above(c, r));
        if up.iter().all(|&u| u == up[0]) {
            return;
        }
        // Sides in counter-clockwise order: south, east, north, west; even edges run east, odd ones north.
        let node = |c: usize, r: usize| 2 * (r * self.wide + c);
        let side = [node(col, row), node(col + 1, row) + 1, node(col, row + 1), node(col, row) + 1];
        // Walking the square counter-clockwise, the outline enters where we pass from above to below.
        let falls: Vec<usize> = (0..4).filter(|&k| up[k] && !up[(k + 1) % 4]).collect();
        let rises: Vec<usize> = (0..4).filter(|&k| !up[k] && up[(k + 1) % 4]).collect();
        if falls.len() == 1 {
            next[side[falls[0]]] = side[rises[0]] as u32;
            return;
        }
        let mean = corner.iter().map(|&(c, r)| self.value(c, r)).sum::<f64>() / 4.0;
        let joined = mean >= self.level;
        for &fall in &falls {
            // Joined: the low corner after the fall is cut off alone; apart: the high corner before it.
            let rise = if joined { (fall + 1) % 4 } else { (fall + 3) % 4 };
            next[side[fall]] = side[rise] as u32;
        }
    }

    /// Where the outline crosses an edge; half way where one end has no number.
    fn crossing(&self, edge: usize) -> Spot {
        let (node, northward) = (edge / 2, edge % 2 == 1);
        let (col, row) = (node % self.wide, node / self.wide);
        let (a, b) = (
            self.value(col, row),
            if northward { self.value(col, row + 1) } else { self.value(col + 1, row) },
        );
        let share = (self.level - a) / (b - a);
        let share = if share.is_finite() { share.clamp(0.0, 1.0) } else { 0.5 };
        let grid = &self.field.grid;
        let (x, y) = (col as f64 - 0.5, row as f64 - 0.5);
        let (x, y) = if northward { (x, y + share) } else { (x + share, y) };
        Spot::new(grid.corner.east + x * grid.cell_m, grid.corner.north + y * grid.cell_m)
    }
}

/// Twice rounds every corner of a ring off (Chaikin), for the eye only.
pub fn rounded(ring: &[Spot]) -> Vec<Spot> {
    let mut ring = ring.to_vec();
    for _ in 0..2 {
        if ring.len() < 4 {
            return ring;
        }
        let mut soft: Vec<Spot> =
            ring.windows(2).flat_map(|w| [w[0].lerp(w[1], 0.25), w[0].lerp(w[1], 0.75)]).collect();
        soft.push(soft[0]);
        ring = soft;
    }
    ring
}

/// Signed area of a closed ring \[m²\]: positive when it runs counter-clockwise.
pub fn ring_area(ring: &[Spot]) -> f64 {
    let Some(&base) = ring.first() else { return 0.0 };
    0.5 * ring.windows(2).map(|w| (w[0] - base).cross(w[1] - base)).sum::<f64>()
}

/// Whether a place lies inside a closed ring (even-odd).
pub fn ring_holds(ring: &[Spot], at: Spot) -> bool {
    ring.windows(2).fold(false, |inside, w| {
        let (a, b) = (w[0], w[1]);
        let crosses = (a.north > at.north) != (b.north > at.north)
            && at.east < (b.east - a.east) * (at.north - a.north) / (b.north - a.north) + a.east;
        inside != crosses
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use water::Grid;

    fn field(cols: usize, rows: usize, value: impl Fn(f64, f64) -> f64) -> Field<f64> {
        let grid = Grid { corner: Spot::new(-10.0, -10.0), cell_m: 0.5, cols, rows };
        let values = (0..grid.len()).map(|k| value(grid.centre(k).east, grid.centre(k).north)).collect();
        Field { grid, values }
    }

    #[test]
    fn a_cone_gives_a_circle_with_the_inside_on_the_left() {
        let cone = field(40, 40, |x, y| 8.0 - (x * x + y * y).sqrt());
        let found = rings(&cone, 3.0);
        assert_eq!(found.len(), 1);
        // A chord polygon of a 5 m circle at 0.5 m cells misses less than 1 % of π r².
        assert!((ring_area(&found[0]) - 25.0 * std::f64::consts::PI).abs() < 0.8, "{}", ring_area(&found[0]));
        assert!(found[0].iter().all(|s| (s.length() - 5.0).abs() < 0.05));
        assert_eq!(found[0].first(), found[0].last());
    }

    #[test]
    fn a_ring_wall_gives_an_outer_ring_and_a_hole() {
        let wall = field(40, 40, |x, y| 2.0 - ((x * x + y * y).sqrt() - 6.0).abs());
        let found = rings(&wall, 1.0);
        let mut areas: Vec<f64> = found.iter().map(|r| ring_area(r)).collect();
        areas.sort_by(f64::total_cmp);
        assert_eq!(areas.len(), 2);
        assert!(areas[0] < -70.0 && areas[1] > 145.0, "{areas:?}");
    }

    #[test]
    fn every_field_of_random_values_closes_and_has_the_area_of_its_high_cells() {
        let stream = measure::Seed(5).stream("outline");
        for trial in 0..50_u64 {
            let noise = field(9, 7, |x, y| {
                let k = ((x + 10.0) * 2.0) as u64 + 20 * ((y + 10.0) * 2.0) as u64 + 1000 * trial;
                if stream.u01(2 * k) < 0.1 { f64::NAN } else { stream.u01(2 * k + 1) }
            });
            let found = rings(&noise, 0.5);
            let sum: f64 = found.iter().map(|r| ring_area(r)).sum();
            assert!(sum > 0.0, "trial {trial}: {sum}");
            for k in 0..noise.grid.len() {
                let inside = found.iter().filter(|r| ring_holds(r, noise.grid.centre(k))).count() % 2 == 1;
                assert_eq!(inside, noise.values[k] >= 0.5, "trial {trial}, cell {k}");
            }
        }
    }

    #[test]
    fn nothing_gives_nothing() {
        for f in [field(0, 0, |_, _| 1.0), field(3, 3, |_, _| f64::NAN), field(3, 3, |_, _| 0.0)] {
            assert!(rings(&f, 1.0).is_empty());
        }
        assert_eq!(rings(&field(1, 1, |_, _| 2.0), 1.0).len(), 1);
    }
}
