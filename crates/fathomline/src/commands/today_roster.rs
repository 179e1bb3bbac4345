//! `fathomline today roster --site DIR`: posts by half-hours, conflicts named, repaired with little change.

use super::loaded::{Loaded, option_problem, write};
use super::options::{DAY_S, clock, print, span};
use crate::export::calendar;
use crate::glare::{Asked, Glare};
use crate::roster::{Kept, json_text, table_csv, words};
use jiff::civil::Date;
use std::path::PathBuf;
use std::process::ExitCode;
use watch::roster::{Day, Guard, InSight, Keep, Roster, Rules, Slot};
use water::{Kind, Member, Problem};

/// A post that sees nothing, and its span of the day \[s\].
type Blind = (usize, (f64, f64));

/// Length of a slot \[s\].
const SLOT_S: f64 = 1800.0;
/// Sun below the horizon \[degrees\] from which one no longer sees without lamps: the end of civil twilight.
const DARK_DEG: f64 = -6.0;

/// Make the watch roster of a day: who stands at which post in which half-hour.
#[derive(clap::Args)]
pub struct RosterOf {
    /// Site folder.
    #[arg(long, value_name = "DIR")]
    pub site: PathBuf,
    /// Day file; the folder's day.toml if not given.
    #[arg(long, value_name = "FILE")]
    pub day: Option<PathBuf>,
    /// Watched hours HH:MM-HH:MM; from the first to the last of the crew's hours if not given.
    #[arg(long, value_name = "SPAN")]
    pub hours: Option<String>,
    /// Glare as the crew knows it, instead of what is computed: POST=HH:MM-HH:MM, or `none` for a day under cloud.
    #[arg(long, value_name = "POST=SPAN", num_args = 1..)]
    pub glare: Vec<String>,
    /// Hours in which the shorter stint holds: HH:MM-HH:MM.
    #[arg(long, value_name = "SPAN", num_args = 1..)]
    pub heat: Vec<String>,
    /// Keep a roster that was made before (the file written with --json) as far as it can be.
    #[arg(long, value_name = "FILE")]
    pub keep: Option<PathBuf>,
    /// Somebody who is not there, or not from a time on: NAME or NAME@HH:MM.
    #[arg(long, value_name = "NAME[@HH:MM]", num_args = 1..)]
    pub without: Vec<String>,
    /// All of it as one JSON object.
    #[arg(long)]
    pub json: bool,
    /// Write a calendar, one entry a stint.
    #[arg(long, value_name = "FILE")]
    pub ics: Option<PathBuf>,
    /// Write a table, one line a half-hour.
    #[arg(long, value_name = "FILE")]
    pub csv: Option<PathBuf>,
}

impl RosterOf {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        print(self.shown())
    }

    fn shown(&self) -> Result<String, Vec<Problem>> {
        let mut loaded = Loaded::new(&self.site, self.day.as_ref())?;
        let (mut day, mut problems) = self.day_of(&mut loaded);
        let kept = match self.kept(&day) {
            Ok(kept) => kept,
            Err(of_file) => {
                problems.push(*of_file);
                None
            }
        };
        let mut from = 0;
        for without in &self.without {
            match absent(without, &mut day) {
                Ok(slot) => from = from.max(slot),
                Err(problem) => problems.push(*problem),
            }
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let made = Roster::make(&day, kept.as_ref().map(|roster| Keep { roster, from }));
        if let Some(file) = &self.ics {
            let text = calendar(&loaded.site, &loaded.day.date, &day, &made.roster).map_err(|why| {
                vec![option_problem(
                    "--ics",
                    &file.display().to_string(),
                    &why,
                    "mend the date or the time zone",
                )]
            })?;
            write("--ics", file, text.as_bytes())?;
        }
        if let Some(file) = &self.csv {
            write("--csv", file, table_csv(&day, &made.roster).as_bytes())?;
        }
        Ok(if self.json {
            json_text(&loaded, &day, &made)
        } else {
            words(&loaded, &day, &made, kept.is_some())
        })
    }

    /// Posts, slots and guards of the day.
    fn day_of(&self, loaded: &mut Loaded) -> (Day, Vec<Problem>) {
        let mut problems = Vec::new();
        let posts: Vec<String> = loaded.site.of_kind(Kind::Post).map(|f| f.name.clone()).collect();
        if posts.is_empty() {
            problems.push(option_problem("--site", "", "the map has no post", "draw posts in map.geojson"));
        }
        let crew: Vec<Member> = loaded.day.crew.iter().filter(|m| !m.volunteer).cloned().collect();
        let told = self.hours.as_deref().map(|text| span("--hours", text)).transpose();
        let hours = told.unwrap_or_else(|p| {
            problems.push(*p);
            None
        });
        let mut slots = slots(hours.unwrap_or_else(|| crew_hours(&crew)));
        for text in &self.heat {
            match span("--heat", text) {
                Ok(span) => slots.iter_mut().filter(|s| meets(s, span)).for_each(|s| s.hot = true),
                Err(problem) => problems.push(*problem),
            }
        }
        let mut zones = Vec::new();
        if problems.is_empty() {
            match self.sights(loaded, &posts, &mut slots) {
                Ok(names) => zones = names,
                Err(of_sight) => problems.extend(of_sight),
            }
        }
        let guards = crew
            .iter()
            .map(|m| Guard {
                name: m.name.clone(),
                dives: m.dive_m.is_some(),
                lookout: m.lookout,
                there: slots.iter().map(|s| m.on_duty(s.from_s) && m.on_duty(s.to_s - 1.0)).collect(),
                begins: posts.iter().position(|p| *p == m.post),
            })
            .collect();
        (Day { posts, zones, slots, guards, rules: Rules::of(SLOT_S) }, problems)
    }

    /// Tells the slots what each post sees then; gives the names of the zones.
    fn sights(
        &self,
        loaded: &mut Loaded,
        posts: &[String],
        slots: &mut [Slot],
    ) -> Result<Vec<String>, Vec<Problem>> {
        let blind = self.told_glare(posts)?;
        let last_s = slots.last().map_or(0.0, |slot| slot.to_s);
        let glare = glare_of(loaded, last_s)?;
        let same =
            glare.posts.len() == posts.len() && glare.posts.iter().zip(posts).all(|(g, p)| g.name == *p);
        let mut notes = glare.notes.clone();
        let names: Vec<String> = glare.spots.zones.iter().map(|zone| zone.name.clone()).collect();
        if !same {
            notes.push("a post has no place on the map: glare and lines of sight are left out".into());
        } else if blind.is_none() {
            InSight::under_the_sun(&glare.season).tell(slots);
            notes.push(format!(
                "glare as computed for a clear sky, {}; under cloud give --glare none",
                glare.wind_words()
            ));
        } else {
            InSight::told(&glare.season, blind.as_deref().unwrap_or_default()).tell(slots);
        }
        for (zone, name) in names.iter().enumerate().filter(|_| same) {
            if glare.season.posts.iter().all(|post| post.zone_watched[zone] == 0.0) {
                notes
                    .push(format!("{name} is watched from no post: too far, or something stands in the way"));
            }
        }
        for (post, of) in glare.posts.iter().zip(&glare.season.posts).filter(|_| !glare.spots.is_empty()) {
            if of.watched.is_empty() {
                notes.push(format!(
                    "{} watches no bathing water: too far, or something stands in the way",
                    post.name
                ));
            }
        }
        notes.extend(dark(&glare, slots));
        let seen = |zone: usize| glare.season.posts.iter().any(|post| post.zone_watched[zone] > 0.0);
        let names = if (0..names.len()).any(seen) { names } else { Vec::new() };
        drop(glare);
        // What the roster rests on; doubts about depths belong to other answers.
        loaded.notes = notes;
        Ok(if same { names } else { Vec::new() })
    }

    /// Glare that was told: posts with their spans; `None` where it is to be computed.
    fn told_glare(&self, posts: &[String]) -> Result<Option<Vec<Blind>>, Vec<Problem>> {
        let mut told = Vec::new();
        let mut problems = Vec::new();
        for text in self.glare.iter().filter(|text| !text.trim().eq_ignore_ascii_case("none")) {
            let read = text.split_once('=').and_then(|(post, hours)| {
                let post = posts.iter().position(|p| p.eq_ignore_ascii_case(post.trim()))?;
                Some((post, span("--glare", hours).ok()?))
            });
            let remedy = format!("write POST=16:30-18:00 with one of {}, or none", posts.join(", "));
            match read {
                Some(one) => told.push(one),
                None => problems.push(option_problem("--glare", text, "is no post and span", &remedy)),
            }
        }
        if problems.is_empty() { Ok((!self.glare.is_empty()).then_some(told)) } else { Err(problems) }
    }

    /// The roster to keep, over today's guards and slots; whoever is new was nowhere.
    fn kept(&self, day: &Day) -> Result<Option<Roster>, Box<Problem>> {
        let Some(file) = &self.keep else { return Ok(None) };
        let name = file.display().to_string();
        let wrong = |what: String| {
            Box::new(option_problem(
                "--keep",
                &name,
                &what,
                "give the file that --json has written for this day",
            ))
        };
        let text = std::fs::read_to_string(file).map_err(|e| wrong(format!("cannot be read: {e}")))?;
        let all: serde_json::Value =
            serde_json::from_str(&text).map_err(|e| wrong(format!("is not JSON: {e}")))?;
        let kept: Kept = serde_json::from_value(all["roster"].clone())
            .map_err(|e| wrong(format!("holds no roster: {e}")))?;
        let whole =
            kept.at.len() == kept.guards.len() && kept.at.iter().all(|row| row.len() == kept.slots.len());
        if !whole {
            return Err(wrong("its rows do not fit its guards and half-hours".into()));
        }
        let place = |guard: &Guard, slot: &Slot| -> Option<usize> {
            let g = kept.guards.iter().position(|n| *n == guard.name)?;
            let s = kept.slots.iter().position(|k| k.from_s == slot.from_s)?;
            let post = kept.posts.get(kept.at[g][s]?)?;
            day.posts.iter().position(|p| p == post)
        };
        let row = |guard: &Guard| day.slots.iter().map(|slot| place(guard, slot)).collect();
        Ok(Some(Roster { at: day.guards.iter().map(row).collect() }))
    }
}

/// Takes somebody out from a time on; gives the slot.
fn absent(text: &str, day: &mut Day) -> Result<usize, Box<Problem>> {
    let (name, time) = text.split_once('@').map_or((text, None), |(n, t)| (n, Some(t)));
    let wrong = |what: &str, remedy: &str| Box::new(option_problem("--without", text, what, remedy));
    let from_s = match time {
        None => f64::NEG_INFINITY,
        Some(t) => clock(t).ok_or_else(|| wrong("has no time HH:MM", "write NAME@14:30"))?,
    };
    let names: Vec<String> = day.guards.iter().map(|g| g.name.clone()).collect();
    let Some(guard) = day.guards.iter_mut().find(|g| g.name.eq_ignore_ascii_case(name.trim())) else {
        return Err(wrong("is nobody of today's guards", &format!("choose among {}", names.join(", "))));
    };
    let first = day.slots.iter().position(|s| s.to_s > from_s).unwrap_or(day.slots.len());
    guard.there[first..].iter_mut().for_each(|t| *t = false);
    Ok(if time.is_some() { first } else { 0 })
}

/// Glare of the roster's day, and of the next where the last slot lies in it.
fn glare_of(loaded: &Loaded, last_s: f64) -> Result<Glare<'_>, Vec<Problem>> {
    let date = loaded.day.date.parse::<Date>().ok();
    let next = date.filter(|_| last_s > DAY_S).and_then(|d| Some((d, d.tomorrow().ok()?)));
    let asked = Asked {
        site: &loaded.site,
        day: Some(&loaded.day),
        span: next,
        wind: None,
        posts: Vec::new(),
        open: Some((0, (DAY_S / 60.0) as usize)),
        crowd_m: None,
    };
    asked.compute()
}

/// Slots in which it is dark, said once.
fn dark(glare: &Glare, slots: &[Slot]) -> Option<String> {
    let at_s = |k: usize| {
        let moment = glare.season.moments[k];
        DAY_S * moment.day as f64 + 60.0 * moment.minute as f64
    };
    let moments = (0..glare.season.moments.len()).filter(|&k| glare.season.elevation_deg[k] < DARK_DEG);
    let dark = moments.filter(|&k| slots.iter().any(|s| (s.from_s..s.to_s).contains(&at_s(k)))).count();
    let minutes = dark * glare.step_min;
    (dark > 0).then(|| {
        format!(
            "the sun is more than {:.0} degrees below the horizon in {minutes} minutes of these hours: \
             what a post sees then depends on lamps and is not in it",
            -DARK_DEG
        )
    })
}

/// Half-hours of a span; the last may be shorter.
fn slots((from_s, to_s): (f64, f64)) -> Vec<Slot> {
    let count = (((to_s - from_s) / SLOT_S).ceil() as usize).clamp(1, 96);
    let begin = |k: usize| from_s + SLOT_S * k as f64;
    let one = |k: usize| Slot {
        from_s: begin(k),
        to_s: (begin(k) + SLOT_S).min(to_s),
        doubled: Vec::new(),
        hot: false,
        sees: Vec::new(),
    };
    (0..count).map(one).collect()
}

fn crew_hours(crew: &[Member]) -> (f64, f64) {
    let all = || crew.iter().flat_map(|m| &m.hours);
    let from = all().map(|h| h.from_s).fold(f64::INFINITY, f64::min);
    let to = all().map(|h| h.to_s).fold(f64::NEG_INFINITY, f64::max);
    if from < to { ((from / SLOT_S).floor() * SLOT_S, to.min(from + DAY_S)) } else { (36_000.0, 64_800.0) }
}

fn meets(slot: &Slot, (from, to): (f64, f64)) -> bool {
    slot.from_s < to && from < slot.to_s
}
