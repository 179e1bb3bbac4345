//! What stands over the water in the way of a look.

use super::Post;
use measure::Spot;
use measure::parameters::value;
use water::{Cover, Grid, Ground, Kind, Shape, Site};

/// Heights over today's water of all that stands there, on the cells of the ground.
#[derive(Clone, Debug)]
pub struct Tops {
    grid: Grid,
    /// Top of each cell \[m\]; zero for open water.
    top_m: Vec<f32>,
}

impl Tops {
    /// Tops of a site at the stage of its ground.
    ///
    /// # Inputs
    /// - `site`, `ground` · `crowd_m`: how far people on rafts rise over the deck; none: by the register
    ///
    /// # Gives
    /// Floating things rise with the water, the others do not. Heights told by the map win over the register.
    pub fn of(site: &Site, ground: &Ground, crowd_m: Option<f64>) -> Tops {
        let bank = value("bank_height_m") as f32;
        let mut top_m: Vec<f32> =
            ground.cover.iter().map(|cover| if *cover == Cover::Land { bank } else { 0.0 }).collect();
        let rise_m = if ground.stage_m.is_finite() { ground.stage_m - site.datum_stage_m } else { 0.0 };
        let crowd_m = crowd_m.filter(|m| m.is_finite()).unwrap_or(value("crowd_height_m")).max(0.0);
        for feature in &site.features {
            let Shape::Area(polygons) = &feature.shape else { continue };
            let told = site.height_m(&feature.name);
            let floats = |support| support == water::Support::Floating;
            let (height, afloat) = match feature.kind {
                Kind::Dock(support) => (told.unwrap_or(value("deck_height_m")), floats(support)),
                Kind::Raft(support) => (told.unwrap_or(value("deck_height_m") + crowd_m), floats(support)),
                // Drawn with a height: a moored boat, a boathouse. A boat rises with the water; a house does not matter to a few decimetres.
                Kind::Landmark => match told {
                    Some(height) => (height, true),
                    None => continue,
                },
                _ => continue,
            };
            let top = (if afloat { height } else { height - rise_m }).max(0.0) as f32;
            for cell in ground.grid.cells_inside(polygons) {
                top_m[cell] = top_m[cell].max(top);
            }
        }
        Tops { grid: ground.grid, top_m }
    }

    /// Whether an eye sees a head at a spot of the water.
    ///
    /// # Inputs
    /// - `post` · `spot`: on the water
    ///
    /// # Gives
    /// False where something on the way reaches into the look. What the post stands on, up to the first water, does not count;
    /// neither does anything off the grid.
    pub fn sees(&self, post: &Post, spot: Spot) -> bool {
        let way = spot - post.spot;
        let far_m = way.length();
        if !far_m.is_finite() {
            return false;
        }
        let head_m = value("head_over_m").min(post.eye_m);
        // Half a cell a step: no square of the size of a raft slips through.
        let steps = (2.0 * far_m / self.grid.cell_m).ceil().clamp(1.0, 100_000.0);
        let mut afloat = false;
        for k in 1..steps as usize {
            let share = k as f64 / steps;
            let Some(cell) = self.grid.cell(post.spot.lerp(spot, share)) else { continue };
            let top = f64::from(self.top_m[cell]);
            if top <= 0.0 {
                afloat = true;
            } else if afloat && top > post.eye_m + (head_m - post.eye_m) * share {
                return false;
            }
        }
        true
    }
}
