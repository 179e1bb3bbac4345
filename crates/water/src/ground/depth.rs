//! Depth at the datum stage: raster where it is known, else natural neighbours through soundings and shore.

use super::{Cover, layout, nearest, paint};
use crate::{Grid, Kind, Site, Surface, WaterKind};
use measure::{Spot, parameters::value};

/// Shore places are set no farther apart than this many cells, or this share of the way to the nearest sounding.
const SHORE_STEP_CELLS: f64 = 3.0;
const SHORE_STEP_SHARE: f64 = 0.1;
/// Vertices of the outline nearer to the last one than this share of that way add nothing and are passed over.
const SHORE_SKIP_SHARE: f64 = 0.02;
/// Shore vertices at most: a longer shore is set wider.
const SHORE_MOST: f64 = 200_000.0;
/// The outline this near a solid dock is the dock's wall, not a shore \[m\].
const WALL_M: f64 = 0.5;

/// Depth at the datum stage in every cell, and how it is known.
pub(super) struct Depths {
    /// Positive down \[m\], NaN where nothing is known.
    pub depth_m: Vec<f64>,
    /// Nearest value, outside the hull.
    pub beyond: Vec<bool>,
    /// Distance to the nearest sounding \[m\].
    pub to_sounding_m: Vec<f32>,
}

/// Depths in the cells that are water (all cells where no outline is mapped).
pub(super) fn at_datum(site: &Site, grid: &Grid, water: Option<&[Cover]>, notes: &mut Vec<String>) -> Depths {
    let wanted = |cell: usize| water.is_none_or(|cover| cover[cell] == Cover::Open);
    let mut known = from_soundings(site, grid, &wanted, notes);
    let Some(raster) = &site.raster else { return known };
    if !site.soundings.is_empty() {
        notes.push(
            "a depth raster and soundings are given: the raster is used where it has a value, the soundings elsewhere"
                .into(),
        );
    }
    let (mut middles, alone) = (Vec::new(), site.soundings.is_empty());
    for cell in 0..grid.len() {
        let depth_m = raster.between(grid.centre(cell));
        if depth_m.is_finite() {
            known.depth_m[cell] = depth_m;
            known.beyond[cell] = false;
        }
    }
    if alone {
        let finite = |&c: &usize| raster.values[c].is_finite();
        middles.extend((0..raster.grid.len()).filter(finite).map(|c| raster.grid.centre(c)));
        known.to_sounding_m = distances(grid, &middles);
        notes.push(
            "depths come from a raster: the distance to a sounding is that to the nearest raster cell".into(),
        );
        let missing: Vec<usize> =
            (0..grid.len()).filter(|&c| water.is_some() && wanted(c) && known.depth_m[c].is_nan()).collect();
        if !missing.is_empty() && !middles.is_empty() {
            let near = nearest::nearest(grid, &middles);
            for &cell in &missing {
                known.depth_m[cell] =
                    raster.at(middles[near[cell] as usize]).map_or(f64::NAN, |d| d.max(0.0));
                known.beyond[cell] = true;
            }
            notes.push(format!(
                "{} cells of the water lie outside the raster: depth there is the nearest value",
                missing.len()
            ));
        }
    }
    known
}

fn from_soundings(
    site: &Site,
    grid: &Grid,
    wanted: &(impl Fn(usize) -> bool + Sync),
    notes: &mut Vec<String>,
) -> Depths {
    let cells = grid.len();
    let sounded: Vec<Spot> = site.soundings.iter().map(|s| s.spot).collect();
    let to_sounding_m = distances(grid, &sounded);
    if site.soundings.is_empty() {
        return Depths { depth_m: vec![f64::NAN; cells], beyond: vec![false; cells], to_sounding_m };
    }
    let mut places: Vec<(Spot, f64)> = site.soundings.iter().map(|s| (s.spot, s.depth_m)).collect();
    let outlined = water_is_outlined(site);
    places.extend(shore(site, grid, &to_sounding_m, notes).into_iter().map(|spot| (spot, 0.0)));
    let surface = Surface::through(&places);
    let (merged, spread_m) = surface.merged();
    if spread_m > 0.05 {
        notes.push(format!(
            "{merged} soundings lie on a place that has one already and differ by up to {}: their mean is used",
            site.units.told(spread_m)
        ));
    }
    let mut depth_m = surface.on_grid(grid, wanted);
    let mut beyond = vec![false; cells];
    // Without an outline the water ends with the hull of the soundings, unless they have no hull.
    if outlined || !surface.has_inside() {
        let spots: Vec<Spot> = places.iter().map(|p| p.0).collect();
        let near = nearest::nearest(grid, &spots);
        for cell in (0..cells).filter(|&c| wanted(c)) {
            if depth_m[cell].is_nan() && near[cell] != nearest::NOBODY {
                depth_m[cell] = places[near[cell] as usize].1;
                beyond[cell] = true;
            }
        }
    }
    Depths { depth_m, beyond, to_sounding_m }
}

/// Whether any water polygon is mapped.
fn water_is_outlined(site: &Site) -> bool {
    layout::areas(site, |kind| kind == Kind::Water).next().is_some()
}

fn distances(grid: &Grid, places: &[Spot]) -> Vec<f32> {
    let near = nearest::nearest(grid, places);
    let away = |(cell, &place): (usize, &u32)| match place {
        nearest::NOBODY => f32::INFINITY,
        place => places[place as usize].distance(grid.centre(cell)) as f32,
    };
    near.iter().enumerate().map(away).collect()
}

/// The outline and the islands as places of depth 0, close enough together that no deep water leaks through.
fn shore(site: &Site, grid: &Grid, to_sounding_m: &[f32], notes: &mut Vec<String>) -> Vec<Spot> {
    if site.water_kind == WaterKind::Pool {
        notes.push(
            "the edge of a pool is a wall, not a shore: depth at the edge is that of the nearest sounding"
                .into(),
        );
        return Vec::new();
    }
    let rings = || layout::areas(site, |kind| kind == Kind::Water).flatten().flatten();
    let length_m: f64 = rings().flat_map(|r| r.windows(2)).map(|w| w[0].distance(w[1])).sum();
    let step_m = (SHORE_STEP_CELLS * grid.cell_m).max(length_m / SHORE_MOST);
    let walls: Vec<(Spot, Spot)> = layout::areas(site, layout::is_solid)
        .flatten()
        .flatten()
        .flat_map(|ring| ring.windows(2).map(|w| (w[0], w[1])))
        .collect();
    let away_m = |spot: Spot| grid.cell(spot).map_or(0.0, |cell| f64::from(to_sounding_m[cell]));
    let mut places: Vec<Spot> = Vec::new();
    for ring in rings() {
        set_along(ring, step_m, &away_m, &mut places);
    }
    if !walls.is_empty() {
        let before = places.len();
        places.retain(|&spot| {
            !walls.iter().any(|&wall| paint::to_edge(spot, wall) <= WALL_M) && !in_solid(site, spot)
        });
        if places.len() < before {
            notes.push(
                "where the outline follows a solid dock it is taken as a wall, not as a shore of depth 0"
                    .into(),
            );
        }
    }
    places
}

/// Places along a ring: at its vertices and between them, denser where soundings are near.
fn set_along(ring: &[Spot], step_m: f64, away_m: &impl Fn(Spot) -> f64, places: &mut Vec<Spot>) {
    let mut last: Option<Spot> = None;
    for pair in ring.windows(2).filter(|w| w[0].is_finite() && w[1].is_finite()) {
        let (from, whole_m) = (pair[0], pair[0].distance(pair[1]));
        if last.is_none_or(|l| l.distance(from) >= SHORE_SKIP_SHARE * away_m(from)) {
            places.push(from);
            last = Some(from);
        }
        let mut spot = from;
        let mut along_m = 0.0;
        loop {
            // Over a step of a tenth of the way to the next sounding that way shrinks by no more than a tenth.
            along_m += step_m.max(SHORE_STEP_SHARE * away_m(spot));
            if along_m >= whole_m {
                break;
            }
            spot = from.lerp(pair[1], along_m / whole_m);
            places.push(spot);
            last = Some(spot);
        }
    }
}

fn in_solid(site: &Site, spot: Spot) -> bool {
    layout::areas(site, layout::is_solid).flatten().any(|rings| holds(rings, spot))
}

/// Whether closed rings hold a place (even-odd).
pub(super) fn holds(rings: &[Vec<Spot>], spot: Spot) -> bool {
    let crosses = |w: &[Spot]| {
        let (a, b) = (w[0], w[1]);
        (a.north > spot.north) != (b.north > spot.north)
            && spot.east < a.east + (spot.north - a.north) / (b.north - a.north) * (b.east - a.east)
    };
    rings.iter().flat_map(|ring| ring.windows(2)).filter(|w| crosses(w)).count() % 2 == 1
}

/// Water inside the outline that the surface leaves at depth 0, because only shore is near it, is still water.
///
/// Gives how many cells were raised.
pub(super) fn raise_bare_shore(site: &Site, cover: &[Cover], depths: &mut Depths) -> usize {
    if site.soundings.is_empty() || site.raster.is_some() {
        return 0;
    }
    let least_m = value("shore_depth_m");
    let mut raised = 0;
    for (depth_m, cover) in depths.depth_m.iter_mut().zip(cover) {
        if *cover == Cover::Open && (0.0..least_m).contains(depth_m) {
            *depth_m = least_m;
            raised += 1;
        }
    }
    raised
}
