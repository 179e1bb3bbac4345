//! Where bathers are: the bathing areas of the map and the open water in them.

use measure::Spot;
use search::belief::basin::{Basin, Bottom};
use search::{Setting, belief};
use water::{Cover, Grid, Kind, Shape};

/// One bathing area and the cells in which bathers are.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Name as called.
    pub name: String,
    /// Cells of today's grid, rising.
    pub cells: Vec<u32>,
}

impl Zone {
    /// A place of a bather: evenly over the zone.
    ///
    /// # Inputs
    /// - `grid`: the one of the cells · `u`: three uniform numbers in \[0, 1)
    ///
    /// # Gives
    /// A place \[m\]; `None` if the zone holds no water.
    ///
    /// # Source
    /// assumed: bathers are spread evenly
    pub fn place(&self, grid: &Grid, u: [f64; 3]) -> Option<Spot> {
        let at = (u[0] * self.cells.len() as f64) as usize;
        let cell = *self.cells.get(at.min(self.cells.len().checked_sub(1)?))?;
        Some(grid.centre(cell as usize) + Spot::new((u[1] - 0.5) * grid.cell_m, (u[2] - 0.5) * grid.cell_m))
    }

    /// Area \[m²\].
    pub fn area_m2(&self, grid: &Grid) -> f64 {
        self.cells.len() as f64 * grid.cell_area_m2()
    }
}

/// The bathing areas of the map with the water bathers are in today.
///
/// # Inputs
/// - `setting` · `rope_m`: bathers keep to water no deeper than this \[m\], where a rope holds them
///
/// # Gives
/// One zone an area, in the order of the map; a zone may hold no water. Nobody bathes under docks and rafts.
///
/// # Source
/// the site's map
pub fn zones(setting: &Setting, rope_m: Option<f64>) -> Vec<Zone> {
    let basin = Basin::new(setting.ground, setting.site.units);
    let ground = setting.ground;
    let mut all = Vec::new();
    for feature in setting.site.of_kind(Kind::BathingArea) {
        let Shape::Area(rings) = &feature.shape else { continue };
        let holds = |cell: u32| {
            let (at, spot) = (cell as usize, ground.grid.centre(cell as usize));
            ground.cover[at] == Cover::Open
                && basin.is_water(spot)
                && rope_m.is_none_or(|most| basin.depth(spot) <= most)
                && belief::inside(rings, spot)
        };
        let name = match feature.name.as_str() {
            "" => format!("bathing area {}", all.len() + 1),
            name => name.to_string(),
        };
        all.push(Zone { name, cells: basin.cells.iter().copied().filter(|&cell| holds(cell)).collect() });
    }
    all
}

/// All zones as one.
pub fn together(zones: &[Zone]) -> Zone {
    let mut cells: Vec<u32> = zones.iter().flat_map(|zone| zone.cells.iter().copied()).collect();
    cells.sort_unstable();
    cells.dedup();
    Zone { name: "all bathing areas".into(), cells }
}
