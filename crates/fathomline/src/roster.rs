//! The watch roster in words, as JSON and as a table.

use crate::commands::loaded::Loaded;
use serde::{Deserialize, Serialize};
use serde_json::json;
use std::fmt::Write as _;
use watch::roster::{Conflict, Day, Made, Roster, Slot};

/// A roster as it is written and read again.
#[derive(Serialize, Deserialize)]
pub struct Kept {
    /// Names of the posts.
    pub posts: Vec<String>,
    /// Names of the guards.
    pub guards: Vec<String>,
    /// Half-hours.
    pub slots: Vec<Slot>,
    /// For each guard and half-hour the post.
    pub at: Vec<Vec<Option<usize>>>,
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

/// A conflict in words, over the half-hours from its own to `last`.
fn conflict_words(day: &Day, conflict: &Conflict, last: usize) -> String {
    let span = format!("{}-{}", time(day.slots[conflict.slot].from_s), time(day.slots[last].to_s));
    let posts =
        if conflict.posts.is_empty() { String::new() } else { format!(" at {}", conflict.posts.join(", ")) };
    let why =
        if conflict.why.is_empty() { "nobody else is there".to_string() } else { conflict.why.join(", ") };
    if let Some(zone) = &conflict.zone {
        return format!("{span}: no lookout sees {zone}: {why}");
    }
    format!("{span}: {} short of {}{posts}: {why}", conflict.rule, conflict.short)
}

/// Conflicts with the last half-hour up to which each stays the same, so that a long one is one line.
fn spells(conflicts: &[Conflict]) -> Vec<(&Conflict, usize)> {
    let mut spells: Vec<(&Conflict, usize)> = Vec::new();
    for conflict in conflicts {
        let same = |(first, last): &&mut (&Conflict, usize)| {
            *last + 1 == conflict.slot && **first == Conflict { slot: first.slot, ..conflict.clone() }
        };
        match spells.iter_mut().find(same) {
            Some((_, last)) => *last = conflict.slot,
            None => spells.push((conflict, conflict.slot)),
        }
    }
    spells
}

/// What is to be said beside a half-hour: glare, heat.
fn beside(day: &Day, slot: &Slot) -> String {
    let blind: Vec<&str> = slot.doubled.iter().map(|&p| day.posts[p].as_str()).collect();
    let glare = if blind.is_empty() { String::new() } else { format!("glare: {}", blind.join(", ")) };
    [glare, if slot.hot { "heat".into() } else { String::new() }]
        .into_iter()
        .filter(|word| !word.is_empty())
        .collect::<Vec<_>>()
        .join("; ")
}

/// Letters of a column: of the longest of these texts, and a gap.
fn wide<'a>(texts: impl Iterator<Item = &'a str>, least: usize) -> usize {
    texts.map(|text| text.chars().count() + 2).fold(least, usize::max)
}

/// The table of the roster: one line a half-hour, one column a post as wide as it needs.
fn table(day: &Day, made: &Made) -> String {
    let cells: Vec<Vec<String>> = (0..day.posts.len())
        .map(|post| {
            let names = (0..day.slots.len()).map(|s| at(day, &made.roster, post, s).join(" + "));
            names.map(|names| if names.is_empty() { "EMPTY".into() } else { names }).collect()
        })
        .collect();
    let widths: Vec<usize> = cells
        .iter()
        .zip(&day.posts)
        .map(|(column, post)| wide(column.iter().map(String::as_str).chain([post.as_str()]), 12))
        .collect();
    let mut text = format!("  {:<13}", "");
    for (post, width) in day.posts.iter().zip(&widths) {
        let _ = write!(text, "{post:<width$}");
    }
    text = text.trim_end().to_string() + "\n";
    for (s, slot) in day.slots.iter().enumerate() {
        let mut line = format!("  {}-{}  ", time(slot.from_s), time(slot.to_s));
        for (column, width) in cells.iter().zip(&widths) {
            let _ = write!(line, "{:<width$}", column[s]);
        }
        line += &beside(day, slot);
        text += line.trim_end();
        text.push('\n');
    }
    text
}

/// The roster in words, with everything that it cannot keep.
pub fn words(loaded: &Loaded, day: &Day, made: &Made, kept: bool) -> String {
    let mut text = format!("{}, {}: watch roster\n\n", loaded.site.name, loaded.day.date);
    text += &table(day, made);
    let name = wide(day.guards.iter().map(|g| g.name.as_str()), 13);
    text.push('\n');
    for guard in 0..day.guards.len() {
        let on = day.slots.iter().zip(&made.roster.at[guard]).filter(|(_, post)| post.is_some());
        let hours = on.map(|(slot, _)| (slot.to_s - slot.from_s) / 3600.0).sum::<f64>();
        let _ = writeln!(text, "  {:<name$}{hours:.1} h on watch", day.guards[guard].name);
    }
    for (conflict, last) in spells(&made.conflicts) {
        let _ = writeln!(text, "conflict: {}", conflict_words(day, conflict, last));
    }
    if kept {
        let _ = writeln!(text, "{} half-hours differ from the roster kept", made.changes);
    }
    for note in &loaded.notes {
        let _ = writeln!(text, "note: {note}");
    }
    if !made.proven {
        text.push_str("note: the solver has not proven that nothing better exists\n");
    }
    text + "limits of stints and rests are the site's planning values: common practice, no published source\n"
}

/// The roster as JSON, to be read again by `--keep`.
pub fn json_text(loaded: &Loaded, day: &Day, made: &Made) -> String {
    let table: Vec<serde_json::Value> = (0..day.slots.len())
        .map(|s| {
            let posts: serde_json::Map<String, serde_json::Value> = day
                .posts
                .iter()
                .enumerate()
                .map(|(p, name)| (name.clone(), json!(at(day, &made.roster, p, s))))
                .collect();
            let names = |posts: &[usize]| posts.iter().map(|&p| day.posts[p].clone()).collect::<Vec<_>>();
            let unseen: Vec<&String> = (0..day.zones.len())
                .filter(|&z| !day.slots[s].sees.is_empty() && day.seen_from(z, s).is_empty())
                .map(|z| &day.zones[z])
                .collect();
            json!({ "from": time(day.slots[s].from_s), "to": time(day.slots[s].to_s), "posts": posts,
                "glare": names(&day.slots[s].doubled), "heat": day.slots[s].hot, "seen_from_no_post": unseen })
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
            "zone": c.zone, "why": c.why, "words": conflict_words(day, c, c.slot) }))
        .collect();
    let all = json!({
        "site": loaded.site.name, "date": loaded.day.date, "table": table, "conflicts": conflicts,
        "changes": made.changes, "proven": made.proven, "notes": loaded.notes, "roster": kept,
    });
    format!("{all:#}\n")
}

/// A field of a table, in quotes where it must be.
fn field(text: &str) -> String {
    // A leading sign of arithmetic would be run by a spreadsheet.
    let text = if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_string()
    };
    if text.contains([',', '"', '\n', '\r']) { format!("\"{}\"", text.replace('"', "\"\"")) } else { text }
}

/// The roster as a table, one line a half-hour.
pub fn table_csv(day: &Day, roster: &Roster) -> String {
    let mut text = String::from("from,to");
    day.posts.iter().for_each(|p| text += &format!(",{}", field(p)));
    text += ",beside\r\n";
    for (s, slot) in day.slots.iter().enumerate() {
        text += &format!("{},{}", time(slot.from_s), time(slot.to_s));
        (0..day.posts.len()).for_each(|p| text += &format!(",{}", field(&at(day, roster, p, s).join(" + "))));
        text += &format!(",{}\r\n", field(&beside(day, &day.slots[s])));
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn fields_with_awkward_names_are_quoted_and_never_run_by_a_spreadsheet() {
        assert_eq!(field("Ann"), "Ann");
        assert_eq!(field("O\"Neil, Bo"), "\"O\"\"Neil, Bo\"");
        assert_eq!(field("=HYPERLINK(1)"), "'=HYPERLINK(1)");
        assert_eq!(field("@x,\ny"), "\"'@x,\ny\"");
        assert_eq!(field("\t=1"), "'\t=1");
        assert_eq!(field(""), "");
    }
}
