//! What every simulation is told on the command line: the site, the day, the time of day, the seed.

pub use super::options::print;
use crate::alarm::{self, Water};
use crate::site_folder::{load_day, load_site};
use readiness::bathers::Zone;
use readiness::excerpt::{MOST_CELLS, about_bathers};
use readiness::incident::Witnesses;
use readiness::what_if;
use search::told::clock_s;
use std::path::PathBuf;
use water::{Day, Ground, Place, Problem, Site};

/// Where and when incidents are simulated.
#[derive(clap::Args)]
pub struct Scene {
    /// Site folder.
    #[arg(long, value_name = "DIR")]
    pub site: PathBuf,
    /// Day file; without it the site folder's day.toml.
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// Time of day of the incidents: who is on duty.
    #[arg(long, value_name = "HH:MM:SS", default_value = "14:30:00")]
    pub at: String,
    /// Seed: the same seed gives the same numbers.
    #[arg(long, default_value_t = 1)]
    pub seed: u64,
}

/// A scene that came through the door.
pub struct Loaded {
    /// Water of the day.
    pub water: Water,
    /// The day.
    pub day: Day,
    /// Time of day \[s after midnight\].
    pub at_s: f64,
}

impl Scene {
    /// Reads site and day, or gives every problem.
    pub fn load(&self) -> Result<Loaded, Vec<Problem>> {
        let (site, mut said) = load_site(&self.site)?;
        let day_file = self.day.clone().unwrap_or_else(|| self.site.join("day.toml"));
        let (day, more) = load_day(&day_file, &site)?;
        said.extend(more);
        let at_s = clock_s(&self.at).ok_or_else(|| {
            let what = format!("{:?} is no time of day", self.at);
            vec![option_problem("--at", what, "write it like 14:30:00")]
        })?;
        Ok(Loaded { water: alarm::water(site, &day, said), day, at_s })
    }
}

/// How far round the bathing areas a large water is kept \[m\].
const MARGIN_M: f64 = 150.0;

impl Loaded {
    /// The scene that is simulated: a large water is cut to what lies round its bathing areas.
    pub fn simulated(&self, whole: bool) -> what_if::Scene {
        what_if::Scene {
            site: self.water.site.clone(),
            day: self.day.clone(),
            ground: self.cut(&self.water.site, self.water.ground.clone(), whole),
            flow: self.water.flow.clone(),
            rope_m: None,
        }
    }

    /// The bottom that is simulated.
    pub fn cut(&self, site: &Site, ground: Ground, whole: bool) -> Ground {
        if whole || ground.grid.len() <= MOST_CELLS { ground } else { about_bathers(site, &ground, MARGIN_M) }
    }

    /// What is to be said of the cut, if there is one.
    pub fn cut_words(&self, whole: bool) -> Option<String> {
        let cut = !whole && self.water.ground.grid.len() > MOST_CELLS;
        cut.then(|| {
            format!(
                "simulated on the water within {} of the bathing areas; --whole takes all of it",
                self.water.site.units.distance(MARGIN_M)
            )
        })
    }

    /// Refuses a site on which nobody bathes: incidents are drawn where bathers are.
    pub fn need_bathers(&self, zones: &[Zone]) -> Result<(), Vec<Problem>> {
        if zones.iter().any(|zone| !zone.cells.is_empty()) {
            return Ok(());
        }
        let what = if zones.is_empty() {
            format!("{} names no bathing area: nobody knows where bathers are", self.water.site.name)
        } else {
            format!("the bathing areas of {} hold no water today", self.water.site.name)
        };
        Err(vec![option_problem(
            "--site",
            what,
            "draw a bathing_area in map.geojson, over water of today's stage",
        )])
    }
}

/// A problem of an option.
pub fn option_problem(option: &str, what: String, remedy: &str) -> Problem {
    Problem {
        code: "A140".into(),
        fatal: true,
        place: Place { file: option.into(), line: None, item: None },
        what,
        remedy: remedy.into(),
    }
}

/// Who can say where they were, as people say it.
pub fn witness_words(witnesses: Witnesses) -> &'static str {
    match witnesses {
        Witnesses::Nobody => "no witness",
        Witnesses::One => "one witness",
        Witnesses::Agree => "two who agree",
        Witnesses::Disagree => "two who disagree",
        Witnesses::Bearing => "a bearing only",
        Witnesses::Mixed => "mixed witnesses",
    }
}
