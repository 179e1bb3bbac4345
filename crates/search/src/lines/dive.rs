//! Surface-dive line: one cycle, and how far it advances.

use measure::{parameters::value, special::rearmost_mean};

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

impl DivePace {
    /// Pace of today's divers, before the time at the bottom is known.
    ///
    /// # Inputs
    /// - `fins`: whether every diver wears fins
    ///
    /// # Source
    /// common practice, no published source
    pub fn today(fins: bool) -> Self {
        DivePace {
            descent_mps: value(if fins { "descent_fins_mps" } else { "descent_mps" }),
            ascent_mps: value("ascent_mps"),
            bottom_s: 0.0,
            bottom_mps: value(if fins { "bottom_fins_mps" } else { "bottom_mps" }),
            reform_s: value("reform_s"),
            rest_factor: value("rest_factor"),
            rest_least_s: value("rest_least_s"),
        }
    }
}

/// One advance of a dive line at a depth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct DiveStep {
    /// The dive.
    pub cycle: DiveCycle,
    /// Net advance \[m\]; the rest of the bottom way is searched again by the next dive.
    pub advance_m: f64,
}

/// One advance of a line of `searchers` who stay under for `dive_s`; `None` where the line cannot advance.
///
/// # Inputs
/// - `depth_m` ≥ 0 · `searchers` ≥ 1 · `dive_s`: time under water \[s\] · `pace`: its `bottom_s` is not read
///
/// # Gives
/// Cycle and net advance, at least `advance_least_m`.
///
/// # Source
/// [`dive_cycle`] and [`line_advance`]
pub fn dive_step(depth_m: f64, searchers: usize, dive_s: f64, pace: &DivePace) -> Option<DiveStep> {
    // The shortfall of the rearmost grows with the bottom way, so it is taken per metre of it.
    let shortfall = -line_advance(searchers, 0.0, value("bottom_spread_share"), 0.0, 0.0);
    step_with(depth_m, shortfall, dive_s, pace)
}

/// [`dive_step`] at several depths, `depths` times `by_m`: what a planner looks up.
pub(crate) fn dive_steps(
    searchers: usize,
    dive_s: f64,
    pace: &DivePace,
    depths: std::ops::Range<usize>,
    by_m: f64,
) -> Vec<Option<DiveStep>> {
    let shortfall = -line_advance(searchers, 0.0, value("bottom_spread_share"), 0.0, 0.0);
    depths.map(|k| step_with(k as f64 * by_m, shortfall, dive_s, pace)).collect()
}

fn step_with(depth_m: f64, shortfall: f64, dive_s: f64, pace: &DivePace) -> Option<DiveStep> {
    let bottom_s = dive_s - depth_m / pace.descent_mps - depth_m / pace.ascent_mps;
    if bottom_s.is_nan() || bottom_s <= 0.0 {
        return None;
    }
    let cycle = dive_cycle(depth_m, &DivePace { bottom_s, ..*pace });
    let advance_m = cycle.bottom_m * (1.0 - shortfall) - value("body_back_m");
    (advance_m >= value("advance_least_m")).then_some(DiveStep { cycle, advance_m })
}

/// Pause after dive number `done` (from 1) of a turn: count and re-form, surface interval, fatigue; longer after the
/// first five dives, and a relief after the last dive of the turn.
///
/// # Inputs
/// - `under_s`: time under water \[s\] · `done`: dives made in this turn, this one included · `pace`
///
/// # Gives
/// \[s\] from surfacing to the next dive.
///
/// # Source
/// mulder-2023 as a limit; otherwise common practice, no published source
pub fn pause_after(under_s: f64, done: usize, pace: &DivePace) -> f64 {
    if done >= value("dives_before_rest") as usize {
        return value("relief_s");
    }
    let fresh = value("dives_fresh") as usize;
    let factor = if done >= fresh { value("rest_factor_tired") } else { pace.rest_factor };
    let rest_s = (factor * under_s).max(pace.rest_least_s) + pace.reform_s;
    let slower = 1.0 + value("fatigue_per_5_dives") * (done / fresh) as f64;
    // The whole cycle grows with fatigue; nobody stays under longer for it, so the growth is at the surface.
    (under_s + rest_s) * slower - under_s
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
    fn a_line_too_deep_for_its_breath_cannot_advance() {
        let pace = DivePace::today(false);
        let step = dive_step(1.5, 4, 20.0, &pace).unwrap();
        assert!((step.cycle.under_s - 20.0).abs() < 1e-12);
        assert!(step.advance_m > 2.0 && step.advance_m < step.cycle.bottom_m - 1.8);
        assert_eq!(dive_step(4.5, 4, 20.0, &pace), None);
        assert_eq!(dive_step(12.0, 4, 20.0, &pace), None);
        assert_eq!(dive_step(f64::NAN, 4, 20.0, &pace), None);
        assert!(
            dive_step(3.0, 4, 20.0, &DivePace::today(true)).unwrap().advance_m
                > dive_step(3.0, 4, 20.0, &pace).unwrap().advance_m
        );
    }

    // shows: LN-11
    #[test]
    fn pauses_grow_with_the_dives_of_a_turn() {
        let pace = DivePace::today(false);
        assert_eq!(pause_after(20.0, 1, &pace), 35.0);
        assert!((pause_after(20.0, 5, &pace) - (75.0 * 1.1 - 20.0)).abs() < 1e-12);
        assert_eq!(pause_after(20.0, 8, &pace), 300.0);
    }

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
