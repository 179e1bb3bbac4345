//! `fathomline water reach DIR`: how soon a guard is anywhere, by which way, and how long the way back is.

use super::loaded::{Loaded, option_problem};
use super::options::{draw, print, spot};
use crate::picture::{self, Look, Theme};
use crate::reach::Told;
use std::path::PathBuf;
use std::process::ExitCode;
use watch::reach::Post;
use water::{Kind, Problem};

/// Show how soon guards are anywhere on the water: times by zone, routes, entries, the way back.
#[derive(clap::Args)]
pub struct ReachCommand {
    /// Site folder.
    pub dir: PathBuf,
    /// Day file; the folder's day.toml if not given.
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// Only from these posts: a name, or NAME=LON,LAT for a place that is not on the map.
    #[arg(long, value_name = "NAME", num_args = 1..)]
    pub post: Vec<String>,
    /// Who comes to this place, and how: longitude,latitude in degrees.
    #[arg(long, value_name = "LON,LAT", allow_hyphen_values = true)]
    pub at: Option<String>,
    /// All of it as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Write the picture: FILE.svg or FILE.png.
    #[arg(long, value_name = "FILE")]
    pub map: Option<PathBuf>,
    /// Light the picture is made for.
    #[arg(long, value_enum, default_value_t)]
    pub light: Theme,
    /// Width of the picture in dots of a screen: 1000 for a laptop or paper, 390 for a phone.
    #[arg(long, value_name = "DOTS", default_value_t = 1000)]
    pub width: u32,
}

impl ReachCommand {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.shown())
    }

    fn shown(&self) -> Result<String, Vec<Problem>> {
        let loaded = Loaded::new(&self.dir, self.day.as_ref())?;
        let posts = posts(&loaded, "--post", &self.post)?;
        let at = self.at.as_deref().map(|text| spot(&loaded.site, "--at", text)).transpose()?;
        let told = Told::new(&loaded, &posts, at);
        if let Some(file) = &self.map {
            let (date, width) = (loaded.day.date.clone(), f64::from(self.width));
            let look = Look { theme: self.light, date, width, ..Look::default() };
            draw("--map", file, &picture::reach_map(&told.scene(), &look))?;
        }
        Ok(if self.json { format!("{:#}\n", told.json()) } else { told.table() })
    }
}

/// The posts asked for, or all of the map.
pub fn posts(loaded: &Loaded, option: &str, names: &[String]) -> Result<Vec<Post>, Vec<Problem>> {
    let on_map: Vec<Post> = loaded
        .site
        .of_kind(Kind::Post)
        .map(|f| Post { name: f.name.clone(), spot: f.shape.middle() })
        .collect();
    if names.is_empty() {
        return Ok(on_map);
    }
    let mut problems = Vec::new();
    let mut found = Vec::new();
    for name in names {
        if let Some((name, place)) = name.split_once('=') {
            match spot(&loaded.site, option, place) {
                Ok(spot) => found.push(Post { name: name.trim().into(), spot }),
                Err(of_place) => problems.extend(of_place),
            }
            continue;
        }
        match on_map.iter().find(|p| p.name.eq_ignore_ascii_case(name.trim())) {
            Some(post) => found.push(post.clone()),
            None => {
                let all: Vec<&str> = on_map.iter().map(|p| p.name.as_str()).collect();
                let remedy = if all.is_empty() {
                    "no post is on the map: write NAME=LON,LAT".to_string()
                } else {
                    format!("choose among {}, or write NAME=LON,LAT", all.join(", "))
                };
                problems.push(option_problem(option, name, "is no post on the map", &remedy));
            }
        }
    }
    if problems.is_empty() { Ok(found) } else { Err(problems) }
}
