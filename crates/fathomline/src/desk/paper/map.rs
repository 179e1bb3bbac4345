//! The map of the sheet: water, marks, belief and lanes, told apart by line and hatching alone.

use super::drawing::{Dash, Drawing, clipped};
use incident::Chart;
use incident::screen::{Lane, LaneState, MapNow};
use measure::Spot;
use water::{FOOT_M, Units};

/// Width and height of the map on the sheet \[mm\].
pub const SIZE: (f64, f64) = (180.0, 84.0);
/// Ground shown round what matters \[m\].
const MARGIN_M: f64 = 12.0;
/// Least width of the ground shown \[m\].
const LEAST_M: f64 = 50.0;
/// Most dots of the belief: more are a smear on paper.
const DOTS_MOST: usize = 500;

/// Room for the scale bar beside the north arrow \[mm\].
const BAR_MOST_MM: f64 = 31.0;
/// Most planned lanes: whoever takes over makes a plan of their own, and more lie on one another.
const PLANNED_MOST: usize = 5;

/// From site metres to millimetres of the map.
struct View {
    middle: Spot,
    right: Spot,
    up: Spot,
    mm_per_m: f64,
    size: (f64, f64),
}

impl View {
    /// The ground of lanes, last seen points and inner outlines, turned so that the water lies as one faces it.
    fn new(chart: &Chart, now: &MapNow, size: (f64, f64)) -> View {
        let up = Spot::towards(measure::Bearing::new(chart.facing_deg), 1.0);
        let right = Spot::new(up.north, -up.east);
        let mut places: Vec<Spot> = now.lanes.iter().flat_map(|lane| [lane.from, lane.to]).collect();
        places.extend(now.seen.iter().map(|seen| seen.spot));
        places.extend(
            now.outlines.iter().filter(|o| o.share < 0.9).flat_map(|o| o.rings.iter().flatten()).map(spot),
        );
        if places.is_empty() {
            places = chart.water.iter().flatten().copied().collect();
        }
        places.retain(|place| place.is_finite());
        let bounds = places.iter().fold([f64::MAX, f64::MAX, f64::MIN, f64::MIN], |b, place| {
            let (x, y) = (place.dot(right), place.dot(up));
            [b[0].min(x), b[1].min(y), b[2].max(x), b[3].max(y)]
        });
        let bounds = if places.is_empty() { [0.0; 4] } else { bounds };
        let wide = |low: f64, high: f64| (high - low + 2.0 * MARGIN_M).max(LEAST_M);
        let mm_per_m = (size.0 / wide(bounds[0], bounds[2])).min(size.1 / wide(bounds[1], bounds[3]));
        let middle = right * (0.5 * (bounds[0] + bounds[2])) + up * (0.5 * (bounds[1] + bounds[3]));
        View { middle, right, up, mm_per_m, size }
    }

    fn at(&self, place: Spot) -> [f64; 2] {
        let from = place - self.middle;
        [
            0.5 * self.size.0 + from.dot(self.right) * self.mm_per_m,
            0.5 * self.size.1 - from.dot(self.up) * self.mm_per_m,
        ]
    }

    fn frame(&self) -> [f64; 4] {
        [0.0, 0.0, self.size.0, self.size.1]
    }

    fn holds(&self, [x, y]: [f64; 2]) -> bool {
        (1.0..self.size.0 - 1.0).contains(&x) && (3.0..self.size.1 - 1.0).contains(&y)
    }

    /// Draws a line as far as it lies on the map.
    fn line(&self, drawing: &mut Drawing, places: &[Spot], (width, dash, closed): (f64, Dash, bool)) {
        let points: Vec<[f64; 2]> = places.iter().map(|place| self.at(*place)).collect();
        clipped(&points, closed, self.frame()).into_iter().for_each(|piece| drawing.line(piece, width, dash));
    }
}

fn spot(point: &[f32; 2]) -> Spot {
    Spot::new(f64::from(point[0]), f64::from(point[1]))
}

/// The map, `size` millimetres.
pub fn map(chart: &Chart, now: &MapNow, size: (f64, f64)) -> Drawing {
    let view = View::new(chart, now, size);
    let mut drawing = Drawing::default();
    still(&mut drawing, &view, chart);
    let step = (now.dots.len() / DOTS_MOST).max(1);
    for dot in now.dots.iter().step_by(step) {
        let [x, y] = view.at(spot(dot));
        if view.holds([x, y]) {
            let r = 0.25;
            drawing.area(vec![[x - r, y - r], [x + r, y - r], [x + r, y + r], [x - r, y + r]], false);
        }
    }
    for outline in &now.outlines {
        let set = if outline.share < 0.6 {
            (0.6, Dash::Solid, true)
        } else if outline.share < 0.9 {
            (0.45, Dash::Dashed, true)
        } else {
            (0.4, Dash::Dotted, true)
        };
        for ring in &outline.rings {
            let places: Vec<Spot> = ring.iter().map(spot).collect();
            view.line(&mut drawing, &places, set);
        }
    }
    // Numbers last, so that no other lane lies over them.
    let mut planned = 0;
    let drawn: Vec<&Lane> = now
        .lanes
        .iter()
        .filter(|one| {
            planned += usize::from(one.state == LaneState::Planned);
            one.state != LaneState::Planned || planned <= PLANNED_MOST
        })
        .collect();
    drawn.iter().for_each(|one| lane(&mut drawing, &view, one));
    drawn.iter().for_each(|one| number(&mut drawing, &view, one));
    for seen in &now.seen {
        last_seen(&mut drawing, view.at(seen.spot));
    }
    let units = if chart.units == "feet" { Units::Feet } else { Units::Metric };
    furniture(&mut drawing, &view, units);
    drawing
}

/// What stands still: shore, contours, docks, ropes, names.
fn still(drawing: &mut Drawing, view: &View, chart: &Chart) {
    for contour in &chart.contours {
        contour.lines.iter().for_each(|line| view.line(drawing, line, (0.12, Dash::Solid, false)));
    }
    chart.water.iter().for_each(|ring| view.line(drawing, ring, (0.7, Dash::Solid, true)));
    for feature in &chart.features {
        let set = match feature.kind.as_str() {
            "rope" => (0.35, Dash::Dotted),
            "dock" | "raft" => (0.3, Dash::Solid),
            "no_go" => (0.3, Dash::Dashed),
            _ => continue,
        };
        feature.rings.iter().for_each(|ring| view.line(drawing, ring, (set.0, set.1, true)));
        view.line(drawing, &feature.points, (set.0, set.1, false));
    }
    for named in chart.posts.iter().chain(&chart.landmarks) {
        let at = view.at(named.spot);
        if view.holds(at) {
            drawing.words([at[0] + 1.0, at[1] - 0.6], (2.7, true), named.name.clone());
        }
    }
}

/// A lane as a box: dashed while planned, thick while under way, hatched as far as it was searched.
fn lane(drawing: &mut Drawing, view: &View, lane: &Lane) {
    let length_m = lane.from.distance(lane.to);
    if !(length_m > 0.0 && lane.width_m > 0.0) {
        return;
    }
    let along = (lane.to - lane.from) * (1.0 / length_m);
    let side = Spot::new(along.north, -along.east) * (0.5 * lane.width_m);
    let corners = |to_m: f64| {
        let end = lane.from + along * to_m;
        [lane.from + side, end + side, end - side, lane.from - side]
    };
    let set = match lane.state {
        LaneState::Planned => (0.3, Dash::Dashed, true),
        LaneState::Running => (0.8, Dash::Solid, true),
        LaneState::Searched | LaneState::Part => (0.25, Dash::Solid, true),
    };
    view.line(drawing, &corners(length_m), set);
    let done_m = if lane.state == LaneState::Searched { length_m } else { lane.done_m.clamp(0.0, length_m) };
    let searched: Vec<[f64; 2]> = corners(done_m).iter().map(|place| view.at(*place)).collect();
    let [left, top, right, bottom] = view.frame();
    if done_m > 0.0
        && searched.iter().all(|p| (left..=right).contains(&p[0]) && (top..=bottom).contains(&p[1]))
    {
        drawing.hatch(&searched, 1.2);
    }
}

fn number(drawing: &mut Drawing, view: &View, lane: &Lane) {
    let [x, y] = view.at(lane.from);
    if !view.holds([x, y]) {
        return;
    }
    let running = lane.state == LaneState::Running;
    let half = [2.4, 2.0];
    let edge = vec![
        [x - half[0], y - half[1]],
        [x + half[0], y - half[1]],
        [x + half[0], y + half[1]],
        [x - half[0], y + half[1]],
    ];
    drawing.area(edge.clone(), !running);
    drawing.ring(edge, 0.3, Dash::Solid);
    drawing.set([x, y + 1.0], (3.0, true), (0.5, running), lane.order.to_string());
}

/// A ring with four ticks.
fn last_seen(drawing: &mut Drawing, [x, y]: [f64; 2]) {
    let round = |r: f64| -> Vec<[f64; 2]> {
        (0..24)
            .map(|k| f64::from(k) * std::f64::consts::TAU / 24.0)
            .map(|a| [x + r * a.cos(), y + r * a.sin()])
            .collect()
    };
    drawing.ring(round(1.8), 0.6, Dash::Solid);
    for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
        drawing.line(vec![[x + 1.8 * dx, y + 1.8 * dy], [x + 3.0 * dx, y + 3.0 * dy]], 0.6, Dash::Solid);
    }
}

/// A round length for the scale: in metres, and as it is read.
fn scale(mm_per_m: f64, units: Units) -> (f64, String) {
    let length_m = match units {
        Units::Metric if mm_per_m * 10.0 > 40.0 => 5.0,
        Units::Metric if mm_per_m * 10.0 > 8.0 => 10.0,
        Units::Metric => 50.0,
        Units::Feet => {
            let mm_per_ft = mm_per_m * FOOT_M;
            let fits = |feet: &f64| feet * mm_per_ft <= BAR_MOST_MM;
            FOOT_M * [500.0, 200.0, 100.0, 50.0, 20.0].into_iter().find(fits).unwrap_or(10.0)
        }
    };
    (length_m, units.distance(length_m))
}

/// Frame, scale and north.
fn furniture(drawing: &mut Drawing, view: &View, units: Units) {
    let (w, h) = view.size;
    drawing.ring(vec![[0.0, 0.0], [w, 0.0], [w, h], [0.0, h]], 0.4, Dash::Solid);
    let (bar_m, length) = scale(view.mm_per_m, units);
    let (x, y) = (5.0, 6.0);
    drawing.area(vec![[2.0, 1.5], [48.0, 1.5], [48.0, 9.0], [2.0, 9.0]], true);
    drawing.line(vec![[x, y], [x + bar_m * view.mm_per_m, y]], 0.5, Dash::Solid);
    drawing.words([x, y - 1.2], (2.7, true), length);
    let north = [view.right.north, -view.up.north];
    let foot = [40.0 - 3.0 * north[0], 5.2 - 3.0 * north[1]];
    let head = [40.0 + 3.0 * north[0], 5.2 + 3.0 * north[1]];
    drawing.line(vec![foot, head], 0.5, Dash::Solid);
    for turn in [2.6_f64, -2.6] {
        let (sin, cos) = turn.sin_cos();
        let barb = [north[0] * cos - north[1] * sin, north[0] * sin + north[1] * cos];
        drawing.line(vec![head, [head[0] + 1.6 * barb[0], head[1] + 1.6 * barb[1]]], 0.5, Dash::Solid);
    }
    drawing.words([44.0, 6.2], (2.7, true), "N");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_scale_is_a_round_number_of_feet_that_fits_beside_the_arrow() {
        let widest = SIZE.0 / LEAST_M;
        for tenth in 1..=36 {
            let mm_per_m = 0.1 * f64::from(tenth);
            let (length_m, words) = scale(mm_per_m, Units::Feet);
            let feet: f64 = words.strip_suffix(" ft").and_then(|n| n.parse().ok()).expect("feet");
            assert!((feet * FOOT_M - length_m).abs() < 1e-9 && feet % 10.0 == 0.0, "{words}");
            assert!(length_m * mm_per_m <= BAR_MOST_MM && length_m * mm_per_m > 8.0, "{words} at {mm_per_m}");
        }
        assert_eq!(scale(widest, Units::Metric).1, "10 m");
        assert_eq!(scale(0.5, Units::Metric), (50.0, "50 m".into()));
    }
}
