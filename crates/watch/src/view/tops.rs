//! What stands over the water in the way of a look.

use super::Post;
use measure::Spot;
use measure::parameters::value;
use water::{Cover, Grid, Ground, Kind, Shape, Site};

/// Everything that stands over today's water: things drawn on the map by their outlines, land by the cells of the ground.
#[derive(Clone, Debug)]
pub struct Tops {
    grid: Grid,
    /// Whether a cell is land.
    land: Vec<bool>,
    bank_m: f64,
    things: Vec<Thing>,
}

/// A thing that hides what lies behind it.
#[derive(Clone, Debug)]
struct Thing {
    /// Its top over today's water \[m\].
    top_m: f64,
    /// Rings of its outlines, holes as well; or the one line that it is.
    lines: Vec<Vec<Spot>>,
    /// Whether the lines are rings.
    area: bool,
}

/// A post so near to an outline stands on the thing \[m\].
const STANDS_M: f64 = 0.3;

impl Tops {
    /// Tops of a site at the stage of its ground.
    ///
    /// # Inputs
    /// - `site`, `ground` · `crowd_m`: how far people on rafts rise over the deck; none: by the register
    ///
    /// # Gives
    /// Floating things rise with the water, the others do not. Heights told by the map win over the register. Landmarks count with a height
    /// told: an area or a line, such as a moored boat.
    pub fn of(site: &Site, ground: &Ground, crowd_m: Option<f64>) -> Tops {
        let rise_m = if ground.stage_m.is_finite() { ground.stage_m - site.datum_stage_m } else { 0.0 };
        let crowd_m = crowd_m.filter(|m| m.is_finite()).unwrap_or(value("crowd_height_m")).max(0.0);
        let mut things = Vec::new();
        for feature in &site.features {
            let (lines, area) = match &feature.shape {
                Shape::Area(polygons) => (polygons.iter().flatten().cloned().collect(), true),
                Shape::Line(places) if feature.kind == Kind::Landmark => (vec![places.clone()], false),
                _ => continue,
            };
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
            let top_m = if afloat { height } else { height - rise_m };
            if top_m > 0.0 {
                things.push(Thing { top_m, lines, area });
            }
        }
        let land = ground.cover.iter().map(|cover| *cover == Cover::Land).collect();
        Tops { grid: ground.grid, land, bank_m: value("bank_height_m"), things }
    }

    /// Whether an eye sees a head at a spot of the water.
    ///
    /// # Inputs
    /// - `post` · `spot`: on the water
    ///
    /// # Gives
    /// False where something on the way reaches into the look. What the post stands on does not count, nor does land up to the first
    /// water, nor anything off the grid.
    pub fn sees(&self, post: &Post, spot: Spot) -> bool {
        let far_m = post.spot.distance(spot);
        if !far_m.is_finite() {
            return false;
        }
        let head_m = value("head_over_m").min(post.eye_m);
        let look_m = |share: f64| post.eye_m + (head_m - post.eye_m) * share;
        // The look falls all the way, so that the farthest place of a thing on it decides.
        let hides = |thing: &Thing| {
            let far = thing.farthest(post.spot, spot);
            far.is_some_and(|share| thing.top_m > look_m(share)) && !thing.carries(post.spot)
        };
        !self.things.iter().any(hides) && !self.is_behind_land((post.spot, spot), &look_m)
    }

    /// Whether land beyond the first water reaches into a look.
    fn is_behind_land(&self, (from, to): (Spot, Spot), look_m: &dyn Fn(f64) -> f64) -> bool {
        // Half a cell a step: no cell slips through.
        let steps = (2.0 * from.distance(to) / self.grid.cell_m).ceil().clamp(1.0, 100_000.0);
        let mut afloat = false;
        for k in 1..steps as usize {
            let share = k as f64 / steps;
            let Some(cell) = self.grid.cell(from.lerp(to, share)) else { continue };
            if !self.land[cell] {
                afloat = true;
            } else if afloat && self.bank_m > look_m(share) {
                return true;
            }
        }
        false
    }
}

impl Thing {
    /// The farthest share of a way at which it meets the thing; one where it ends in it.
    fn farthest(&self, from: Spot, to: Spot) -> Option<f64> {
        if self.area && self.holds(to) {
            return Some(1.0);
        }
        let edges = self.lines.iter().flat_map(|line| line.windows(2));
        edges.filter_map(|edge| met((from, to), (edge[0], edge[1]))).max_by(f64::total_cmp)
    }

    /// Whether a place lies inside the outline: as many crossings to the east as not.
    fn holds(&self, spot: Spot) -> bool {
        let edges = self.lines.iter().flat_map(|line| line.windows(2));
        let crossed = edges.filter(|edge| {
            let (a, b) = (edge[0], edge[1]);
            (a.north > spot.north) != (b.north > spot.north)
                && spot.east < a.east + (b.east - a.east) * (spot.north - a.north) / (b.north - a.north)
        });
        crossed.count() % 2 == 1
    }

    /// Whether a post stands on the thing.
    fn carries(&self, post: Spot) -> bool {
        let near = |a: Spot, b: Spot| {
            let along = b - a;
            let share = ((post - a).dot(along) / along.dot(along).max(1e-12)).clamp(0.0, 1.0);
            post.distance(a.lerp(b, share)) <= STANDS_M
        };
        self.area && self.holds(post)
            || self.lines.iter().any(|line| line.windows(2).any(|e| near(e[0], e[1])))
    }
}

/// Where a way meets an edge, as a share of the way.
fn met((from, to): (Spot, Spot), (a, b): (Spot, Spot)) -> Option<f64> {
    let (way, edge, off) = (to - from, b - a, a - from);
    let turn = way.east * edge.north - way.north * edge.east;
    if turn == 0.0 {
        return None;
    }
    let share = (off.east * edge.north - off.north * edge.east) / turn;
    let along = (off.east * way.north - off.north * way.east) / turn;
    ((0.0..=1.0).contains(&share) && (0.0..=1.0).contains(&along)).then_some(share)
}
