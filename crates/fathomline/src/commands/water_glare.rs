//! `fathomline water glare DIR`: which water cannot be watched from which post, and when.

use crate::glare::{self, Asked};
use crate::picture::{self, Look, Theme};
use crate::site_folder::{load_day, load_site};
use jiff::civil::Date;
use measure::Bearing;
use std::io::Write as _;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use watch::glare::Wind;
use water::{Place, Problem};

/// Longest season \[days\].
const DAYS_MOST: i32 = 366;

/// Show glare: which water cannot be watched from which post, by hour of a day or over a season.
#[derive(clap::Args)]
pub struct Glare {
    /// Site folder.
    dir: PathBuf,
    /// Day file: its date, wind, stage and hours. Without it and without a season the site folder's day.toml.
    #[arg(long, value_name = "FILE")]
    day: Option<PathBuf>,
    /// Season instead of one day: first and last date, 366 days at most.
    #[arg(long, value_name = "A..B", value_parser = season)]
    season: Option<(Date, Date)>,
    /// Wind: metres a second, and where it comes from in degrees; without a direction the same all round.
    #[arg(long, value_name = "SPEED[,FROM]", value_parser = wind)]
    wind: Option<Wind>,
    /// Only this post; may be given several times.
    #[arg(long, value_name = "NAME")]
    post: Vec<String>,
    /// Opening hours; without them from the first guard on duty to the last.
    #[arg(long, value_name = "HH:MM-HH:MM", value_parser = hours)]
    open: Option<(usize, usize)>,
    /// How far people on rafts rise over the deck \[m\]: 0 for an empty raft.
    #[arg(long, value_name = "M", value_parser = crowd)]
    crowd: Option<f64>,
    /// All of it as one JSON object.
    #[arg(long)]
    json: bool,
    /// Draw maps hour by hour (of a season: of its middle day); .svg or .png.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Draw the chart of day by hour for each post and zone; .svg or .png.
    #[arg(long, value_name = "FILE")]
    chart: Option<PathBuf>,
    /// Light the pictures are made for.
    #[arg(long, value_enum, default_value_t)]
    light: Theme,
    /// Width of the pictures in dots of a screen: 1000 for a laptop or paper, 390 for a phone.
    #[arg(long, value_name = "DOTS", default_value_t = 1000)]
    width: u32,
}

impl Glare {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self.shown() {
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

    fn shown(&self) -> Result<String, Vec<Problem>> {
        let (site, _) = load_site(&self.dir)?;
        let own = self.dir.join(water::door::DAY_FILE);
        let day = match (&self.day, &self.season) {
            (Some(file), _) => Some(load_day(file, &site)?.0),
            (None, None) => Some(load_day(&own, &site)?.0),
            // A season needs no day; one in the folder tells the usual wind and hours.
            (None, Some(_)) if own.exists() => Some(load_day(&own, &site)?.0),
            (None, Some(_)) => None,
        };
        let asked = Asked {
            site: &site,
            day: day.as_ref(),
            span: self.season,
            wind: self.wind,
            posts: self.post.clone(),
            open: self.open,
            crowd_m: self.crowd,
        };
        let all = asked.compute()?;
        let look = Look { theme: self.light, width: f64::from(self.width), ..Look::default() };
        if let Some(file) = &self.map {
            write(file, "--map", &picture::glare_map(&all, &look))?;
        }
        if let Some(file) = &self.chart {
            write(file, "--chart", &picture::glare_chart(&all, &look))?;
        }
        if self.json {
            return Ok(
                serde_json::to_string_pretty(&glare::json(&all)).expect("plain numbers and text") + "\n"
            );
        }
        Ok(glare::text(&all))
    }
}

fn write(file: &Path, option: &str, svg: &str) -> Result<(), Vec<Problem>> {
    let written = picture::for_file(file, svg)
        .and_then(|bytes| std::fs::write(file, bytes).map_err(|error| error.to_string()));
    written.map_err(|what| {
        let place = Place { file: option.into(), line: None, item: Some(file.display().to_string()) };
        let remedy = "name a file that can be written, ending in .svg or .png".into();
        vec![Problem { code: "A140".into(), fatal: true, place, what, remedy }]
    })
}

fn season(text: &str) -> Result<(Date, Date), String> {
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

fn wind(text: &str) -> Result<Wind, String> {
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

fn hours(text: &str) -> Result<(usize, usize), String> {
    let rule = || format!("{text:?} must be two times of day, the earlier first: 10:00-19:00");
    let minute = |text: &str| {
        let (h, m) = text.trim().split_once(':')?;
        let (h, m): (usize, usize) = (h.parse().ok()?, m.parse().ok()?);
        (m < 60 && 60 * h + m <= 1440).then_some(60 * h + m)
    };
    let (from, to) = text.split_once('-').ok_or_else(rule)?;
    match (minute(from), minute(to)) {
        (Some(from), Some(to)) if from < to => Ok((from, to)),
        _ => Err(rule()),
    }
}

fn crowd(text: &str) -> Result<f64, String> {
    let metres = text.trim().parse::<f64>().ok().filter(|m| (0.0..=3.0).contains(m));
    metres.ok_or_else(|| format!("{text:?} must be metres from 0 to 3"))
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
        assert!(crowd("0").is_ok() && crowd("-1").is_err() && crowd("NaN").is_err());
    }
}
