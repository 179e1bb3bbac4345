//! `fathomline today roster --site DIR`: posts by half-hours, conflicts named, repaired with little change.

use super::loaded::{Loaded, option_problem, write};
use super::options::{DAY_S, print, span};
use super::roster_kept::{absent, first_news, kept};
use super::roster_sight::sights;
use crate::export::calendar;
use crate::roster::{json_text, table_csv, words};
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use std::path::PathBuf;
use std::process::ExitCode;
use watch::roster::{Day, Guard, Keep, Roster, Rules, Slot};
use water::{Kind, Member, Problem};

/// Length of a slot \[s\].
const SLOT_S: f64 = 1800.0;

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
        let kept = match kept(self.keep.as_ref(), &day) {
            Ok(kept) => kept,
            Err(of_file) => {
                problems.push(*of_file);
                None
            }
        };
        let mut gone = Vec::new();
        for without in &self.without {
            match absent(without, &mut day) {
                Ok(one) => gone.push(one),
                Err(problem) => problems.push(*problem),
            }
        }
        if !problems.is_empty() {
            return Err(problems);
        }
        let keep = kept.as_ref().map(|roster| Keep { roster, from: first_news(&gone, roster) });
        let made = Roster::make(&day, keep);
        if let Some(file) = &self.ics {
            if made.roster.at.iter().flatten().all(Option::is_none) {
                let what =
                    "is not written: a calendar holds at least one entry, and nobody stands at any post";
                let remedy = "leave --ics out, or name guards with hours in the day file";
                return Err(vec![option_problem("--ics", &file.display().to_string(), what, remedy)]);
            }
            let text = calendar(&loaded.site, (&loaded.day.date, Timestamp::now()), &day, &made.roster)
                .map_err(|why| {
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
            match sights(&self.glare, loaded, &posts, &mut slots) {
                Ok(names) => zones = names,
                Err(of_sight) => problems.extend(of_sight),
            }
        }
        loaded.notes.extend(clocks_change(loaded, &slots));
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

/// What is to be said where summer time begins or ends in the slots, which go by the clock on the wall.
fn clocks_change(loaded: &Loaded, slots: &[Slot]) -> Option<String> {
    let date: Date = loaded.day.date.parse().ok()?;
    let zone = TimeZone::get(&loaded.site.time_zone).ok()?;
    let (from_s, to_s) = (slots.first()?.from_s, slots.last()?.to_s);
    let at = |seconds: f64| {
        let wall = date.at(0, 0, 0, 0).checked_add(SignedDuration::from_secs(seconds as i64)).ok()?;
        zone.to_timestamp(wall).ok()
    };
    let over_s = (at(to_s)?.as_second() - at(from_s)?.as_second()) as f64 - (to_s - from_s);
    let (what, stint) = if over_s < 0.0 { ("leave out", "shorter") } else { ("repeat", "longer") };
    (over_s != 0.0).then(|| {
        format!(
            "the clocks change in these hours and {what} {:.0} minutes: half-hours go by the clock on the wall, and who stands then stands so much {stint}",
            over_s.abs() / 60.0
        )
    })
}

fn meets(slot: &Slot, (from, to): (f64, f64)) -> bool {
    slot.from_s < to && from < slot.to_s
}
