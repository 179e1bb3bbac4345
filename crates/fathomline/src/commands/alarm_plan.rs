//! `fathomline alarm plan`: from a last-seen point, and the reports since, to the orders of now.

use super::BAD_INPUT;
use crate::alarm::{self, Outcome};
use crate::site_folder::{load_day, load_site};
use crate::{export, picture};
use search::told::{Fields, clock_gap_s, clock_s, clock_text, missing, reports, sighting};
use search::{Alarm, AlarmKind};
use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::ExitCode;
use water::{Place, Problem, Site};

/// From a last-seen point to orders.
#[derive(clap::Args)]
pub struct Plan {
    /// Site folder.
    #[arg(long, value_name = "DIR")]
    site: PathBuf,
    /// Day file; without it the site folder's day.toml.
    #[arg(long, value_name = "FILE")]
    day: Option<PathBuf>,
    /// Time of day of the alarm.
    #[arg(long, value_name = "HH:MM:SS", default_value = "12:00:00")]
    at: String,
    /// How the alarm came about.
    #[arg(long, value_name = "KIND", default_value = "count-short")]
    kind: Kind,
    /// Who is missing: `height=1.4 non-swimmer`.
    #[arg(long, value_name = "WORDS", default_value = "")]
    missing: String,
    /// A sighting: `landmark=Raft ago=2min class=companion by=Sam under`; may be given several times.
    ///
    /// Where: landmark=NAME, point=LON,LAT, area=NAME, or post=NAME bearing=DEG [range=M] [by-mark].
    /// Doubt: error=M (degrees with a bearing), stood=NAME, placed. When: ago=90s, ago=1..3min, ago=now,
    /// at=14:30, at=14:29..14:31. Who: by, class=companion|guard|distant, talked=NAME,NAME. Also heading=DEG,
    /// and `under` if the witness saw them go under.
    #[arg(long, value_name = "WORDS", verbatim_doc_comment)]
    seen: Vec<String>,
    /// Reports from the water, one JSON object a line; see docs/handbook/alarm.md.
    #[arg(long, value_name = "FILE")]
    reports: Option<PathBuf>,
    /// Time of day for which orders are wanted; without it the time of the last report, or of the alarm.
    #[arg(long, value_name = "HH:MM:SS")]
    now: Option<String>,
    /// Seed: the same seed gives the same orders.
    #[arg(long, default_value_t = 1)]
    seed: u64,
    /// Print everything as JSON (docs/handbook/alarm-plan.schema.json).
    #[arg(long)]
    json: bool,
    /// Draw the search map; .svg or .png.
    #[arg(long, value_name = "FILE")]
    map: Option<PathBuf>,
    /// Light the map is drawn for.
    #[arg(long, value_enum, default_value_t)]
    light: picture::Theme,
    /// Width of the map in dots of a screen: 1000 for a laptop or paper, 390 for a phone.
    #[arg(long, value_name = "DOTS", default_value_t = 1000)]
    width: u32,
    /// Write lanes and last-seen points as GeoJSON.
    #[arg(long, value_name = "FILE")]
    geojson: Option<PathBuf>,
    /// Write lanes and last-seen points as GPX.
    #[arg(long, value_name = "FILE")]
    gpx: Option<PathBuf>,
    /// Write the belief as a grid of chance per cell; .asc or .tif.
    #[arg(long, value_name = "FILE")]
    belief: Option<PathBuf>,
}

/// Kinds of alarm.
#[derive(Clone, Copy, clap::ValueEnum)]
enum Kind {
    /// Somebody saw them go under.
    SeenGoingUnder,
    /// A count of bathers came out short.
    CountShort,
    /// Somebody cannot be found.
    CannotBeFound,
}

impl Plan {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self.orders() {
            Ok(text) => {
                // A reader that goes away early, such as `head`, is no reason to complain; a full disk is.
                match std::io::stdout().write_all(text.as_bytes()).and_then(|()| std::io::stdout().flush()) {
                    Err(error) if error.kind() != std::io::ErrorKind::BrokenPipe => {
                        eprintln!("the orders could not be written out: {error}");
                        ExitCode::FAILURE
                    }
                    _ => ExitCode::SUCCESS,
                }
            }
            Err(problems) => {
                for problem in &problems {
                    eprintln!("{problem}");
                }
                ExitCode::from(BAD_INPUT)
            }
        }
    }

    fn orders(&self) -> Result<String, Vec<Problem>> {
        let (site, mut said) = load_site(&self.site)?;
        let day_file = self.day.clone().unwrap_or_else(|| self.site.join("day.toml"));
        let (day, more) = load_day(&day_file, &site)?;
        said.extend(more);
        let told = self.told(&site)?;
        let outcome = alarm::follow(alarm::water(site, &day, said), &day, told);
        self.write_files(&outcome)?;
        Ok(if self.json { alarm::json(&outcome) } else { alarm::text(&outcome) })
    }

    /// Everything that was said on the command line and in the report file, or every problem at once.
    fn told(&self, site: &Site) -> Result<alarm::Told, Vec<Problem>> {
        let mut problems = Vec::new();
        let mut clock = |option: &str, text: &str| {
            clock_s(text).unwrap_or_else(|| {
                let what = format!("{text:?} is no time of day");
                problems.push(option_problem(option, what, "write it like 14:32:07"));
                0.0
            })
        };
        let at_s = clock("--at", &self.at);
        let now = self.now.as_deref().map(|text| clock("--now", text));
        if let Some(now) = now.filter(|now| clock_gap_s(at_s, *now) < 0.0) {
            let what = format!("{} lies before the alarm at {}", clock_text(now), clock_text(at_s));
            problems.push(option_problem("--now", what, "check both times; --at is the time of the alarm"));
        }
        let mut gather = |result: Result<_, Vec<Problem>>| result.map_err(|more| problems.extend(more)).ok();
        let sightings: Vec<_> = self
            .seen
            .iter()
            .enumerate()
            .filter_map(|(k, words)| gather(read_seen(words, k, site, at_s)))
            .collect();
        let who = missing(&self.missing, option_place("--missing", None));
        let who = who.map_err(|more| problems.extend(more)).ok();
        let all = match &self.reports {
            Some(path) => read_text(path).and_then(|text| reports(&name_of(path), &text, site, at_s)),
            None => Ok(Vec::new()),
        };
        let all = all.map_err(|more| problems.extend(more)).ok();
        let (Some(missing), Some(reports), true) = (who, all, problems.is_empty()) else {
            return Err(problems);
        };
        let kind = match self.kind {
            Kind::SeenGoingUnder => AlarmKind::SeenGoingUnder,
            Kind::CountShort => AlarmKind::CountShort,
            Kind::CannotBeFound => AlarmKind::CannotBeFound,
        };
        let alarm = Alarm { kind, at_s, missing, sightings };
        Ok(alarm::Told { alarm, reports, now_clock_s: now, seed: self.seed })
    }

    fn write_files(&self, outcome: &Outcome) -> Result<(), Vec<Problem>> {
        let mut problems = Vec::new();
        let mut write = |path: &Option<PathBuf>, bytes: &dyn Fn(&Path) -> Result<Vec<u8>, String>| {
            let Some(path) = path else { return };
            let written =
                bytes(path).and_then(|all| std::fs::write(path, all).map_err(|error| error.to_string()));
            if let Err(error) = written {
                problems.push(option_problem(
                    &path.display().to_string(),
                    error,
                    "name a file that can be written",
                ));
            }
        };
        let look = || picture::Look { theme: self.light, width: f64::from(self.width), ..Default::default() };
        write(&self.map, &|path| {
            picture::for_file(path, &alarm::scene(outcome, look(), picture::search_map))
        });
        write(&self.geojson, &|_| Ok(alarm::scene(outcome, look(), export::geojson).into_bytes()));
        write(&self.gpx, &|_| alarm::scene(outcome, look(), export::gpx).map(String::into_bytes));
        write(&self.belief, &|path| belief_file(outcome, path));
        if problems.is_empty() { Ok(()) } else { Err(problems) }
    }
}

/// The belief as a grid: chance in each cell, all hypotheses together one.
fn belief_file(outcome: &Outcome, path: &Path) -> Result<Vec<u8>, String> {
    let field = outcome.course.belief.map(&outcome.water.ground.grid);
    match path.extension().and_then(|ending| ending.to_str()) {
        Some("asc") => {
            let beside = path.with_extension("prj");
            std::fs::write(&beside, export::prj(&outcome.water.site.frame))
                .map_err(|error| error.to_string())?;
            Ok(export::esri_ascii(&field).into_bytes())
        }
        Some("tif" | "tiff") => export::geotiff(&field, &outcome.water.site.frame),
        _ => Err("its ending is neither .asc nor .tif".into()),
    }
}

fn read_seen(words: &str, k: usize, site: &Site, at_s: f64) -> Result<search::Sighting, Vec<Problem>> {
    let place = option_place("--seen", Some(format!("sighting {}", k + 1)));
    let mut told = sighting(Fields::seen(words, place), site, 0.0, at_s)?;
    if told.by == "a witness" {
        told.by = format!("witness {}", k + 1);
    }
    Ok(told)
}

fn option_place(option: &str, item: Option<String>) -> Place {
    Place { file: option.into(), line: None, item }
}

fn option_problem(option: &str, what: String, remedy: &str) -> Problem {
    Problem {
        code: "A140".into(),
        fatal: true,
        place: option_place(option, None),
        what,
        remedy: remedy.into(),
    }
}

fn name_of(path: &Path) -> String {
    path.file_name().unwrap_or_default().to_string_lossy().into_owned()
}

/// Largest report file that is read \[bytes\]: a long search leaves a few hundred lines.
const REPORTS_MOST: u64 = 4_000_000;

fn read_text(path: &Path) -> Result<String, Vec<Problem>> {
    let refuse = |what: String, remedy: &str| Err(vec![option_problem("--reports", what, remedy)]);
    match std::fs::metadata(path) {
        Ok(facts) if facts.len() > REPORTS_MOST => {
            return refuse(
                format!("{} holds {} bytes", path.display(), facts.len()),
                "at most 4,000,000 are read",
            );
        }
        _ => {}
    }
    match std::fs::read(path).map(String::from_utf8) {
        Ok(Ok(text)) => Ok(text),
        Ok(Err(error)) => {
            let at = error.utf8_error().valid_up_to();
            refuse(format!("{} is not UTF-8 at byte {at}", path.display()), "save it as UTF-8")
        }
        Err(error) => refuse(format!("{}: {error}", path.display()), "name a file that can be read"),
    }
}
