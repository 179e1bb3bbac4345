//! `fathomline water check DIR`: every problem of a site folder and its day file at once.

use super::BAD_INPUT;
use crate::site_folder::{check_day, check_day_alone, check_site, own_day};
use serde_json::json;
use std::io::Write;
use std::path::PathBuf;
use std::process::ExitCode;
use water::{Day, Problem, Site};

/// Check a site folder, and the day.toml in it if there is one.
#[derive(clap::Args)]
pub struct Check {
    /// Site folder: site.toml, map.geojson, soundings.
    dir: PathBuf,
    /// Print one JSON object instead of lines.
    #[arg(long)]
    json: bool,
}

impl Check {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        let site = check_site(&self.dir);
        let mut problems = site.problems;
        let day_path = own_day(&self.dir);
        let day = match (&site.value, &day_path) {
            (Some(site), Some(path)) => {
                let checked = check_day(path, site);
                problems.extend(checked.problems);
                checked.value
            }
            (None, Some(path)) => {
                problems.extend(check_day_alone(path));
                None
            }
            _ => None,
        };
        let fatal = problems.iter().filter(|p| p.fatal).count();
        let text = if self.json {
            let assumed = day.as_ref().map(|day| &day.assumed);
            let whole = json!({
                "usable": fatal == 0,
                "fatal": fatal,
                "said": problems.len() - fatal,
                "site": site.value.as_ref().map(site_json),
                "day": day.as_ref().map(|day| json!({ "date": day.date, "crew": day.crew.len(), "floats": day.floats.len() })),
                "day_assumed": assumed,
                "problems": problems,
            });
            format!("{whole:#}\n")
        } else {
            lines(site.value.as_ref(), day.as_ref(), &problems, day_path.is_some())
        };
        // A reader that goes away early, such as `head`, is no failure of the check.
        let _ = std::io::stdout().write_all(text.as_bytes());
        if fatal > 0 { ExitCode::from(BAD_INPUT) } else { ExitCode::SUCCESS }
    }
}

fn site_json(site: &Site) -> serde_json::Value {
    json!({
        "name": site.name,
        "features": site.features.len(),
        "soundings": site.soundings.len(),
        "raster": site.raster.is_some(),
        "sounded_on": site.sounded_on,
    })
}

fn lines(site: Option<&Site>, day: Option<&Day>, problems: &[Problem], has_day: bool) -> String {
    let mut text = String::new();
    for problem in problems {
        let word = if problem.fatal { "must be mended" } else { "to know" };
        text.push_str(&format!("{word}: {problem}\n"));
    }
    if let Some(day) = day {
        for (name, value, standing) in &day.assumed {
            text.push_str(&format!("assumed for the day: {name} = {value} ({standing})\n"));
        }
    }
    let fatal = problems.iter().filter(|p| p.fatal).count();
    match site {
        Some(site) => text.push_str(&format!(
            "{}: {} features, {} soundings used{}; ",
            site.name,
            site.features.len(),
            site.soundings.len(),
            if site.raster.is_some() { " and a raster" } else { "" }
        )),
        None if has_day => {
            text.push_str("names, places and stage of the day file are checked once the site can be used; ")
        }
        None => {}
    }
    text.push_str(&format!("{fatal} must be mended, {} to know\n", problems.len() - fatal));
    text
}
