//! Orders and what stands behind them, as plain text for a screen or a printer.

use super::Outcome;
use search::AlarmKind;
use search::course::State;
use search::told::clock_text;
use std::fmt::Write;

/// Width at which long lines are broken.
const WIDTH: usize = 96;
/// Orders printed for each team: people hold three in mind, the rest changes anyway.
const SHOWN: usize = 3;

/// Everything a lead needs, first things first: orders, then where and how sure, then doubts and cautions.
pub fn text(outcome: &Outcome) -> String {
    let mut out = String::new();
    heading(&mut out, outcome);
    state(&mut out, outcome);
    if outcome.course.state == State::Searching {
        under_way(&mut out, outcome);
        orders(&mut out, outcome);
    }
    belief(&mut out, outcome);
    not_covered(&mut out, outcome);
    section(&mut out, "Cautions", &outcome.cautions);
    section(&mut out, "Said since", &outcome.course.said);
    section(&mut out, "Assumed, and doubts", &assumed(outcome));
    out
}

fn heading(out: &mut String, outcome: &Outcome) {
    let alarm = &outcome.course.alarm;
    let kind = match alarm.kind {
        AlarmKind::SeenGoingUnder => "seen going under",
        AlarmKind::CountShort => "count is short",
        AlarmKind::CannotBeFound => "cannot be found",
    };
    let site = &outcome.water.site;
    let now = outcome.course.now_s;
    let _ = writeln!(
        out,
        "{} · alarm {} · {kind} · orders of {} (+{}:{:02})",
        site.name,
        clock_text(alarm.at_s),
        clock_text(alarm.at_s + now),
        (now / 60.0) as u32,
        now as u32 % 60
    );
    let number = if site.emergency_number.is_empty() { "the local number" } else { &site.emergency_number };
    let _ = writeln!(out, "Call {number}. {}", site.plan_text.trim().replace('\n', " "));
}

fn state(out: &mut String, outcome: &Outcome) {
    let words = match &outcome.course.state {
        State::Searching => return,
        State::AllOut { reason } => format!(
            "ALL OUT{}. Everybody out of the water. Count the searchers by name. Clock and drift run on.",
            if reason.is_empty() { String::new() } else { format!(": {reason}") }
        ),
        State::CountShort { order, up, down } => format!(
            "COUNT SHORT on order {order}: {up} up, {down} went down. That line holds; search its last advance for its own \
             missing searcher, now. Every other line stands by. Recount by name; report \"dive made\" with all up."
        ),
        State::Found => "FOUND. Bring up, support, way out that fits the depth. Breathing first, by local protocol and medical \
             direction; suspect the spine after a dive or fall. Is it the person who is missing? Count all searchers out by name."
            .into(),
    };
    let _ = writeln!(out, "\n{}", wrapped(&words, 0));
}

fn under_way(out: &mut String, outcome: &Outcome) {
    let open: Vec<_> = outcome.course.begun.iter().filter(|b| b.ended_s.is_none()).collect();
    if open.is_empty() {
        return;
    }
    let _ = writeln!(out, "\nUnder way");
    for begun in open {
        let names: Vec<&str> =
            begun.team.members.iter().map(|&who| outcome.course.day.crew[who].name.as_str()).collect();
        let end = clock_text(outcome.course.alarm.at_s + begun.run.to_s);
        let _ = writeln!(out, "  order {}: {}, until about {end}", begun.number, names.join(", "));
    }
}

fn orders(out: &mut String, outcome: &Outcome) {
    let _ = writeln!(out, "\nOrders");
    if outcome.orders.is_empty() {
        let _ = writeln!(out, "  none: see the notes below");
    }
    let mut shown = std::collections::BTreeMap::new();
    for order in &outcome.orders {
        if let Some(run) = order.run {
            if outcome.course.plan.runs[run].under_way {
                continue;
            }
            let count = shown.entry(outcome.course.plan.runs[run].team).or_insert(0);
            *count += 1;
            if *count > SHOWN {
                continue;
            }
        }
        let number =
            order.run.map_or("   ".to_owned(), |run| format!("{:>2}.", outcome.course.number_of(run)));
        let _ = writeln!(out, "{}", wrapped(&format!("{} {number} {}", order.clock, order.words), 13));
    }
    let later = shown.values().map(|n| n.saturating_sub(SHOWN)).sum::<usize>();
    if later > 0 {
        let _ = writeln!(out, "  ({later} later orders follow when these are done)");
    }
}

/// A share in whole per cent; what rounds to nothing is nothing, without a sign.
fn percent(share: f64) -> String {
    format!("{:.0} %", (100.0 * share).max(0.0) + 0.0)
}

fn belief(out: &mut String, outcome: &Outcome) {
    let m = outcome.course.belief.masses;
    let _ = writeln!(
        out,
        "\nWhere: on the bottom {}, afloat {}, ashore {}, elsewhere {}",
        percent(m.bottom),
        percent(m.afloat),
        percent(m.ashore),
        percent(m.elsewhere)
    );
    let regions: Vec<String> = outcome
        .regions
        .iter()
        .map(|region| {
            format!("{} of the bottom share within {:.0} m²", percent(region.share), region.area_m2)
        })
        .collect();
    let _ = writeln!(out, "Probable ground: {}", regions.join("; "));
    let plan = &outcome.course.plan;
    if outcome.course.state == State::Searching && !plan.found_by.is_empty() {
        let by: Vec<String> = plan
            .found_by
            .iter()
            .map(|(s, chance)| format!("+{:.0} min {}", s / 60.0, percent(*chance)))
            .collect();
        let _ = writeln!(out, "Chance that these orders have found them by now {}", by.join(", "));
    }
}

fn not_covered(out: &mut String, outcome: &Outcome) {
    let lines: Vec<String> = outcome
        .course
        .plan
        .gaps
        .iter()
        .map(|gap| {
            let place = search::orders::near(&outcome.water.site, gap.spot);
            format!("{place}, {:.0} m², holds {:.1} %: {}", gap.area_m2, 100.0 * gap.mass, gap.why)
        })
        .collect();
    section(out, "Not covered", &lines);
}

fn assumed(outcome: &Outcome) -> Vec<String> {
    let mut lines: Vec<String> = Vec::new();
    lines.extend(outcome.course.plan.notes.iter().cloned());
    lines.extend(outcome.course.belief_notes.iter().cloned());
    lines.extend(outcome.water.notes.iter().cloned());
    for (name, value, standing) in &outcome.course.day.assumed {
        lines.push(format!("{name}: {value} ({standing})"));
    }
    lines.extend(outcome.water.problems.iter().map(ToString::to_string));
    lines
}

fn section(out: &mut String, title: &str, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    let _ = writeln!(out, "\n{title}");
    for line in lines {
        let _ = writeln!(out, "{}", wrapped(&format!("- {line}"), 2));
    }
}

/// Breaks a line at blanks, later lines set in by `indent`.
fn wrapped(line: &str, indent: usize) -> String {
    let mut out = String::new();
    let mut width = 0;
    for word in line.split_whitespace() {
        let length = word.chars().count();
        if width > 0 && width + 1 + length > WIDTH {
            out.push('\n');
            out.push_str(&" ".repeat(indent));
            width = indent;
        } else if width > 0 {
            out.push(' ');
            width += 1;
        }
        out.push_str(word);
        width += length;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::wrapped;

    #[test]
    fn long_lines_are_broken_at_blanks() {
        let text = wrapped(&"word ".repeat(60), 4);
        assert!(text.lines().all(|line| line.chars().count() <= 96));
        assert!(text.lines().nth(1).is_some_and(|line| line.starts_with("    word")));
        assert_eq!(wrapped("short", 4), "short");
    }
}
