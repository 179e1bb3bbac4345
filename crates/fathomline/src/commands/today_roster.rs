//! `fathomline today roster --site DIR`: posts by half-hours, conflicts named, repaired with little change.

use super::loaded::{Loaded, option_problem, write};
use crate::export::calendar;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::fmt::Write as _;
use std::io::Write as _;
use std::path::PathBuf;
use std::process::ExitCode;
use watch::roster::{Conflict, Day, Guard, Keep, Made, Roster, Rules, Slot};
use water::{Kind, Problem};

/// Length of a slot \[s\].
const SLOT_S: f64 = 1800.0;
const DAY_S: f64 = 86_400.0;

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
    /// Post doubled in glare: POST=HH:MM-HH:MM.
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

/// A roster as it is written and read again.
#[derive(Serialize, Deserialize)]
struct Kept {
    posts: Vec<String>,
    guards: Vec<String>,
    slots: Vec<Slot>,
    at: Vec<Vec<Option<usize>>>,
}

impl RosterOf {
    /// Runs it.
    pub fn run(self) -> ExitCode {
        match self.shown() {
            Ok(text) => {
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
        let loaded = Loaded::new(&self.site, self.day.as_ref())?;
        let (mut day, mut problems) = self.day_of(&loaded);
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
    fn day_of(&self, loaded: &Loaded) -> (Day, Vec<Problem>) {
        let mut problems = Vec::new();
        let posts: Vec<String> = loaded.site.of_kind(Kind::Post).map(|f| f.name.clone()).collect();
        if posts.is_empty() {
            problems.push(option_problem("--site", "", "the map has no post", "draw posts in map.geojson"));
        }
        let crew: Vec<&water::Member> = loaded.day.crew.iter().filter(|m| !m.volunteer).collect();
        let told = self.hours.as_deref().map(|text| read_span("--hours", text)).transpose();
        let hours = told.unwrap_or_else(|p| {
            problems.push(*p);
            None
        });
        let (from_s, to_s) = hours.unwrap_or_else(|| crew_hours(&crew));
        let count = (((to_s - from_s) / SLOT_S).ceil() as usize).clamp(1, 96);
        let mut slots: Vec<Slot> = (0..count)
            .map(|k| {
                let begin = from_s + SLOT_S * k as f64;
                Slot { from_s: begin, to_s: (begin + SLOT_S).min(to_s), doubled: Vec::new(), hot: false }
            })
            .collect();
        for text in &self.glare {
            let read = text.split_once('=').and_then(|(post, span)| {
                let post = posts.iter().position(|p| p.eq_ignore_ascii_case(post.trim()))?;
                Some((post, read_span("--glare", span).ok()?))
            });
            match read {
                Some((post, span)) => {
                    slots.iter_mut().filter(|s| meets(s, span)).for_each(|s| s.doubled.push(post))
                }
                None => problems.push(option_problem(
                    "--glare",
                    text,
                    "is no post and span",
                    "write POST=16:30-18:00",
                )),
            }
        }
        for slot in &mut slots {
            slot.doubled.sort_unstable();
            slot.doubled.dedup();
        }
        for text in &self.heat {
            match read_span("--heat", text) {
                Ok(span) => slots.iter_mut().filter(|s| meets(s, span)).for_each(|s| s.hot = true),
                Err(problem) => problems.push(*problem),
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
        (Day { posts, slots, guards, rules: Rules::of(SLOT_S) }, problems)
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

fn crew_hours(crew: &[&water::Member]) -> (f64, f64) {
    let all = || crew.iter().flat_map(|m| &m.hours);
    let from = all().map(|h| h.from_s).fold(f64::INFINITY, f64::min);
    let to = all().map(|h| h.to_s).fold(f64::NEG_INFINITY, f64::max);
    if from < to { ((from / SLOT_S).floor() * SLOT_S, to.min(from + DAY_S)) } else { (36_000.0, 64_800.0) }
}

fn meets(slot: &Slot, (from, to): (f64, f64)) -> bool {
    slot.from_s < to && from < slot.to_s
}

fn read_span(option: &str, text: &str) -> Result<(f64, f64), Box<Problem>> {
    let both = text.split_once(['-', '–']).and_then(|(a, b)| Some((clock(a)?, clock(b)?)));
    match both {
        Some((from, to)) if from != to => Ok((from, if to > from { to } else { to + DAY_S })),
        _ => Err(Box::new(option_problem(option, text, "is no span of the day", "write 09:00-18:00"))),
    }
}

fn clock(text: &str) -> Option<f64> {
    let (hour, minute) = text.trim().split_once(':')?;
    let (hour, minute) = (hour.parse::<u32>().ok()?, minute.parse::<u32>().ok()?);
    (hour <= 24 && minute < 60).then(|| f64::from(hour * 3600 + minute * 60))
}

fn time(seconds: f64) -> String {
    let minutes = (seconds / 60.0).round() as i64;
    format!("{:02}:{:02}", minutes / 60 % 24, minutes % 60)
}

/// Who stands at a post in a slot.
fn at<'a>(day: &'a Day, roster: &Roster, post: usize, slot: usize) -> Vec<&'a str> {
    (0..day.guards.len())
        .filter(|&g| roster.at[g][slot] == Some(post))
        .map(|g| day.guards[g].name.as_str())
        .collect()
}

fn conflict_words(day: &Day, conflict: &Conflict) -> String {
    let slot = &day.slots[conflict.slot];
    let posts =
        if conflict.posts.is_empty() { String::new() } else { format!(" at {}", conflict.posts.join(", ")) };
    let why =
        if conflict.why.is_empty() { "nobody else is there".to_string() } else { conflict.why.join(", ") };
    format!(
        "{}-{}: {} short of {}{posts}: {why}",
        time(slot.from_s),
        time(slot.to_s),
        conflict.rule,
        conflict.short
    )
}

fn words(loaded: &Loaded, day: &Day, made: &Made, kept: bool) -> String {
    let mut text = format!("{}, {}: watch roster\n\n  {:<13}", loaded.site.name, loaded.day.date, "");
    for post in &day.posts {
        let _ = write!(text, "{post:<20}");
    }
    text.push('\n');
    for (s, slot) in day.slots.iter().enumerate() {
        let _ = write!(text, "  {}-{}  ", time(slot.from_s), time(slot.to_s));
        for post in 0..day.posts.len() {
            let names = at(day, &made.roster, post, s).join(" + ");
            let _ = write!(text, "{:<20}", if names.is_empty() { "EMPTY".into() } else { names });
        }
        let _ = writeln!(text, "{}", if slot.hot { "heat" } else { "" });
    }
    text.push('\n');
    for guard in 0..day.guards.len() {
        let slots = made.roster.at[guard].iter().filter(|p| p.is_some()).count();
        let _ = writeln!(
            text,
            "  {:<13}{:.1} h on watch",
            day.guards[guard].name,
            slots as f64 * SLOT_S / 3600.0
        );
    }
    for conflict in &made.conflicts {
        let _ = writeln!(text, "conflict: {}", conflict_words(day, conflict));
    }
    if kept {
        let _ = writeln!(text, "{} half-hours differ from the roster kept", made.changes);
    }
    if !made.proven {
        text.push_str("note: the solver has not proven that nothing better exists\n");
    }
    text + "limits of stints and rests are the site's planning values: common practice, no published source\n"
}

fn json_text(loaded: &Loaded, day: &Day, made: &Made) -> String {
    let table: Vec<serde_json::Value> = (0..day.slots.len())
        .map(|s| {
            let posts: serde_json::Map<String, serde_json::Value> = day
                .posts
                .iter()
                .enumerate()
                .map(|(p, name)| (name.clone(), json!(at(day, &made.roster, p, s))))
                .collect();
            json!({ "from": time(day.slots[s].from_s), "to": time(day.slots[s].to_s), "posts": posts })
        })
        .collect();
    let kept = Kept {
        posts: day.posts.clone(),
        guards: day.guards.iter().map(|g| g.name.clone()).collect(),
        slots: day.slots.clone(),
        at: made.roster.at.clone(),
    };
    let conflicts: Vec<serde_json::Value> = made
        .conflicts
        .iter()
        .map(|c| json!({ "from": time(day.slots[c.slot].from_s), "rule": c.rule, "short": c.short, "posts": c.posts,
            "why": c.why, "words": conflict_words(day, c) }))
        .collect();
    let all = json!({
        "site": loaded.site.name, "date": loaded.day.date, "table": table, "conflicts": conflicts,
        "changes": made.changes, "proven": made.proven, "roster": kept,
    });
    format!("{all:#}\n")
}

/// A field of a table, in quotes where it must be.
fn field(text: &str) -> String {
    // A leading sign of arithmetic would be run by a spreadsheet.
    let text = if text.starts_with(['=', '+', '-', '@']) { format!("'{text}") } else { text.to_string() };
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

fn table_csv(day: &Day, roster: &Roster) -> String {
    let mut text = String::from("from,to");
    day.posts.iter().for_each(|p| text += &format!(",{}", field(p)));
    text += "\r\n";
    for (s, slot) in day.slots.iter().enumerate() {
        text += &format!("{},{}", time(slot.from_s), time(slot.to_s));
        (0..day.posts.len()).for_each(|p| text += &format!(",{}", field(&at(day, roster, p, s).join(" + "))));
        text += "\r\n";
    }
    text
}
