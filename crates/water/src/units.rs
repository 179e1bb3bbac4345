//! Lengths, areas and depths as people read them, in the units of the site.

use crate::Units;

/// One international foot \[m\].
pub const FOOT_M: f64 = 0.3048;

impl Units {
    /// The unit of lengths: `m`, `ft`.
    pub fn length_unit(self) -> &'static str {
        match self {
            Units::Metric => "m",
            Units::Feet => "ft",
        }
    }

    /// A length \[m\] in [`Units::length_unit`].
    pub fn length_of(self, metres: f64) -> f64 {
        match self {
            Units::Metric => metres,
            Units::Feet => metres / FOOT_M,
        }
    }

    /// A length, with one decimal under ten metres, so that a limit is not rounded away: `1.2 m`, `3.9 ft`.
    pub fn length(self, metres: f64) -> String {
        let (length, unit) = (self.length_of(metres), self.length_unit());
        match metres {
            m if !m.is_finite() => format!("unknown {unit}"),
            m if m.abs() < 9.95 => format!("{length:.1} {unit}"),
            _ => format!("{length:.0} {unit}"),
        }
    }

    /// A length to the whole metre or foot, for ways and distances: `12 m`, `39 ft`.
    pub fn distance(self, metres: f64) -> String {
        format!("{:.0} {}", self.length_of(metres), self.length_unit())
    }

    /// A length that somebody told, with no more digits than it has, two at most: `1.25 m`, `4.1 ft`.
    pub fn told(self, metres: f64) -> String {
        format!("{} {}", hundredths(self.length_of(metres)), self.length_unit())
    }

    /// A number with the unit of the register or of a file; lengths as told.
    pub fn given(self, value: f64, unit: &str) -> String {
        match (self, unit) {
            (Units::Feet, "m") => self.told(value),
            _ => format!("{value} {unit}"),
        }
    }

    /// A told length with its sign, for a change: `+0.3 m`, `-1 ft`.
    pub fn change(self, metres: f64) -> String {
        let sign = if metres < 0.0 { "-" } else { "+" };
        format!("{sign}{}", self.told(metres.abs()))
    }

    /// The unit of areas: `m²`, `sq ft`.
    pub fn area_unit(self) -> &'static str {
        match self {
            Units::Metric => "m²",
            Units::Feet => "sq ft",
        }
    }

    /// An area \[m²\] in [`Units::area_unit`].
    pub fn area_of(self, m2: f64) -> f64 {
        match self {
            Units::Metric => m2,
            Units::Feet => m2 / (FOOT_M * FOOT_M),
        }
    }

    /// An area with groups of three digits; square kilometres from a million square metres on.
    pub fn area(self, m2: f64) -> String {
        let (area, unit) = (self.area_of(m2), self.area_unit());
        if !area.is_finite() {
            return format!("unknown {unit}");
        }
        if self == Units::Metric && m2 >= 1e6 {
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

    /// A stage, to the centimetre or the hundredth of a foot.
    pub fn stage(self, stage_m: f64) -> String {
        format!("stage {:.2} {}", self.length_of(stage_m), self.length_unit())
    }

    /// Height of a person, as people say it: `1.30 m`, `4 ft 3 in`.
    pub fn height(self, metres: f64) -> String {
        match self {
            Units::Metric => format!("{metres:.2} m"),
            Units::Feet => {
                let inches = (12.0 * metres / FOOT_M).round();
                format!("{} ft {} in", (inches / 12.0).floor(), inches % 12.0)
            }
        }
    }
}

fn hundredths(x: f64) -> f64 {
    (x * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn people_read_what_was_meant() {
        let (metric, feet) = (Units::Metric, Units::Feet);
        assert_eq!((metric.length(1.2), feet.length(1.2)), ("1.2 m".into(), "3.9 ft".into()));
        assert_eq!((metric.length(25.4), feet.length(25.4)), ("25 m".into(), "83 ft".into()));
        assert_eq!(metric.length(f64::INFINITY), "unknown m");
        assert_eq!((metric.distance(4.4), feet.distance(4.4)), ("4 m".into(), "14 ft".into()));
        assert_eq!((metric.told(1.25), feet.told(1.2)), ("1.25 m".into(), "3.94 ft".into()));
        assert_eq!((metric.given(3.0, "m"), feet.given(3.0, "m")), ("3 m".into(), "9.84 ft".into()));
        assert_eq!(feet.given(0.3, "m/s"), "0.3 m/s");
        assert_eq!((metric.change(0.3), feet.change(-0.3048)), ("+0.3 m".into(), "-1 ft".into()));
        assert_eq!((metric.height(1.3), feet.height(1.3)), ("1.30 m".into(), "4 ft 3 in".into()));
        assert_eq!(feet.height(1.828), "6 ft 0 in");
        assert_eq!(metric.area(1234.6), "1,235 m²");
        assert_eq!(feet.area(1234.6), "13,289 sq ft");
        assert_eq!(metric.area(f64::NAN), "unknown m²");
        assert_eq!(
            (metric.stage(0.3048), feet.stage(0.3048)),
            ("stage 0.30 m".into(), "stage 1.00 ft".into())
        );
    }
}
