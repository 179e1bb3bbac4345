//! The wall clock, in one place.

use std::time::{SystemTime, UNIX_EPOCH};

/// Milliseconds since 1970 (UTC).
pub fn now_ms() -> i64 {
    SystemTime::now().duration_since(UNIX_EPOCH).map_or(0, |passed| passed.as_millis() as i64)
}

/// Local time minus UTC now, by the name of a time zone \[s\]; 0 for a name that nobody knows.
pub fn utc_offset_s(zone: &str) -> i32 {
    jiff::tz::TimeZone::get(zone).map_or(0, |zone| zone.to_offset(jiff::Timestamp::now()).seconds())
}

/// Time of day with seconds, so many seconds from UTC.
pub fn clock(at_ms: i64, utc_offset_s: i32) -> String {
    let second = (at_ms.div_euclid(1000) + i64::from(utc_offset_s)).rem_euclid(86_400);
    format!("{:02}:{:02}:{:02}", second / 3600, second / 60 % 60, second % 60)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_is_the_sites() {
        assert_eq!(clock(0, 0), "00:00:00");
        assert_eq!(clock(-1000, 3600), "00:59:59");
        assert_eq!(clock(86_399_999, 7200), "01:59:59");
        assert!([0, 3600].contains(&utc_offset_s("Europe/London")) && utc_offset_s("nowhere") == 0);
    }
}
