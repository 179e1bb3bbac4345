//! The ground a guard crosses: land, decks and water on one grid that holds the water and the posts.

use super::march::{Footing, Medium};
use super::paces::{Paces, Way};
use measure::{Spot, parameters::value};
use water::{Cover, Flow, Grid, Ground, Kind, Shape, Site, Support};

/// Beyond this distance from the water a post is left out of the grid and runs straight to its edge \[m\].
const POST_FAR_M: f64 = 150.0;
/// Slower water is taken as still \[m/s\].
const STILL_MPS: f64 = 1e-3;
/// Docks narrower than so many cells are widened by half a cell, so that their cells hang together.
const THIN_CELLS: f64 = 2.0;

/// The ground a guard crosses.
#[derive(Clone, Debug)]
pub struct Terrain {
    /// The cells: those of the ground, with land added all round.
    pub grid: Grid,
    /// What each cell is to whoever crosses it; no-go ground is a wall.
    pub footing: Vec<Footing>,
    /// Depth today \[m\]; NaN where unknown, and on land.
    pub depth_m: Vec<f64>,
    /// Whether the depth of a cell may be trusted for an entry: measured near by, inside the soundings.
    pub trusted: Vec<bool>,
    /// Current at the surface \[m/s\]; none where the water is still.
    pub current: Option<Vec<Spot>>,
    /// Whether guards may wade in each water cell: depth and depth × speed within the site's limits.
    pub wade: Vec<bool>,
    /// Doubts to be shown.
    pub notes: Vec<String>,
}

impl Terrain {
    /// The ground of a site at one stage and flow.
    ///
    /// # Inputs
    /// - `site`, `ground`: as surveyed, at today's stage · `flow`: today's current
    /// - `places`: posts and other places the grid should hold
    pub fn of(site: &Site, ground: &Ground, flow: &Flow, places: &[Spot]) -> Terrain {
        let (grid, shift) = widened(ground, places);
        let mut notes = Vec::new();
        let mut terrain = Terrain {
            grid,
            footing: vec![Footing::Land; grid.len()],
            depth_m: vec![f64::NAN; grid.len()],
            trusted: vec![false; grid.len()],
            current: None,
            wade: vec![false; grid.len()],
            notes: Vec::new(),
        };
        let far_m = value("far_sounding_m");
        for cell in 0..ground.grid.len() {
            let wet = ground.cover[cell] != Cover::Land && !ground.depth_m[cell].le(&0.0);
            if !wet {
                continue;
            }
            let at = (cell / ground.grid.cols + shift.1) * grid.cols + cell % ground.grid.cols + shift.0;
            let under = ground.cover[cell] == Cover::Under;
            terrain.footing[at] = if under { Footing::Deck } else { Footing::Water };
            terrain.depth_m[at] = ground.depth_m[cell];
            // A raster knows every cell; soundings know what lies near them.
            let near = f64::from(ground.to_sounding_m[cell]) <= far_m || site.raster.is_some();
            terrain.trusted[at] = ground.depth_m[cell].is_finite() && near && !ground.beyond[cell];
        }
        terrain.put_decks(site);
        terrain.put_no_go(site);
        terrain.put_current(flow);
        terrain.put_wading(site);
        if terrain.footing.contains(&Footing::Water) {
            let unknown = (0..grid.len())
                .filter(|&c| terrain.footing[c] == Footing::Water && terrain.depth_m[c].is_nan())
                .count();
            if unknown > 0 {
                notes.push(format!(
                    "{} of water have no depth: guards are taken to swim there, entries are feet first",
                    site.units.area(unknown as f64 * grid.cell_area_m2())
                ));
            }
        } else {
            notes.push("there is no water at this stage: nobody need swim".into());
        }
        terrain.notes = notes;
        terrain
    }

    /// Docks and rafts of every support: one walks on them.
    fn put_decks(&mut self, site: &Site) {
        for feature in &site.features {
            let (Kind::Dock(_) | Kind::Raft(_), Shape::Area(polygons)) = (feature.kind, &feature.shape)
            else {
                continue;
            };
            let mut cells = self.grid.cells_inside(polygons);
            if mean_width_m(polygons) < THIN_CELLS * self.grid.cell_m {
                cells.extend(self.grid.cells_near(&feature.shape, 0.5 * self.grid.cell_m));
            }
            for cell in cells {
                // A solid dock has no water under it, and neither has the part of any dock that lies on land.
                let solid = matches!(feature.kind, Kind::Dock(Support::Solid) | Kind::Raft(Support::Solid));
                if solid {
                    self.depth_m[cell] = f64::NAN;
                }
                self.footing[cell] = Footing::Deck;
            }
        }
    }

    fn put_no_go(&mut self, site: &Site) {
        let metres = site.limits.keep_off_m.max(0.71 * self.grid.cell_m);
        for feature in site.of_kind(Kind::NoGo) {
            let mut cells = self.grid.cells_near(&feature.shape, metres);
            if let Shape::Area(polygons) = &feature.shape {
                cells.extend(self.grid.cells_inside(polygons));
            }
            cells.into_iter().for_each(|cell| self.footing[cell] = Footing::Wall);
        }
    }

    fn put_current(&mut self, flow: &Flow) {
        let moving = match flow {
            Flow::Still => false,
            Flow::Uniform { velocity, .. } => velocity.length() > STILL_MPS,
            Flow::Field { .. } => true,
        };
        if moving {
            let at = |cell: usize| match self.footing[cell] {
                Footing::Water => Some(flow.at(self.grid.centre(cell))).filter(|u| u.is_finite()),
                _ => None,
            };
            self.current = Some((0..self.grid.len()).map(|cell| at(cell).unwrap_or_default()).collect());
        }
    }

    fn put_wading(&mut self, site: &Site) {
        let limits = &site.limits;
        for cell in 0..self.grid.len() {
            let depth_m = self.depth_m[cell];
            let product = depth_m * self.current_at(cell).length();
            self.wade[cell] = self.footing[cell] == Footing::Water
                && depth_m <= limits.wade_depth_m
                && product <= limits.wade_product_stop_m2ps;
        }
    }

    /// Current in a cell \[m/s\].
    pub fn current_at(&self, cell: usize) -> Spot {
        self.current.as_ref().map_or(Spot::default(), |all| all[cell])
    }

    /// Pace on foot in a cell \[m/s\]: land, deck, wading; 0 where one cannot stand.
    pub fn foot_mps(&self, paces: &Paces, cell: usize) -> f64 {
        match self.footing[cell] {
            Footing::Wall => 0.0,
            Footing::Land => paces.land_mps,
            Footing::Deck => paces.deck_mps,
            Footing::Water if self.wade[cell] => paces.wade_mps(self.depth_m[cell]),
            Footing::Water => 0.0,
        }
    }

    /// Pace in the water of a cell by a way \[m/s\]; 0 out of the water, and for boards and boats where it is too shallow.
    pub fn water_mps(&self, paces: &Paces, way: Way, cell: usize) -> f64 {
        let afloat = matches!(way, Way::Board | Way::Boat);
        let shallow = afloat && self.depth_m[cell] < value("float_depth_m");
        if self.footing[cell] != Footing::Water || shallow { 0.0 } else { paces.water_mps(way) }
    }

    /// The ground on foot alone.
    pub fn on_foot(&self, paces: &Paces) -> Medium {
        let pace: Vec<f64> = (0..self.grid.len()).map(|cell| self.foot_mps(paces, cell)).collect();
        Medium::new(self.grid, &pace, &self.footing, f64::INFINITY)
    }

    /// The ground on foot and swimming, whichever is faster in each cell.
    pub fn on_foot_and_swimming(&self, paces: &Paces) -> Medium {
        let pace = |cell| self.foot_mps(paces, cell).max(self.water_mps(paces, Way::Swim, cell));
        let pace: Vec<f64> = (0..self.grid.len()).map(pace).collect();
        Medium::new(self.grid, &pace, &self.footing, paces.climb_s).moved_by(self.swimmers_current(paces))
    }

    /// The water alone by a way.
    pub fn by_water(&self, paces: &Paces, way: Way) -> Medium {
        let pace: Vec<f64> = (0..self.grid.len()).map(|cell| self.water_mps(paces, way, cell)).collect();
        Medium::new(self.grid, &pace, &self.footing, f64::INFINITY).moved_by(self.current.clone())
    }

    /// The current where it carries: not where a guard wades because that is faster.
    fn swimmers_current(&self, paces: &Paces) -> Option<Vec<Spot>> {
        let mut current = self.current.clone()?;
        for (cell, velocity) in current.iter_mut().enumerate() {
            if self.foot_mps(paces, cell) >= paces.swim_mps {
                *velocity = Spot::default();
            }
        }
        Some(current)
    }
}

/// Twice the area over the girth: the width of something long.
fn mean_width_m(polygons: &[Vec<Vec<Spot>>]) -> f64 {
    let Some(ring) = polygons.first().and_then(|rings| rings.first()) else { return 0.0 };
    let base = ring.first().copied().unwrap_or_default();
    let twice: f64 = ring.windows(2).map(|w| (w[0] - base).cross(w[1] - base)).sum();
    let girth: f64 = ring.windows(2).map(|w| w[0].distance(w[1])).sum();
    if girth > 0.0 { twice.abs() / girth } else { 0.0 }
}

/// The grid of the ground with land all round and far enough for the places, and by how many columns and rows it began earlier.
fn widened(ground: &Ground, places: &[Spot]) -> (Grid, (usize, usize)) {
    let old = ground.grid;
    let margin = (value("reach_margin_m") / old.cell_m).ceil().min(400.0);
    let (mut west, mut south) = (margin, margin);
    let (mut east, mut north) = (old.cols as f64 + margin, old.rows as f64 + margin);
    for place in places.iter().filter(|p| p.is_finite()) {
        let at = (*place - old.corner) * (1.0 / old.cell_m);
        let most = POST_FAR_M / old.cell_m;
        let near = at.east > -most
            && at.north > -most
            && at.east < old.cols as f64 + most
            && at.north < old.rows as f64 + most;
        if near {
            west = west.max((margin - at.east).ceil());
            south = south.max((margin - at.north).ceil());
            east = east.max((at.east + margin).ceil());
            north = north.max((at.north + margin).ceil());
        }
    }
    let corner = old.corner - Spot::new(west, south) * old.cell_m;
    let grid =
        Grid { corner, cell_m: old.cell_m, cols: (west + east) as usize, rows: (south + north) as usize };
    (grid, (west as usize, south as usize))
}
