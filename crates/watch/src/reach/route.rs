//! The way itself: from a post to a place as lines, leg by leg, with where it enters the water.

use super::arrivals::{Reach, WayReach};
use super::entry::{Edge, Entries, entries};
use super::march::Footing;
use super::paces::{Paces, Way};
use super::terrain::Terrain;
use super::{crossing::crossing, trace::simplified};
use measure::{Spot, parameters::value};
use serde::Serialize;
use water::Site;

/// What one does on a leg.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doing {
    /// On land.
    Run,
    /// On a deck, which is wet.
    WalkDeck,
    /// In water that is stood in.
    Wade,
    /// In the water by the way of the route.
    Water,
}

/// A leg of a route.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Leg {
    /// What one does.
    pub doing: Doing,
    /// The line, from its begin to its end.
    pub places: Vec<Spot>,
    /// Length \[m\].
    pub metres: f64,
    /// Time \[s\].
    pub seconds: f64,
}

/// From a post to a place.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Route {
    /// Index of the post.
    pub post: usize,
    /// The way.
    pub way: Way,
    /// Time from leaving the post \[s\].
    pub seconds: f64,
    /// What is spent beside moving: leaving the stand, fins, launching, climbing \[s\].
    pub overhead_s: f64,
    /// Legs in order.
    pub legs: Vec<Leg>,
    /// Where the water is entered.
    pub entry_at: Option<Spot>,
    /// Which entries are allowed there.
    pub entries: Option<Entries>,
}

/// What is crossed where: pace and current of a place.
struct Going<'a> {
    terrain: &'a Terrain,
    paces: &'a Paces,
    way: Option<Way>,
}

impl Going<'_> {
    /// Pace and current in a cell.
    fn at(&self, cell: usize) -> (f64, Spot) {
        let foot = self.terrain.foot_mps(self.paces, cell);
        match self.way {
            None => (foot, Spot::default()),
            Some(way) => {
                let water = self.terrain.water_mps(self.paces, way, cell);
                if way == Way::Swim && foot >= water {
                    (foot, Spot::default())
                } else {
                    (water, self.terrain.current_at(cell))
                }
            }
        }
    }

    fn doing(&self, cell: usize) -> Doing {
        match self.terrain.footing[cell] {
            Footing::Deck => Doing::WalkDeck,
            Footing::Water => {
                let foot = self.terrain.foot_mps(self.paces, cell);
                let wades = match self.way {
                    None => true,
                    Some(Way::Swim) => foot >= self.paces.swim_mps,
                    Some(_) => false,
                };
                if wades { Doing::Wade } else { Doing::Water }
            }
            _ => Doing::Run,
        }
    }

    /// One step back towards the start: the place on a small circle by way of which one comes soonest.
    fn back(&self, times: &[f32], from: Spot) -> Option<Spot> {
        let grid = &self.terrain.grid;
        let cell = grid.cell(from)?;
        let here_s = arrival_at(self.terrain, times, from)?;
        let (pace, current) = self.at(cell);
        let value_of = |spot: Spot| -> Option<f64> {
            let other = grid.cell(spot)?;
            let up =
                self.terrain.footing[cell] == Footing::Deck && self.terrain.footing[other] == Footing::Water;
            let there_s = arrival_at(self.terrain, times, spot).filter(|_| !up)?;
            let (there_pace, _) = self.at(other);
            let mean = if there_pace > 0.0 { 2.0 * pace * there_pace / (pace + there_pace) } else { pace };
            Some(there_s + crossing(from - spot, mean, current)?.time_s).filter(|_| there_s < here_s - 1e-4)
        };
        let place = |turn: f64| from + Spot::new(libm::cos(turn), libm::sin(turn)) * (1.2 * grid.cell_m);
        let mut best: Option<(f64, f64)> = None;
        let mut look = |turn: f64| {
            if let Some(v) = value_of(place(turn)) {
                if best.is_none_or(|(least, _)| v < least) {
                    best = Some((v, turn));
                }
            }
        };
        const ROUND: usize = 32;
        let step = std::f64::consts::TAU / ROUND as f64;
        (0..ROUND).for_each(|k| look(step * k as f64));
        let (_, coarse) = best?;
        let mut look = |turn: f64| {
            if let Some(v) = value_of(place(turn)) {
                if best.is_none_or(|(least, _)| v < least) {
                    best = Some((v, turn));
                }
            }
        };
        (1..8).for_each(|k| {
            look(coarse + step * k as f64 / 8.0);
            look(coarse - step * k as f64 / 8.0);
        });
        best.map(|(_, turn)| place(turn))
    }

    /// The line from the start of a field to a place, and the place where it ends going back.
    fn trace(&self, times: &[f32], to: Spot, until: impl Fn(Spot) -> bool) -> Vec<Spot> {
        let grid = &self.terrain.grid;
        let mut line = vec![to];
        let mut here = to;
        for _ in 0..8 * (grid.cols + grid.rows) {
            if until(here) {
                break;
            }
            let next = self.back(times, here).or_else(|| self.lowest_beside(times, here));
            let Some(next) = next else { break };
            line.push(next);
            here = next;
        }
        line.reverse();
        line
    }

    /// The middle of the neighbour cell reached soonest, where it is sooner than here.
    fn lowest_beside(&self, times: &[f32], from: Spot) -> Option<Spot> {
        let cell = self.terrain.grid.cell(from)?;
        let beside = super::arrivals::neighbours(&self.terrain.grid, cell);
        let least = beside.min_by(|&a, &b| times[a].total_cmp(&times[b]))?;
        (times[least] < times[cell]).then(|| self.terrain.grid.centre(least))
    }

    /// Legs of a line: runs of one thing done, with their length and the time by the paces.
    fn legs(&self, line: &[Spot]) -> Vec<Leg> {
        let grid = &self.terrain.grid;
        let mut legs: Vec<Leg> = Vec::new();
        for pair in line.windows(2) {
            let metres = pair[0].distance(pair[1]);
            // From a post far off one runs straight to the edge of the cells.
            let (doing, (pace, current)) = match grid.cell(pair[0].lerp(pair[1], 0.5)) {
                Some(cell) => (self.doing(cell), self.at(cell)),
                None => (Doing::Run, (self.paces.land_mps, Spot::default())),
            };
            let seconds = crossing(pair[1] - pair[0], pace, current).map_or(0.0, |c| c.time_s);
            match legs.last_mut() {
                Some(leg) if leg.doing == doing => {
                    leg.places.push(pair[1]);
                    leg.metres += metres;
                    leg.seconds += seconds;
                }
                _ => legs.push(Leg { doing, places: pair.to_vec(), metres, seconds }),
            }
        }
        for leg in &mut legs {
            leg.places = simplified(&leg.places, 0.3 * grid.cell_m);
        }
        legs
    }
}

/// Arrival between the middles of cells, over those that are reached.
pub(super) fn arrival_at(terrain: &Terrain, times: &[f32], spot: Spot) -> Option<f64> {
    let grid = &terrain.grid;
    let cell = grid.cell(spot)?;
    if !times[cell].is_finite() {
        return None;
    }
    let at = (spot - grid.corner) * (1.0 / grid.cell_m) - Spot::new(0.5, 0.5);
    let (col, row) = (at.east.floor(), at.north.floor());
    let (mut sum, mut weight) = (0.0, 0.0);
    for (dc, dr) in [(0.0, 0.0), (1.0, 0.0), (0.0, 1.0), (1.0, 1.0)] {
        let (c, r) = (col + dc, row + dr);
        if c < 0.0 || r < 0.0 || c >= grid.cols as f64 || r >= grid.rows as f64 {
            continue;
        }
        let time = f64::from(times[r as usize * grid.cols + c as usize]);
        let share = (1.0 - (at.east - c).abs()) * (1.0 - (at.north - r).abs());
        if time.is_finite() && share > 0.0 {
            sum += share * time;
            weight += share;
        }
    }
    (weight > 0.0).then(|| sum / weight)
}

impl Reach {
    /// The route from one post by one way to a place. Model `reach`, docs/models/reach.md.
    ///
    /// # Inputs
    /// - `post`: its index · `way` · `to`: where
    /// - `site`, `paces`: those the reach was made with
    ///
    /// # Gives
    /// Lines leg by leg, the entry and what is allowed there; `None` where that way does not lead there.
    ///
    /// # Source
    /// steepest way back through the arrival times: derived
    pub fn route(&self, (post, way): (usize, Way), to: Spot, site: &Site, paces: &Paces) -> Option<Route> {
        let from = self.posts.get(post)?;
        let found = from.ways.iter().find(|w| w.way == way)?;
        let seconds = arrival_at(&self.terrain, &found.arrival_s, to)?;
        let lines = self.lines((post, found), to, paces);
        let mut legs: Vec<Leg> = Vec::new();
        for (way, line) in &lines {
            legs.extend(Going { terrain: &self.terrain, paces, way: *way }.legs(line));
        }
        let moving: f64 = legs.iter().map(|l| l.seconds).sum();
        let entry_at = self.entry_place(&legs);
        let entries = entry_at.map(|(spot, deck)| {
            let cell = self.terrain.grid.cell(spot);
            let known = cell.filter(|&c| self.terrain.trusted[c]).map(|c| self.terrain.depth_m[c]);
            let fall_m = site.datum_stage_m - self.stage_m;
            let drop_m = deck.then(|| (value("dock_drop_m") + fall_m).max(0.0));
            entries(
                &Edge { depth_m: known, drop_m, mask_or_fins: way == Way::Fins },
                &site.limits,
                site.units,
            )
        });
        Some(Route {
            post,
            way,
            seconds,
            overhead_s: (seconds - moving).max(0.0),
            legs,
            entry_at: entry_at.map(|(spot, _)| spot),
            entries,
        })
    }

    /// The lines of a route: on foot to the gear, on foot to the water, through the water.
    fn lines(
        &self,
        (post, found): (usize, &WayReach),
        to: Spot,
        paces: &Paces,
    ) -> Vec<(Option<Way>, Vec<Spot>)> {
        let from = &self.posts[post];
        let grid = &self.terrain.grid;
        let near = |place: Spot| move |here: Spot| here.distance(place) < 0.9 * grid.cell_m;
        let going = |way| Going { terrain: &self.terrain, paces, way };
        let Some(launched) = &found.launched_s else {
            let mut line = going(Some(Way::Swim)).trace(&found.arrival_s, to, near(from.post.spot));
            line.insert(0, from.post.spot);
            return vec![(Some(Way::Swim), line)];
        };
        let put_in = |here: Spot| {
            grid.cell(here)
                .is_some_and(|c| launched[c].is_finite() && launched[c] <= found.arrival_s[c] + 0.02)
        };
        let mut wet = going(Some(found.way)).trace(&found.arrival_s, to, put_in);
        let mut edge = wet[0];
        if !grid.cell(edge).is_some_and(|c| launched[c].is_finite()) {
            // From a deck or a steep shore: the cell beside it from which one went over.
            let beside = grid.cell(edge).into_iter().flat_map(|c| super::arrivals::neighbours(grid, c));
            if let Some(best) = beside.min_by(|&a, &b| launched[a].total_cmp(&launched[b])) {
                edge = grid.centre(best);
                wet.insert(0, edge);
            }
        }
        let lies = found.gear.unwrap_or(from.post.spot);
        let mut lines = Vec::new();
        if let Some(gear) = found.gear {
            let mut line = going(None).trace(&from.foot_s, gear, near(from.post.spot));
            line.insert(0, from.post.spot);
            lines.push((None, line));
        }
        let mut carried = going(None).trace(launched, edge, near(lies));
        carried.insert(0, lies);
        lines.push((None, carried));
        lines.push((Some(found.way), wet));
        lines
    }

    /// Where a route last goes into the water, and whether from a deck; nowhere, if it begins in the water.
    fn entry_place(&self, legs: &[Leg]) -> Option<(Spot, bool)> {
        let wet = |leg: &Leg| matches!(leg.doing, Doing::Water | Doing::Wade);
        let first = legs.iter().rposition(|leg| !wet(leg)).map_or(0, |k| k + 1);
        let leg = legs.get(first)?;
        let begin = self.terrain.grid.cell(*leg.places.first()?);
        if first == 0 && begin.is_some_and(|cell| self.terrain.footing[cell] == Footing::Water) {
            return None;
        }
        let deck = first > 0 && legs[first - 1].doing == Doing::WalkDeck;
        // A little way in, where the water is and not the edge.
        let (a, b) = (*leg.places.first()?, *leg.places.get(1)?);
        let in_m = (0.8 * self.terrain.grid.cell_m).min(a.distance(b));
        Some((a.lerp(b, in_m / a.distance(b).max(1e-9)), deck))
    }
}
