//! Where searchers may be: the bottom as wading and diving lines meet it, with a margin of one cell.

use crate::Setting;
use measure::{Spot, parameters::value};
use std::ops::Range;
use water::{Cover, Flow, Kind, Shape};

/// Share of a limit at which the plan turns back already, so that steering does not carry anybody past it.
const MARGIN: f64 = 0.97;

/// What every cell allows; depths are the worst of the cell and its eight neighbours.
#[derive(Clone, Debug)]
pub(super) struct Footing {
    /// Cells of the grid before the first whose depths are known: only the rows about the mass are looked at.
    before: usize,
    /// Deepest water a wader meets, from there on \[m\].
    wade_m: Vec<f32>,
    /// Deepest water a diver meets, from there on \[m\].
    dive_m: Vec<f32>,
    /// Shallowest water a diver meets, from there on \[m\].
    shallow_m: Vec<f32>,
    /// Surface current at the middle of each cell; empty when still.
    current: Vec<Spot>,
    uniform: Spot,
    /// Fastest current of each cell and its eight neighbours \[m/s\]; empty where it is the same everywhere.
    fastest_mps: Vec<f32>,
    cols: usize,
    /// From this speed on a current binds the way a line goes \[m/s\].
    binds_mps: f64,
    /// Least cosine between a lane and the current that binds it.
    least_along: f64,
    /// Ground that nobody comes near, in transit neither; empty if the site has none.
    pub no_go: Vec<bool>,
    /// Cells from each to the nearest of that ground, along the grid's axes; empty if there is none.
    pub off: Vec<u16>,
}

impl Footing {
    /// Reads the site's no-go ground and the current; depths are read by [`Footing::over`].
    pub fn new(setting: &Setting) -> Self {
        let grid = setting.ground.grid;
        let no_go = near_no_go(setting);
        let (current, uniform) = match setting.flow {
            Flow::Field { .. } => {
                ((0..grid.len()).map(|c| setting.flow.at(grid.centre(c))).collect(), Spot::default())
            }
            flow => (Vec::new(), flow.at(Spot::default())),
        };
        let speeds: Vec<f32> = current.iter().map(|v: &Spot| v.length() as f32).collect();
        Footing {
            before: 0,
            wade_m: Vec::new(),
            dive_m: Vec::new(),
            shallow_m: Vec::new(),
            current,
            fastest_mps: worst(speeds, grid.cols, f32::max),
            cols: grid.cols,
            uniform,
            binds_mps: value("line_current_mps") * MARGIN,
            // Five degrees inside the rule, for lanes that are not quite straight.
            least_along: libm::cos((value("down_current_deg") - 5.0).to_radians()),
            off: steps_off(&no_go, grid.cols),
            no_go,
        }
    }

    /// Reads the bottom in some rows of the grid: nobody may be elsewhere.
    pub fn over(self, setting: &Setting, rows: Range<usize>) -> Self {
        let (ground, site) = (setting.ground, setting.site);
        let mut footing = self;
        let cells = rows.start * footing.cols..rows.end * footing.cols;
        let (stop, fast) = (site.limits.wade_product_stop_m2ps * MARGIN, value("dive_current_mps") * MARGIN);
        let even_mps = footing.uniform.length();
        let (mut wade, mut dive) = (vec![f32::INFINITY; cells.len()], vec![f32::INFINITY; cells.len()]);
        for cell in cells.clone() {
            let at = cell - cells.start;
            let depth = ground.depth_m[cell];
            let speed = if footing.current.is_empty() { even_mps } else { footing.current[cell].length() };
            let dry = ground.cover[cell] == Cover::Land && (depth.is_nan() || depth <= 0.0);
            let open = ground.cover[cell] == Cover::Open && depth.is_finite();
            let barred = footing.no_go.get(cell) == Some(&true) || !speed.is_finite();
            if barred {
                continue;
            }
            if dry && !ground.keep_off[cell] {
                wade[at] = -1.0;
            } else if open && !ground.keep_off[cell] && depth * speed < stop {
                wade[at] = depth as f32;
            }
            if open && depth > 0.0 && speed <= fast {
                dive[at] = depth as f32;
            }
        }
        footing.before = cells.start;
        footing.wade_m = worst(wade, footing.cols, f32::max);
        footing.dive_m = worst(dive.clone(), footing.cols, f32::max);
        footing.shallow_m = worst(dive, footing.cols, f32::min);
        footing
    }

    /// Deepest water a wader meets in a cell \[m\]; infinite where no wader may be; ≤ 0 on the bank.
    #[inline]
    pub fn wade_m(&self, cell: usize) -> f32 {
        self.wade_m.get(cell.wrapping_sub(self.before)).copied().unwrap_or(f32::INFINITY)
    }

    /// Deepest water a diver meets in a cell \[m\]; infinite where no diver may be.
    #[inline]
    pub fn dive_m(&self, cell: usize) -> f32 {
        self.dive_m.get(cell.wrapping_sub(self.before)).copied().unwrap_or(f32::INFINITY)
    }

    /// Shallowest water a diver meets in a cell \[m\].
    #[inline]
    pub fn shallow_m(&self, cell: usize) -> f32 {
        self.shallow_m.get(cell.wrapping_sub(self.before)).copied().unwrap_or(f32::INFINITY)
    }

    /// Surface current in a cell.
    #[inline]
    pub fn current_at(&self, cell: usize) -> Spot {
        if self.current.is_empty() { self.uniform } else { self.current[cell] }
    }

    /// Whether nothing flows anywhere fast enough to bind the way a line goes.
    pub fn still(&self) -> bool {
        let slow = |v: &Spot| v.length() < self.binds_mps;
        if self.current.is_empty() { slow(&self.uniform) } else { self.current.iter().all(slow) }
    }

    /// Which ways a line may go along `along` in a current: (with the unit step, against it).
    pub fn ways(&self, cell: usize, along: Spot) -> (bool, bool) {
        let one = |current: Spot| {
            let speed = current.length();
            if speed < self.binds_mps {
                return (true, true);
            }
            let share = current.dot(along) / speed;
            (share >= self.least_along, share <= -self.least_along)
        };
        let Some(&fastest_mps) = self.fastest_mps.get(cell) else { return one(self.uniform) };
        if f64::from(fastest_mps) < self.binds_mps {
            return (true, true);
        }
        // Between the middles of two cells the current may bind already, and turn.
        let (col, row) = (cell % self.cols, cell / self.cols);
        let rows = self.current.len() / self.cols;
        let mut ways = (true, true);
        for near in row.saturating_sub(1)..=(row + 1).min(rows - 1) {
            for aside in col.saturating_sub(1)..=(col + 1).min(self.cols - 1) {
                let here = one(self.current[near * self.cols + aside]);
                ways = (ways.0 && here.0, ways.1 && here.1);
            }
        }
        ways
    }
}

/// The worst value of each cell and its eight neighbours; outside the grid counts as the cell itself.
fn worst(mut values: Vec<f32>, cols: usize, pick: impl Fn(f32, f32) -> f32) -> Vec<f32> {
    let cols = cols.max(1);
    // In place, with a row as it was beside it: a grid may hold a million cells.
    let (mut was, mut above): (Vec<f32>, Vec<f32>) = (Vec::new(), Vec::new());
    for row in values.chunks_exact_mut(cols) {
        was.clear();
        was.extend_from_slice(row);
        fold(row, &was[1..], &pick);
        fold(&mut row[1..], &was, &pick);
    }
    for k in 0..values.len() / cols {
        let (head, below) = values.split_at_mut((k + 1) * cols);
        let row = &mut head[k * cols..];
        was.clear();
        was.extend_from_slice(row);
        fold(row, below, &pick);
        fold(row, &above, &pick);
        std::mem::swap(&mut was, &mut above);
    }
    values
}

/// Puts into each value the worse of it and its partner, as far as there are partners.
fn fold(into: &mut [f32], with: &[f32], pick: &impl Fn(f32, f32) -> f32) {
    for (value, &other) in into.iter_mut().zip(with) {
        *value = pick(*value, other);
    }
}

/// Steps of a king of chess from each cell to the nearest that is marked.
fn steps_off(marked: &[bool], cols: usize) -> Vec<u16> {
    let mut off: Vec<u16> = marked.iter().map(|&m| if m { 0 } else { u16::MAX }).collect();
    let rows = off.len().checked_div(cols).unwrap_or(0);
    // There and back again: every way of a king is told by cells before, then by cells behind.
    for sign in [-1, 1] {
        for k in 0..off.len() {
            let at = if sign < 0 { k } else { off.len() - 1 - k };
            let (col, row) = ((at % cols) as i64, (at / cols) as i64);
            for (east, north) in [(sign, 0), (-1, sign), (0, sign), (1, sign)] {
                let (c, r) = (col + east, row + north);
                if (0..cols as i64).contains(&c) && (0..rows as i64).contains(&r) {
                    off[at] = off[at].min(off[r as usize * cols + c as usize].saturating_add(1));
                }
            }
        }
    }
    off
}

/// Cells within the site's distance of no-go ground; empty if there is none.
fn near_no_go(setting: &Setting) -> Vec<bool> {
    let shapes: Vec<&Shape> = setting.site.of_kind(Kind::NoGo).map(|f| &f.shape).collect();
    if shapes.is_empty() {
        return Vec::new();
    }
    let grid = setting.ground.grid;
    let reach = setting.site.limits.keep_off_m + grid.cell_m;
    (0..grid.len()).map(|c| shapes.iter().any(|s| distance(s, grid.centre(c)) <= reach)).collect()
}

/// Distance from a place to a shape; zero inside an area.
pub(super) fn distance(shape: &Shape, spot: Spot) -> f64 {
    let line = |places: &[Spot]| {
        places.windows(2).map(|w| to_segment(spot, w[0], w[1])).fold(f64::INFINITY, f64::min)
    };
    match shape {
        Shape::Point(place) => place.distance(spot),
        Shape::Line(places) => line(places),
        Shape::Area(polygons) => {
            let inside = polygons
                .iter()
                .any(|rings| rings.iter().filter(|ring| encloses(ring, spot)).count() % 2 == 1);
            if inside {
                return 0.0;
            }
            polygons.iter().flatten().map(|ring| line(ring)).fold(f64::INFINITY, f64::min)
        }
    }
}

/// Distance from a place to a straight piece \[m\].
pub(super) fn to_segment(spot: Spot, a: Spot, b: Spot) -> f64 {
    let step = b - a;
    let square = step.dot(step);
    let t = if square > 0.0 { ((spot - a).dot(step) / square).clamp(0.0, 1.0) } else { 0.0 };
    spot.distance(a + step * t)
}

/// Whether a closed ring encloses a place (even-odd rule).
pub(super) fn encloses(ring: &[Spot], spot: Spot) -> bool {
    ring.windows(2)
        .filter(|w| {
            let (a, b) = (w[0], w[1]);
            (a.north > spot.north) != (b.north > spot.north)
                && spot.east < a.east + (b.east - a.east) * (spot.north - a.north) / (b.north - a.north)
        })
        .count()
        % 2
        == 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worst_is_that_of_nine_cells() {
        let (cols, rows) = (5, 4);
        let values: Vec<f32> = (0..20_u16).map(|k| f32::from(k * 37 % 23)).collect();
        let found = worst(values.clone(), cols, f32::max);
        for (at, &most) in found.iter().enumerate() {
            let near = |k: &usize| (k % cols).abs_diff(at % cols) <= 1 && (k / cols).abs_diff(at / cols) <= 1;
            let plain = (0..cols * rows).filter(near).map(|k| values[k]).fold(0.0, f32::max);
            assert_eq!(most, plain, "{at}");
        }
        assert!(worst(Vec::new(), 0, f32::max).is_empty());
    }

    #[test]
    fn steps_off_are_those_of_a_plain_search() {
        let cols = 9;
        let marked: Vec<bool> = (0..63).map(|k| [4, 30, 61].contains(&k)).collect();
        let place = |k: usize| ((k % cols) as i64, (k / cols) as i64);
        for (k, &off) in steps_off(&marked, cols).iter().enumerate() {
            let steps = |m: usize| (place(m).0 - place(k).0).abs().max((place(m).1 - place(k).1).abs());
            let least = (0..63).filter(|&m| marked[m]).map(steps).min();
            assert_eq!(Some(i64::from(off)), least, "{k}");
        }
        assert_eq!(steps_off(&[false; 6], 3), vec![u16::MAX; 6]);
        assert!(steps_off(&[], 0).is_empty());
    }
}
