//! Best spread of several kinds of searching time over cells, with a ceiling that proves how good it is.
//!
//! Maximise Σ p_i (1 − e^(−z_i)), z_i = Σ_j w_ij t_ij, with Σ_i t_ij ≤ T_j and t ≥ 0: concave, solved by a
//! primal-dual interior point, then finished by filling one kind after another. The ceiling needs no trust in
//! either: any prices λ ≥ 0 give one (weak duality).

use super::effort::{depth_under, water_level};

/// What the best mixture reaches.
#[derive(Clone, Debug, PartialEq)]
pub struct Mixed {
    /// Time of each kind in each cell, `time_s[cell][kind]`.
    pub time_s: Vec<Vec<f64>>,
    /// Chance found by that spread.
    pub pos: f64,
    /// No spread finds more than this.
    pub ceiling: f64,
}

/// Best spread of time over cells for several kinds of searchers.
///
/// # Inputs
/// - `p`: chance per cell ≥ 0 · `rate`: coverage a second, `rate[cell][kind]` ≥ 0, 0 where that kind cannot
///   work · `time_s`: time to spend per kind ≥ 0 \[s\]
///
/// # Gives
/// Spread, chance found and ceiling; the two differ by less than 1e-9 (tests; TH-13).
///
/// # Panics
/// If the rows differ in length.
///
/// # Source
/// concave program as stated by Washburn 1995 (second-hand); solution and ceiling derived here
pub fn mixed_effort(p: &[f64], rate: &[Vec<f64>], time_s: &[f64]) -> Mixed {
    assert!(
        p.len() == rate.len() && rate.iter().all(|row| row.len() == time_s.len()),
        "one rate per cell and kind"
    );
    let problem = Problem::new(p, rate, time_s);
    let mut best = Best::new(&problem);
    let mut share = interior(&problem, &mut best);
    for round in 0..SWEEPS {
        // One round at least: it empties the cells that the interior point only comes near to emptying.
        if round > 0 && best.gap() <= CLOSE {
            break;
        }
        refill(&problem, &mut share);
        best.look_at(&problem, &share);
    }
    let kinds = time_s.len();
    let time = (0..p.len()).map(|i| (0..kinds).map(|j| best.share[i * kinds + j] * time_s[j]).collect());
    Mixed { time_s: time.collect(), pos: best.pos, ceiling: best.ceiling.max(best.pos) }
}

/// Rounds of filling one kind after another, at most.
const SWEEPS: usize = 400;
/// Gap between ceiling and chance found that ends the work.
const CLOSE: f64 = 1e-13;
/// Interior-point steps, at most: thirty are usual.
const STEPS: usize = 120;

/// The program in shares of each kind's time, so that numbers stay near one.
struct Problem<'a> {
    p: &'a [f64],
    kinds: usize,
    /// Coverage of cell i when kind j spends all its time there, at i · kinds + j.
    cover: Vec<f64>,
    /// Whether kind j has anywhere to work.
    works: Vec<bool>,
}

impl<'a> Problem<'a> {
    fn new(p: &'a [f64], rate: &[Vec<f64>], time_s: &[f64]) -> Self {
        let kinds = time_s.len();
        let cover: Vec<f64> = (0..p.len() * kinds)
            .map(|k| if p[k / kinds] > 0.0 { rate[k / kinds][k % kinds] * time_s[k % kinds] } else { 0.0 })
            .collect();
        let works = (0..kinds).map(|j| cover.iter().skip(j).step_by(kinds).any(|c| *c > 0.0)).collect();
        Problem { p, kinds, cover, works }
    }

    /// Coverage of cell i under a spread.
    fn depth(&self, share: &[f64], i: usize) -> f64 {
        let row = i * self.kinds..(i + 1) * self.kinds;
        self.cover[row.clone()].iter().zip(&share[row]).map(|(c, s)| c * s).sum()
    }

    fn pos(&self, share: &[f64]) -> f64 {
        (0..self.p.len()).map(|i| -self.p[i] * libm::expm1(-self.depth(share, i))).sum()
    }

    /// Ceiling from a price per kind's whole time: Σ λ + Σ_i max over coverage of p(1 − e^−z) − c z,
    /// where c is the cheapest price of coverage there.
    fn ceiling(&self, price: &[f64]) -> f64 {
        let mut sum: f64 = (0..self.kinds).filter(|&j| self.works[j]).map(|j| price[j]).sum();
        for (i, &p) in self.p.iter().enumerate() {
            let cheapest = (0..self.kinds)
                .filter(|&j| self.cover[i * self.kinds + j] > 0.0)
                .map(|j| price[j] / self.cover[i * self.kinds + j])
                .fold(f64::INFINITY, f64::min);
            if cheapest < p {
                sum += p - cheapest - if cheapest > 0.0 { cheapest * libm::log(p / cheapest) } else { 0.0 };
            }
        }
        sum
    }

    /// Price of kind j at a spread: the greatest chance that a little more of it would add anywhere.
    fn prices(&self, share: &[f64]) -> Vec<f64> {
        let mut price = vec![0.0_f64; self.kinds];
        for (i, p) in self.p.iter().enumerate() {
            let left = p * libm::exp(-self.depth(share, i));
            for j in 0..self.kinds {
                price[j] = price[j].max(left * self.cover[i * self.kinds + j]);
            }
        }
        price
    }
}

/// Best spread and lowest ceiling seen.
struct Best {
    share: Vec<f64>,
    pos: f64,
    ceiling: f64,
}

impl Best {
    fn new(problem: &Problem) -> Self {
        // Before any price is known: all that lies where somebody can work.
        let all = vec![1.0; problem.cover.len()];
        let sum = (0..problem.p.len()).filter(|&i| problem.depth(&all, i) > 0.0).map(|i| problem.p[i]).sum();
        Best { share: vec![0.0; problem.cover.len()], pos: 0.0, ceiling: sum }
    }

    fn gap(&self) -> f64 {
        self.ceiling - self.pos
    }

    fn look_at(&mut self, problem: &Problem, share: &[f64]) {
        let pos = problem.pos(share);
        if pos > self.pos {
            self.pos = pos;
            self.share.copy_from_slice(share);
        }
        self.price(problem, &problem.prices(share));
    }

    fn price(&mut self, problem: &Problem, price: &[f64]) {
        let ceiling = problem.ceiling(price);
        if ceiling < self.ceiling {
            self.ceiling = ceiling;
        }
    }
}

/// Fills each kind anew over what the others leave: never lowers the chance found.
fn refill(problem: &Problem, share: &mut [f64]) {
    let (kinds, cells) = (problem.kinds, problem.p.len());
    for j in (0..kinds).filter(|&j| problem.works[j]) {
        for i in 0..cells {
            share[i * kinds + j] = 0.0;
        }
        let left: Vec<f64> = (0..cells).map(|i| problem.p[i] * libm::exp(-problem.depth(share, i))).collect();
        let rates = || (0..cells).map(|i| (left[i], problem.cover[i * kinds + j]));
        let Some(level) = water_level(rates(), 1.0) else { continue };
        for (i, (p, rate)) in rates().enumerate() {
            share[i * kinds + j] = depth_under(p, rate, level);
        }
        // The parts add to one but for rounding, which must not count as more time.
        let spent: f64 = (0..cells).map(|i| share[i * kinds + j]).sum();
        if spent > 1.0 {
            (0..cells).for_each(|i| share[i * kinds + j] /= spent);
        }
    }
}

/// Primal-dual interior point; gives a spread that uses no more than the time there is.
fn interior(problem: &Problem, best: &mut Best) -> Vec<f64> {
    let (kinds, live) = (problem.kinds, live(problem));
    let mut state = State::start(problem, &live);
    for _ in 0..STEPS {
        best.look_at(problem, &state.spread(problem));
        best.price(problem, &state.price);
        if best.gap() <= CLOSE || live.is_empty() {
            break;
        }
        let mean = live.iter().map(|&k| state.share[k] * state.slack[k]).sum::<f64>() / live.len() as f64;
        let Some(step) = state.newton(problem, 0.1 * mean) else { break };
        let reach = |now: &[f64], step: &[f64]| {
            live.iter().filter(|&&k| step[k] < 0.0).map(|&k| -now[k] / step[k]).fold(1.0 / 0.99, f64::min)
                * 0.99
        };
        let (primal, dual) = (reach(&state.share, &step.share), reach(&state.slack, &step.slack));
        for &k in &live {
            state.share[k] += primal * step.share[k];
            state.slack[k] += dual * step.slack[k];
        }
        (0..kinds).for_each(|j| state.price[j] = (state.price[j] + dual * step.price[j]).max(0.0));
        if !state.share.iter().chain(&state.slack).chain(&state.price).all(|x| x.is_finite()) {
            break;
        }
    }
    best.share.clone()
}

/// Indices of the pairs of cell and kind that do anything.
fn live(problem: &Problem) -> Vec<usize> {
    (0..problem.cover.len()).filter(|&k| problem.cover[k] > 0.0).collect()
}

/// Spread, prices and slacks of the interior point.
struct State {
    share: Vec<f64>,
    slack: Vec<f64>,
    price: Vec<f64>,
}

impl State {
    fn start(problem: &Problem, live: &[usize]) -> Self {
        let kinds = problem.kinds;
        let mut count = vec![0.0; kinds];
        live.iter().for_each(|k| count[k % kinds] += 1.0);
        let mut state = State {
            share: vec![0.0; problem.cover.len()],
            slack: vec![0.0; problem.cover.len()],
            price: vec![0.0; kinds],
        };
        live.iter().for_each(|&k| state.share[k] = 1.0 / count[k % kinds]);
        state.price = problem.prices(&state.share).iter().map(|g| 1.1 * g + 1e-9).collect();
        for &k in live {
            let left = problem.p[k / kinds] * libm::exp(-problem.depth(&state.share, k / kinds));
            state.slack[k] = state.price[k % kinds] - left * problem.cover[k];
        }
        state
    }

    /// The spread scaled so that no kind spends more than its time.
    fn spread(&self, problem: &Problem) -> Vec<f64> {
        let kinds = problem.kinds;
        let mut spent = vec![0.0; kinds];
        self.share.iter().enumerate().for_each(|(k, s)| spent[k % kinds] += s);
        self.share
            .iter()
            .enumerate()
            .map(|(k, s)| if spent[k % kinds] > 0.0 { s / spent[k % kinds] } else { 0.0 })
            .collect()
    }

    /// Newton step towards share × slack = `target` in every pair; `None` where the system is singular.
    fn newton(&self, problem: &Problem, target: f64) -> Option<State> {
        let kinds = problem.kinds;
        let (mut schur, mut right) = (vec![vec![0.0; kinds]; kinds], vec![0.0; kinds]);
        let mut cells = Vec::with_capacity(problem.p.len());
        for i in 0..problem.p.len() {
            let cell = CellStep::new(self, problem, i, target);
            let aim = cell.solve(&cell.right);
            for j in (0..kinds).filter(|&j| cell.diagonal[j] > 0.0) {
                right[j] += aim[j];
                let mut unit = vec![0.0; kinds];
                unit[j] = 1.0;
                cell.solve(&unit).iter().enumerate().for_each(|(m, x)| schur[m][j] += x);
            }
            cells.push(cell);
        }
        for j in 0..kinds {
            let spent: f64 = self.share.iter().skip(j).step_by(kinds).sum();
            right[j] += if problem.works[j] { spent - 1.0 } else { 0.0 };
            if !problem.works[j] {
                schur[j][j] = 1.0;
            }
        }
        let price = solve(schur, right)?;
        let mut step =
            State { share: vec![0.0; self.share.len()], slack: vec![0.0; self.share.len()], price };
        for (i, cell) in cells.iter().enumerate() {
            let aim: Vec<f64> = cell.right.iter().zip(&step.price).map(|(r, l)| r - l).collect();
            for (j, d) in cell.solve(&aim).into_iter().enumerate().filter(|&(j, _)| cell.diagonal[j] > 0.0) {
                let k = i * kinds + j;
                step.share[k] = d;
                step.slack[k] = (target - self.slack[k] * (self.share[k] + d)) / self.share[k];
            }
        }
        Some(step)
    }
}

/// One cell's part of the Newton system: diagonal plus curvature × w wᵀ.
struct CellStep {
    diagonal: Vec<f64>,
    weight: Vec<f64>,
    curvature: f64,
    right: Vec<f64>,
}

impl CellStep {
    fn new(state: &State, problem: &Problem, i: usize, target: f64) -> Self {
        let row = i * problem.kinds..(i + 1) * problem.kinds;
        let left = problem.p[i] * libm::exp(-problem.depth(&state.share, i));
        let weight = problem.cover[row.clone()].to_vec();
        let per = |k: usize, f: &dyn Fn(usize) -> f64| if problem.cover[k] > 0.0 { f(k) } else { 0.0 };
        CellStep {
            diagonal: row.clone().map(|k| per(k, &|k| state.slack[k] / state.share[k])).collect(),
            right: row
                .map(|k| {
                    per(k, &|k| {
                        left * problem.cover[k] - state.price[k % problem.kinds] + target / state.share[k]
                    })
                })
                .collect(),
            weight,
            curvature: left,
        }
    }

    /// (D + h w wᵀ)⁻¹ v over the pairs that do anything.
    fn solve(&self, v: &[f64]) -> Vec<f64> {
        let over = |j: usize, x: f64| if self.diagonal[j] > 0.0 { x / self.diagonal[j] } else { 0.0 };
        let (mut along, mut square) = (0.0, 0.0);
        for j in 0..v.len() {
            along += over(j, self.weight[j] * v[j]);
            square += over(j, self.weight[j] * self.weight[j]);
        }
        let back = self.curvature * along / (1.0 + self.curvature * square);
        (0..v.len()).map(|j| over(j, v[j] - self.weight[j] * back)).collect()
    }
}

/// Solves a small linear system by elimination with pivots; `None` if it is singular.
fn solve(mut a: Vec<Vec<f64>>, mut b: Vec<f64>) -> Option<Vec<f64>> {
    let n = b.len();
    for k in 0..n {
        let pivot = (k..n).max_by(|&x, &y| a[x][k].abs().total_cmp(&a[y][k].abs()))?;
        if a[pivot][k] == 0.0 || !a[pivot][k].is_finite() {
            return None;
        }
        a.swap(k, pivot);
        b.swap(k, pivot);
        for row in k + 1..n {
            let factor = a[row][k] / a[k][k];
            for column in k..n {
                a[row][column] -= factor * a[k][column];
            }
            b[row] -= factor * b[k];
        }
    }
    for k in (0..n).rev() {
        let known: f64 = (k + 1..n).map(|m| a[k][m] * b[m]).sum();
        b[k] = (b[k] - known) / a[k][k];
    }
    Some(b)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    // shows: TH-13
    #[test]
    fn two_kinds_over_three_cells() {
        let rate = [vec![1.0, 0.2], vec![0.5, 0.6], vec![0.0, 0.9]];
        let best = mixed_effort(&[0.5, 0.3, 0.2], &rate, &[0.6, 2.0]);
        assert!((best.pos - 0.482_218_053_973).abs() < 2e-12, "{best:?}");
        assert!(best.ceiling >= best.pos && best.ceiling - best.pos < 1e-12, "{best:?}");
        // A works in both cells, B only in the first and five times as fast, from 0.2 on.
        for (time, expect) in [([0.2, 0.0], 0.108_761_548_153_210_9), ([1.0, 4.0], 0.841_858_840_198_182_6)] {
            let best = mixed_effort(&[0.6, 0.4], &[vec![1.0, 1.0], vec![1.0, 0.0]], &time);
            assert!((best.pos - expect).abs() < 1e-12 && best.ceiling - best.pos < 1e-12, "{best:?}");
        }
    }

    // shows: TH-13
    #[test]
    fn nothing_to_do_and_everything_to_do() {
        let none = mixed_effort(&[0.5], &[vec![0.0, 0.0]], &[1.0, 2.0]);
        assert_eq!((none.pos, none.ceiling), (0.0, 0.0));
        let idle = mixed_effort(&[0.5], &[vec![1.0]], &[0.0]);
        assert_eq!((idle.pos, idle.ceiling), (0.0, 0.0));
        assert_eq!(mixed_effort(&[], &[], &[]).pos, 0.0);
        let all = mixed_effort(&[0.5, 0.5], &[vec![1e6], vec![1e-3]], &[1e7]);
        assert!((all.pos - 1.0).abs() < 1e-9 && all.ceiling <= 1.0 + 1e-12, "{all:?}");
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(200))]
        // shows: TH-13
        #[test]
        fn the_ceiling_is_tight(
            (p, rate, time) in (1..20_usize, 1..4_usize).prop_flat_map(|(cells, kinds)| (
                prop::collection::vec(0.0..1.0_f64, cells),
                prop::collection::vec(prop::collection::vec(prop_oneof![0.0..2.0_f64, Just(0.0), Just(1.0)], kinds), cells),
                prop::collection::vec(prop_oneof![0.0..10.0_f64, Just(0.0), 0.0..0.01_f64, 0.0..300.0_f64], kinds),
            ))
        ) {
            let total: f64 = p.iter().sum();
            let p: Vec<f64> = p.iter().map(|x| x / total.max(1.0)).collect();
            let best = mixed_effort(&p, &rate, &time);
            prop_assert!(best.ceiling >= best.pos);
            prop_assert!(best.ceiling - best.pos <= 1e-9, "gap {} of {}", best.ceiling - best.pos, best.pos);
            for j in 0..time.len() {
                let spent: f64 = best.time_s.iter().map(|row| row[j]).sum();
                prop_assert!(spent <= time[j] * (1.0 + 1e-12));
            }
        }
    }
}
