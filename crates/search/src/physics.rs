//! How a person drifts, sinks and rests: scalar forms of models F3, B3, B4, B5.

use measure::{Bearing, Spot, parameters::value};

/// Acceleration of gravity does not enter: net weights are given in newtons.
const PROFILE: f64 = 1.0 / 7.0;

/// Current at a height over the bottom: U(z) = U_s (z/h)^(1/7).
///
/// # Inputs
/// - `surface_mps`: surface current \[m/s\] · `depth_m`: water depth h \[m\] · `height_m`: height z over the bottom \[m\]
///
/// # Gives
/// \[m/s\]; zero at the bottom and in no water; the surface value at and above the surface.
///
/// # Source
/// common practice, no published source (one-seventh power profile)
pub fn current_at(surface_mps: f64, depth_m: f64, height_m: f64) -> f64 {
    if depth_m <= 0.0 || height_m <= 0.0 {
        return 0.0;
    }
    surface_mps * libm::pow((height_m / depth_m).min(1.0), PROFILE)
}

/// Mean of that profile over the depth: 7/8 of the surface current \[m/s\].
///
/// # Source
/// integral of the one-seventh power profile
pub fn depth_mean_current(surface_mps: f64) -> f64 {
    surface_mps * (1.0 / (1.0 + PROFILE))
}

/// Step of a person at the surface: current plus leeway, a share of the wind down-wind.
///
/// # Inputs
/// - `current`: \[m/s east, north\] · `wind_mps` \[m/s\] · `wind_from`: where it comes from · `leeway`: share of the wind · `seconds`
///
/// # Gives
/// Step \[m east, north\].
///
/// # Source
/// leeway-korea-1998, leeway-yingge-2011 for the share
pub fn surface_drift(current: Spot, wind_mps: f64, wind_from: Bearing, leeway: f64, seconds: f64) -> Spot {
    (current + Spot::towards(wind_from.reversed(), wind_mps * leeway)) * seconds
}

/// Terminal speed of sinking: √(2 W / (ρ C_d A)).
///
/// # Inputs
/// - `net_weight_n`: weight in water W \[N\], ≥ 0 · `drag_area_m2`: C_d A \[m²\], > 0 · `density_kgm3`: ρ \[kg/m³\], > 0
///
/// # Gives
/// \[m/s\].
///
/// # Source
/// balance of drag and net weight
pub fn terminal_speed(net_weight_n: f64, drag_area_m2: f64, density_kgm3: f64) -> f64 {
    (2.0 * net_weight_n / (density_kgm3 * drag_area_m2)).sqrt()
}

/// How far the current carries a person while sinking through constant depth: U_s · 7/8 · h / v_t.
///
/// # Inputs
/// - `surface_mps` \[m/s\] · `depth_m` \[m\] · `sink_mps`: terminal speed \[m/s\], > 0
///
/// # Gives
/// (offset \[m\], time \[s\]).
///
/// # Source
/// integral of the one-seventh power profile at constant sinking speed
pub fn sink_offset(surface_mps: f64, depth_m: f64, sink_mps: f64) -> (f64, f64) {
    let time_s = depth_m / sink_mps;
    (depth_mean_current(surface_mps) * time_s, time_s)
}

/// Current at which a resting body begins to slide: at the body √(2 μ W / (ρ C_d A)), and the surface
/// current that gives it `height_m` over the bottom in water `depth_m` deep.
///
/// # Gives
/// (speed at the body, speed at the surface) \[m/s\].
///
/// # Source
/// balance of drag and Coulomb friction; profile as [`current_at`]
pub fn bed_hold(
    net_weight_n: f64,
    friction: f64,
    drag_area_m2: f64,
    depth_m: f64,
    height_m: f64,
    density_kgm3: f64,
) -> (f64, f64) {
    let body = (2.0 * friction * net_weight_n / (density_kgm3 * drag_area_m2)).sqrt();
    let share = current_at(1.0, depth_m, height_m);
    (body, if share > 0.0 { body / share } else { f64::INFINITY })
}

/// Speed at the body from which an average person slides, by the register's defaults \[m/s\].
///
/// # Source
/// assumed (net weight, friction, drag area of the register)
pub fn holding_speed(density_kgm3: f64) -> f64 {
    (2.0 * value("bed_friction") * value("net_weight_n") / (density_kgm3 * value("bed_drag_area_m2"))).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: SI-2
    #[test]
    fn worked_values_of_the_facts() {
        // U_s 0.2 m/s, h 3 m, v_t 0.5 m/s gives 1.05 m
        assert!((sink_offset(0.2, 3.0, 0.5).0 - 1.05).abs() < 1e-12);
        // W 30 N: 0.78 upright (0.10 m²), 0.29 flat (0.70 m²), two printed digits
        assert!((terminal_speed(30.0, 0.10, 998.0) - 0.78).abs() < 0.005);
        assert!((terminal_speed(30.0, 0.70, 998.0) - 0.29).abs() < 0.005);
        // W 30, friction 0.5: 0.29 broadside, 0.50 end-on
        assert!((bed_hold(30.0, 0.5, 0.37, 3.0, 0.2, 998.0).0 - 0.29).abs() < 0.005);
        assert!((bed_hold(30.0, 0.5, 0.12, 3.0, 0.2, 998.0).0 - 0.50).abs() < 0.005);
    }

    // shows: CU-2
    #[test]
    fn the_profile_is_zero_at_the_bottom_and_whole_at_the_surface() {
        assert_eq!(current_at(0.3, 2.0, 0.0), 0.0);
        assert!((current_at(0.3, 2.0, 2.0) - 0.3).abs() < 1e-15);
        assert_eq!(current_at(0.3, 0.0, 1.0), 0.0);
    }

    // shows: CU-2
    #[test]
    fn the_mean_of_the_profile_is_seven_eighths() {
        let n = 200_000;
        let sum: f64 = (0..n).map(|k| current_at(0.4, 3.0, 3.0 * (f64::from(k) + 0.5) / f64::from(n))).sum();
        // The root-like foot of the profile costs the midpoint rule about n^(−8/7).
        assert!((sum / f64::from(n) - depth_mean_current(0.4)).abs() < 1e-6);
    }

    // shows: CU-3
    #[test]
    fn a_west_wind_drives_east() {
        let step = surface_drift(Spot::new(0.1, 0.05), 5.0, Bearing::new(270.0), 0.01, 60.0);
        assert!((step.east - 9.0).abs() < 1e-12 && (step.north - 3.0).abs() < 1e-12, "{step:?}");
    }

    // shows: SI-1
    #[test]
    fn sinking_goes_with_the_roots_of_weight_and_drag() {
        let one = terminal_speed(30.0, 0.2, 998.0);
        assert!((terminal_speed(120.0, 0.2, 998.0) - 2.0 * one).abs() < 1e-14);
        assert!((terminal_speed(30.0, 0.8, 998.0) - 0.5 * one).abs() < 1e-14);
    }

    // shows: SI-3
    #[test]
    fn more_friction_holds_against_more_current() {
        let (body, surface) = bed_hold(30.0, 0.5, 0.37, 3.0, 0.2, 998.0);
        let (firm, _) = bed_hold(30.0, 2.0, 0.37, 3.0, 0.2, 998.0);
        assert!((firm - 2.0 * body).abs() < 1e-14);
        assert!((current_at(surface, 3.0, 0.2) - body).abs() < 1e-14 && surface > body);
        assert!(bed_hold(30.0, 0.5, 0.37, 3.0, 0.0, 998.0).1.is_infinite());
    }
}
