//! Many small changes to a search, worse ones taken now and then: none is worth much, but a hundred thousand of them
//! cost what a few windows cost (PA-6).
//!
//! Start reading at [`Annealing::better`].

use super::exact::Best;
use super::field::Field;
use measure::chance::Draws;

/// Changes searches a little at a time.
pub struct Annealing {
    draws: Draws,
    /// Per piece, in which count it was looked at last, and how often.
    looked: Vec<(u32, u32)>,
    counts: u32,
    /// Per searcher, its start and its places, one path behind the other.
    paths: Vec<u32>,
    /// The path being changed, and what it was.
    own: Vec<u32>,
}

impl Annealing {
    /// # Inputs
    /// - `draws`: which changes are tried, and which worse ones are taken
    pub fn of(field: &Field, draws: Draws) -> Self {
        let looked = vec![(0, 0); field.gains.count()];
        Annealing { draws, looked, counts: 0, paths: Vec::new(), own: Vec::new() }
    }

    /// Changes a search until `effort` moves are tried in all; the best search met is kept.
    ///
    /// # Inputs
    /// - `tried`: moves tried, added to
    ///
    /// # Source
    /// simulated annealing (textbook)
    pub fn better(&mut self, field: &Field, best: &mut Best, (effort, tried): (u64, &mut u64)) {
        if *tried >= effort || best.moves.is_empty() {
            return;
        }
        let (begun, whole) = (*tried, field.steps() + 1);
        self.paths.clear();
        for (searcher, &start) in field.starts.iter().enumerate() {
            self.paths.push(start);
            self.paths.extend(best.moves.iter().skip(searcher).step_by(field.starts.len()));
        }
        let (mut value, look) = (best.value, best.value / field.length() as f64);
        // Waters differ in how deep their hollows are, so no two begin equally hot.
        let hot = HOT * (0.5 + 1.5 * self.draws.u01());
        let (mut heat, mut changes) = (0.0, 0u32);
        while *tried < effort {
            if changes % STEADY == 0 {
                let share = (*tried - begun) as f64 / (effort - begun) as f64;
                heat = look * hot * libm::pow(COLD / hot, share);
                *tried += u64::from(STEADY / REFUSED);
            }
            changes += 1;
            let searcher = self.draws.index(field.starts.len());
            let path = searcher * whole..(searcher + 1) * whole;
            self.own.clear();
            self.own.extend_from_slice(&self.paths[path.clone()]);
            if !change(field, &mut self.paths[path.clone()], &mut self.draws) {
                self.paths[path].copy_from_slice(&self.own);
                continue;
            }
            *tried += field.length() as u64 / COUNTED + 1;
            let changed = self.value(field);
            if changed < value && changed - value < heat * libm::log(self.draws.u01()) {
                self.paths[path].copy_from_slice(&self.own);
                continue;
            }
            value = changed;
            if value > best.value {
                best.value = value;
                let turns =
                    (1..whole).flat_map(|step| (0..field.starts.len()).map(move |s| s * whole + step));
                best.moves.clear();
                best.moves.extend(turns.map(|at| self.paths[at]));
            }
        }
    }

    /// Weighted mass found by the paths.
    fn value(&mut self, field: &Field) -> f64 {
        let (mut value, whole) = (0.0, field.steps() + 1);
        self.counts += 1;
        for (step, weight) in (1..).zip(&field.weight) {
            for at in (step..self.paths.len()).step_by(whole) {
                for &piece in field.looks.row(self.paths[at] as usize) {
                    let looked = &mut self.looked[piece as usize];
                    if looked.0 != self.counts {
                        *looked = (self.counts, 0);
                    }
                    let gain = field.gains.row(piece as usize).get(looked.1 as usize);
                    value += weight * gain.copied().unwrap_or(0.0);
                    looked.1 += 1;
                }
            }
        }
        value
    }
}

/// Walks one to three steps of a path (its start first) anew; or leaves as many out at one time and walks them at another.
///
/// # Gives
/// Whether the moves allow it.
fn change(field: &Field, path: &mut [u32], draws: &mut Draws) -> bool {
    let leads = |from: u32, to: u32| field.moves.row(from as usize).contains(&to);
    let steps = path.len() - 1;
    let span = (1 + draws.index(LONGEST)).min(steps);
    let out = 1 + draws.index(steps + 1 - span);
    let mut into = out;
    if draws.index(2) == 0 {
        if out + span <= steps && !leads(path[out - 1], path[out + span]) {
            return false;
        }
        into = 1 + draws.index(steps + 1 - span);
        if into < out {
            path.copy_within(into..out, into + span);
        } else {
            path.copy_within(out + span..into + span, out);
        }
    }
    for at in into..into + span {
        let row = field.moves.row(path[at - 1] as usize);
        path[at] = row[draws.index(row.len())];
    }
    into + span > steps || leads(path[into + span - 1], path[into + span])
}

/// Loss taken with chance 1/e at the beginning, in mean looks of the search begun with; halved to doubled.
const HOT: f64 = 0.3;
/// The same at the end.
const COLD: f64 = 0.01;
/// Changes tried at one heat.
const STEADY: u32 = 64;
/// Changes drawn that take as long as one move tried.
const REFUSED: u32 = 2;
/// Looks counted that take as long as one move tried.
const COUNTED: u64 = 8;
/// Most steps walked anew at a time.
const LONGEST: usize = 3;
