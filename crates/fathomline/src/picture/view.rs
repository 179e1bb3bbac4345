//! From site metres to picture units: which way is up, what is in the frame, paths thinned to what an eye can see.

use super::page::{Rect, number};
use measure::{Bearing, Spot};
use std::fmt::Write as _;
use water::{Field, Grid, Kind, Shape, Site};

/// Most cells along one side of a field that is drawn.
const CELLS_MOST: usize = 320;

/// Most letters of one path.
const PATH_MOST: usize = 120_000;

/// A window on the water.
#[derive(Clone, Copy, Debug)]
pub struct View {
    /// Place in the middle of the frame.
    pub centre: Spot,
    /// Bearing that points up.
    pub up: Bearing,
    /// Picture units a metre.
    pub scale: f64,
    /// The frame on the page.
    pub frame: Rect,
}

/// How high a frame may be beside its width.
#[derive(Clone, Copy, Debug)]
pub struct Proportion {
    /// Least height over width.
    pub least: f64,
    /// Greatest height over width.
    pub most: f64,
}

impl View {
    /// The window that shows all of `places` with a margin, `up` upward, in a frame at (x, y) of width `w`.
    pub fn fit(places: &[Spot], up: Bearing, (x, y, w): (f64, f64, f64), form: Proportion) -> View {
        let (ahead, right) = axes(up);
        let (mut low, mut high) = (Spot::new(f64::MAX, f64::MAX), Spot::new(f64::MIN, f64::MIN));
        for spot in places.iter().filter(|s| s.is_finite() && s.length() < 1e7) {
            let (r, a) = (spot.dot(right), spot.dot(ahead));
            low = Spot::new(low.east.min(r), low.north.min(a));
            high = Spot::new(high.east.max(r), high.north.max(a));
        }
        if low.east > high.east {
            (low, high) = (Spot::new(-25.0, -25.0), Spot::new(25.0, 25.0));
        }
        let middle = low.lerp(high, 0.5);
        let (across, along) = ((high.east - low.east).max(8.0), (high.north - low.north).max(8.0));
        let (across, along) = (across * 1.06, along * 1.06);
        let h = (w * along / across).clamp(w * form.least, w * form.most);
        View {
            centre: right * middle.east + ahead * middle.north,
            up,
            scale: (w / across).min(h / along),
            frame: Rect { x, y, w, h },
        }
    }

    /// Picture units of a place.
    pub fn px(&self, spot: Spot) -> (f64, f64) {
        let (ahead, right) = axes(self.up);
        let step = spot - self.centre;
        let f = self.frame;
        (f.x + 0.5 * f.w + step.dot(right) * self.scale, f.y + 0.5 * f.h - step.dot(ahead) * self.scale)
    }

    /// The place at a point of the picture.
    pub fn spot(&self, (x, y): (f64, f64)) -> Spot {
        let (ahead, right) = axes(self.up);
        let f = self.frame;
        let (r, a) = ((x - f.x - 0.5 * f.w) / self.scale, (f.y + 0.5 * f.h - y) / self.scale);
        self.centre + right * r + ahead * a
    }

    /// Whether a place is in the frame.
    pub fn holds(&self, spot: Spot) -> bool {
        let (x, y) = self.px(spot);
        spot.is_finite() && self.frame.holds(x, y)
    }

    /// A direction of the compass as a unit step on the picture (y downward).
    pub fn heading(&self, bearing: Bearing) -> (f64, f64) {
        let (ahead, right) = axes(self.up);
        let step = Spot::towards(bearing, 1.0);
        (step.dot(right), -step.dot(ahead))
    }

    /// Path text of closed rings, cut to just outside the frame and thinned, the more the longer it would be.
    pub fn rings(&self, rings: &[Vec<Spot>]) -> String {
        let room = self.frame.grown(30.0);
        let cut: Vec<Vec<(f64, f64)>> = rings
            .iter()
            .map(|ring| cut(ring.iter().filter(|s| s.is_finite()).map(|&s| self.px(s)).collect(), room))
            .collect();
        budgeted(|least| {
            let mut d = String::new();
            for points in &cut {
                let points = thinned(points, least);
                if points.len() >= 3 {
                    push(&mut d, &points);
                    d.push('Z');
                }
            }
            d
        })
    }

    /// Path text of an open line, thinned; pieces wholly outside the frame are left out.
    pub fn line(&self, places: &[Spot]) -> String {
        let points: Vec<(f64, f64)> = places.iter().filter(|s| s.is_finite()).map(|&s| self.px(s)).collect();
        let f = self.frame.grown(400.0);
        let away = |a: (f64, f64), b: (f64, f64)| {
            (a.0 < f.x && b.0 < f.x)
                || (a.1 < f.y && b.1 < f.y)
                || (a.0 > f.x + f.w && b.0 > f.x + f.w)
                || (a.1 > f.y + f.h && b.1 > f.y + f.h)
        };
        budgeted(|least| {
            let mut d = String::new();
            for run in points.chunk_by(|a, b| !away(*a, *b)) {
                let run = thinned(run, least);
                if run.len() >= 2 {
                    push(&mut d, &run);
                }
            }
            d
        })
    }

    /// What of a grid lies in the frame, in at most 320 cells a side: the mean of the finite values of each block.
    pub fn reduced(&self, grid: &Grid, value: impl Fn(usize) -> f64) -> Field<f64> {
        let f = self.frame.grown(20.0);
        let corners = [(f.x, f.y), (f.x + f.w, f.y), (f.x, f.y + f.h), (f.x + f.w, f.y + f.h)];
        let corners = corners.map(|at| self.spot(at));
        let index =
            |value: f64, from: f64, most: usize| (((value - from) / grid.cell_m).max(0.0) as usize).min(most);
        let least = |pick: fn(&Spot) -> f64| corners.iter().map(pick).fold(f64::MAX, f64::min);
        let most = |pick: fn(&Spot) -> f64| corners.iter().map(pick).fold(f64::MIN, f64::max);
        let (col0, col1) = (
            index(least(|s| s.east), grid.corner.east, grid.cols),
            index(most(|s| s.east) + grid.cell_m, grid.corner.east, grid.cols),
        );
        let (row0, row1) = (
            index(least(|s| s.north), grid.corner.north, grid.rows),
            index(most(|s| s.north) + grid.cell_m, grid.corner.north, grid.rows),
        );
        let (wide, high) = (col1.saturating_sub(col0), row1.saturating_sub(row0));
        let block = wide.max(high).div_ceil(CELLS_MOST).max(1);
        let small = Grid {
            corner: grid.corner + Spot::new(col0 as f64, row0 as f64) * grid.cell_m,
            cell_m: grid.cell_m * block as f64,
            cols: wide.div_ceil(block),
            rows: high.div_ceil(block),
        };
        let mut values = Vec::with_capacity(small.len());
        for k in 0..small.len() {
            let (col, row) = (col0 + k % small.cols * block, row0 + k / small.cols * block);
            let (mut sum, mut count) = (0.0, 0.0);
            for r in row..(row + block).min(row1) {
                for c in col..(col + block).min(col1) {
                    let v = value(r * grid.cols + c);
                    if v.is_finite() {
                        sum += v;
                        count += 1.0;
                    }
                }
            }
            values.push(if count > 0.0 { sum / count } else { f64::NAN });
        }
        Field { grid: small, values }
    }
}

/// Unit steps upward and to the right on the picture.
fn axes(up: Bearing) -> (Spot, Spot) {
    let ahead = Spot::towards(up, 1.0);
    (ahead, Spot::new(ahead.north, -ahead.east))
}

fn push(d: &mut String, points: &[(f64, f64)]) {
    for (k, (x, y)) in points.iter().enumerate() {
        let _ = write!(d, "{}{} {}", if k == 0 { 'M' } else { 'L' }, number(*x), number(*y));
    }
}

/// The path with points at least 0.8 apart, or twice that and so on until it is no longer than the budget.
fn budgeted(path: impl Fn(f64) -> String) -> String {
    let mut least = 0.8;
    loop {
        let d = path(least);
        if d.len() <= PATH_MOST || least > 40.0 {
            return d;
        }
        least *= 2.0;
    }
}

/// Points nearer than `least` to the last one kept are left out; the last one stays.
fn thinned(points: &[(f64, f64)], least: f64) -> Vec<(f64, f64)> {
    let mut kept: Vec<(f64, f64)> = Vec::with_capacity(points.len());
    for (k, &p) in points.iter().enumerate() {
        let far = kept.last().is_none_or(|q| (p.0 - q.0).hypot(p.1 - q.1) >= least);
        if far || k + 1 == points.len() {
            kept.push(p);
        }
    }
    kept
}

/// A polygon cut to a rectangle (Sutherland and Hodgman).
fn cut(mut points: Vec<(f64, f64)>, r: Rect) -> Vec<(f64, f64)> {
    if points.iter().all(|p| r.holds(p.0, p.1)) {
        return points;
    }
    let sides = [(true, r.x, 1.0), (true, r.x + r.w, -1.0), (false, r.y, 1.0), (false, r.y + r.h, -1.0)];
    for (upright, edge, sign) in sides {
        let over = |p: (f64, f64)| sign * (if upright { p.0 } else { p.1 } - edge);
        let mut kept = Vec::with_capacity(points.len());
        for k in 0..points.len() {
            let (a, b) = (points[(k + points.len() - 1) % points.len()], points[k]);
            let (fa, fb) = (over(a), over(b));
            if (fa >= 0.0) != (fb >= 0.0) {
                let t = fa / (fa - fb);
                kept.push((a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t));
            }
            if fb >= 0.0 {
                kept.push(b);
            }
        }
        points = kept;
    }
    points
}

/// The bearing in which one faces the water: from posts and gates to the bathing area, square to its longest side
/// where that differs by less than 35°; north where no post or gate tells.
pub fn facing(site: &Site) -> Bearing {
    let stands: Vec<Spot> = site
        .features
        .iter()
        .filter(|f| matches!(f.kind, Kind::Post | Kind::Gate))
        .map(|f| f.shape.middle())
        .filter(|s| s.is_finite())
        .collect();
    let area = site.of_kind(Kind::BathingArea).next().or_else(|| site.of_kind(Kind::Water).next());
    let (Some(area), false) = (area, stands.is_empty()) else { return Bearing::new(0.0) };
    let mean = stands.iter().fold(Spot::default(), |sum, &s| sum + s) * (1.0 / stands.len() as f64);
    let step = area.shape.middle() - mean;
    if !step.is_finite() || step.length() < 3.0 {
        return Bearing::new(0.0);
    }
    let look = step.bearing();
    let Shape::Area(polygons) = &area.shape else { return look };
    let Some(ring) = polygons.first().and_then(|p| p.first()) else { return look };
    let longest = ring.windows(2).max_by(|a, b| a[0].distance(a[1]).total_cmp(&b[0].distance(b[1])));
    let Some(side) = longest.map(|w| w[1] - w[0]) else { return look };
    [side.left().bearing(), side.left().bearing().reversed()]
        .into_iter()
        .find(|square| square.angle_to(look) < 35.0)
        .unwrap_or(look)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::tests;

    fn view(up: f64) -> View {
        let places = [Spot::new(0.0, 0.0), Spot::new(100.0, 50.0)];
        View::fit(&places, Bearing::new(up), (10.0, 20.0, 500.0), Proportion { least: 0.4, most: 1.0 })
    }

    #[test]
    fn the_water_lies_up_and_right_is_right() {
        // Facing 300°, a step out goes up, a step to the right of the beach goes right.
        let site = tests::site();
        let up = facing(&site);
        assert!(up.angle_to(Bearing::new(300.0)) < 3.0, "{up}");
        let view = View { up: Bearing::new(300.0), ..view(0.0) };
        let (here, out, right) =
            (view.px(Spot::default()), view.px(tests::at(0.0, 10.0)), view.px(tests::at(10.0, 0.0)));
        assert!((out.0 - here.0).abs() < 1e-9 && out.1 < here.1);
        assert!((right.1 - here.1).abs() < 1e-9 && right.0 > here.0);
    }

    #[test]
    fn a_site_without_posts_has_north_up() {
        let mut site = tests::site();
        site.features.retain(|f| !matches!(f.kind, Kind::Post | Kind::Gate));
        assert_eq!(facing(&site).degrees(), 0.0);
        assert_eq!(view(0.0).heading(Bearing::new(90.0)).0, 1.0);
    }

    #[test]
    fn places_come_back_and_all_are_in_the_frame() {
        for up in [0.0, 37.0, 300.0] {
            let view = view(up);
            for spot in [Spot::new(0.0, 0.0), Spot::new(100.0, 50.0), Spot::new(40.0, 10.0)] {
                assert!(view.holds(spot));
                assert!(view.spot(view.px(spot)).distance(spot) < 1e-9);
            }
        }
        let none = View::fit(&[], Bearing::new(0.0), (0.0, 0.0, 500.0), Proportion { least: 0.4, most: 1.0 });
        assert!(none.scale.is_finite() && none.scale > 0.0);
    }

    #[test]
    fn a_polygon_is_cut_to_the_frame() {
        let ring: Vec<Spot> = [(-1e5, -1e5), (1e5, -1e5), (1e5, 1e5), (-1e5, 1e5), (-1e5, -1e5)]
            .map(|(e, n)| Spot::new(e, n))
            .to_vec();
        let view = view(0.0);
        let d = view.rings(&[ring]);
        let numbers =
            d.split(['M', 'L', 'Z', ' ']).filter(|t| !t.is_empty()).map(|t| t.parse::<f64>().unwrap());
        assert!(numbers.clone().count() >= 8 && numbers.into_iter().all(|x| x.abs() < 600.0), "{d}");
        assert_eq!(view.rings(&[vec![Spot::new(f64::NAN, 0.0); 5]]), "");
    }
}
