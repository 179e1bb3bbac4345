//! Figures of depth as charts print them, in the units of the site.

use water::{FOOT_M, Units};

/// Whole and tenths of a sounding as charts print it; feet without tenths; above today's level with a minus.
pub fn sounding_text(depth_m: f64, units: Units) -> (String, String) {
    match units {
        Units::Feet => (format!("{:.0}", depth_m / FOOT_M), String::new()),
        Units::Metric => {
            let tenths = (depth_m.abs() * 10.0).round() as i64;
            let sign = if depth_m < 0.0 && tenths > 0 { "-" } else { "" };
            (format!("{sign}{}", tenths / 10), (tenths % 10).to_string())
        }
    }
}

/// The figure on a contour.
pub fn contour_text(level: f64) -> String {
    let text = format!("{level:.1}");
    text.strip_suffix(".0").map_or(text.clone(), str::to_string)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_read_what_was_meant() {
        assert_eq!(sounding_text(2.96, Units::Metric), ("3".into(), "0".into()));
        assert_eq!(sounding_text(-0.02, Units::Metric), ("0".into(), "0".into()));
        assert_eq!(sounding_text(-0.3, Units::Metric), ("-0".into(), "3".into()));
        assert_eq!(contour_text(1.0), "1");
        assert_eq!(contour_text(2.5), "2.5");
    }
}
