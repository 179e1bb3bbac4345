//! One person from where they were last seen to where they lie, simulated step by step by its own code.
//!
//! The same register and the same forms as the belief, one person at a time: the belief is not asked.

use measure::chance::Draws;
use measure::{Spot, parameters::value};
use search::belief::basin::{Basin, Bottom};
use search::{Setting, physics};

/// A step over the water: one that would end on land slides along it or is not made.
fn stepped(basin: &Basin, from: Spot, step: Spot) -> Spot {
    let to = from + step;
    [to, Spot::new(to.east, from.north), Spot::new(from.east, to.north)]
        .into_iter()
        .find(|&spot| basin.is_water(spot))
        .unwrap_or(from)
}

/// A normal step of this spread per axis.
pub(crate) fn scattered(draws: &mut Draws, sigma_m: f64) -> Spot {
    Spot::new(draws.normal(), draws.normal()) * sigma_m
}

/// How likely trouble begins at a depth for somebody of whom nobody says whether they swim, relative to deep water.
pub(crate) fn trouble(depth_m: f64, height_m: f64) -> f64 {
    let deep = (depth_m - value("chin_share") * height_m) / value("chin_spread_m");
    let step = 1.0 / (1.0 + libm::exp(-1.702 * deep));
    let shallow = value("shallow_floor");
    1.0 - 0.5 * (1.0 - (shallow + (1.0 - shallow) * step))
}

/// When they went under and how long the water carried them before, after being seen at `last_s` (models B3).
fn moment(last_s: f64, draws: &mut Draws) -> (f64, f64) {
    if draws.u01() < value("late_share") {
        let under_s = (-value("late_window_s") * draws.u01()).max(last_s);
        return (under_s, draws.u01() * (under_s - last_s));
    }
    let kind = draws.u01();
    let (at_once, struggle) = (value("struggle_at_once_share"), value("struggle_share"));
    if kind < at_once {
        return (last_s, 0.0);
    }
    if kind < at_once + struggle {
        let seconds = draws.between(value("struggle_low_s"), value("struggle_high_s"));
        return (last_s + seconds, seconds);
    }
    let under_s = draws.between(last_s, 0.0);
    (under_s, draws.u01() * (under_s - last_s))
}

/// Where they came to rest and when \[s since the alarm\], after being at `seen` at `last_s`.
///
/// The surface current carries them while they struggle, the profile below it while they sink; on the bed they
/// stay where they land.
pub(crate) fn fate(
    (setting, basin): (&Setting, &Basin),
    (seen, last_s): (Spot, f64),
    went_under: bool,
    draws: &mut Draws,
) -> (Spot, f64) {
    let (under_s, carried_s) = if went_under { (last_s, 0.0) } else { moment(last_s, draws) };
    let own_s = (under_s - carried_s - last_s).max(0.0);
    let mut spot = stepped(basin, seen, scattered(draws, value("wander_mps") * own_s.sqrt()));
    // The doubt of the current is one error for the whole way.
    let [ee, en, nn] = setting.flow.covariance_at(spot);
    let a = ee.max(0.0).sqrt();
    let b = if a > 0.0 { en / a } else { 0.0 };
    let c = (nn - b * b).max(0.0).sqrt();
    let (first, second) = (draws.normal(), draws.normal());
    let doubt = Spot::new(a * first, b * first + c * second);
    let leeway = (value("leeway_share") + value("leeway_spread_share") * draws.normal()).max(0.0);
    const STEPS: u32 = 8;
    for _ in 0..STEPS {
        let (wind, from) = (setting.day.wind_mps, setting.day.wind_from);
        let current = setting.flow.at(spot) + doubt;
        let way = physics::surface_drift(current, wind, from, leeway, carried_s / f64::from(STEPS));
        spot = stepped(basin, spot, if way.is_finite() { way } else { Spot::default() });
    }
    let speed = libm::exp(libm::log(value("sink_median_mps")) + value("sink_log_sd") * draws.normal());
    let current = setting.flow.at(spot) + doubt;
    let (mut sunk_m, step_m) = (0.0, 0.05);
    while sunk_m < basin.depth(spot) {
        let depth_m = basin.depth(spot);
        let share = physics::current_at(1.0, depth_m, (depth_m - sunk_m - 0.5 * step_m).max(0.0));
        spot = stepped(basin, spot, current * (share * step_m / speed));
        sunk_m += step_m;
    }
    let scatter = scattered(draws, value("sink_scatter_share") * basin.depth(spot));
    for _ in 0..4 {
        spot = stepped(basin, spot, scatter * 0.25);
    }
    (spot, under_s + sunk_m / speed)
}
