//! Tracks of drifters that write down their own places, cut into float runs; what was no drift is named.

use crate::{FloatRun, Frame, LonLat};
use measure::{Noted, Spot, parameters::value};

/// A place at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fix {
    /// Time \[s\], from any zero.
    pub at_s: f64,
    /// Where.
    pub place: LonLat,
}

/// The fixes of a track in CSV: columns `latitude`, `longitude` and `recorded_timestamp` (or `lat`, `lon`, `time`).
///
/// # Inputs
/// - `text`: with a header line; other columns are passed over; times as `2022-10-11 09:01:13`, with `T` and a
///   zone too
///
/// # Gives
/// The fixes in the order of the file, times in seconds from 1970 on the file's own clock; or every line that
/// cannot be read, with value, rule and remedy.
///
/// # Source
/// RFC 4180 (CSV), RFC 3339 (times)
pub fn read_csv(text: &str) -> Result<Vec<Fix>, Vec<String>> {
    let mut lines = csv::ReaderBuilder::new()
        .flexible(true)
        .trim(csv::Trim::All)
        .from_reader(text.trim_start_matches('\u{feff}').as_bytes());
    let header = lines.headers().map_err(|e| vec![format!("line 1: {e}; write a header line")])?.clone();
    let column = |names: [&str; 3]| {
        header
            .iter()
            .position(|h| names.iter().any(|n| h.eq_ignore_ascii_case(n)))
            .ok_or_else(|| vec![format!("line 1: no column is called {}; name one so", names.join(" or "))])
    };
    let lat = column(["latitude", "lat", "y"])?;
    let lon = column(["longitude", "lon", "x"])?;
    let time = column(["recorded_timestamp", "timestamp", "time"])?;
    let (mut fixes, mut problems) = (Vec::new(), Vec::new());
    for (index, record) in lines.records().enumerate() {
        let number = index + 2;
        match record {
            Ok(record) => {
                let field = |column: usize| record.get(column).unwrap_or("");
                match read_fix(field(lat), field(lon), field(time)) {
                    Ok(fix) => fixes.push(fix),
                    Err(what) => problems.push(format!("line {number}: {what}")),
                }
            }
            Err(e) => problems.push(format!("line {number}: {e}; mend the line")),
        }
    }
    if problems.is_empty() { Ok(fixes) } else { Err(problems) }
}

fn read_fix(lat: &str, lon: &str, time: &str) -> Result<Fix, String> {
    let degrees = |text: &str, name: &str, most: f64| match text.parse::<f64>() {
        Ok(value) if value.abs() <= most => Ok(value),
        _ => Err(format!("{name} {text:?} must be degrees within ±{most}; mend it or take the line out")),
    };
    let place = LonLat { lon: degrees(lon, "longitude", 180.0)?, lat: degrees(lat, "latitude", 90.0)? };
    let at_s = seconds(time).ok_or_else(|| {
        format!("time {time:?} must be like 2022-10-11 09:01:13; mend it or take the line out")
    })?;
    Ok(Fix { at_s, place })
}

fn seconds(time: &str) -> Option<f64> {
    if let Ok(instant) = time.parse::<jiff::Timestamp>() {
        return Some(instant.as_millisecond() as f64 / 1000.0);
    }
    let civil: jiff::civil::DateTime = time.parse().ok()?;
    let utc = jiff::tz::TimeZone::UTC.to_timestamp(civil).ok()?;
    Some(utc.as_millisecond() as f64 / 1000.0)
}

/// Float runs of a track.
///
/// Fixes are taken in order of time. A repeated fix, a gap longer than `track_gap_s`, a leg faster than
/// `track_fast_mps` (carried) and a stretch that stays within `track_still_m` for `track_still_s` (stuck) are
/// cut out and named; what is left is joined to runs of at least `track_run_s`.
///
/// # Inputs
/// - `frame`: of the site
/// - `fixes`: of one drifter
///
/// # Gives
/// The runs in order of time, and what was cut out.
///
/// # Source
/// assumed
pub fn float_runs(frame: &Frame, fixes: &[Fix]) -> Noted<Vec<FloatRun>> {
    let mut notes = Vec::new();
    let places = in_order(frame, fixes, &mut notes);
    let still = still_stretches(&places, &mut notes);
    let (gap_s, fast_mps, run_s) = (value("track_gap_s"), value("track_fast_mps"), value("track_run_s"));
    let mut runs = Vec::new();
    let mut begin: Option<usize> = None;
    for leg in 0..places.len().saturating_sub(1) {
        let ((from_s, from), (to_s, to)) = (places[leg], places[leg + 1]);
        let (took_s, length_m) = (to_s - from_s, from.distance(to));
        let stuck = still.iter().any(|&(first, last)| first <= leg && leg < last);
        let gap = took_s > gap_s;
        let fast = length_m / took_s > fast_mps;
        if gap && !stuck {
            notes
                .push(format!("gap of {took_s:.0} s after fix {}: longer than {gap_s} s, not used", leg + 1));
        } else if fast {
            notes.push(format!(
                "{:.1} m/s between fixes {} and {}: faster than {fast_mps} m/s, carried or misplaced, not used",
                length_m / took_s,
                leg + 1,
                leg + 2
            ));
        }
        if stuck || gap || fast {
            begin = None;
            continue;
        }
        let first = *begin.get_or_insert(leg);
        let seconds = to_s - places[first].0;
        if seconds >= run_s {
            runs.push(FloatRun { from: places[first].1, to, seconds });
            begin = None;
        }
    }
    Noted { value: runs, notes }
}

/// Places in order of time, each time once.
fn in_order(frame: &Frame, fixes: &[Fix], notes: &mut Vec<String>) -> Vec<(f64, Spot)> {
    let usable = |f: &&Fix| f.at_s.is_finite() && f.place.lon.is_finite() && f.place.lat.is_finite();
    let mut places: Vec<(f64, Spot)> =
        fixes.iter().filter(usable).map(|f| (f.at_s, frame.to_site(f.place))).collect();
    if places.len() < fixes.len() {
        notes.push(format!("{} fixes are not numbers: not used", fixes.len() - places.len()));
    }
    if places.windows(2).any(|w| w[1].0 < w[0].0) {
        notes.push("the fixes are not in order of time: put in order".into());
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
    }
    let before = places.len();
    places.dedup_by(|later, first| later.0 <= first.0);
    if places.len() < before {
        notes.push(format!("{} fixes repeat a time: the first is used", before - places.len()));
    }
    places
}

/// Stretches (first and last fix) that stay within a small circle for long.
fn still_stretches(places: &[(f64, Spot)], notes: &mut Vec<String>) -> Vec<(usize, usize)> {
    let (still_m, still_s) = (value("track_still_m"), value("track_still_s"));
    let mut stretches = Vec::new();
    let mut first = 0;
    while first < places.len() {
        let stays = |place: &(f64, Spot)| place.1.distance(places[first].1) <= still_m;
        let last = first + places[first..].iter().take_while(|p| stays(p)).count() - 1;
        let seconds = places[last].0 - places[first].0;
        if seconds >= still_s {
            notes.push(format!(
                "stuck from fix {} to {}: within {still_m} m for {seconds:.0} s, not used",
                first + 1,
                last + 1
            ));
            stretches.push((first, last));
            first = last.max(first + 1);
        } else {
            first += 1;
        }
    }
    stretches
}

#[cfg(test)]
mod tests {
    use super::*;

    const FRAME: LonLat = LonLat { lon: 100.47, lat: 13.77 };

    fn track(places: &[(f64, f64, f64)]) -> Noted<Vec<FloatRun>> {
        let frame = Frame::new(FRAME);
        let fixes: Vec<Fix> = places
            .iter()
            .map(|&(at_s, e, n)| Fix { at_s, place: frame.to_lonlat(Spot::new(e, n)) })
            .collect();
        float_runs(&frame, &fixes)
    }

    #[test]
    fn a_steady_drift_is_cut_into_runs_of_its_own_speed() {
        let noted = track(&(0..13).map(|i| (120.0 * i as f64, 30.0 * i as f64, 0.0)).collect::<Vec<_>>());
        assert!(noted.notes.is_empty(), "{:?}", noted.notes);
        assert_eq!(noted.value.len(), 4);
        for run in &noted.value {
            assert_eq!(run.seconds, 360.0);
            assert!(((run.to - run.from).length() / run.seconds - 0.25).abs() < 1e-6);
        }
    }

    #[test]
    fn gaps_repeats_carries_and_stuck_stretches_are_named_and_cut_out() {
        let mut places = vec![(0.0, 0.0, 0.0), (300.0, 60.0, 0.0), (300.0, 61.0, 0.0), (600.0, 120.0, 0.0)];
        places.push((9000.0, 500.0, 0.0)); // gap
        places.push((9300.0, 560.0, 0.0));
        places.push((9600.0, 2560.0, 0.0)); // carried
        places.extend((1..8).map(|i| (9600.0 + 300.0 * i as f64, 2560.0 + (i % 3) as f64, 2.0)));
        let noted = track(&places);
        for word in ["repeat", "gap of 8400 s", "6.7 m/s", "stuck from"] {
            assert!(noted.notes.iter().any(|n| n.contains(word)), "{word}: {:?}", noted.notes);
        }
        assert_eq!(noted.value.len(), 3, "{:?}", noted.value);
        assert!(noted.value.iter().all(|r| ((r.to - r.from).length() / r.seconds - 0.2).abs() < 1e-6));
        assert!(track(&[]).value.is_empty() && track(&places[..1]).value.is_empty());
    }

    #[test]
    fn bad_lines_are_all_named() {
        let text = "\u{feff},latitude,longitude,recorded_timestamp\r\n0,13.7,100.4,2022-10-11 09:01:13\r\n1,93,100.4,2022-10-11 09:01:14\r\n2,13.7,x,2022-10-11 09:01:14\r\n3,13.7,100.4,noon\r\n4,13.7\r\n";
        let problems = read_csv(text).unwrap_err();
        assert_eq!(problems.len(), 4, "{problems:?}");
        assert!(problems[0].starts_with("line 3: latitude \"93\""));
        let good =
            read_csv("lat,lon,time\n13.7,100.4,2022-10-11T09:01:13Z\n13.7,100.4,2022-10-11 09:01:15\n")
                .unwrap();
        assert_eq!(good[1].at_s - good[0].at_s, 2.0);
        assert!(read_csv("a,b\n1,2\n").unwrap_err()[0].contains("latitude"));
    }
}
