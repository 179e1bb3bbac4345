//! A site and its day through the door, with the bottom at today's stage and today's current.

use crate::site_folder::{load_day, load_site, own_day};
use std::path::{Path, PathBuf};
use water::{Day, Flow, Ground, Place, Problem, Site};

/// What commands about a day begin with.
pub struct Loaded {
    /// As surveyed.
    pub site: Site,
    /// Conditions, crew, kit.
    pub day: Day,
    /// The bottom at today's stage.
    pub ground: Ground,
    /// Today's current.
    pub flow: Flow,
    /// What is to be said of all of it.
    pub notes: Vec<String>,
}

impl Loaded {
    /// Reads a site folder and a day file; without one, the `day.toml` of the folder.
    pub fn new(dir: &Path, day: Option<&PathBuf>) -> Result<Loaded, Vec<Problem>> {
        let (site, mut problems) = load_site(dir)?;
        let own = own_day(dir);
        let Some(path) = day.or(own.as_ref()) else {
            return Err(vec![option_problem(
                "--day",
                "",
                "no day is given, and the folder holds no day.toml",
                "give --day FILE",
            )]);
        };
        let (day, of_day) = load_day(path, &site)?;
        problems.extend(of_day);
        let ground = Ground::build(&site, day.stage_m);
        let flow = Flow::from_floats(&day.floats);
        let mut notes: Vec<String> = problems.iter().map(ToString::to_string).collect();
        notes.extend(ground.notes.iter().cloned());
        notes.extend(flow.notes);
        Ok(Loaded { site, day, ground: ground.value, flow: flow.value, notes })
    }
}

/// A problem with an option of the command line.
pub fn option_problem(option: &str, given: &str, what: &str, remedy: &str) -> Problem {
    let item = Some(given.to_string()).filter(|text| !text.is_empty());
    let place = Place { file: option.into(), line: None, item };
    Problem { code: "A140".into(), fatal: true, place, what: what.into(), remedy: remedy.into() }
}

/// Writes a file that an option names.
pub fn write(option: &str, file: &Path, bytes: &[u8]) -> Result<(), Vec<Problem>> {
    std::fs::write(file, bytes).map_err(|error| {
        let what = format!("cannot be written: {error}");
        vec![option_problem(
            option,
            &file.display().to_string(),
            &what,
            "name a file in a folder that is there",
        )]
    })
}
