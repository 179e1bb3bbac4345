//! Readiness in words: a table, and a paragraph that can be read out.

use readiness::shares::Mean;
use readiness::today::{Readiness, ZoneReport};
use readiness::what_if::Effect;
use std::fmt::Write;
use water::Units;

/// Everything, as text.
pub fn lines(
    (head, units): (String, Units),
    whole: &Readiness,
    effects: &[Effect],
    said: Vec<String>,
) -> String {
    let mut text = head;
    for zone in &whole.zones {
        one(&mut text, whole, (zone, units));
    }
    if whole.zones.len() > 1 {
        let shares: Vec<String> = whole.found_by.iter().map(percent).collect();
        let _ = writeln!(text, "\nAll zones, by area: found {}", with_times(whole, &shares));
    }
    if !effects.is_empty() {
        help(&mut text, effects);
    }
    for note in &said {
        let _ = writeln!(text, "\nnote: {note}");
    }
    let _ = writeln!(text, "\nTo read out\n{}", wrapped(&read_out(whole), 96));
    text
}

fn one(text: &mut String, whole: &Readiness, (zone, units): (&ZoneReport, Units)) {
    let short = &zone.shortage;
    let verdict = match short.searchable {
        share if share >= 0.995 => "searchable".to_string(),
        share if share > 0.0 => format!("{:.0} % of it searchable", 100.0 * share),
        _ => "not searchable".to_string(),
    };
    let _ = writeln!(text, "\n{}, {}: {verdict}", zone.name, units.area(zone.area_m2));
    for (share, why) in &short.not_searchable {
        let _ = writeln!(text, "  not searchable, {} of it: {why}", part(*share));
    }
    if zone.alarms > 0 {
        let clock = |s: Option<f64>| s.map_or("not reached".into(), minutes);
        let [half, most] = zone.first_guard_s;
        let _ = writeln!(
            text,
            "  first guard at the last seen point: half of the alarms {}, nine in ten {}",
            clock(half),
            clock(most)
        );
        let covered = zone.half_covered_s.map_or("not within the first plan".to_string(), minutes);
        let _ = writeln!(text, "  most probable half passed over once: {covered} (half of the alarms)");
        let shares: Vec<String> = zone.found_by.iter().map(percent).collect();
        let _ = writeln!(text, "  of those on the bottom found {}", with_times(whole, &shares));
    }
    for (what, list) in [("people", &short.people), ("kit", &short.kit)] {
        if !list.is_empty() {
            let _ = writeln!(text, "  short of {what}: {}", list.join("; "));
        }
    }
}

fn help(text: &mut String, effects: &[Effect]) {
    let _ = writeln!(
        text,
        "\nWhat would change, with the same incidents and first plans alone (gain in percent of those on the bottom)"
    );
    let _ = writeln!(text, "  {:<30}{:>18}{:>18}{:>22}", "", "in 10 min", "in 30 min", "first guard [s]");
    for effect in effects {
        let signed = |m: &Mean| format!("{:+.1} ± {:.1}", 100.0 * m.mean, 100.0 * m.error);
        // Where no alarm is reached on both days there is nothing to compare.
        let guard = &effect.first_guard_s;
        let known = guard.error.is_finite();
        let seconds = if known { format!("{:+.1} ± {:.1}", guard.mean, guard.error) } else { "-".into() };
        let noise = if effect.told_apart { "" } else { "   within the noise" };
        let level = if effect.level_with_next { "   level with the next" } else { "" };
        let _ = writeln!(
            text,
            "  {:<30}{:>18}{:>18}{seconds:>22}{noise}{level}",
            effect.what,
            signed(&effect.found_10_min),
            signed(&effect.found_30_min)
        );
    }
    if effects.iter().any(|effect| effect.level_with_next) {
        let _ = writeln!(text, "  What is level with the next may change places with it with another seed.");
    }
}

/// A plain paragraph for the crew.
pub fn read_out(whole: &Readiness) -> String {
    let mut words = Vec::new();
    for zone in &whole.zones {
        let short = &zone.shortage;
        if zone.alarms == 0 {
            let why = short.not_searchable.first().map_or("nothing was tried", |(_, why)| why);
            words.push(format!("{}: {why}.", zone.name));
            continue;
        }
        let [half, most] = zone.first_guard_s;
        let barred = short.not_searchable.iter().map(|(share, _)| share).sum::<f64>() >= 0.995;
        let there = match most {
            // How far it is, where nobody may go in: one guard alone, nobody qualified.
            Some(s) if barred => format!(
                "a guard would be there within {} in nine alarms of ten, but nobody may go in",
                spoken(s)
            ),
            Some(s) => format!("the first guard is there within {} in nine alarms of ten", spoken(s)),
            None if half.is_none() => "in half of the alarms or more no guard gets there".into(),
            None => "in some alarms no guard gets there".into(),
        };
        let in_ten = |k: usize| match (10.0 * zone.found_by[k].mean).round() as u32 {
            0 => "nobody".to_string(),
            count => count.to_string(),
        };
        words.push(format!(
            "{}: {there}. Of ten who lie on the bottom we would find {} within ten minutes and {} within thirty.",
            zone.name,
            in_ten(2),
            in_ten(4)
        ));
        words.extend(not_searched(&short.not_searchable));
        let lacking: Vec<&str> = short.people.iter().chain(&short.kit).map(String::as_str).collect();
        if !lacking.is_empty() {
            words.push(format!("We are short of: {}.", lacking.join("; ")));
        }
    }
    words.push("These are simulations with assumed numbers: advice only, the supervisor decides.".into());
    words.join(" ")
}

/// What cannot be searched, all of it and why, in a sentence; nothing where it is next to nothing.
fn not_searched(pieces: &[(f64, String)]) -> Option<String> {
    let whole: f64 = pieces.iter().map(|(share, _)| share).sum();
    let told: Vec<&(f64, String)> = pieces.iter().filter(|(share, _)| *share >= 0.005).collect();
    let how_much = if whole >= 0.995 {
        "None of it can be searched".into()
    } else {
        format!("{} of it we cannot search", part(whole))
    };
    match told.as_slice() {
        [] => None,
        [(_, why)] => Some(format!("{how_much}: {why}.")),
        all => {
            let each: Vec<String> =
                all.iter().map(|(share, why)| format!("{}: {why}", part(*share))).collect();
            Some(format!("{how_much}. {}.", each.join("; ")))
        }
    }
}

/// A share in whole percents; a little is never nothing.
fn part(share: f64) -> String {
    if share < 0.01 { "under 1 %".into() } else { format!("{:.0} %", 100.0 * share) }
}

fn spoken(seconds: f64) -> String {
    if seconds < 90.0 { format!("{seconds:.0} seconds") } else { format!("{:.1} minutes", seconds / 60.0) }
}

fn minutes(seconds: f64) -> String {
    let whole = seconds.round() as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

fn percent(share: &Mean) -> String {
    format!("{:.0} ± {:.1} %", 100.0 * share.mean, 100.0 * share.error)
}

fn with_times(whole: &Readiness, shares: &[String]) -> String {
    let parts =
        whole.times_s.iter().zip(shares).map(|(s, share)| format!("within {:.0} min {share}", s / 60.0));
    parts.collect::<Vec<_>>().join(", ")
}

/// Lines no longer than `width`, broken between words.
fn wrapped(text: &str, width: usize) -> String {
    let mut lines: Vec<String> = vec![String::new()];
    for word in text.split(' ') {
        let line = lines.last_mut().expect("there is always a line");
        if !line.is_empty() && line.chars().count() + 1 + word.chars().count() > width {
            lines.push(word.to_string());
        } else {
            line.push_str(if line.is_empty() { "" } else { " " });
            line.push_str(word);
        }
    }
    lines.join("\n")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_cannot_be_searched_is_told_whole_and_with_every_reason() {
        let told = |pieces: &[(f64, &str)]| {
            not_searched(&pieces.iter().map(|(share, why)| (*share, why.to_string())).collect::<Vec<_>>())
        };
        assert_eq!(told(&[]), None);
        assert_eq!(told(&[(0.004, "deep")]), None);
        assert_eq!(told(&[(0.07, "deep")]).unwrap(), "7 % of it we cannot search: deep.");
        assert_eq!(told(&[(0.005, "deep")]).unwrap(), "under 1 % of it we cannot search: deep.");
        assert_eq!(told(&[(1.0, "deep")]).unwrap(), "None of it can be searched: deep.");
        let two = told(&[(0.3, "the current is too fast"), (0.2, "deep"), (0.001, "x")]).unwrap();
        assert_eq!(two, "50 % of it we cannot search. 30 %: the current is too fast; 20 %: deep.");
    }
}
