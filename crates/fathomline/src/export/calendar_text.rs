//! A watch roster as a calendar (RFC 5545): one entry a stint at one post, times in UTC.

use jiff::civil::{Date, DateTime};
use jiff::tz::{AmbiguousOffset, TimeZone};
use jiff::{SignedDuration, Timestamp};
use watch::roster::{Day, Roster};
use water::Site;

/// The calendar of a roster.
///
/// # Inputs
/// - `site`: name and time zone · `(date, made)`: of the day, `YYYY-MM-DD`, and the moment the roster was made · `day`, `roster`
///
/// # Gives
/// The whole file, lines ended as the standard has it; why it cannot be written where date or zone is unknown.
///
/// A stint keeps its identity when the roster is repaired: guard and begin, so that a program that reads the file again takes the newer
/// one for the same entry.
pub fn calendar(
    site: &Site,
    (date, made): (&str, Timestamp),
    day: &Day,
    roster: &Roster,
) -> Result<String, String> {
    let date: Date = date.parse().map_err(|_| format!("{date:?} is no date"))?;
    let zone = TimeZone::get(&site.time_zone).map_err(|e| format!("{}: {e}", site.time_zone))?;
    // The clock on the wall, so that a change to or from summer time moves nothing.
    let utc = |seconds: f64| -> Result<String, String> {
        let wall = date
            .at(0, 0, 0, 0)
            .checked_add(SignedDuration::from_secs(seconds as i64))
            .map_err(|e| e.to_string())?;
        let at = moment(&zone, wall).map_err(|e| e.to_string())?;
        Ok(at.strftime("%Y%m%dT%H%M%SZ").to_string())
    };
    let mut text = String::new();
    for line in
        ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//fathomline//watch roster//EN", "CALSCALE:GREGORIAN"]
    {
        push(&mut text, line);
    }
    let stamp = made.strftime("%Y%m%dT%H%M%SZ");
    for (g, row) in roster.at.iter().enumerate() {
        let mut from = 0;
        while from < row.len() {
            let Some(post) = row[from] else {
                from += 1;
                continue;
            };
            let mut to = from + 1;
            while to < row.len() && row[to] == Some(post) && day.slots[to].from_s == day.slots[to - 1].to_s {
                to += 1;
            }
            let (guard, post) = (&day.guards[g].name, &day.posts[post]);
            let (begin, end) = (utc(day.slots[from].from_s)?, utc(day.slots[to - 1].to_s)?);
            from = to;
            // Half-hours over which the clock jumps do not happen.
            if begin == end {
                continue;
            }
            // Two of one name are told apart by their order.
            let twin = day.guards[..g].iter().filter(|other| other.name == *guard).count();
            let who = digest(&format!("{}\n{guard}\n{twin}", site.name));
            push(&mut text, "BEGIN:VEVENT");
            push(&mut text, &format!("UID:{begin}-{who:016x}@fathomline"));
            push(&mut text, &format!("DTSTAMP:{stamp}"));
            push(&mut text, &format!("DTSTART:{begin}"));
            push(&mut text, &format!("DTEND:{end}"));
            push(&mut text, &format!("SUMMARY:{}", escaped(&format!("{guard}: {post}"))));
            push(&mut text, &format!("LOCATION:{}", escaped(&format!("{post}, {}", site.name))));
            push(&mut text, "END:VEVENT");
        }
    }
    if !text.contains("BEGIN:VEVENT") {
        return Err("a calendar holds at least one entry, and nobody stands at any post".into());
    }
    push(&mut text, "END:VCALENDAR");
    Ok(text)
}

/// The moment at which a clock on the wall shows a time, or jumps over it where summer time begins.
fn moment(zone: &TimeZone, wall: DateTime) -> Result<Timestamp, jiff::Error> {
    let at = zone.to_ambiguous_timestamp(wall);
    if !matches!(at.offset(), AmbiguousOffset::Gap { .. }) {
        return at.compatible();
    }
    // Read by the later rule it lies before the jump, by the earlier one behind it.
    let (before, behind) = (at.earlier()?, at.later()?);
    Ok(zone.following(before).next().map_or(behind, |jump| jump.timestamp()))
}

/// Text as the standard writes it.
fn escaped(text: &str) -> String {
    let text = text.replace("\r\n", "\n").replace('\r', "\n");
    let plain: String = text.chars().filter(|c| matches!(c, '\n' | '\t') || !c.is_control()).collect();
    plain.replace('\\', "\\\\").replace(';', "\\;").replace(',', "\\,").replace('\n', "\\n")
}

/// A line, folded after 75 octets, never inside a letter.
fn push(text: &mut String, line: &str) {
    let mut room = 75;
    for letter in line.chars() {
        if letter.len_utf8() > room {
            text.push_str("\r\n ");
            room = 74;
        }
        text.push(letter);
        room -= letter.len_utf8();
    }
    text.push_str("\r\n");
}

/// A short number of a name, so that entries of two sites never have one identity.
fn digest(name: &str) -> u64 {
    name.bytes()
        .fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::picture::tests::site;
    use watch::roster::{Guard, Rules, Slot};

    // shows: RO-5
    #[test]
    fn a_stint_is_one_entry_in_universal_time_with_text_escaped_and_lines_folded() {
        let mut site = site();
        site.time_zone = "Europe/London".into();
        let slot = |k: f64| Slot {
            from_s: 36_000.0 + 1800.0 * k,
            to_s: 37_800.0 + 1800.0 * k,
            doubled: vec![],
            hot: false,
            sees: vec![],
        };
        let day = Day {
            zones: vec![],
            posts: vec!["Tower; north, high".into()],
            slots: (0..3).map(|k| slot(f64::from(k))).collect(),
            guards: vec![Guard {
                name: "Ærøskøbing ".repeat(12).trim().to_string(),
                dives: true,
                lookout: true,
                there: vec![true; 3],
                begins: None,
            }],
            rules: Rules::of(1800.0),
        };
        let roster = Roster { at: vec![vec![Some(0), Some(0), None]] };
        let made: Timestamp = "2026-07-07T18:30:05Z".parse().unwrap();
        let text = calendar(&site, ("2026-07-08", made), &day, &roster).unwrap();
        assert_eq!(text.matches("BEGIN:VEVENT").count(), 1);
        // British summer time: ten o'clock is nine.
        assert!(text.contains("DTSTART:20260708T090000Z\r\nDTEND:20260708T100000Z\r\n"), "{text}");
        assert!(text.replace("\r\n ", "").contains("Tower\\; north\\, high"));
        assert!(text.split("\r\n").all(|line| line.len() <= 75) && text.ends_with("END:VCALENDAR\r\n"));
        assert!(text.contains("\r\nDTSTAMP:20260707T183005Z\r\n"), "{text}");
        assert!(calendar(&site, ("2026-02-30", made), &day, &roster).is_err());
        // The same stint at another post after a repair: the same identity.
        let uid = |text: &str| text.lines().find(|line| line.starts_with("UID:")).unwrap().to_string();
        let mut other = day.clone();
        other.posts.push("Jetty".into());
        let moved = Roster { at: vec![vec![Some(1), None, None]] };
        assert_eq!(uid(&calendar(&site, ("2026-07-08", made), &other, &moved).unwrap()), uid(&text));
        let nobody = Roster { at: vec![vec![None; 3]] };
        assert!(calendar(&site, ("2026-07-08", made), &day, &nobody).is_err());
        // Two of one name who begin together are two entries.
        other.guards.push(other.guards[0].clone());
        let both = Roster { at: vec![vec![Some(0), None, None], vec![Some(1), None, None]] };
        let two = calendar(&site, ("2026-07-08", made), &other, &both).unwrap();
        let mut uids: Vec<&str> = two.lines().filter(|line| line.starts_with("UID:")).collect();
        uids.dedup();
        assert_eq!(uids.len(), 2, "{two}");
    }

    // shows: RO-5
    #[test]
    fn no_entry_ends_before_it_begins_where_the_clocks_change() {
        let mut site = site();
        site.time_zone = "Europe/Paris".into();
        let slot = |k: usize| {
            let from_s = 1800.0 * k as f64;
            Slot { from_s, to_s: from_s + 1800.0, doubled: vec![], hot: false, sees: vec![] }
        };
        let guard = |name: &str| Guard {
            name: name.into(),
            dives: true,
            lookout: true,
            there: vec![true; 8],
            begins: None,
        };
        let day = Day {
            zones: vec![],
            posts: vec!["Stand".into()],
            slots: (0..8).map(slot).collect(),
            guards: vec![guard("Ann"), guard("Bo")],
            rules: Rules::of(1800.0),
        };
        // Every half-hour somebody else: from 02:00 to 03:00 on 29 March there is no half-hour, on 25 October there are four.
        let turns = |g: usize| (0..8).map(|s| (s % 2 == g).then_some(0)).collect();
        let roster = Roster { at: vec![turns(0), turns(1)] };
        let made: Timestamp = "2026-03-01T08:00:00Z".parse().unwrap();
        for (date, entries, minutes) in [("2026-03-29", 6, 180), ("2026-10-25", 8, 300)] {
            let text = calendar(&site, (date, made), &day, &roster).unwrap();
            let times = |key: &str| -> Vec<Timestamp> {
                let of = text.lines().filter_map(|line| line.strip_prefix(key)?.strip_suffix('Z'));
                of.map(|t| Timestamp::strptime("%Y%m%dT%H%M%S%z", format!("{t}+0000")).unwrap()).collect()
            };
            let (begins, ends) = (times("DTSTART:"), times("DTEND:"));
            assert_eq!((begins.len(), ends.len()), (entries, entries), "{text}");
            let each = begins.iter().zip(&ends).map(|(a, b)| b.as_second() - a.as_second());
            assert!(each.clone().all(|seconds| seconds >= 1800), "{text}");
            assert_eq!(each.sum::<i64>(), 60 * minutes, "{text}");
        }
    }

    #[test]
    fn breaks_are_one_sign_and_what_no_line_may_hold_is_left_out() {
        assert_eq!(escaped("a\r\nb\rc\nd"), "a\\nb\\nc\\nd");
        assert_eq!(escaped("bell\u{7} tab\t; \\"), "bell tab\t\\; \\\\");
    }
}
