//! Order of looks where going from cell to cell costs nothing.

use std::cmp::Ordering;
use std::collections::BinaryHeap;

/// One cell that can be looked into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LookCell {
    /// Chance that the person is here.
    pub p: f64,
    /// Chance that one look finds them if here.
    pub q: f64,
    /// Cost of one look, > 0.
    pub cost: f64,
}

/// Looks in their best order.
#[derive(Clone, Debug, PartialEq)]
pub struct LookOrder {
    /// Cell of each look, from 0.
    pub order: Vec<usize>,
    /// Σ of the chance found by each look × decay^(cost when it ends).
    pub value: f64,
}

/// The `looks` given (cell indices, repeats allowed) in the order of greatest value.
///
/// The k-th look into a cell finds with g = p q (1 − q)^k. By exchanging neighbours the best order is by
/// g β^c / (1 − β^c) for the weight β^(finish), and by g / c without decay (β = 1); ties go to the lower
/// index. Model `look_order`, docs/models/theory.md.
///
/// # Inputs
/// - `cells` · `looks`: cell of each look · `decay`: weight β of one unit of cost, in (0, 1\]
///
/// # Gives
/// Order and value; without decay the value is the chance found.
///
/// # Panics
/// If a look names no cell.
///
/// # Source
/// black-1965 without decay; exchange argument with it
pub fn order_looks(cells: &[LookCell], looks: &[usize], decay: f64) -> LookOrder {
    let mut times = vec![0_u32; cells.len()];
    let mut ranked: Vec<Ranked> = looks
        .iter()
        .map(|&cell| {
            times[cell] += 1;
            Ranked::new(cells, cell, times[cell] - 1, decay)
        })
        .collect();
    ranked.sort_by(|a, b| b.cmp(a));
    valued(cells, ranked.iter().map(|r| r.cell).collect(), decay)
}

/// The first `n` looks of the endless best order.
///
/// # Inputs
/// - as [`order_looks`]; `n`: number of looks
///
/// # Gives
/// Order and value, as [`order_looks`].
///
/// # Source
/// black-1965 without decay; exchange argument with it
pub fn best_looks(cells: &[LookCell], n: usize, decay: f64) -> LookOrder {
    let mut heap: BinaryHeap<Ranked> =
        (0..cells.len()).map(|cell| Ranked::new(cells, cell, 0, decay)).collect();
    let mut order = Vec::with_capacity(n.min(1 << 20));
    while order.len() < n {
        let Some(best) = heap.pop() else { break };
        order.push(best.cell);
        heap.push(Ranked::new(cells, best.cell, best.times + 1, decay));
    }
    valued(cells, order, decay)
}

fn valued(cells: &[LookCell], order: Vec<usize>, decay: f64) -> LookOrder {
    let mut left: Vec<f64> = cells.iter().map(|c| c.p).collect();
    let (mut cost, mut value) = (0.0, 0.0);
    for &cell in &order {
        cost += cells[cell].cost;
        value += left[cell] * cells[cell].q * libm::pow(decay, cost);
        left[cell] *= 1.0 - cells[cell].q;
    }
    LookOrder { order, value }
}

/// A look with its rank; greater is sooner.
struct Ranked {
    rank: f64,
    cell: usize,
    times: u32,
}

impl Ranked {
    fn new(cells: &[LookCell], cell: usize, times: u32, decay: f64) -> Self {
        let LookCell { p, q, cost } = cells[cell];
        let find = p * q * libm::pow(1.0 - q, f64::from(times));
        // β^c/(1 − β^c) = 1/(β^−c − 1), which keeps its digits for β near one.
        let price = if decay < 1.0 { libm::expm1(-cost * libm::log(decay)) } else { cost };
        Ranked { rank: find / price, cell, times }
    }
}

impl Ord for Ranked {
    fn cmp(&self, other: &Self) -> Ordering {
        (self.rank.total_cmp(&other.rank))
            .then_with(|| other.cell.cmp(&self.cell))
            .then_with(|| other.times.cmp(&self.times))
    }
}

impl PartialOrd for Ranked {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl PartialEq for Ranked {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Ranked {}

#[cfg(test)]
mod tests {
    use super::*;

    fn three() -> [LookCell; 3] {
        [(0.5, 0.5, 3.0), (0.3, 0.8, 2.0), (0.2, 0.9, 1.0)].map(|(p, q, cost)| LookCell { p, q, cost })
    }

    // shows: TH-14
    #[test]
    fn without_decay_looks_go_by_chance_over_cost() {
        let best = best_looks(&three(), 10, 1.0);
        assert_eq!(best.order, [2, 1, 0, 0, 1, 0, 2, 0, 0, 1]);
        assert_eq!(order_looks(&three(), &[0, 0, 1, 1, 2], 1.0).order, [2, 1, 0, 0, 1]);
    }

    // shows: TH-15
    #[test]
    fn with_decay_no_other_order_is_worth_more() {
        let looks = [0, 0, 1, 1, 2];
        for decay in [0.5, 0.9, 0.99] {
            let best = order_looks(&three(), &looks, decay);
            let mut orders = vec![Vec::new()];
            for _ in 0..looks.len() {
                orders = orders
                    .iter()
                    .flat_map(|o: &Vec<usize>| {
                        (0..5).filter(|k| !o.contains(k)).map(|k| [o.clone(), vec![k]].concat())
                    })
                    .collect();
            }
            let most = orders
                .iter()
                .map(|o| valued(&three(), o.iter().map(|&k| looks[k]).collect(), decay).value)
                .fold(0.0, f64::max);
            assert!((best.value - most).abs() < 1e-15, "decay {decay}: {} not {most}", best.value);
        }
        assert!((order_looks(&three(), &looks, 0.9).value - 0.533_310_719_737_32).abs() < 1e-14);
    }

    // shows: TH-14
    #[test]
    fn certain_looks_are_not_repeated_and_ties_go_to_the_lower_cell() {
        let cells = [LookCell { p: 0.3, q: 1.0, cost: 1.0 }; 3];
        assert_eq!(best_looks(&cells, 4, 0.9).order, [0, 1, 2, 0]);
        assert!((best_looks(&cells, 4, 1.0).value - 0.9).abs() < 1e-15);
        assert!(best_looks(&[], 3, 1.0).order.is_empty());
    }
}
