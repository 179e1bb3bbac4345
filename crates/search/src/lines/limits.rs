//! What one person may do: how deep they wade and dive, how long they stay under and in the water.
//!
//! These are hard limits: no line is planned past them.

use measure::parameters::value;
use water::{Limits, Member};

/// Deepest water a person may stand in \[m\]: their chest (a volunteer's waist), and the site's limit; `None` if they may not wade.
///
/// # Inputs
/// - `member` · `limits`: of the site
///
/// # Gives
/// \[m\].
///
/// # Source
/// cox-2004 for the site default of 1.2 m; chest and waist assumed shares of height
pub fn wade_depth(member: &Member, limits: &Limits) -> Option<f64> {
    if !member.wade && !member.volunteer {
        return None;
    }
    let share = value(if member.volunteer { "waist_share" } else { "chest_share" });
    let height_m = if member.height_m > 0.0 { member.height_m } else { value("height_guard_m") };
    positive((share * height_m).min(limits.wade_depth_m))
}

/// Deepest surface dive of a person \[m\]: their own limit and the site's; `None` if they may not dive.
///
/// # Inputs
/// - `member` · `limits`: of the site
///
/// # Gives
/// \[m\].
///
/// # Source
/// common practice, no published source
pub fn dive_depth(member: &Member, limits: &Limits) -> Option<f64> {
    if member.volunteer {
        return None;
    }
    positive(member.dive_m?.min(limits.dive_depth_m))
}

fn positive(depth_m: f64) -> Option<f64> {
    (depth_m.is_finite() && depth_m > 0.0).then_some(depth_m)
}

/// Time under water planned for one dive \[s\], shorter in cold water; `None` where nobody dives unprotected.
///
/// # Inputs
/// - `water_c`: water temperature \[°C\]; not a number counts as the coldest
///
/// # Gives
/// \[s\]: 20 above 15 °C, 12 at 15 °C falling to 8 at 10 °C, none below.
///
/// # Source
/// common practice, no published source
pub fn dive_time(water_c: f64) -> Option<f64> {
    let (cold_c, coldest_c) = (value("cold_dive_c"), value("wetsuit_cold_c"));
    if water_c > cold_c {
        return Some(value("dive_time_s"));
    }
    if water_c.is_nan() || water_c < coldest_c {
        return None;
    }
    let (warm_s, cold_s) = (value("dive_time_cold_s"), value("dive_time_colder_s"));
    Some(cold_s + (warm_s - cold_s) * (water_c - coldest_c) / (cold_c - coldest_c))
}

/// Longest turn of a searcher in the water in swimwear \[s\].
///
/// # Inputs
/// - `water_c`: water temperature \[°C\]; not a number counts as the coldest
///
/// # Gives
/// \[s\]; afterwards out and warm.
///
/// # Source
/// common practice, no published source
pub fn water_turn(water_c: f64) -> f64 {
    value(if water_c >= 25.0 {
        "turn_25_s"
    } else if water_c >= 20.0 {
        "turn_20_s"
    } else if water_c >= 15.0 {
        "turn_15_s"
    } else if water_c >= 10.0 {
        "turn_10_s"
    } else {
        "turn_cold_s"
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn member(height_m: f64, volunteer: bool) -> Member {
        Member {
            name: "Ines".into(),
            height_m,
            wade: true,
            dive_m: Some(4.0),
            board: false,
            lookout: false,
            lead: false,
            volunteer,
            post: String::new(),
            hours: Vec::new(),
        }
    }

    // shows: LN-9
    #[test]
    fn the_chest_of_the_short_and_the_site_limit_the_tall() {
        let limits = Limits::default();
        assert!((wade_depth(&member(1.5, false), &limits).unwrap() - 0.72 * 1.5).abs() < 1e-12);
        assert_eq!(wade_depth(&member(1.9, false), &limits), Some(1.2));
        assert!((wade_depth(&member(1.7, true), &limits).unwrap() - 0.58 * 1.7).abs() < 1e-12);
        assert_eq!(dive_depth(&member(1.7, true), &limits), None);
        assert_eq!(dive_depth(&member(1.7, false), &limits), Some(4.0));
        assert_eq!(wade_depth(&member(f64::NAN, false), &limits), Some(1.2), "height not given: 1.72 m");
    }

    // shows: LN-10
    #[test]
    fn cold_water_cuts_the_dive_and_then_forbids_it() {
        for (water_c, expect) in
            [(20.0, Some(20.0)), (15.0, Some(12.0)), (12.5, Some(10.0)), (10.0, Some(8.0)), (9.9, None)]
        {
            assert_eq!(dive_time(water_c), expect, "{water_c}");
        }
        assert_eq!(dive_time(f64::NAN), None);
        assert_eq!(water_turn(17.0), 1200.0);
        assert_eq!(water_turn(f64::NAN), 300.0);
    }
}
