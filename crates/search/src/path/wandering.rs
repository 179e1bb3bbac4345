//! A target that moves after each look: depth-first branch and bound on the unnormalised belief (PA-9).

use super::instance::{Instance, Wandering};
use super::{CLOSE, Options, Solved};

/// The target's moves, as chances out of each cell.
struct Drift(Vec<Vec<(u32, f64)>>);

impl Drift {
    fn of(instance: &Instance, wandering: Wandering) -> Self {
        let chances = |cell: usize| {
            let around = instance.around(cell, false, false);
            let share = (1.0 - wandering.stays) / around.len().max(1) as f64;
            let stays = if around.is_empty() { 1.0 } else { wandering.stays };
            let leaves = around.into_iter().map(|to| (to, share));
            std::iter::once((cell as u32, stays)).chain(leaves).filter(|c| c.1 > 0.0).collect()
        };
        Drift((0..instance.cells()).map(chances).collect())
    }

    fn moved(&self, belief: &[f64], next: &mut [f64]) {
        next.fill(0.0);
        for (cell, &mass) in belief.iter().enumerate().filter(|b| *b.1 > 0.0) {
            for &(to, chance) in &self.0[cell] {
                next[to as usize] += mass * chance;
            }
        }
    }
}

struct Hunt<'a> {
    instance: &'a Instance,
    drift: Drift,
    moves: Vec<Vec<u32>>,
    effort: u64,
    tried: u64,
    path: Vec<usize>,
    best: (f64, Vec<usize>),
    /// Highest ceiling of a branch left untried because the effort was spent.
    left_open: f64,
}

impl Hunt<'_> {
    /// Most that each next cell can lead to if no further look took anything away: a longest path over the
    /// belief as it drifts undisturbed (PA-9).
    fn promises(&self, belief: &[f64], step: usize) -> Vec<f64> {
        let (cells, steps) = (belief.len(), self.instance.weight.len());
        let mut drifted = vec![belief.to_vec()];
        for later in step + 1..steps {
            let mut next = vec![0.0; cells];
            self.drift.moved(&drifted[later - step - 1], &mut next);
            drifted.push(next);
        }
        let mut promise = vec![0.0; cells];
        for later in (step..steps).rev() {
            let belief = &drifted[later - step];
            let onward: Vec<f64> = (0..cells)
                .map(|cell| if later + 1 == steps { 0.0 } else { self.most(cell, &promise) })
                .collect();
            for cell in 0..cells {
                promise[cell] =
                    self.instance.weight[later] * belief[cell] * self.instance.contact[cell] + onward[cell];
            }
        }
        promise
    }

    fn most(&self, cell: usize, promise: &[f64]) -> f64 {
        self.moves[cell].iter().fold(0.0, |best: f64, &next| best.max(promise[next as usize]))
    }

    fn descend(&mut self, at: usize, belief: &[f64], value: f64) {
        let step = self.path.len();
        if step == self.instance.weight.len() {
            if value > self.best.0 {
                self.best = (value, self.path.clone());
            }
            return;
        }
        let promise = self.promises(belief, step);
        let mut next = self.moves[at].clone();
        next.sort_by(|&a, &b| promise[b as usize].total_cmp(&promise[a as usize]).then(a.cmp(&b)));
        let mut drifted = vec![0.0; belief.len()];
        for cell in next.into_iter().map(|cell| cell as usize) {
            let ceiling = value + promise[cell];
            if ceiling <= self.best.0 + CLOSE {
                return;
            }
            if self.tried >= self.effort && self.best.0 > f64::NEG_INFINITY {
                self.left_open = self.left_open.max(ceiling);
                return;
            }
            self.tried += 1;
            let mut seen = belief.to_vec();
            let found = seen[cell] * self.instance.contact[cell];
            seen[cell] -= found;
            self.drift.moved(&seen, &mut drifted);
            self.path.push(cell);
            let belief = drifted.clone();
            self.descend(cell, &belief, value + self.instance.weight[step] * found);
            self.path.pop();
        }
    }
}

/// Best path of one searcher after a wandering target.
///
/// # Inputs
/// - `instance`: with one searcher
/// - `wandering`: how the target moves
/// - `options`: effort in moves
///
/// # Gives
/// As for a standing target.
///
/// # Source
/// Forward enumeration of the unnormalised belief, cut by a bound of our own; the problem is that of eagle-1984.
pub fn solve(instance: &Instance, wandering: Wandering, options: Options) -> Solved {
    let mut hunt = Hunt {
        instance,
        drift: Drift::of(instance, wandering),
        moves: (0..instance.cells()).map(|cell| instance.moves(cell)).collect(),
        effort: options.effort,
        tried: 0,
        path: Vec::new(),
        best: (f64::NEG_INFINITY, Vec::new()),
        left_open: f64::NEG_INFINITY,
    };
    hunt.descend(instance.starts[0], &instance.prior, 0.0);
    let (value, path) = hunt.best;
    let proven = hunt.left_open <= value + CLOSE;
    let ceiling = if proven { value + CLOSE } else { hunt.left_open };
    Solved { value, paths: vec![path], proven, ceiling, moves: hunt.tried }
}
