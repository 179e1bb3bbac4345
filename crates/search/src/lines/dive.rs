//! Surface-dive line: one cycle, and how far it advances.

use measure::special::rearmost_mean;

/// One dive of a line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DiveCycle {
    /// Time under water: descent, bottom, ascent \[s\].
    pub under_s: f64,
    /// Surface interval beside re-forming \[s\].
    pub rest_s: f64,
    /// Whole cycle \[s\].
    pub cycle_s: f64,
    /// Way along the bottom \[m\].
    pub bottom_m: f64,
}

/// What a dive cycle is made of.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DivePace {
    /// Descent \[m/s\], > 0.
    pub descent_mps: f64,
    /// Ascent \[m/s\], > 0.
    pub ascent_mps: f64,
    /// Time at the bottom \[s\].
    pub bottom_s: f64,
    /// Pace along the bottom \[m/s\].
    pub bottom_mps: f64,
    /// Count, re-form and back up \[s\].
    pub reform_s: f64,
    /// Rest over time under water.
    pub rest_factor: f64,
    /// Rest, at least \[s\].
    pub rest_least_s: f64,
}

/// Cycle of a surface-dive line at one depth: descent + bottom + ascent + re-form + rest.
///
/// Rest is `rest_factor` × time under water, at least `rest_least_s`. Model `dive_cycle`, docs/models/lines.md.
///
/// # Inputs
/// - `depth_m` ≥ 0 · `pace`
///
/// # Gives
/// Times \[s\] and bottom way \[m\].
///
/// # Source
/// common practice, no published source; rest from mulder-2023 as a limit
pub fn dive_cycle(depth_m: f64, pace: &DivePace) -> DiveCycle {
    let under_s = depth_m / pace.descent_mps + pace.bottom_s + depth_m / pace.ascent_mps;
    let rest_s = (pace.rest_factor * under_s).max(pace.rest_least_s);
    DiveCycle {
        under_s,
        rest_s,
        cycle_s: under_s + pace.reform_s + rest_s,
        bottom_m: pace.bottom_s * pace.bottom_mps,
    }
}

/// Net advance of a line of `searchers` that re-forms at its rearmost and backs up `back_m`:
/// mean − sd · m_n · √(1 − correlation) − back.
///
/// # Inputs
/// - `searchers` ≥ 1 · `mean_m`, `sd_m`: bottom way of one diver \[m\] · `back_m` \[m\] · `correlation` of the ways in 0..1
///
/// # Gives
/// \[m\]; zero or less means that the line cannot advance.
///
/// # Source
/// expected minimum of equal normals (jones-1948 for the exact means)
pub fn line_advance(searchers: usize, mean_m: f64, sd_m: f64, back_m: f64, correlation: f64) -> f64 {
    mean_m - sd_m * rearmost_mean(searchers) * (1.0 - correlation).max(0.0).sqrt() - back_m
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-3
    #[test]
    fn a_line_of_six_advances_as_published() {
        assert!((line_advance(6, 8.0, 1.5, 1.8, 0.0) - 4.299_190_459_082_793).abs() < 1e-9);
        assert!((line_advance(6, 8.0, 1.5, 1.8, 0.4) - 4.727_639_260_743_098).abs() < 1e-9);
    }

    // shows: LN-4
    #[test]
    fn ten_seconds_on_the_bottom_give_two_metres() {
        let pace = DivePace {
            descent_mps: 0.5,
            ascent_mps: 0.7,
            bottom_s: 10.0,
            bottom_mps: 0.4,
            reform_s: 15.0,
            rest_factor: 1.0,
            rest_least_s: 20.0,
        };
        let cycle = dive_cycle(2.1, &pace);
        assert!((cycle.bottom_m - 1.8 - 2.2).abs() < 1e-12);
        assert!(
            (cycle.under_s - 17.2).abs() < 1e-12
                && cycle.rest_s == 20.0
                && (cycle.cycle_s - 52.2).abs() < 1e-12
        );
    }
}
