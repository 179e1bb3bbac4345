//! `fathomline water glare DIR`: which water cannot be watched from which post, and when.

use super::options::{draw, hours, print, season, wind};
use crate::glare::{self, Asked};
use crate::picture::{self, Look, Theme};
use crate::site_folder::{load_day, load_site};
use jiff::civil::Date;
use std::path::PathBuf;
use std::process::ExitCode;
use watch::glare::Wind;
use water::Problem;

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
        print(self.shown())
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
            draw("--map", file, &picture::glare_map(&all, &look))?;
        }
        if let Some(file) = &self.chart {
            draw("--chart", file, &picture::glare_chart(&all, &look))?;
        }
        if self.json {
            return Ok(
                serde_json::to_string_pretty(&glare::json(&all)).expect("plain numbers and text") + "\n"
            );
        }
        Ok(glare::text(&all))
    }
}

fn crowd(text: &str) -> Result<f64, String> {
    let metres = text.trim().parse::<f64>().ok().filter(|m| (0.0..=3.0).contains(m));
    metres.ok_or_else(|| format!("{text:?} must be metres from 0 to 3"))
}

#[cfg(test)]
mod tests {
    #[test]
    fn options_are_checked() {
        assert!(super::crowd("0").is_ok() && super::crowd("-1").is_err() && super::crowd("NaN").is_err());
    }
}
