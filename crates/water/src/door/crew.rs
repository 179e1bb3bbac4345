//! `[[crew]]` of `day.toml`: who is there, what each may do, where and when.

use crate::Site;
use crate::day::{Hours, Member};
use crate::formats::section::{Codes, Range, Section};
use crate::formats::words::{choose, short};
use crate::problem::{At, Report};
use crate::site::Kind;
use measure::Standing;
use measure::parameters::parameter;
use toml::de::DeValue;

/// Values nobody gave, as they are filled in.
type Assumed = Vec<(String, String, Standing)>;

/// All members; those that are wrong are reported.
pub(crate) fn read(
    top: &mut Section,
    site: &Site,
    (codes, assumed): (Codes, &mut Assumed),
    report: &mut Report,
) -> Vec<Member> {
    let mut crew: Vec<Member> = Vec::new();
    for mut table in top.tables("crew", report) {
        let name = table.string("name", report).unwrap_or_default();
        let name = name.split_whitespace().collect::<Vec<_>>().join(" ");
        if name.is_empty() {
            if !table.has("name") || table.get("name").is_some_and(|v| v.get_ref().is_str()) {
                table.missing("name", "write the name as it is called", report);
            }
        } else {
            table.call(format!("crew \"{}\"", short(&name)));
        }
        if !name.is_empty() && crew.iter().any(|m| m.name.eq_ignore_ascii_case(&name)) {
            let what = format!("two of the crew are called {}", short(&name));
            report.fatal("W420", table.at_key("name"), what, "add a letter or the family name to one");
        }
        let member = one(table, name, (site, codes, assumed), report);
        crew.push(member);
    }
    crew
}

fn one(
    mut table: Section,
    name: String,
    (site, codes, assumed): (&Site, Codes, &mut Assumed),
    report: &mut Report,
) -> Member {
    let height_m = table.number("height_m", Range::new(1.2, 2.3, "m"), report).unwrap_or_else(|| {
        let usual = parameter("height_guard_m");
        if !table.has("height_m") {
            assumed.push((format!("height of {name}"), format!("{} m", usual.value), usual.standing));
        }
        usual.value
    });
    let mut may = |key| table.flag(key, report).unwrap_or(false);
    let (wade, board, lookout, lead, volunteer) =
        (may("wade"), may("board"), may("lookout"), may("lead"), may("volunteer"));
    let dive_m = dive(&mut table, report);
    if volunteer && (dive_m.is_some() || board || lead || lookout) {
        let what = "is a volunteer and may dive, board, lead or be lookout: volunteers wade only";
        report.fatal(
            "W421",
            table.at(),
            what,
            "take volunteer out if they belong to the trained crew, or the rest",
        );
    }
    if !(wade || dive_m.is_some() || board || lookout || lead) {
        let what = "may do nothing in a search: no wade, dive_m, board, lookout or lead";
        report.note("W422", table.at(), what, "write wade = true and the like; leave it for gate and phone");
    }
    let post = post(&mut table, site, report);
    let hours = hours(&mut table, codes, report);
    table.finish(report);
    Member { name, height_m, wade, dive_m, board, lookout, lead, volunteer, post, hours }
}

/// Depth to which somebody may surface-dive; 0 and `false` say that they may not.
fn dive(table: &mut Section, report: &mut Report) -> Option<f64> {
    if table.get("dive_m")?.get_ref().as_bool() == Some(false) {
        return None;
    }
    let dive = table.number("dive_m", Range::new(0.0, 10.0, "m"), report)?;
    (dive > 0.0).then_some(dive)
}

fn post(table: &mut Section, site: &Site, report: &mut Report) -> String {
    let post = table.string("post", report).unwrap_or_default();
    if post.is_empty() {
        return post;
    }
    if let Some(found) = site.of_kind(Kind::Post).find(|f| f.name.eq_ignore_ascii_case(&post)) {
        return found.name.clone();
    }
    let names: Vec<&str> = site.of_kind(Kind::Post).map(|f| f.name.as_str()).collect();
    let what = format!("post \"{}\" is not on the map", short(&post));
    let remedy = if names.is_empty() {
        "draw posts in map.geojson, or take the line out".to_string()
    } else {
        choose(&post, &names)
    };
    report.fatal("W423", table.at_key("post"), what, remedy);
    post
}

fn hours(table: &mut Section, codes: Codes, report: &mut Report) -> Vec<Hours> {
    let Some(value) = table.get("hours") else { return Vec::new() };
    let at = table.at_key("hours");
    let texts: Option<Vec<&str>> = match value.get_ref() {
        DeValue::String(one) => Some(vec![one.as_ref()]),
        DeValue::Array(items) => items.iter().map(|item| item.get_ref().as_str()).collect(),
        _ => None,
    };
    let Some(texts) = texts else {
        table.wrong_kind("hours", "a list such as [\"09:00-13:00\", \"14:00-18:00\"]", report);
        return Vec::new();
    };
    let mut hours: Vec<Hours> = Vec::new();
    for text in texts {
        match span(text) {
            Some(span) => hours.push(span),
            None => {
                let what = format!("hours \"{}\" are not a span of a day", short(text));
                let remedy = "write \"09:00-13:00\"; past midnight \"22:00-02:00\"";
                report.fatal(codes.range, at.clone(), what, remedy);
            }
        }
    }
    say_overlap(&hours, &at, report);
    hours
}

fn say_overlap(hours: &[Hours], at: &At, report: &mut Report) {
    const DAY_S: f64 = 86_400.0;
    let meet = |a: &Hours, b: &Hours, shift: f64| a.from_s < b.to_s + shift && b.from_s + shift < a.to_s;
    for (n, a) in hours.iter().enumerate() {
        if hours[..n].iter().any(|b| [-DAY_S, 0.0, DAY_S].iter().any(|shift| meet(a, b, *shift))) {
            let what = "two spans of hours overlap";
            report.fatal("W424", at.clone(), what, "write each hour once");
            return;
        }
    }
}

/// `HH:MM-HH:MM` in seconds after midnight; an end not after the start is on the next day.
fn span(text: &str) -> Option<Hours> {
    let (from, to) = text.split_once(['-', '–'])?;
    let (from_s, to_s) = (clock(from)?, clock(to)?);
    if from_s == to_s || from_s >= 86_400.0 {
        return None;
    }
    Some(Hours { from_s, to_s: if to_s > from_s { to_s } else { to_s + 86_400.0 } })
}

/// Seconds after midnight of `HH:MM`; `24:00` is the end of the day.
fn clock(text: &str) -> Option<f64> {
    let (hour, minute) = text.trim().split_once(':')?;
    let digits = |t: &str, count: std::ops::RangeInclusive<usize>| {
        (count.contains(&t.len()) && t.bytes().all(|b| b.is_ascii_digit())).then(|| t.parse::<u32>().ok())?
    };
    let (hour, minute) = (digits(hour, 1..=2)?, digits(minute, 2..=2)?);
    let valid = minute < 60 && (hour < 24 || (hour == 24 && minute == 0));
    valid.then(|| f64::from(hour * 3600 + minute * 60))
}
