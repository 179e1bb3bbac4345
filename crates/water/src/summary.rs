//! The water in numbers: area, volume, depths, bands, and the depth at a place.

use crate::{Cover, Ground, Problem, Site};
use measure::Spot;
use serde::{Deserialize, Serialize};

/// Area by what can be searched how \[m²\], by the site's limits alone: who is there today also limits.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Bands {
    /// Shallow enough to wade.
    pub wade_m2: f64,
    /// Deeper, within reach of a surface dive.
    pub dive_m2: f64,
    /// Too deep for both.
    pub deep_m2: f64,
}

/// A site's water at a stage, in numbers.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct WaterSummary {
    /// Name of the site.
    pub name: String,
    /// Stage the numbers belong to \[m\].
    pub stage_m: f64,
    /// Water surface \[m²\], under piled and floating docks too, and where the depth is unknown.
    pub area_m2: f64,
    /// Volume \[m³\]; none where no depth is known.
    pub volume_m3: Option<f64>,
    /// Volume over the area of known depth \[m\].
    pub mean_depth_m: Option<f64>,
    /// Depth of the deepest cell \[m\].
    pub max_depth_m: Option<f64>,
    /// Side of a cell of the ground \[m\].
    pub cell_m: f64,
    /// Area by depth band.
    pub bands: Bands,
    /// Water of unknown depth \[m²\].
    pub unknown_m2: f64,
    /// What area, volume and bands are counted over: `cells` of the ground, or `raster cells` as published.
    pub counted_over: String,
    /// Soundings used.
    pub soundings: usize,
    /// Doubts about the ground.
    pub notes: Vec<String>,
    /// Everything the door found.
    pub problems: Vec<Problem>,
}

impl WaterSummary {
    /// The numbers of a site's ground.
    ///
    /// Counted over the cells of the ground; for a site whose depths come from a raster, over the raster's own
    /// cells, because resampling would shift area and volume.
    ///
    /// # Inputs
    /// - `site`, and its `ground` at today's stage
    /// - `problems`: what the door found
    ///
    /// # Gives
    /// The summary.
    ///
    /// # Source
    /// by definition: cells deeper than 0 times their area; their depths times their area
    pub fn of(site: &Site, ground: &Ground, problems: &[Problem]) -> WaterSummary {
        let mut summary = WaterSummary {
            name: site.name.clone(),
            stage_m: ground.stage_m,
            area_m2: 0.0,
            volume_m3: None,
            mean_depth_m: None,
            max_depth_m: None,
            cell_m: ground.grid.cell_m,
            bands: Bands::default(),
            unknown_m2: 0.0,
            counted_over: "cells".into(),
            soundings: site.soundings.len(),
            notes: ground.notes.clone(),
            problems: problems.to_vec(),
        };
        match &site.hypsography {
            Some(_) => summary.count_raster(site, ground.stage_m - site.datum_stage_m),
            None => summary.count_cells(site, ground),
        }
        summary
    }

    fn count_cells(&mut self, site: &Site, ground: &Ground) {
        let cell_m2 = ground.grid.cell_area_m2();
        let (mut wet, mut unknown, mut sum_m, mut deepest_m) = (0usize, 0usize, 0.0, 0.0f64);
        let mut bands = [0usize; 3];
        for (depth_m, cover) in ground.depth_m.iter().zip(&ground.cover) {
            if *cover == Cover::Land {
                continue;
            }
            if depth_m.is_nan() {
                unknown += 1;
            } else if *depth_m > 0.0 {
                wet += 1;
                sum_m += depth_m;
                deepest_m = deepest_m.max(*depth_m);
                bands[band(site, *depth_m)] += 1;
            }
        }
        let [wade_m2, dive_m2, deep_m2] = bands.map(|cells| cells as f64 * cell_m2);
        self.bands = Bands { wade_m2, dive_m2, deep_m2 };
        self.area_m2 = (wet + unknown) as f64 * cell_m2;
        self.unknown_m2 = unknown as f64 * cell_m2;
        if wet > 0 {
            self.volume_m3 = Some(sum_m * cell_m2);
            self.mean_depth_m = Some(sum_m / wet as f64);
            self.max_depth_m = Some(deepest_m);
        }
    }

    fn count_raster(&mut self, site: &Site, rise_m: f64) {
        let Some(cells) = &site.hypsography else { return };
        let deeper_m2 = |depth_m: f64| cells.area_deeper_m2(rise_m, depth_m);
        let (wade_m, dive_m) =
            (site.limits.wade_depth_m, site.limits.dive_depth_m.max(site.limits.wade_depth_m));
        self.counted_over = "raster cells".into();
        self.area_m2 = deeper_m2(0.0);
        self.bands = Bands {
            wade_m2: self.area_m2 - deeper_m2(wade_m),
            dive_m2: deeper_m2(wade_m) - deeper_m2(dive_m),
            deep_m2: deeper_m2(dive_m),
        };
        if self.area_m2 > 0.0 {
            let volume_m3 = cells.volume_m3(rise_m);
            self.volume_m3 = Some(volume_m3);
            self.mean_depth_m = Some(volume_m3 / self.area_m2);
            self.max_depth_m = cells.deepest_m(rise_m);
        }
    }
}

/// 0 wade, 1 dive, 2 too deep.
fn band(site: &Site, depth_m: f64) -> usize {
    if depth_m <= site.limits.wade_depth_m {
        0
    } else if depth_m <= site.limits.dive_depth_m {
        1
    } else {
        2
    }
}

/// Depth at a place and its distance to the nearest sounding.
///
/// # Inputs
/// - `ground`: at today's stage
/// - `spot`: where
///
/// # Gives
/// Depth \[m\], bilinear between cells, NaN on land, off the grid or where nothing is known; and the distance
/// from the cell to the nearest sounding \[m\], infinite off the grid or without soundings.
///
/// # Source
/// model F2
pub fn depth_at(ground: &Ground, spot: Spot) -> (f64, f64) {
    match ground.grid.cell(spot) {
        None => (f64::NAN, f64::INFINITY),
        Some(cell) => {
            let away_m = f64::from(ground.to_sounding_m[cell]);
            if ground.cover[cell] == Cover::Land {
                return (f64::NAN, away_m);
            }
            (ground.grid.between(&ground.depth_m, spot), away_m)
        }
    }
}
