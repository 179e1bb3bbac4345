//! Lengths, areas and depths as people read them, in the units of the site.

use water::Units;

/// A length in the units shown, with one decimal under ten metres, so that a limit is not rounded away.
pub fn length_text(metres: f64, units: Units) -> String {
    match units {
        Units::Metric if metres < 9.95 => format!("{metres:.1} m"),
        Units::Metric => format!("{metres:.0} m"),
        Units::Feet if metres < 9.95 => format!("{:.1} ft", metres / FOOT_M),
        Units::Feet => format!("{:.0} ft", metres / FOOT_M),
    }
}

/// An area in the units shown, with thin groups of three digits.
pub fn area_text(m2: f64, units: Units) -> String {
    let (area, unit) = match units {
        Units::Metric => (m2, "m²"),
        Units::Feet => (m2 / (FOOT_M * FOOT_M), "sq ft"),
    };
    if !area.is_finite() {
        return format!("unknown {unit}");
    }
    if units == Units::Metric && m2 >= 1e6 {
        return format!("{:.2} km²", m2 / 1e6);
    }
    let digits = format!("{:.0}", area.max(0.0));
    let mut out = String::new();
    for (k, c) in digits.chars().enumerate() {
        if k > 0 && (digits.len() - k) % 3 == 0 {
            out.push(',');
        }
        out.push(c);
    }
    format!("{out} {unit}")
}

/// One international foot \[m\].
pub const FOOT_M: f64 = 0.3048;

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

/// A stage in the units shown, to the centimetre or the hundredth of a foot.
pub fn stage_text(stage_m: f64, units: Units) -> String {
    match units {
        Units::Metric => format!("stage {stage_m:.2} m"),
        Units::Feet => format!("stage {:.2} ft", stage_m / FOOT_M),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_read_what_was_meant() {
        assert_eq!(length_text(1.2, Units::Metric), "1.2 m");
        assert_eq!(length_text(1.2, Units::Feet), "3.9 ft");
        assert_eq!(length_text(25.4, Units::Metric), "25 m");
        assert_eq!(area_text(1234.6, Units::Metric), "1,235 m²");
        assert_eq!(area_text(f64::NAN, Units::Metric), "unknown m²");
        assert_eq!(sounding_text(2.96, Units::Metric), ("3".into(), "0".into()));
        assert_eq!(sounding_text(-0.02, Units::Metric), ("0".into(), "0".into()));
        assert_eq!(sounding_text(-0.3, Units::Metric), ("-0".into(), "3".into()));
        assert_eq!(contour_text(1.0), "1");
        assert_eq!(contour_text(2.5), "2.5");
        assert_eq!(stage_text(0.3048, Units::Feet), "stage 1.00 ft");
    }
}
