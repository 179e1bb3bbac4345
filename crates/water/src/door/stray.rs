//! Soundings that stray: far from the water, far from the others, unlike their neighbours, twice at one place.

use crate::door::outline;
use crate::door::soundings::Placed;
use crate::formats::words::list;
use crate::problem::{At, Report};
use measure::Spot;
use measure::parameters::value;
use std::collections::BTreeMap;

/// A cell of a coarse net over the soundings.
type Cell = (i64, i64);

fn cell_of(spot: Spot, side: f64) -> Cell {
    ((spot.east / side).floor() as i64, (spot.north / side).floor() as i64)
}

/// The soundings of each cell, by their index.
fn net(placed: &[Placed], side: f64) -> BTreeMap<Cell, Vec<usize>> {
    let mut cells: BTreeMap<Cell, Vec<usize>> = BTreeMap::new();
    for (n, p) in placed.iter().enumerate() {
        cells.entry(cell_of(p.sounding.spot, side)).or_default().push(n);
    }
    cells
}

/// What was set aside: indices with how far off each lies \[m\].
type Aside = Vec<(usize, f64)>;

/// Sets aside soundings far from the water, or without an outline far from the main body of soundings; each is named.
pub(crate) fn set_aside(
    placed: Vec<Placed>,
    water: &Vec<Vec<Vec<Spot>>>,
    files: &[String],
    reports: &mut [Report],
) -> Vec<Placed> {
    let far = value("outlier_far_m");
    let (aside, from) = if water.is_empty() {
        (far_from_main(&placed, far, files, reports), "the other soundings")
    } else {
        (far_from_water(&placed, water, far), "the water")
    };
    if aside.is_empty() {
        return placed;
    }
    for (file, report) in reports.iter_mut().enumerate() {
        let here: Vec<&(usize, f64)> = aside.iter().filter(|(n, _)| placed[*n].file == file).collect();
        let Some((first, _)) = here.first() else { continue };
        let words = here.iter().enumerate().map(|(rank, (n, metres))| {
            let p = &placed[*n];
            // Only those that are named need their exact distance.
            let exact = rank < 12 && !water.is_empty();
            let metres = if exact { outline::distance(water, p.sounding.spot) } else { *metres };
            format!("line {} ({} m deep, {metres:.0} m off)", p.line, round_mm(p.sounding.depth_m))
        });
        let what = format!(
            "{} soundings lie more than {far:.0} m from {from}, not used: {}",
            here.len(),
            list(words)
        );
        let remedy = "mend or take out those rows; if they are right, the outline, the origin or the epsg code is wrong, or longitude and latitude are turned round";
        let line = placed[*first].line;
        if here.len() == placed.iter().filter(|p| p.file == file).count() {
            report.fatal("W310", At::line(line), format!("all of its {what}"), remedy);
        } else {
            report.note("W310", At::line(line), what, remedy);
        }
    }
    let mut keep = vec![true; placed.len()];
    aside.iter().for_each(|(n, _)| keep[*n] = false);
    let mut n = 0;
    let mut placed = placed;
    placed.retain(|_| {
        n += 1;
        keep[n - 1]
    });
    placed
}

fn round_mm(metres: f64) -> f64 {
    (metres * 1000.0).round() / 1000.0
}

/// Soundings outside the limit about the water; distances of those far outside its box are to the box.
fn far_from_water(placed: &[Placed], water: &Vec<Vec<Vec<Spot>>>, far: f64) -> Aside {
    // Whole cells are judged by their middle where that is enough; only a seam along the limit is asked one by one.
    let side = far / 4.0;
    let half = side * std::f64::consts::FRAC_1_SQRT_2;
    let frame = hull_box(water.iter().flatten().flatten().copied());
    let mut aside = Aside::new();
    for ((col, row), members) in net(placed, side) {
        let middle = Spot::new((col as f64 + 0.5) * side, (row as f64 + 0.5) * side);
        let outside = gap(frame, (middle, middle));
        if outside > far + half {
            aside.extend(members.into_iter().map(|n| (n, outside)));
            continue;
        }
        let metres = outline::distance(water, middle);
        if metres > far + half {
            aside.extend(members.into_iter().map(|n| (n, metres)));
        } else if metres + half > far {
            let asked = members.into_iter().map(|n| (n, outline::distance(water, placed[n].sounding.spot)));
            aside.extend(asked.filter(|(_, metres)| *metres > far));
        }
    }
    aside.sort_by_key(|(n, _)| *n);
    aside
}

/// Soundings outside the main body; a fatal problem where it is in doubt which body that is.
fn far_from_main(placed: &[Placed], far: f64, files: &[String], reports: &mut [Report]) -> Aside {
    let bodies = bodies(placed, far);
    let Some((main, others)) = bodies.split_first() else { return Aside::new() };
    let first = |body: &Body| placed[body.members[0]];
    let metres = gap(main.frame(), (Spot::default(), Spot::default()));
    if metres > value("site_reach_m") {
        let line = At::line(first(main).line);
        let what = format!("the soundings lie {:.0} km from the site's origin", metres / 1000.0);
        let remedy =
            "look at origin, at the columns (longitude and latitude may be swapped) and at the epsg code";
        reports[first(main).file].fatal("W314", line, what, remedy);
        return Aside::new();
    }
    // A handful of strays may be as many as a handful of soundings; beyond that a second body is no slip.
    let rival = others.first().filter(|b| b.members.len() >= 10.max(placed.len() / 10));
    if rival.is_some() || (main.members.len() * 2 < placed.len() && placed.len() >= 10) {
        let second = first(rival.unwrap_or(&others[0]));
        let what = format!(
            "soundings fall into {} bodies more than {far:.0} m apart, the largest of {} and {} (the second about line {} of {}), and no water polygon says which is the site",
            bodies.len(),
            main.members.len(),
            others[0].members.len(),
            second.line,
            files[second.file]
        );
        let remedy = "draw the water in map.geojson: two basins are two polygons";
        reports[second.file].fatal("W311", At::line(second.line), what, remedy);
        return Aside::new();
    }
    let mut aside = Aside::new();
    for &member in others.iter().flat_map(|b| &b.members) {
        let spot = placed[member].sounding.spot;
        aside.push((member, main.boxes.iter().map(|b| gap(*b, (spot, spot))).fold(f64::INFINITY, f64::min)));
    }
    aside.sort_by_key(|(n, _)| *n);
    aside
}

/// Soundings that hang together.
struct Body {
    members: Vec<usize>,
    /// Boxes of its cells.
    boxes: Vec<(Spot, Spot)>,
}

impl Body {
    /// The box of the whole.
    fn frame(&self) -> (Spot, Spot) {
        hull_box(self.boxes.iter().flat_map(|b| [b.0, b.1]))
    }
}

/// Bodies of soundings, the largest first, of those alike in size the one nearest the origin.
/// They are joined where the boxes of their cells come nearer than `far`.
fn bodies(placed: &[Placed], far: f64) -> Vec<Body> {
    let cells: Vec<(Cell, Vec<usize>)> = net(placed, far / 2.0).into_iter().collect();
    let boxes: Vec<(Spot, Spot)> = cells.iter().map(|(_, members)| bounds(members, placed)).collect();
    let number: BTreeMap<Cell, usize> = cells.iter().enumerate().map(|(n, (cell, _))| (*cell, n)).collect();
    let mut parent: Vec<usize> = (0..cells.len()).collect();
    for (n, ((col, row), _)) in cells.iter().enumerate() {
        for (dc, dr) in (0..=3).flat_map(|dc| (-3..=3).map(move |dr| (dc, dr))) {
            let Some(&m) = number.get(&(col + dc, row + dr)) else { continue };
            if gap(boxes[n], boxes[m]) <= far {
                let (a, b) = (head(&mut parent, n), head(&mut parent, m));
                parent[a.max(b)] = a.min(b);
            }
        }
    }
    let mut found: BTreeMap<usize, Body> = BTreeMap::new();
    for (n, (_, members)) in cells.into_iter().enumerate() {
        let empty = Body { members: Vec::new(), boxes: Vec::new() };
        let body = found.entry(head(&mut parent, n)).or_insert(empty);
        body.members.extend(members);
        body.boxes.push(boxes[n]);
    }
    let near = |b: &Body| gap(b.frame(), (Spot::default(), Spot::default()));
    let mut order: Vec<(f64, Body)> = found.into_values().map(|b| (near(&b), b)).collect();
    order.sort_by(|a, b| b.1.members.len().cmp(&a.1.members.len()).then(a.0.total_cmp(&b.0)));
    order.into_iter().map(|(_, body)| body).collect()
}

/// The first of the cells joined with `n`.
fn head(parent: &mut [usize], mut n: usize) -> usize {
    while parent[n] != n {
        parent[n] = parent[parent[n]];
        n = parent[n];
    }
    n
}

fn bounds(members: &[usize], placed: &[Placed]) -> (Spot, Spot) {
    hull_box(members.iter().map(|n| placed[*n].sounding.spot))
}

/// The box, low and high corner, that holds all places.
fn hull_box(spots: impl Iterator<Item = Spot>) -> (Spot, Spot) {
    let start = (Spot::new(f64::INFINITY, f64::INFINITY), Spot::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    spots.fold(start, |(low, high), s| {
        (
            Spot::new(low.east.min(s.east), low.north.min(s.north)),
            Spot::new(high.east.max(s.east), high.north.max(s.north)),
        )
    })
}

/// Distance between two boxes \[m\].
fn gap(a: (Spot, Spot), b: (Spot, Spot)) -> f64 {
    let apart = |low: f64, high: f64, low2: f64, high2: f64| (low2 - high).max(low - high2).max(0.0);
    let east = apart(a.0.east, a.1.east, b.0.east, b.1.east);
    let north = apart(a.0.north, a.1.north, b.0.north, b.1.north);
    Spot::new(east, north).length()
}

/// Gives soundings at one place one depth, their mean, and names those that differ.
pub(crate) fn settle_doubles(placed: &mut [Placed], reports: &mut [Report]) {
    let key = |n: usize| {
        let spot = placed[n].sounding.spot;
        ((spot.east * 1000.0).round() as i64, (spot.north * 1000.0).round() as i64, n)
    };
    let mut keys: Vec<(i64, i64, usize)> = (0..placed.len()).map(key).collect();
    keys.sort_unstable();
    let mut differ: Vec<(usize, String)> = Vec::new();
    for same in keys.chunk_by(|a, b| (a.0, a.1) == (b.0, b.1)) {
        if same.len() < 2 {
            continue;
        }
        let same: Vec<usize> = same.iter().map(|k| k.2).collect();
        // In order of depth, so that the mean does not hang on the order of the rows.
        let mut depths: Vec<f64> = same.iter().map(|n| placed[*n].sounding.depth_m).collect();
        depths.sort_by(f64::total_cmp);
        let (low, high) = (depths[0], depths[depths.len() - 1]);
        let mean = if low == high { low } else { depths.iter().sum::<f64>() / depths.len() as f64 };
        if high - low > 0.1 {
            let lines = list(same.iter().map(|n| placed[*n].line.to_string()));
            differ.push((same[0], format!("lines {lines}: {} to {} m", round_mm(low), round_mm(high))));
        }
        let spot = placed[same[0]].sounding.spot;
        for n in &same {
            placed[*n].sounding.depth_m = mean;
            placed[*n].sounding.spot = spot;
        }
    }
    differ.sort_by_key(|(n, _)| *n);
    for (file, report) in reports.iter_mut().enumerate() {
        let here: Vec<&(usize, String)> = differ.iter().filter(|(n, _)| placed[*n].file == file).collect();
        if let Some((first, _)) = here.first() {
            let what = format!(
                "{} places have several soundings that differ by more than 0.1 m, the mean is used: {}",
                here.len(),
                list(here.iter().map(|(_, words)| words.clone()))
            );
            report.note("W312", At::line(placed[*first].line), what, "take out the one that is wrong");
        }
    }
}

/// Names soundings unlike their neighbours; they are used, for a hole or a boulder may be real.
pub(crate) fn name_spikes(placed: &[Placed], reports: &mut [Report]) {
    if placed.len() < 9 {
        return;
    }
    let all: Vec<usize> = (0..placed.len()).collect();
    let (low, high) = bounds(&all, placed);
    let extent = (high - low).east.max(1.0) * (high - low).north.max(1.0);
    let side = (4.0 * extent / placed.len() as f64).sqrt().max(0.5);
    let cells = net(placed, side);
    let mut spikes: Vec<(usize, f64)> = Vec::new();
    for ((col, row), members) in &cells {
        // A crowded cell is judged by its first soundings; that bounds the work at any density.
        let near: Vec<usize> = (-1..=1)
            .flat_map(|dr| (-1..=1).map(move |dc| (dc, dr)))
            .filter_map(|(dc, dr)| cells.get(&(col + dc, row + dr)))
            .flat_map(|found| found.iter().copied().take(12))
            .collect();
        for &n in members {
            if let Some(usual) = unlike(n, &near, placed) {
                spikes.push((n, usual));
            }
        }
    }
    spikes.sort_by_key(|(n, _)| *n);
    for (file, report) in reports.iter_mut().enumerate() {
        let here: Vec<&(usize, f64)> = spikes.iter().filter(|(n, _)| placed[*n].file == file).collect();
        if let Some((first, _)) = here.first() {
            let words = here.iter().map(|(n, usual)| {
                let p = placed[*n];
                format!("line {} ({} m among {} m)", p.line, round_mm(p.sounding.depth_m), round_mm(*usual))
            });
            let what = format!(
                "{} soundings are unlike their neighbours, used all the same: {}",
                here.len(),
                list(words)
            );
            report.note(
                "W313",
                At::line(placed[*first].line),
                what,
                "look whether they are real; take out those that are not",
            );
        }
    }
}

/// The median depth about a sounding, if the sounding is a spike against it.
fn unlike(n: usize, near: &[usize], placed: &[Placed]) -> Option<f64> {
    let here = placed[n].sounding;
    let mut others: Vec<(f64, f64)> = near
        .iter()
        .filter(|m| **m != n)
        .map(|m| (placed[*m].sounding.spot.distance(here.spot), placed[*m].sounding.depth_m))
        .collect();
    if others.len() < 5 {
        return None;
    }
    if others.len() > 8 {
        others.select_nth_unstable_by(7, |a, b| a.0.total_cmp(&b.0).then(a.1.total_cmp(&b.1)));
        others.truncate(8);
    }
    let reach = others.iter().map(|o| o.0).sum::<f64>() / others.len() as f64;
    let mut depths: Vec<f64> = others.iter().map(|o| o.1).collect();
    depths.sort_by(f64::total_cmp);
    let median = depths[depths.len() / 2];
    let mut off: Vec<f64> = depths.iter().map(|d| (d - median).abs()).collect();
    off.sort_by(f64::total_cmp);
    let spread = 1.48 * off[off.len() / 2];
    let limit = value("spike_least_m").max(6.0 * spread).max(0.5 * reach);
    ((here.depth_m - median).abs() > limit).then_some(median)
}
