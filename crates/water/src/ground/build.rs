//! From a site and today's stage to the ground (model F2).

use super::depth::{self, Depths};
use super::{Bed, Cover, Ground, layout, paint};
use crate::{Grid, Kind, Shape, Site};
use measure::{Noted, parameters::value};

impl Ground {
    /// The bottom of a site at a stage.
    ///
    /// Depth is a natural-neighbour surface through the soundings and the shore (the outline and islands at
    /// depth 0 at the datum stage), shifted by the stage; a depth raster is taken bilinear instead where there
    /// is one. Model `F2`, docs/models/depth.md.
    ///
    /// The water is what lies inside the outline and is deeper than 0 today. Falling water bares ground inside
    /// it. Rising water spreads past it only over a raster, which knows the ground there, and only where it
    /// connects; soundings know nothing above the shore, so without a raster the outline stays and a note says
    /// so. Inside the outline the surface never falls under `shore_depth_m` at the datum stage, so that a bay
    /// without soundings stays water. Without an outline the raster's wet cells, or the hull of the soundings,
    /// stand for it. A pool's edge is a wall and no shore, and so is the outline along a solid dock.
    ///
    /// # Inputs
    /// - `site`: outline, docks, bottom polygons, no-go ground, soundings or raster, limits
    /// - `stage_m`: today's stage \[m\], on the scale of `site.datum_stage_m`
    ///
    /// # Gives
    /// The ground with its doubts. Depth is NaN everywhere where neither soundings nor a raster are given; on
    /// land and solid docks it is NaN or at most 0.
    ///
    /// # Source
    /// sibson-1981 (surface); the rest assumed
    pub fn build(site: &Site, stage_m: f64) -> Noted<Ground> {
        let mut notes = Vec::new();
        let rise_m = if (stage_m - site.datum_stage_m).is_finite() {
            stage_m - site.datum_stage_m
        } else {
            notes.push(format!(
                "stage {stage_m} is not a number: the datum stage is used; give today's stage"
            ));
            0.0
        };
        let grid = layout::grid(site, &mut notes);
        let (mut cover, mapped) = layout::cover(site, &grid);
        let mut depths = depth::at_datum(site, &grid, mapped.then_some(&cover), &mut notes);
        say_what_is_missing(site, &cover, mapped, &mut notes);
        if mapped {
            let raised = depth::raise_bare_shore(site, &cover, &mut depths);
            say_bare_shore(site, raised, &cover, &mut notes);
            rise(site, &grid, rise_m, &mut cover, &mut notes);
        } else {
            for (cell, depth_m) in depths.depth_m.iter().enumerate() {
                if *depth_m + rise_m > 0.0 {
                    cover[cell] = Cover::Open;
                }
            }
        }
        layout::put_docks(site, &grid, &mut cover);
        for (depth_m, cover) in depths.depth_m.iter_mut().zip(&cover) {
            *depth_m += rise_m;
            if *cover == Cover::Land {
                *depth_m = if depth_m.is_nan() { f64::NAN } else { depth_m.min(0.0) };
            }
        }
        let Depths { depth_m, beyond, to_sounding_m } = depths;
        let (bed, keep_off) = (bed(site, &grid), layout::keep_off(site, &grid));
        let mut ground = Ground {
            grid,
            stage_m: site.datum_stage_m + rise_m,
            depth_m,
            cover,
            bed,
            to_sounding_m,
            beyond,
            keep_off,
            notes,
        };
        ground.say_doubts(site);
        Noted { notes: ground.notes.clone(), value: ground }
    }

    /// Notes that need the finished ground: how much is far from soundings, beyond the hull, or dry.
    fn say_doubts(&mut self, site: &Site) {
        let water: Vec<usize> = (0..self.grid.len()).filter(|&cell| self.is_water(cell)).collect();
        let share = |count: usize| 100.0 * count as f64 / water.len() as f64;
        if water.is_empty() {
            if self.depth_m.iter().any(|d| d.is_finite()) {
                self.notes.push(format!(
                    "no cell is under water at {}: check it against the datum {}",
                    site.units.stage(self.stage_m),
                    site.units.stage(site.datum_stage_m)
                ));
            }
            return;
        }
        let far_m = value("far_sounding_m");
        let far = water.iter().filter(|&&c| f64::from(self.to_sounding_m[c]) > far_m).count();
        if far > 0 {
            self.notes.push(format!(
                "{:.0} % of the water is farther than {} from any sounding: depth there is not trusted",
                share(far).max(1.0),
                site.units.distance(far_m)
            ));
        }
        let beyond = water.iter().filter(|&&c| self.beyond[c]).count();
        if beyond > 0 {
            self.notes.push(format!(
                "{:.0} % of the water lies outside the hull of what was measured: depth there is the nearest value",
                share(beyond).max(1.0)
            ));
        }
    }
}

fn say_what_is_missing(site: &Site, cover: &[Cover], mapped: bool, notes: &mut Vec<String>) {
    match (site.soundings.len(), site.raster.is_some()) {
        (0, false) => notes
            .push("no soundings: depth is unknown everywhere; sound the water or give a depth raster".into()),
        (count @ 1..=2, false) => {
            notes.push(format!(
                "only {count} sounding(s): depth is little more than a guess; sound a grid of places"
            ));
        }
        _ => {}
    }
    if mapped && !cover.contains(&Cover::Open) {
        notes.push(
            "the water outline holds no cell: it is smaller than a cell or has no area; check the polygon"
                .into(),
        );
    }
    if !mapped {
        notes.push(
            match (site.raster.is_some(), site.soundings.is_empty()) {
                (true, _) => "no water outline is mapped: every raster cell under water counts as water",
                (_, false) => {
                    "no water outline is mapped: the hull of the soundings stands for the water and the shore is unknown; map the outline"
                }
                _ => "no water outline, raster or soundings: there is no water; map the outline",
            }
            .into(),
        );
    }
}

fn say_bare_shore(site: &Site, raised: usize, cover: &[Cover], notes: &mut Vec<String>) {
    let water = cover.iter().filter(|&&c| c == Cover::Open).count();
    if raised * 50 > water {
        notes.push(format!(
            "{:.0} % of the water has nothing but shore and soundings of no depth around it: taken as {} deep; sound it",
            100.0 * raised as f64 / water as f64,
            site.units.told(value("shore_depth_m"))
        ));
    }
}

/// Water above the datum stage: over the raster it spreads, else the outline stays.
fn rise(site: &Site, grid: &Grid, rise_m: f64, cover: &mut [Cover], notes: &mut Vec<String>) {
    if rise_m <= 0.0 {
        return;
    }
    match &site.raster {
        Some(raster) => {
            let added = layout::spread(grid, raster, rise_m, cover);
            if added > 0 {
                notes.push(format!(
                    "{} above datum: {} outside the outline are under water",
                    site.units.stage(rise_m),
                    site.units.area(added as f64 * grid.cell_area_m2())
                ));
            }
        }
        None => notes.push(format!(
            "{} above datum: ground flooded outside the mapped outline is not in the map",
            site.units.stage(rise_m)
        )),
    }
}

/// The bottom type of every cell: the site's, then bottom polygons in the order they are given.
fn bed(site: &Site, grid: &Grid) -> Vec<Bed> {
    let mut bed = vec![site.bed; grid.len()];
    for feature in &site.features {
        if let (Kind::Bottom(kind), Shape::Area(polygons)) = (feature.kind, &feature.shape) {
            paint::inside(grid, polygons, |cell| bed[cell] = kind);
        }
    }
    bed
}
