//! The spots of water that are watched, and the zones they belong to.

use measure::Spot;
use measure::parameters::value;
use water::{Cover, Grid, Ground, Kind, Shape, Site};

/// A part of the bathing water with a name.
#[derive(Clone, Debug, PartialEq)]
pub struct Zone {
    /// Name: of the bathing area, and whether it can be stood in.
    pub name: String,
    /// Its spots, as numbers in [`Spots`].
    pub spots: Vec<usize>,
}

/// Parts of a bathing area by what is known of its depth.
const PARTS: [&str; 3] = ["to wade", "deeper", "depth not known"];

/// Spots of water, evenly spread.
#[derive(Clone, Debug, PartialEq)]
pub struct Spots {
    /// Squares that the spots stand for; each spot is the middle of one.
    pub grid: Grid,
    /// Number of the square of each spot.
    pub square: Vec<usize>,
    /// Middles.
    pub places: Vec<Spot>,
    /// Depth today \[m\]; not a number where nobody has sounded: the surface is watched all the same.
    pub depth_m: Vec<f64>,
    /// Zones; every spot is in exactly one.
    pub zones: Vec<Zone>,
}

impl Spots {
    /// The bathing water of a site: open water inside the bathing areas, else all open water within twice the watch limit of a post.
    ///
    /// # Inputs
    /// - `site`, `ground` · `most`: most spots wanted; squares are made as large as that needs
    ///
    /// # Gives
    /// None at all where there is no such water.
    pub fn of(site: &Site, ground: &Ground, most: usize) -> Spots {
        let area = bathing(site, ground);
        let wanted = area.iter().filter(|a| a.is_some()).count();
        let block = ((wanted as f64 / most.max(1) as f64).sqrt().ceil() as usize).max(1);
        let from = ground.grid;
        let grid = Grid {
            corner: from.corner,
            cell_m: from.cell_m * block as f64,
            cols: from.cols.div_ceil(block),
            rows: from.rows.div_ceil(block),
        };
        let names = area_names(site);
        let mut spots = Spots { grid, square: vec![], places: vec![], depth_m: vec![], zones: vec![] };
        let mut inside: Vec<Vec<usize>> = vec![Vec::new(); PARTS.len() * names.len()];
        for square in 0..grid.len() {
            let place = grid.centre(square);
            let Some(cell) = from.cell(place) else { continue };
            let Some(of) = area[cell] else { continue };
            let part = match ground.depth_m[cell] {
                depth_m if depth_m.is_nan() => 2,
                depth_m => usize::from(depth_m > site.limits.wade_depth_m),
            };
            inside[PARTS.len() * of + part].push(spots.places.len());
            spots.square.push(square);
            spots.places.push(place);
            spots.depth_m.push(ground.depth_m[cell]);
        }
        for (k, members) in inside.into_iter().enumerate().filter(|(_, members)| !members.is_empty()) {
            let name = format!("{}, {}", names[k / PARTS.len()], PARTS[k % PARTS.len()]);
            spots.zones.push(Zone { name, spots: members });
        }
        spots
    }

    /// Number of spots.
    pub fn len(&self) -> usize {
        self.places.len()
    }

    /// Whether there is no water to watch.
    pub fn is_empty(&self) -> bool {
        self.places.is_empty()
    }
}

/// Names of the bathing areas; one name for the whole water where none is mapped.
fn area_names(site: &Site) -> Vec<String> {
    let mut names: Vec<String> = site
        .of_kind(Kind::BathingArea)
        .enumerate()
        .map(|(k, f)| if f.name.is_empty() { format!("bathing area {}", k + 1) } else { f.name.clone() })
        .collect();
    if names.is_empty() {
        names.push("water".into());
    }
    names
}

/// For each cell the bathing area it belongs to: the first that holds it.
fn bathing(site: &Site, ground: &Ground) -> Vec<Option<usize>> {
    let grid = &ground.grid;
    let wet = |cell: usize| ground.is_water(cell) || ground.depth_m[cell].is_nan();
    let open = |cell: usize| ground.cover[cell] == Cover::Open && wet(cell);
    let mut area = vec![None; grid.len()];
    let mut mapped = false;
    for (k, feature) in site.of_kind(Kind::BathingArea).enumerate() {
        let Shape::Area(polygons) = &feature.shape else { continue };
        mapped = true;
        for cell in grid.cells_inside(polygons) {
            if area[cell].is_none() && open(cell) {
                area[cell] = Some(k);
            }
        }
    }
    if !mapped {
        let near_m = 2.0 * value("watch_limit_m");
        for feature in site.of_kind(Kind::Post) {
            for cell in grid.cells_near(&feature.shape, near_m) {
                if open(cell) {
                    area[cell] = Some(0);
                }
            }
        }
    }
    area
}
