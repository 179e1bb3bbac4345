//! Where the grid of a site lies, how fine it is, and what is land, open water, or water under something.

use super::{Cover, paint};
use crate::{Feature, Field, Grid, Kind, Shape, Site, Support};
use measure::{Spot, parameters::value};

/// A water of fewer cells than this gets a finer grid.
const CELLS_LEAST: f64 = 400.0;
/// No finer than this \[m\].
const FINEST_M: f64 = 0.05;
/// With a raster, ground this far outside the outline is kept: it may be under water at a higher stage \[m\].
const RISE_MARGIN_M: f64 = 25.0;

/// South-west and north-east corner of what holds all of `spots`; `None` without a finite one.
fn extent(spots: impl Iterator<Item = Spot>) -> Option<(Spot, Spot)> {
    spots.filter(|s| s.is_finite()).fold(None, |held: Option<(Spot, Spot)>, s| {
        let (low, high) = held.unwrap_or((s, s));
        Some((
            Spot::new(low.east.min(s.east), low.north.min(s.north)),
            Spot::new(high.east.max(s.east), high.north.max(s.north)),
        ))
    })
}

/// The polygons of all features of these kinds, in the order of the site.
pub(super) fn areas(site: &Site, wanted: impl Fn(Kind) -> bool) -> impl Iterator<Item = &[Vec<Vec<Spot>>]> {
    site.features.iter().filter(move |f| wanted(f.kind)).filter_map(|f: &Feature| match &f.shape {
        Shape::Area(polygons) => Some(polygons.as_slice()),
        _ => None,
    })
}

/// Area of closed rings, the first outside and the others holes \[m²\].
fn area_m2(rings: &[Vec<Spot>]) -> f64 {
    let of = |ring: &Vec<Spot>| {
        let base = ring.first().copied().unwrap_or_default();
        0.5 * ring.windows(2).map(|w| (w[0] - base).cross(w[1] - base)).sum::<f64>().abs()
    };
    rings.iter().enumerate().map(|(i, ring)| if i == 0 { of(ring) } else { -of(ring) }).sum()
}

/// The grid of a site: over its water, else over its raster, else over its soundings.
pub(super) fn grid(site: &Site, notes: &mut Vec<String>) -> Grid {
    let outline = || areas(site, |kind| kind == Kind::Water);
    let water = extent(outline().flatten().flatten().flatten().copied());
    let raster = site.raster.as_ref().map(|r| {
        let size = Spot::new(r.grid.cols as f64, r.grid.rows as f64) * r.grid.cell_m;
        (r.grid.corner, r.grid.corner + size)
    });
    let soundings = || extent(site.soundings.iter().map(|s| s.spot));
    let (mut low, mut high) = water.or(raster).or_else(soundings).unwrap_or_default();
    let wish_m = value("cell_m");
    let surface_m2 = match water {
        Some(_) => outline().flatten().map(|rings| area_m2(rings)).sum(),
        None => (high.east - low.east) * (high.north - low.north),
    };
    let mut cell_m = wish_m;
    if surface_m2 > 0.0 && surface_m2 / (cell_m * cell_m) < CELLS_LEAST {
        cell_m = (surface_m2 / CELLS_LEAST).sqrt().clamp(FINEST_M, wish_m);
    }
    if let (Some(_), Some((south_west, north_east))) = (water, raster) {
        let margin = Spot::new(RISE_MARGIN_M, RISE_MARGIN_M);
        let (wide_low, wide_high) = (low - margin, high + margin);
        low = Spot::new(
            low.east.min(wide_low.east.max(south_west.east)),
            low.north.min(wide_low.north.max(south_west.north)),
        );
        high = Spot::new(
            high.east.max(wide_high.east.min(north_east.east)),
            high.north.max(wide_high.north.min(north_east.north)),
        );
    }
    let grid = fit(low, high, cell_m);
    let (cell, wish) = (site.units.told(grid.cell_m), site.units.told(wish_m));
    if grid.cell_m > wish_m {
        notes.push(format!(
            "cells are {cell} instead of {wish}: the water would need more than {:.0} cells",
            value("cells_most")
        ));
    } else if grid.cell_m < wish_m {
        notes.push(format!("cells are {cell} instead of {wish}: the water is small"));
    }
    grid
}

/// Cells over a rectangle with one more all round; coarser until they are few enough.
fn fit(low: Spot, high: Spot, cell_m: f64) -> Grid {
    let most = value("cells_most");
    let size = high - low;
    let mut cell_m = cell_m;
    loop {
        let cells = |metres: f64| (metres / cell_m).ceil().max(1.0) + 2.0;
        let (cols, rows) = (cells(size.east), cells(size.north));
        if cols * rows <= most {
            let corner = low - Spot::new(cell_m, cell_m);
            return Grid { corner, cell_m, cols: cols as usize, rows: rows as usize };
        }
        cell_m *= (cols * rows / most).sqrt().max(1.001);
    }
}

/// What is over each cell, and whether an outline is mapped at all.
///
/// Without an outline the raster's wet cells, or the hull of the soundings, stand for the water; the caller
/// knows which cells those are once the depth is known.
pub(super) fn cover(site: &Site, grid: &Grid) -> (Vec<Cover>, bool) {
    let mut cover = vec![Cover::Land; grid.len()];
    let mut mapped = false;
    for polygons in areas(site, |kind| kind == Kind::Water) {
        mapped = true;
        paint::inside(grid, polygons, |cell| cover[cell] = Cover::Open);
    }
    (cover, mapped)
}

/// Docks and rafts over the water: solid ones are land, the others hide the water under them.
pub(super) fn put_docks(site: &Site, grid: &Grid, cover: &mut [Cover]) {
    let over = |kind: Kind| matches!(kind, Kind::Dock(s) | Kind::Raft(s) if s != Support::Solid);
    for polygons in areas(site, over) {
        paint::inside(grid, polygons, |cell| {
            if cover[cell] == Cover::Open {
                cover[cell] = Cover::Under;
            }
        });
    }
    for polygons in areas(site, is_solid) {
        paint::inside(grid, polygons, |cell| cover[cell] = Cover::Land);
    }
}

/// A dock or raft filled to the bottom.
pub(super) fn is_solid(kind: Kind) -> bool {
    matches!(kind, Kind::Dock(Support::Solid) | Kind::Raft(Support::Solid))
}

/// The cells searchers keep off: no-go ground and drop-off edges with the site's distance around them.
pub(super) fn keep_off(site: &Site, grid: &Grid) -> Vec<bool> {
    let mut off = vec![false; grid.len()];
    // At least the cells a line runs through, whatever distance the site has set.
    let metres = site.limits.keep_off_m.max(0.71 * grid.cell_m);
    for feature in site.features.iter().filter(|f| matches!(f.kind, Kind::NoGo | Kind::DropOff)) {
        if let Shape::Area(polygons) = &feature.shape {
            paint::inside(grid, polygons, |cell| off[cell] = true);
        }
        paint::near(grid, &feature.shape, metres, |cell| off[cell] = true);
    }
    off
}

/// Water that has risen past the outline: cells of the raster that are under water today and touch the mapped water.
pub(super) fn spread(grid: &Grid, raster: &Field<f64>, rise_m: f64, cover: &mut [Cover]) -> usize {
    let mut front: Vec<usize> = (0..grid.len()).filter(|&c| cover[c] == Cover::Open).collect();
    let mut added = 0;
    while let Some(cell) = front.pop() {
        let (col, row) = (cell % grid.cols, cell / grid.cols);
        let beside = [
            (col > 0).then(|| cell - 1),
            (col + 1 < grid.cols).then(|| cell + 1),
            (row > 0).then(|| cell - grid.cols),
            (row + 1 < grid.rows).then(|| cell + grid.cols),
        ];
        for next in beside.into_iter().flatten() {
            if cover[next] == Cover::Land && raster.between(grid.centre(next)) + rise_m > 0.0 {
                cover[next] = Cover::Open;
                added += 1;
                front.push(next);
            }
        }
    }
    added
}
