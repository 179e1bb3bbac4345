//! Candidate places along the shore, and what each is worth to the water.

use crate::reach::{Footing, Gear, Post, Reach, Setting, Terrain, Way};
use measure::Spot;
use water::Grid;

/// What is asked of candidates.
#[derive(Clone, Copy, Debug)]
pub struct Wanted<'a> {
    /// Cells of the water that counts, in the terrain's grid.
    pub cells: &'a [usize],
    /// Most candidates beside the given ones.
    pub most: usize,
    /// Candidates stand at most so far from that water \[m\]; where it lies off the shore, so far beyond the shore nearest to it.
    pub within_m: f64,
}

/// Candidate places on land and decks beside the water that counts, far from each other; given places come first.
///
/// # Inputs
/// - `terrain` · `given`: posts of today and others that must be among them · `wanted`: how many, how near
///
/// # Gives
/// The given places, then places each as far as possible from all before it, named by number.
pub fn candidates(terrain: &Terrain, given: &[Post], wanted: &Wanted) -> Vec<Post> {
    let grid = &terrain.grid;
    let edge = edge(terrain, wanted);
    let mut found = given.to_vec();
    let mut off: Vec<f64> = edge
        .iter()
        .map(|&c| found.iter().map(|p| p.spot.distance(grid.centre(c))).fold(f64::INFINITY, f64::min))
        .collect();
    // Nearer than this to another, a place says nothing new.
    let least_m = (2.0 * grid.cell_m).max(3.0);
    for number in 1..=wanted.most {
        let Some(far) = (0..edge.len()).max_by(|&a, &b| off[a].total_cmp(&off[b]).then(b.cmp(&a))) else {
            break;
        };
        if off[far] < least_m {
            break;
        }
        let spot = grid.centre(edge[far]);
        off.iter_mut().zip(&edge).for_each(|(o, &c)| *o = o.min(spot.distance(grid.centre(c))));
        found.push(Post { name: format!("place {number}"), spot });
    }
    found
}

/// Cells of land or deck at the water, near the water that counts.
fn edge(terrain: &Terrain, wanted: &Wanted) -> Vec<usize> {
    let grid = &terrain.grid;
    let rings = rings_about(grid, wanted.cells);
    let dry = on_foot(terrain);
    let stands = |cell: &usize| {
        matches!(terrain.footing[*cell], Footing::Land | Footing::Deck)
            && dry[*cell]
            && beside(grid, *cell).any(|b| terrain.footing[b] == Footing::Water)
    };
    let all: Vec<usize> = (0..grid.len()).filter(stands).collect();
    let within = (wanted.within_m / grid.cell_m).ceil() as usize;
    let least = all.iter().filter_map(|&cell| rings[cell]).min().unwrap_or(0);
    let most = if least > within { least + within } else { within };
    all.into_iter().filter(|&cell| rings[cell].is_some_and(|ring| ring <= most)).collect()
}

/// Land, and decks that are walked onto from it: a raft in the water is no place to be relieved at.
fn on_foot(terrain: &Terrain) -> Vec<bool> {
    let mut dry: Vec<bool> = terrain.footing.iter().map(|f| *f == Footing::Land).collect();
    let mut front: Vec<usize> = (0..dry.len()).filter(|&cell| dry[cell]).collect();
    while let Some(cell) = front.pop() {
        for b in beside(&terrain.grid, cell) {
            if terrain.footing[b] == Footing::Deck && !dry[b] {
                dry[b] = true;
                front.push(b);
            }
        }
    }
    dry
}

fn beside(grid: &Grid, cell: usize) -> impl Iterator<Item = usize> + use<> {
    let (col, row, cols, rows) = (cell % grid.cols, cell / grid.cols, grid.cols, grid.rows);
    [
        (col > 0).then(|| cell - 1),
        (col + 1 < cols).then(|| cell + 1),
        (row > 0).then(|| cell - cols),
        (row + 1 < rows).then(|| cell + cols),
    ]
    .into_iter()
    .flatten()
}

/// By how many rings, from side to side, each cell lies off some cells; `None` where there is none.
fn rings_about(grid: &Grid, cells: &[usize]) -> Vec<Option<usize>> {
    let mut rings = vec![None; grid.len()];
    cells.iter().for_each(|&cell| rings[cell] = Some(0));
    let (mut front, mut ring) = (cells.to_vec(), 0);
    while !front.is_empty() {
        ring += 1;
        let mut next = Vec::new();
        for b in front.into_iter().flat_map(|cell| beside(grid, cell)) {
            if rings[b].is_none() {
                rings[b] = Some(ring);
                next.push(b);
            }
        }
        front = next;
    }
    rings
}

/// What each candidate is worth in each cell by how soon a guard comes from there. Model `places`, docs/models/places.md.
///
/// # Inputs
/// - `setting` · `places`: candidates · `gear`: what lies ready · `cells`: of the water that counts, in the grid of a
///   terrain that holds all candidates · `limit_s`: the site's limit
///
/// # Gives
/// `1 − t / (2 limit)`, not below 0: one where the guard stands, a half at the limit, nothing at twice the limit. One
/// list a candidate, one value a cell, by the best of the ways given in `ways`.
///
/// # Source
/// assumed
pub fn reach_benefit(
    setting: &Setting,
    (places, gear, ways): (&[Post], &Gear, &[Way]),
    cells: &[Spot],
    limit_s: f64,
) -> Vec<Vec<f64>> {
    let mut all = Vec::with_capacity(places.len());
    // A few at a time: the times of every cell are kept no longer than needed.
    for few in places.chunks(8) {
        let reach = Reach::from_posts(setting, few, gear);
        for post in &reach.posts {
            let value = |spot: &Spot| {
                let Some(cell) = reach.terrain.grid.cell(*spot) else { return 0.0 };
                let used = post.ways.iter().filter(|w| ways.contains(&w.way));
                let least = used.map(|w| f64::from(w.arrival_s[cell])).fold(f64::INFINITY, f64::min);
                (1.0 - least / (2.0 * limit_s)).clamp(0.0, 1.0)
            };
            all.push(cells.iter().map(value).collect());
        }
    }
    all
}
