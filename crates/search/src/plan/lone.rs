//! Pieces that are not lanes: the first guard at the last seen point, a pole under a raft, and runs under way.

use super::{
    Run, Team,
    cells::{MissTable, NONE, Stray},
    cover::{Blur, Edge},
    problem::{Person, Problem},
};
use crate::{
    Detection, Method, Stretch, Sweep,
    lines::{dive_depth, lone_chance, pole_chance, wade_depth},
};
use measure::{Spot, parameters::value};
use water::Cover;

/// A piece of searching with its place and time, as cells see it.
#[derive(Clone, Debug)]
pub(super) struct Piece {
    pub method: Method,
    /// Number of the run under way, from one, and of its leg; zero of who searches alone.
    pub run: (usize, usize),
    pub tables: [MissTable; 2],
    pub cells: Vec<(u32, f32)>,
    pub from_s: f64,
    pub to_s: f64,
    pub stretch: Stretch,
    /// The chance on firm and rough bottom.
    pub detection: [Detection; 2],
    /// Deepest water under it \[m\].
    pub depth_m: f64,
}

impl Piece {
    fn new(problem: &Problem, sweep: &Sweep, depth_m: f64) -> Self {
        Piece {
            method: sweep.method,
            run: (0, 0),
            tables: [MissTable::new(sweep.firm), MissTable::new(sweep.rough)],
            cells: shares(problem, (&sweep.stretch, sweep.steer_m)),
            from_s: sweep.from_s,
            to_s: sweep.to_s,
            stretch: sweep.stretch,
            detection: [sweep.firm, sweep.rough],
            depth_m,
        }
    }

    /// What its straying belongs to.
    pub fn stray(&self) -> Stray {
        Stray::of(self.run.0, self.run.1, self.method)
    }

    /// The sweep of the piece.
    pub fn sweep(&self) -> Sweep {
        Sweep {
            method: self.method,
            stretch: self.stretch,
            steer_m: 0.0,
            firm: self.detection[0],
            rough: self.detection[1],
            from_s: self.from_s,
            to_s: self.to_s,
        }
    }

    /// Middle and half-extents for keeping lines apart: middle line and width.
    pub fn outline(&self) -> (Spot, Spot, f64) {
        match self.stretch {
            Stretch::Strip { from, to, width_m } => (from, to, width_m),
            Stretch::Disc { centre, radius_m } => {
                let half = Spot::new(radius_m, 0.0);
                (centre - half, centre + half, 2.0 * radius_m)
            }
        }
    }
}

/// Active cells under a stretch, whose edges are off by so much \[m\], and the share of each: strips along the axes, discs on a fine mesh.
pub(super) fn shares(problem: &Problem, swept: (&Stretch, f64)) -> Vec<(u32, f32)> {
    const MESH: usize = 4;
    let (stretch, steer_m) = swept;
    let axis = match *stretch {
        Stretch::Strip { from, to, .. } => (to - from).unit(),
        Stretch::Disc { .. } => None,
    };
    let along = axis.unwrap_or(Spot::new(1.0, 0.0));
    let edge = Edge::new(problem.cells.grid.cell_m, along.east, along.north);
    let blur = match *stretch {
        Stretch::Strip { width_m, .. } => Blur::new(edge, 0.5 * width_m, steer_m),
        Stretch::Disc { radius_m, .. } => Blur::new(edge, radius_m, 0.0),
    };
    let cells = &problem.cells;
    let grid = cells.grid;
    let (middle, reach) = match *stretch {
        Stretch::Strip { from, to, .. } => (from.lerp(to, 0.5), 0.5 * from.distance(to) + blur.reach()),
        Stretch::Disc { centre, radius_m } => (centre, radius_m),
    };
    let mut rows = Vec::new();
    for cell in around(problem, middle, reach + grid.cell_m) {
        let slot = cells.slot(cell);
        if slot == NONE {
            continue;
        }
        let centre = grid.centre(cell);
        let share = match *stretch {
            Stretch::Strip { from, to, .. } => {
                let (u, v) = ((centre - from).dot(along), along.cross(centre - from));
                edge.between(-u, from.distance(to) - u) * blur.share(v)
            }
            Stretch::Disc { centre: hub, radius_m } => {
                let inside = (0..MESH * MESH)
                    .filter(|k| {
                        let step = |j: usize| ((j as f64 + 0.5) / MESH as f64 - 0.5) * grid.cell_m;
                        (centre + Spot::new(step(k % MESH), step(k / MESH))).distance(hub) <= radius_m
                    })
                    .count();
                inside as f64 / (MESH * MESH) as f64
            }
        };
        if share > 1e-3 {
            rows.push((slot, share as f32));
        }
    }
    rows
}

/// Grid cells whose middle lies within a square of half side `reach` about a place.
fn around(problem: &Problem, middle: Spot, reach: f64) -> Vec<usize> {
    let grid = problem.cells.grid;
    let range = |low: f64, high: f64, most: usize| {
        let clamp = |x: f64| x.clamp(0.0, most as f64) as usize;
        clamp((low / grid.cell_m).floor())..clamp((high / grid.cell_m).ceil())
    };
    let (east, north) = (middle.east - grid.corner.east, middle.north - grid.corner.north);
    let cols = range(east - reach, east + reach, grid.cols);
    range(north - reach, north + reach, grid.rows)
        .flat_map(|row| cols.clone().map(move |col| row * grid.cols + col))
        .collect()
}

/// How the first guard searches at the last seen point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    /// Feeling with the feet.
    Feet,
    /// Surface dives under the eyes of a named watcher.
    Dives,
}

/// The first guard alone at the last seen point until `until_s`; `None` if there is nothing they may search.
///
/// Dives only with a watcher; otherwise with the feet. The disc is the one that finds most.
pub(super) fn first_guard(problem: &Problem, person: &Person, watched: bool, until_s: f64) -> Option<Piece> {
    let centre = problem.request.last_seen;
    let rules = &problem.rules;
    let from_s = person.from_s + rules.reaction_s + person.at.distance(centre) / rules.gather_mps;
    let seconds = (until_s - from_s).min(value("lone_longest_s")).min(rules.turn_limit_s);
    if seconds.is_nan() || seconds < 10.0 || !problem.may_pass(person.at, centre) {
        return None;
    }
    let member = problem.member(person.member);
    let limits = &problem.setting().site.limits;
    let ways = [
        (Way::Feet, wade_depth(member, limits).filter(|_| !member.volunteer)),
        (Way::Dives, dive_depth(member, limits).filter(|_| watched && rules.dive_s.is_some())),
    ];
    let mut best: Option<(f64, Piece)> = None;
    for (way, limit) in ways {
        let Some(limit_m) = limit else { continue };
        let most = (value("lone_radius_m") * 2.0) as usize;
        for radius_m in (4..=most).map(|k| 0.5 * k as f64) {
            let Some(depth_m) = disc_depth(problem, (centre, radius_m), way, limit_m) else { break };
            let chance = lone_chance(seconds, std::f64::consts::PI * radius_m * radius_m);
            let sweep = Sweep {
                method: Method::Alone,
                stretch: Stretch::Disc { centre, radius_m },
                steer_m: 0.0,
                firm: Detection::undrilled(chance),
                rough: Detection::undrilled(chance),
                from_s,
                to_s: from_s + seconds,
            };
            let piece = Piece::new(problem, &sweep, depth_m);
            let gain: f64 = piece
                .cells
                .iter()
                .map(|&(c, share)| problem.cells.mass[c as usize] * f64::from(share))
                .sum::<f64>()
                * chance;
            if best.as_ref().is_none_or(|(g, _)| gain > *g) {
                best = Some((gain, piece));
            }
        }
    }
    best.map(|(_, piece)| piece)
}

/// Deepest water of a disc if a guard may search all of its water that way.
fn disc_depth(problem: &Problem, disc: (Spot, f64), way: Way, limit_m: f64) -> Option<f64> {
    let (centre, radius_m) = disc;
    let ground = problem.setting().ground;
    let mut deepest = 0.0_f64;
    problem.cells.grid.cell(centre).filter(|&cell| ground.is_water(cell))?;
    for cell in around(problem, centre, radius_m + problem.cells.grid.cell_m) {
        if problem.cells.grid.centre(cell).distance(centre) > radius_m + problem.cells.grid.cell_m {
            continue;
        }
        // Nobody is led under a dock; dry ground does no harm.
        if ground.cover[cell] == Cover::Land {
            continue;
        }
        let depth = match way {
            Way::Feet => problem.footing.wade_m(cell),
            Way::Dives => problem.footing.dive_m(cell),
        };
        if f64::from(depth) > limit_m {
            return None;
        }
        deepest = deepest.max(f64::from(depth));
    }
    Some(deepest)
}

/// Pieces of water under docks and rafts that hold mass, one pole search each, most mass first: (piece, mass, edge place).
pub(super) fn under_cover(problem: &Problem, from_s: f64) -> Vec<(Piece, f64)> {
    let ground = problem.setting().ground;
    let grid = problem.cells.grid;
    let mut seen = vec![false; grid.len()];
    let mut pieces = Vec::new();
    for &start in &problem.cells.index {
        let start = start as usize;
        if seen[start] || ground.cover[start] != Cover::Under {
            continue;
        }
        let group = flood(grid.cols, start, &mut seen, |cell| ground.cover[cell] == Cover::Under);
        if let Some(found) = pole_piece(problem, &group, from_s) {
            pieces.push(found);
        }
    }
    pieces.sort_by(|a, b| b.1.total_cmp(&a.1));
    pieces
}

fn pole_piece(problem: &Problem, group: &[usize], from_s: f64) -> Option<(Piece, f64)> {
    let ground = problem.setting().ground;
    let grid = problem.cells.grid;
    let depth_m = group.iter().map(|&c| ground.depth_m[c]).fold(0.0, f64::max);
    let mass: f64 = group
        .iter()
        .map(|&c| problem.cells.slot(c))
        .filter(|&slot| slot != NONE)
        .map(|slot| problem.cells.mass[slot as usize])
        .sum();
    if depth_m > value("pole_reach_m") || mass < 0.005 * problem.cells.total {
        return None;
    }
    let barred = group.iter().any(|&c| problem.footing.no_go.get(c) == Some(&true));
    let area_m2 = group.len() as f64 * grid.cell_area_m2();
    if barred || area_m2 > 400.0 {
        return None;
    }
    let spots: Vec<Spot> = group.iter().map(|&c| grid.centre(c)).collect();
    let middle = spots.iter().fold(Spot::default(), |a, &b| a + b) * (1.0 / spots.len() as f64);
    let seconds = area_m2 / value("pole_rate_m2ps") * 1.5;
    // A strip along the longest axis that holds the whole piece: far from cells it covers nothing else, see below.
    let far = spots.iter().copied().max_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)))?;
    let along = (far - middle).unit().unwrap_or(Spot::new(1.0, 0.0));
    let half = spots.iter().map(|s| (*s - middle).dot(along).abs()).fold(0.0, f64::max) + 0.5 * grid.cell_m;
    let aside = spots.iter().map(|s| along.cross(*s - middle).abs()).fold(0.0, f64::max) + 0.5 * grid.cell_m;
    let chance = pole_chance(seconds, area_m2);
    let sweep = Sweep {
        method: Method::Pole,
        stretch: Stretch::Strip {
            from: middle - along * half,
            to: middle + along * half,
            width_m: 2.0 * aside,
        },
        steer_m: 0.0,
        firm: Detection::undrilled(chance),
        rough: Detection::undrilled(chance),
        from_s,
        to_s: from_s + seconds,
    };
    let mut piece = Piece::new(problem, &sweep, depth_m);
    // Only what lies under the cover counts.
    piece
        .cells
        .retain(|&(slot, _)| ground.cover[problem.cells.index[slot as usize] as usize] == Cover::Under);
    Some((piece, mass))
}

/// Cells joined to `start` for which `within` holds.
pub(super) fn flood(
    cols: usize,
    start: usize,
    seen: &mut [bool],
    within: impl Fn(usize) -> bool,
) -> Vec<usize> {
    let mut group = vec![start];
    seen[start] = true;
    let mut at = 0;
    while at < group.len() {
        let cell = group[at];
        at += 1;
        let (col, row) = (cell % cols, cell / cols);
        for (dc, dr) in [(-1_i64, 0_i64), (1, 0), (0, -1), (0, 1), (-1, -1), (1, -1), (-1, 1), (1, 1)] {
            let (c, r) = (col as i64 + dc, row as i64 + dr);
            if c < 0 || r < 0 || c as usize >= cols {
                continue;
            }
            let next = r as usize * cols + c as usize;
            if next < seen.len() && !seen[next] && within(next) {
                seen[next] = true;
                group.push(next);
            }
        }
    }
    group
}

/// Legs under way that end after now, as pieces.
pub(super) fn under_way(problem: &Problem, runs: &[(&Run, &Team)]) -> Vec<Piece> {
    (1..)
        .zip(runs)
        .flat_map(|(number, (run, _))| run.legs.iter().enumerate().map(move |(k, leg)| ((number, k), leg)))
        .filter(|(_, leg)| leg.sweep.to_s > problem.request.now_s)
        .map(|(number, leg)| Piece { run: number, ..Piece::new(problem, &leg.sweep, leg.depth_m) })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_flood_stays_within_and_crosses_corners() {
        let cells = [true, false, false, false, true, false, false, false, false];
        let mut seen = vec![false; 9];
        assert_eq!(flood(3, 0, &mut seen, |c| cells[c]), vec![0, 4]);
    }
}
