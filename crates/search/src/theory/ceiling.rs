//! Ceiling on the survival-weighted chance found: what no plan of random effort can beat.

use super::effort::{Cell, steps};

/// Effort that begins at `start_s` and goes on at one rate until `horizon_s`, on the clock of the weight.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SteadyEffort {
    /// Searching way a second, of all searchers together \[m/s\].
    pub rate_mps: f64,
    /// Begin \[s\].
    pub start_s: f64,
    /// End \[s\].
    pub horizon_s: f64,
    /// The weight is V(t) = e^(−t/decay) \[s\], > 0.
    pub decay_s: f64,
}

/// Ceilings on what steady effort can reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ceiling {
    /// Greatest chance found by the end, P*(T).
    pub found: f64,
    /// Greatest weighted chance V(T) P*(T) + ∫ P*(t) (−V'(t)) dt = ∫ V dP*.
    pub weighted: f64,
}

/// Ceiling on the chance found and on its survival-weighted form, for effort at one rate.
///
/// Best allocations are nested, so one plan is best at all times and ∫ V dP* is both bound and optimum
/// for random effort. dP*/dE is the level of [`super::optimal_effort`], an exponential of E between the
/// entries of two cells, so each piece integrates in closed form. A gap-free sweep can beat 1 − e^(−C):
/// give it −ln(1 − q) of coverage a pass (TH-11). Model `effort_ceiling`, docs/models/theory.md.
///
/// # Inputs
/// - `cells`: chance, area, sweep width · `effort`: rate ≥ 0, start, horizon, decay > 0
///
/// # Gives
/// Both ceilings; zero if the horizon comes before the start.
///
/// # Source
/// derived here; checked by quadrature
pub fn effort_ceiling(cells: &[Cell], effort: &SteadyEffort) -> Ceiling {
    let steps = steps(cells.iter().map(|c| (c.p, c.coverage_per_m())));
    let end = effort.rate_mps * (effort.horizon_s - effort.start_s).max(0.0);
    let mut ceiling = Ceiling { found: 0.0, weighted: 0.0 };
    let (mut width, mut spent) = (0.0, 0.0);
    for (k, &(log_yield, inverse)) in steps.iter().enumerate() {
        if spent >= end {
            break;
        }
        width += inverse;
        // The level falls from this cell's yield to the next one's: that takes so much effort.
        let drop = steps.get(k + 1).map_or(f64::INFINITY, |next| log_yield - next.0);
        let piece = (width * drop).min(end - spent);
        let level = libm::exp(log_yield);
        ceiling.found += -level * width * libm::expm1(-piece / width);
        let seconds = piece / effort.rate_mps;
        let fall = effort.rate_mps / width + 1.0 / effort.decay_s;
        let begin = libm::exp(-(effort.start_s + spent / effort.rate_mps) / effort.decay_s);
        ceiling.weighted += begin * level * effort.rate_mps * -libm::expm1(-fall * seconds) / fall;
        spent += piece;
    }
    ceiling
}

#[cfg(test)]
mod tests {
    use super::super::{optimal_effort, timely_find};
    use super::*;

    fn four() -> Vec<Cell> {
        [(0.4, 3000.0), (0.3, 1500.0), (0.2, 2500.0), (0.1, 500.0)]
            .map(|(p, area_m2)| Cell { p, area_m2, sweep_width_m: 2.0 })
            .to_vec()
    }

    // shows: TH-9
    #[test]
    fn the_weighted_ceiling_is_the_integral_of_the_weight() {
        let effort = SteadyEffort { rate_mps: 3.0, start_s: 0.0, horizon_s: 900.0, decay_s: 300.0 };
        let ceiling = effort_ceiling(&four(), &effort);
        assert!((ceiling.found - 0.542_579_042_229_319_7).abs() < 1e-13);
        let n = 100_000;
        let dt = 900.0 / f64::from(n);
        let mut sum = libm::exp(-3.0) * optimal_effort(&four(), 2700.0).pos;
        for k in 0..n {
            let t = (f64::from(k) + 0.5) * dt;
            sum += optimal_effort(&four(), 3.0 * t).pos * libm::exp(-t / 300.0) / 300.0 * dt;
        }
        assert!((ceiling.weighted - sum).abs() < 1e-9, "{} not {sum}", ceiling.weighted);
    }

    // shows: TH-9
    #[test]
    fn a_late_start_loses_exactly_its_delay() {
        let early = SteadyEffort { rate_mps: 3.0, start_s: 0.0, horizon_s: 900.0, decay_s: 300.0 };
        let late = SteadyEffort { start_s: 120.0, horizon_s: 1020.0, ..early };
        let (a, b) = (effort_ceiling(&four(), &early), effort_ceiling(&four(), &late));
        assert!((a.found - b.found).abs() < 1e-15);
        assert!((b.weighted - a.weighted * libm::exp(-0.4)).abs() < 1e-15);
        let none = effort_ceiling(&four(), &SteadyEffort { horizon_s: 0.0, ..late });
        assert_eq!(none, Ceiling { found: 0.0, weighted: 0.0 });
        let idle = effort_ceiling(&four(), &SteadyEffort { rate_mps: 0.0, ..early });
        assert_eq!(idle, Ceiling { found: 0.0, weighted: 0.0 });
    }

    // shows: TH-10
    #[test]
    fn fine_cells_approach_the_circular_normal_from_below() {
        let (sigma, side, half) = (20.0_f64, 2.0_f64, 60_i32);
        let share = |k: i32| {
            let cdf = measure::special::normal_cdf;
            cdf(f64::from(k + 1) * side / sigma) - cdf(f64::from(k) * side / sigma)
        };
        let cells: Vec<Cell> = (-half..half)
            .flat_map(|i| (-half..half).map(move |j| (i, j)))
            .map(|(i, j)| Cell { p: share(i) * share(j), area_m2: side * side, sweep_width_m: 1.0 })
            .collect();
        let effort = SteadyEffort { rate_mps: 4.0, start_s: 0.0, horizon_s: 60_000.0, decay_s: 300.0 };
        let (fine, limit) = (effort_ceiling(&cells, &effort).weighted, timely_find(sigma, 4.0, 300.0));
        assert!(fine < limit && limit - fine < 5e-4, "{fine} {limit}");
    }
}
