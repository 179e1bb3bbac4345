//! What several commands read the same way from their options, and how all of them end.

use super::loaded::{option_problem, write};
use crate::picture;
use jiff::civil::Date;
use measure::{Bearing, Spot};
use std::io::Write as _;
use std::path::Path;
use std::process::ExitCode;
use watch::glare::Wind;
use water::{LonLat, Problem, Site};

const HOUR_S: f64 = 3600.0;
/// A day by the clock on the wall \[s\].
pub const DAY_S: f64 = 24.0 * HOUR_S;
/// Longest season \[days\].
const DAYS_MOST: i32 = 366;

/// Prints what came out, or every problem.
pub fn print(text: Result<String, Vec<Problem>>) -> ExitCode {
    match text {
        Ok(text) => {
            // A reader that goes away early, such as `head`, is no failure.
            let _ = std::io::stdout().write_all(text.as_bytes());
            ExitCode::SUCCESS
        }
        Err(problems) => {
            problems.iter().for_each(|problem| eprintln!("{problem}"));
            ExitCode::from(super::BAD_INPUT)
        }
    }
}

/// Writes a picture as the kind of file that its name asks for.
pub fn draw(option: &str, file: &Path, svg: &str) -> Result<(), Vec<Problem>> {
    let bytes = picture::for_file(file, svg).map_err(|why| {
        vec![option_problem(option, &file.display().to_string(), &why, "end it in .svg or .png")]
    })?;
    write(option, file, &bytes)
}

/// A place written as longitude,latitude; for an option that needs no site to be understood.
pub fn lonlat(text: &str) -> Result<LonLat, String> {
    let rule = || format!("{text:?} must be longitude,latitude in degrees, such as -3.10,54.52");
    let (lon, lat) = text.split_once(',').ok_or_else(rule)?;
    let degrees = |text: &str, most: f64| {
        text.trim().parse::<f64>().ok().filter(|value| value.abs() <= most).ok_or_else(rule)
    };
    Ok(LonLat { lon: degrees(lon, 180.0)?, lat: degrees(lat, 90.0)? })
}

/// A place written as longitude,latitude, that lies at the site.
pub fn spot(site: &Site, option: &str, text: &str) -> Result<Spot, Vec<Problem>> {
    let most_m = measure::parameters::value("site_reach_m");
    let place = lonlat(text).map(|place| site.frame.to_site(place)).ok();
    place.filter(|s| s.length() <= most_m).ok_or_else(|| {
        let what = "is no place at this site";
        vec![option_problem(option, text, what, "write longitude,latitude in degrees, such as -3.10,54.52")]
    })
}

/// A time of day `HH:MM` \[s after midnight\], up to 24:00.
pub fn clock(text: &str) -> Option<f64> {
    let (hour, minute) = text.trim().split_once(':')?;
    let (hour, minute) = (hour.parse::<u32>().ok()?, minute.parse::<u32>().ok()?);
    let seconds = f64::from(hour) * HOUR_S + 60.0 * f64::from(minute);
    (minute < 60 && seconds <= DAY_S).then_some(seconds)
}

/// A span `HH:MM-HH:MM` \[s after midnight\]; one that ends before it begins ends on the next day.
pub fn span(option: &str, text: &str) -> Result<(f64, f64), Box<Problem>> {
    let both = text.split_once(['-', '–']).and_then(|(a, b)| Some((clock(a)?, clock(b)?)));
    match both {
        Some((from, to)) if from != to => Ok((from, if to > from { to } else { to + DAY_S })),
        _ => Err(Box::new(option_problem(option, text, "is no span of the day", "write 09:00-18:00"))),
    }
}

/// Hours of one day as minutes, the earlier first.
pub fn hours(text: &str) -> Result<(usize, usize), String> {
    let minutes = |(from, to): (f64, f64)| ((from / 60.0) as usize, (to / 60.0) as usize);
    let read = span("", text).ok().filter(|(_, to)| *to <= DAY_S).map(minutes);
    read.ok_or_else(|| format!("{text:?} must be two times of day, the earlier first: 10:00-19:00"))
}

/// A season: two dates, a year at most.
pub fn season(text: &str) -> Result<(Date, Date), String> {
    let rule = || format!("{text:?} must be two dates such as 2026-05-15..2026-09-15");
    let (from, to) = text.split_once("..").ok_or_else(rule)?;
    let date = |text: &str| text.trim().parse::<Date>().map_err(|_| rule());
    let (from, to) = (date(from)?, date(to)?);
    if !(1900..=2200).contains(&from.year()) || !(1900..=2200).contains(&to.year()) {
        return Err(format!("{text:?}: the years must be 1900 to 2200"));
    }
    let days = from.until(to).map_err(|_| rule())?.get_days();
    if days < 0 {
        return Err(format!("{text:?} ends before it begins; write the earlier date first"));
    }
    if days >= DAYS_MOST {
        return Err(format!("{text:?} is {} days; a season is {DAYS_MOST} days at most", days + 1));
    }
    Ok((from, to))
}

/// Wind: metres a second, and where it comes from.
pub fn wind(text: &str) -> Result<Wind, String> {
    let rule = || {
        format!("{text:?} must be metres a second, 0 to 40, with degrees 0 to 360 after a comma: 4 or 4,240")
    };
    let (speed, from) = text.split_once(',').map_or((text, None), |(speed, from)| (speed, Some(from)));
    let number = |text: &str, most: f64| {
        text.trim().parse::<f64>().ok().filter(|x| (0.0..=most).contains(x)).ok_or_else(rule)
    };
    let from = from.map(|text| number(text, 360.0).map(Bearing::new)).transpose()?;
    Ok(Wind { speed_mps: number(speed, 40.0)?, from })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn options_are_checked() {
        let date = Date::constant;
        assert_eq!(season("2026-05-15..2026-09-15"), Ok((date(2026, 5, 15), date(2026, 9, 15))));
        assert!(season("2026-01-01..2026-12-31").is_ok());
        for bad in [
            "",
            "2026-05-15",
            "2026-05-15..2026-05-14",
            "2026-02-30..2026-03-01",
            "2026-01-01..2027-01-02",
            "1-1..2",
            "9999-01-01..9999-01-02",
        ] {
            assert!(season(bad).is_err(), "{bad}");
        }
        assert_eq!(wind("4"), Ok(Wind { speed_mps: 4.0, from: None }));
        assert_eq!(wind("0, 360"), Ok(Wind { speed_mps: 0.0, from: Some(Bearing::new(0.0)) }));
        for bad in ["", "-1", "nan", "inf", "4,", "4,400", "41", "4;3"] {
            assert!(wind(bad).is_err(), "{bad}");
        }
        assert_eq!(hours("09:30-18:00"), Ok((570, 1080)));
        assert_eq!(hours("0:00-24:00"), Ok((0, 1440)));
        for bad in ["", "9-18", "10:00", "18:00-10:00", "10:60-11:00", "10:00-24:01", "10:00-10:00"] {
            assert!(hours(bad).is_err(), "{bad}");
        }
        assert_eq!(lonlat("-3.1,54.5"), Ok(LonLat { lon: -3.1, lat: 54.5 }));
        for bad in ["", "1", "1;2", "200,3", "3,91", "nan,2", "1,2,3"] {
            assert!(lonlat(bad).is_err(), "{bad}");
        }
        assert_eq!(clock("24:00"), Some(DAY_S));
        assert!(["24:01", "99999999:00", "10", "-1:00", "10:5x"].iter().all(|bad| clock(bad).is_none()));
        assert_eq!(span("", "22:00-02:00").unwrap(), (22.0 * HOUR_S, 26.0 * HOUR_S));
    }
}
