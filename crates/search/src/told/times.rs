//! Clock times and "how long ago", as people say them.

/// Seconds after midnight of `14:32:07` or `14:32`; `None` if it is no time of day.
pub fn clock_s(text: &str) -> Option<f64> {
    let parts: Vec<&str> = text.trim().split(':').collect();
    if !(2..=3).contains(&parts.len()) || parts.iter().any(|part| part.is_empty() || part.len() > 2) {
        return None;
    }
    let number = |k: usize| parts.get(k).map_or(Some(0), |part| part.parse::<u32>().ok());
    let (hour, minute, second) = (number(0)?, number(1)?, number(2)?);
    (hour < 24 && minute < 60 && second < 60).then(|| f64::from(hour * 3600 + minute * 60 + second))
}

/// `14:32:07` of seconds after midnight; wraps past midnight.
pub fn clock_text(seconds: f64) -> String {
    let whole = seconds.round().rem_euclid(86_400.0) as u32 % 86_400;
    format!("{:02}:{:02}:{:02}", whole / 3600, whole / 60 % 60, whole % 60)
}

/// Seconds from `from` to `clock`, both after midnight, the short way round the day.
///
/// # Inputs
/// - `from` · `clock`: times of day \[s after midnight\]
///
/// # Gives
/// From −43,200 up to, not including, 43,200 s: a time just before midnight lies before one just after it.
///
/// # Source
/// arithmetic of the clock, by definition
pub fn clock_gap_s(from: f64, clock: f64) -> f64 {
    (clock - from + 43_200.0).rem_euclid(86_400.0) - 43_200.0
}

/// A span of "ago": `90s`, `2min`, `1..3min`, `now`; (shortest, longest) \[s\].
pub fn ago_s(text: &str) -> Option<(f64, f64)> {
    let text = text.trim().to_ascii_lowercase();
    if matches!(text.as_str(), "now" | "just now" | "0") {
        return Some((0.0, 30.0));
    }
    let (number, unit) = match text.find(|c: char| c.is_ascii_alphabetic()) {
        Some(at) => (&text[..at], text[at..].trim()),
        None => return None,
    };
    let unit_s = match unit {
        "s" | "sec" | "seconds" => 1.0,
        "min" | "m" | "minutes" | "minute" => 60.0,
        "h" | "hour" | "hours" => 3600.0,
        _ => return None,
    };
    let parse =
        |part: &str| part.trim().parse::<f64>().ok().filter(|v| v.is_finite() && (0.0..=1e6).contains(v));
    if let Some((low, high)) = number.split_once("..") {
        let (low, high) = (parse(low)? * unit_s, parse(high)? * unit_s);
        return (low <= high && high <= 86_400.0).then_some((low, high));
    }
    let told = parse(number)? * unit_s;
    // A round "two minutes ago" is rarely exact: a quarter either way (assumed).
    let spread = AGO_SPREAD * told;
    (told <= 86_400.0).then_some((told - spread, told + spread))
}

/// Share by which a single told span may be off either way (assumed).
const AGO_SPREAD: f64 = 0.25;

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn clock_times_are_read_and_written() {
        for (text, expect) in [
            ("14:32:07", Some(52_327.0)),
            ("00:00", Some(0.0)),
            ("24:00", None),
            ("14:60", None),
            ("1432", None),
            ("", None),
            ("1:2:3:4", None),
        ] {
            assert_eq!(clock_s(text), expect, "{text}");
        }
        assert_eq!(clock_text(52_327.0), "14:32:07");
        assert_eq!(clock_text(86_399.7), "00:00:00");
        assert_eq!(clock_gap_s(86_390.0, 20.0), 30.0);
        assert_eq!(clock_gap_s(20.0, 86_390.0), -30.0);
    }

    #[test]
    fn spans_are_read_with_their_doubt() {
        for (text, expect) in [
            ("2min", Some((90.0, 150.0))),
            ("1..3 min", Some((60.0, 180.0))),
            ("90s", Some((67.5, 112.5))),
            ("now", Some((0.0, 30.0))),
            ("3..1min", None),
            ("-5min", None),
            ("soon", None),
            ("5", None),
            ("nanmin", None),
        ] {
            assert_eq!(ago_s(text), expect, "{text}");
        }
    }
}
