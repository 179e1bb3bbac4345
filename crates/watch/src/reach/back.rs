//! The way back with a casualty: from every place to the nearest landing.

use super::arrivals::Setting;
use super::crossing::crossing;
use super::march::{Footing, Start};
use super::paces::{Paces, Way};
use super::route::arrival_at;
use super::terrain::Terrain;
use measure::Spot;

/// Times to the nearest landing from everywhere, by one way.
#[derive(Clone, Debug)]
pub struct WayBack {
    /// The way.
    pub way: Way,
    /// Seconds from the middle of each cell; infinite where no landing can be made.
    pub landing_s: Vec<f32>,
}

impl Terrain {
    /// Cells where a casualty can be brought ashore: water one can stand in beside land; where there is none, any beside land.
    ///
    /// The second value says that there was none to stand in.
    pub fn landings(&self) -> (Vec<usize>, bool) {
        let beside_land = |cell: usize| {
            self.footing[cell] == Footing::Water
                && super::arrivals::neighbours(&self.grid, cell).any(|b| self.footing[b] == Footing::Land)
        };
        let shore: Vec<usize> = (0..self.grid.len()).filter(|&cell| beside_land(cell)).collect();
        let gentle: Vec<usize> = shore.iter().copied().filter(|&cell| self.wade[cell]).collect();
        if gentle.is_empty() { (shore, true) } else { (gentle, false) }
    }
}

/// The way back with a casualty to the nearest landing. Model `reach`, docs/models/reach.md.
///
/// # Inputs
/// - `terrain`: of the reach · `paces`: towing · `ways`: which
///
/// # Gives
/// For each way the times from everywhere, marched from the landings through water that runs backwards; and what is
/// doubtful about the landings.
///
/// # Source
/// first arrival with the current reversed: derived
pub fn ways_back(terrain: &Terrain, paces: &Paces, ways: &[Way]) -> (Vec<WayBack>, Option<String>) {
    let (landings, steep) = terrain.landings();
    let back = |way: Way| {
        let tow = paces.tow_mps(way);
        let towing = Paces { swim_mps: tow, fins_mps: tow, board_mps: tow, boat_mps: tow, ..*paces };
        // A board with a casualty grounds where a swimmer stands: the last metres are carried at the same pace.
        let medium = terrain.by_water(&towing, Way::Swim).reversed();
        let half_s = 0.5 * terrain.grid.cell_m / tow;
        let from = landings.iter().map(|&cell| (cell, half_s)).collect();
        let times = medium.march(&Start::Cells(from));
        WayBack { way, landing_s: times.iter().map(|&s| s as f32).collect() }
    };
    let water = terrain.footing.contains(&Footing::Water);
    let note = if !water {
        None
    } else if landings.is_empty() {
        Some("there is no shore to land at: a casualty stays in the water".to_string())
    } else if steep {
        Some("the shore is nowhere shallow: landing needs more hands; say where".to_string())
    } else {
        None
    };
    (ways.iter().map(|&way| back(way)).collect(), note)
}

impl WayBack {
    /// The landing reached from a place, going down the times; `None` where there is none.
    pub fn landing(&self, terrain: &Terrain, paces: &Paces, from: Spot) -> Option<Spot> {
        self.line(terrain, paces, from).last().copied()
    }

    /// The line from a place to its landing; empty where there is none.
    pub fn line(&self, terrain: &Terrain, paces: &Paces, from: Spot) -> Vec<Spot> {
        const ROUND: usize = 64;
        let (grid, tow_mps) = (&terrain.grid, paces.tow_mps(self.way));
        let mut line = Vec::new();
        let mut here = from;
        for _ in 0..8 * (grid.cols + grid.rows) {
            let Some(now_s) = arrival_at(terrain, &self.landing_s, here) else { break };
            line.push(here);
            let current = grid.cell(here).map_or(Spot::default(), |cell| terrain.current_at(cell));
            let next = (0..ROUND).filter_map(|k| {
                let turn = std::f64::consts::TAU * k as f64 / ROUND as f64;
                let step = Spot::new(libm::cos(turn), libm::sin(turn)) * (1.2 * grid.cell_m);
                let there_s =
                    arrival_at(terrain, &self.landing_s, here + step).filter(|s| *s < now_s - 1e-4)?;
                Some((there_s + crossing(step, tow_mps, current)?.time_s, here + step))
            });
            let Some((_, next)) = next.min_by(|a, b| a.0.total_cmp(&b.0)) else { break };
            here = next;
        }
        super::trace::simplified(&line, 0.3 * grid.cell_m)
    }
}

/// Where a board beats swimming, from one post.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Crossover {
    /// Distance from the post of the nearest water where the board is sooner \[m\].
    pub from_m: f64,
    /// Arrival there \[s\].
    pub from_s: f64,
    /// Water where the board is sooner \[m²\].
    pub area_m2: f64,
    /// Metres of water over which the board pays for its launch, were the ways alike: overhead over the gain of a metre.
    pub pays_m: f64,
}

impl super::Reach {
    /// Where one way beats swimming, from one post; `None` where it never does.
    ///
    /// # Inputs
    /// - `post`: its index · `way`: the other way · `setting`: for its paces
    pub fn crossover(&self, post: usize, way: Way, setting: &Setting) -> Option<Crossover> {
        let from = self.posts.get(post)?;
        let of = |wanted: Way| from.ways.iter().find(|w| w.way == wanted);
        let (swim, other) = (of(Way::Swim)?, of(way)?);
        let grid = &self.terrain.grid;
        let wins = |cell: &usize| {
            self.terrain.footing[*cell] == Footing::Water && other.arrival_s[*cell] < swim.arrival_s[*cell]
        };
        let cells: Vec<usize> = (0..grid.len()).filter(wins).collect();
        let off = |cell: usize| grid.centre(cell).distance(from.post.spot);
        let nearest = cells.iter().copied().min_by(|&a, &b| off(a).total_cmp(&off(b)))?;
        let paces = setting.paces;
        let gain = 1.0 / paces.swim_mps - 1.0 / paces.water_mps(way);
        Some(Crossover {
            from_m: off(nearest),
            from_s: f64::from(other.arrival_s[nearest]),
            area_m2: cells.len() as f64 * grid.cell_area_m2(),
            pays_m: if gain > 0.0 { paces.launch_s(way) / gain } else { f64::INFINITY },
        })
    }
}
