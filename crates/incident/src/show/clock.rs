//! Times in words.

/// `14:38:49` of a moment, by local time.
pub(crate) fn clock(at_ms: i64, utc_offset_s: i32) -> String {
    let seconds = crate::state::clock_s(at_ms, utc_offset_s) as u64;
    format!("{:02}:{:02}:{:02}", seconds / 3600 % 24, seconds / 60 % 60, seconds % 60)
}

/// `2:39`, or `1:02:39`.
pub(crate) fn span(ms: i64) -> String {
    let seconds = (ms / 1000).max(0);
    match seconds / 3600 {
        0 => format!("{}:{:02}", seconds / 60, seconds % 60),
        hours => format!("{hours}:{:02}:{:02}", seconds / 60 % 60, seconds % 60),
    }
}
