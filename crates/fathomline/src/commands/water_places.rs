//! `fathomline water places DIR --posts K`: where posts, boards and fins serve the water best.

use super::loaded::{Loaded, option_problem, write};
use super::options::{print, season};
use super::water_reach::posts;
use crate::places::{Asked, Layouts};
use jiff::civil::Date;
use std::path::PathBuf;
use std::process::ExitCode;
use water::{Kind, Problem};

/// Show where to put posts, boards and fins: the best places, today's layout beside them, the best single move.
#[derive(clap::Args)]
pub struct Places {
    /// Site folder.
    pub dir: PathBuf,
    /// Day file; the folder's day.toml if not given.
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// How many posts; as many as the map has if not given.
    #[arg(long, value_name = "K")]
    pub posts: Option<usize>,
    /// Boards to place; those of the day if not given.
    #[arg(long, value_name = "K")]
    pub boards: Option<usize>,
    /// Pairs of fins to place at posts; those of the day if not given.
    #[arg(long, value_name = "K")]
    pub fins: Option<usize>,
    /// Candidates: `shore`, or NAME=LON,LAT and names of posts. Today's posts are always among them.
    #[arg(long, num_args = 1.., default_values_t = vec!["shore".to_string()])]
    pub candidates: Vec<String>,
    /// Most candidates along the shore.
    #[arg(long, default_value_t = 24, value_parser = clap::value_parser!(u16).range(1..=60))]
    pub most: u16,
    /// Season over which glare is counted: first and last date; the 91 days about the day's date if not given.
    #[arg(long, value_name = "A..B", value_parser = season, conflicts_with = "reach_only")]
    pub season: Option<(Date, Date)>,
    /// Eye over the water at places that are not posts of the map \[m\]; as at today's posts if not given.
    #[arg(long, value_name = "M", value_parser = eye)]
    pub eye: Option<f64>,
    /// Leave out what can be seen: score by how soon a guard is there alone.
    #[arg(long)]
    pub reach_only: bool,
    /// Bathers in a bathing area, NAME=COUNT; may be given several times. Without any, all water counts alike.
    #[arg(long, value_name = "NAME=COUNT")]
    pub bathers: Vec<String>,
    /// All of it as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Write the best places as GeoJSON.
    #[arg(long, value_name = "FILE")]
    pub geojson: Option<PathBuf>,
}

impl Places {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.shown())
    }

    fn shown(&self) -> Result<String, Vec<Problem>> {
        let loaded = Loaded::new(&self.dir, self.day.as_ref())?;
        let today = posts(&loaded, "--posts", &[])?;
        let count = self.posts.unwrap_or(today.len());
        if count == 0 {
            let what = "no post is to be placed";
            return Err(vec![option_problem("--posts", "", what, "give --posts K, at least 1")]);
        }
        let own: Vec<String> = self.candidates.iter().filter(|c| *c != "shore").cloned().collect();
        let mut given = today.clone();
        if !own.is_empty() {
            let named = posts(&loaded, "--candidates", &own)?;
            let new = |p: &watch::reach::Post| !today.iter().any(|t| t.name.eq_ignore_ascii_case(&p.name));
            given.extend(named.into_iter().filter(new));
        }
        let asked = Asked {
            loaded: &loaded,
            today: today.len(),
            given,
            count,
            most: if own.is_empty() || self.candidates.len() > own.len() {
                usize::from(self.most)
            } else {
                0
            },
            boards: self.boards.unwrap_or(loaded.day.kit.boards as usize),
            fins: self.fins.unwrap_or(loaded.day.kit.fins as usize),
            season: self.season,
            eye_m: self.eye,
            reach_only: self.reach_only,
            bathers: self.bathers(&loaded)?,
        };
        let told: Layouts = asked.compute()?;
        if let Some(file) = &self.geojson {
            write("--geojson", file, format!("{:#}\n", told.geojson(&loaded)).as_bytes())?;
        }
        Ok(if self.json { format!("{:#}\n", told.json(&loaded)) } else { told.table(&loaded) })
    }

    /// Bathers of each bathing area that was told, by its number on the map.
    fn bathers(&self, loaded: &Loaded) -> Result<Vec<(usize, f64)>, Vec<Problem>> {
        let names: Vec<&str> = loaded.site.of_kind(Kind::BathingArea).map(|f| f.name.as_str()).collect();
        let mut told = Vec::new();
        let mut problems = Vec::new();
        for text in &self.bathers {
            let read = text.rsplit_once('=').and_then(|(name, count)| {
                let area = names.iter().position(|n| n.eq_ignore_ascii_case(name.trim()))?;
                let count = count.trim().parse::<f64>().ok().filter(|n| (0.0..=1e6).contains(n))?;
                Some((area, count))
            });
            let remedy = format!("write NAME=COUNT with one of: {}", names.join(", "));
            match read {
                Some(one) => told.push(one),
                None => {
                    problems.push(option_problem("--bathers", text, "is no bathing area and count", &remedy))
                }
            }
        }
        if !told.is_empty() && told.iter().all(|(_, count)| *count == 0.0) {
            problems.push(option_problem(
                "--bathers",
                "",
                "nobody bathes anywhere",
                "give one area a count above 0",
            ));
        }
        if problems.is_empty() { Ok(told) } else { Err(problems) }
    }
}

fn eye(text: &str) -> Result<f64, String> {
    let metres = text.trim().parse::<f64>().ok().filter(|m| (0.3..=30.0).contains(m));
    metres.ok_or_else(|| format!("{text:?} must be metres from 0.3 to 30"))
}

#[cfg(test)]
mod tests {
    #[test]
    fn an_eye_has_a_height() {
        assert!(super::eye("2.5").is_ok());
        assert!(["", "0", "-1", "31", "NaN", "inf"].iter().all(|bad| super::eye(bad).is_err()));
    }
}
