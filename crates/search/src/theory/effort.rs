//! Best spread of divisible effort over cells: fill to one level, like water.

/// One cell of a search area.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cell {
    /// Chance that the person is here.
    pub p: f64,
    /// Area \[m²\], > 0.
    pub area_m2: f64,
    /// Sweep width of whoever searches here \[m\]; 0 where nothing can be found.
    pub sweep_width_m: f64,
}

impl Cell {
    /// Coverage that one metre of way gives \[1/m\].
    pub(super) fn coverage_per_m(&self) -> f64 {
        self.sweep_width_m / self.area_m2
    }
}

/// Effort per cell.
#[derive(Clone, Debug, PartialEq)]
pub struct Allocation {
    /// Way per cell \[m\].
    pub effort_m: Vec<f64>,
    /// Chance found that one more metre would add, the same in every searched cell \[1/m\].
    pub level: f64,
    /// Chance found.
    pub pos: f64,
}

/// Best spread of `effort_m` metres of searching way: maximises Σ p (1 − e^(−W z / A)).
///
/// The yield p W/A · e^(−W z/A) ends equal to one level in every searched cell and is nowhere above it;
/// cells of equal yield enter together. Model `optimal_effort`, docs/models/theory.md.
///
/// # Inputs
/// - `cells`: chance ≥ 0, area > 0, sweep width ≥ 0 · `effort_m` ≥ 0 \[m\]
///
/// # Gives
/// Way per cell \[m\], level and chance found. With no cell worth searching: no effort, level 0.
///
/// # Source
/// koopman; derived again here
pub fn optimal_effort(cells: &[Cell], effort_m: f64) -> Allocation {
    let rate: Vec<f64> = cells.iter().map(Cell::coverage_per_m).collect();
    let log_level = water_level(cells.iter().map(|c| c.p).zip(rate.iter().copied()), effort_m);
    let Some(log_level) = log_level else {
        return Allocation { effort_m: vec![0.0; cells.len()], level: 0.0, pos: 0.0 };
    };
    let effort: Vec<f64> = cells.iter().zip(&rate).map(|(c, a)| depth_under(c.p, *a, log_level)).collect();
    let pos = cells.iter().zip(&rate).zip(&effort).map(|((c, a), z)| -c.p * libm::expm1(-a * z)).sum();
    Allocation { effort_m: effort, level: libm::exp(log_level), pos }
}

/// Effort of a cell with chance `p` and `rate` coverage a unit when the water stands at e^`log_level`.
pub(super) fn depth_under(p: f64, rate: f64, log_level: f64) -> f64 {
    if p > 0.0 && rate > 0.0 { ((libm::log(p) + libm::log(rate) - log_level) / rate).max(0.0) } else { 0.0 }
}

/// Cells that yield anything, best first: (log of the yield, 1/rate) of each.
pub(super) fn steps(cells: impl Iterator<Item = (f64, f64)>) -> Vec<(f64, f64)> {
    let mut steps: Vec<(f64, f64)> = cells
        .filter(|&(p, rate)| p > 0.0 && rate > 0.0)
        .map(|(p, rate)| (libm::log(p) + libm::log(rate), 1.0 / rate))
        .collect();
    steps.sort_unstable_by(|a, b| b.0.total_cmp(&a.0).then(a.1.total_cmp(&b.1)));
    steps
}

/// Natural logarithm of the level that spends `effort`; `None` where no cell yields anything.
pub(super) fn water_level(cells: impl Iterator<Item = (f64, f64)>, effort: f64) -> Option<f64> {
    let steps = steps(cells);
    let top = steps.first()?.0;
    // Below the first cell: Σ (drop_i) / rate_i = effort, drops counted from the top so that sums stay small.
    let (mut width, mut moment) = (0.0, 0.0);
    for (k, &(log_yield, inverse)) in steps.iter().enumerate() {
        width += inverse;
        moment += inverse * (top - log_yield);
        let fall = (effort + moment) / width;
        match steps.get(k + 1) {
            Some(next) if top - next.0 < fall => {}
            _ => return Some(top - fall),
        }
    }
    unreachable!("the last cell ends the walk")
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn four() -> Vec<Cell> {
        [(0.4, 3000.0), (0.3, 1500.0), (0.2, 2500.0), (0.1, 500.0)]
            .map(|(p, area_m2)| Cell { p, area_m2, sweep_width_m: 2.0 })
            .to_vec()
    }

    // shows: TH-7
    #[test]
    fn cells_of_equal_yield_enter_together() {
        let best = optimal_effort(&four(), 400.0);
        for (z, expect) in best.effort_m.iter().zip([0.0, 300.0, 0.0, 100.0]) {
            assert!((z - expect).abs() < 1e-9, "{:?}", best.effort_m);
        }
        assert!((best.pos - 0.131_871_981_585_744_15).abs() < 1e-14);
        assert!((best.level - 0.000_268_128_018_414_255_9).abs() < 1e-16);
    }

    // shows: TH-8
    #[test]
    fn nothing_to_find_takes_no_effort() {
        let none =
            [Cell { p: 0.0, area_m2: 10.0, sweep_width_m: 1.0 }, Cell { sweep_width_m: 0.0, ..four()[0] }];
        assert_eq!(
            optimal_effort(&none, 50.0),
            Allocation { effort_m: vec![0.0, 0.0], level: 0.0, pos: 0.0 }
        );
        assert_eq!(optimal_effort(&[], 50.0).pos, 0.0);
        assert_eq!(optimal_effort(&four(), 0.0).pos, 0.0);
    }

    proptest! {
        // shows: TH-7
        #[test]
        fn the_level_is_the_same_where_searched_and_lower_elsewhere(
            rows in prop::collection::vec((0.0..1.0_f64, 1.0..1e4_f64, 0.0..5.0_f64), 1..30),
            effort in 0.0..1e5_f64,
        ) {
            let cells: Vec<Cell> = rows.iter()
                .map(|&(p, area_m2, sweep_width_m)| Cell { p, area_m2, sweep_width_m }).collect();
            let best = optimal_effort(&cells, effort);
            let spent: f64 = best.effort_m.iter().sum();
            prop_assert!(best.level == 0.0 || (spent - effort).abs() <= 1e-9 * effort.max(1.0));
            for (c, z) in cells.iter().zip(&best.effort_m) {
                let a = c.coverage_per_m();
                let yielded = c.p * a * libm::exp(-a * z);
                prop_assert!(yielded <= best.level * (1.0 + 1e-9));
                prop_assert!(*z <= 1e-6 || yielded >= best.level * (1.0 - 1e-9));
            }
        }
    }
}
