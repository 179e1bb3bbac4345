//! Orders and what stands behind them, as plain text for a screen or a printer.

use super::Outcome;
use search::AlarmKind;
use search::course::State;
use search::plan::Role;
use search::told::clock_text;
use std::fmt::Write;

/// Width at which long lines are broken.
const WIDTH: usize = 96;
/// Orders printed for each team: people hold three in mind, the rest changes anyway.
pub const SHOWN: usize = 3;
/// Pieces not covered that are named one by one.
const GAPS_SHOWN: usize = 5;

/// Everything a lead needs, first things first: orders, then where and how sure, then doubts and cautions.
pub fn text(outcome: &Outcome) -> String {
    let mut out = String::new();
    heading(&mut out, outcome);
    state(&mut out, outcome);
    section(&mut out, "Heard and asked since the alarm", &outcome.course.said);
    if outcome.course.state == State::Searching {
        under_way(&mut out, outcome);
        orders(&mut out, outcome);
        posts(&mut out, outcome);
        why(&mut out, outcome);
    }
    section(&mut out, "Cautions", &outcome.cautions);
    belief(&mut out, outcome);
    if outcome.course.state == State::Searching {
        not_covered(&mut out, outcome);
    }
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
    let _ = writeln!(out, "{}", wrapped(&format!("Call {number}. {}", site.plan_text), 0));
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
        let left = match begun.run.legs.len() - begun.legs_reported.min(begun.run.legs.len()) {
            _ if begun.team.method != search::Method::Dive => String::new(),
            1 => ", 1 dive to go".to_owned(),
            dives => format!(", {dives} dives to go"),
        };
        let line = format!("order {}: {}{left}, until about {end}", begun.number, names.join(", "));
        let _ = writeln!(out, "  {}", wrapped(&line, 4));
    }
}

/// Who holds which post, once orders no longer repeat it.
fn posts(out: &mut String, outcome: &Outcome) {
    let course = &outcome.course;
    if course.given.is_empty() {
        return;
    }
    let word = |role: Role| match role {
        Role::Lead => Some("leads"),
        Role::Lookout => Some("lookout"),
        Role::Gate => Some("gate and shore"),
        Role::Standby => Some("stands by"),
        Role::First | Role::LineLeader | Role::Searcher => None,
    };
    let mut said: Vec<String> = Vec::new();
    for (who, role, _) in &course.plan.jobs {
        let Some(post) = word(*role) else { continue };
        let line = format!("{} {post}", course.day.crew[*who].name);
        if !said.contains(&line) {
            said.push(line);
        }
    }
    if !said.is_empty() {
        let _ = writeln!(out, "\n{}", wrapped(&format!("Posts: {}", said.join(", ")), 2));
    }
}

/// Why each line begins where it does, and what the orders are priced at: a line each.
fn why(out: &mut String, outcome: &Outcome) {
    let course = &outcome.course;
    let plan = &course.plan;
    if plan.why.is_empty() {
        return;
    }
    let percent = |share: f64| 100.0 * share;
    let _ = writeln!(out, "\nWhy these lanes first");
    for why in &plan.why {
        let one = why.chosen;
        let seconds = one.seconds.round() as u64;
        let mut line = format!(
            "{}: holds {:.1} %, finds {:.1} % in {}:{:02}, {:.1} % a minute",
            course.number_of(why.run),
            percent(one.mass),
            percent(one.found),
            seconds / 60,
            seconds % 60,
            percent(one.per_minute())
        );
        if let Some(other) = why.other {
            let place = search::orders::near(&outcome.water.site, other.from.lerp(other.to, 0.5));
            let _ = write!(line, "; next best elsewhere, {place}: {:.1} %", percent(other.per_minute()));
        }
        let _ = writeln!(out, "  {}", wrapped(&line, 4));
    }
    if plan.value > 0.0 {
        let share = |price: f64| percent(price / plan.value);
        let (all, orders, turns) =
            (share(plan.price), share(plan.priced.orders), share(plan.priced.quarter_turns));
        // The worth itself carries the weights of time: it orders plans, and is shown to nobody as a chance.
        let line = format!(
            "Plans are compared after taking off {all:.1} %: {orders:.1} % for further orders, {turns:.1} % for quarter turns"
        );
        let _ = writeln!(out, "  {}", wrapped(&line, 2));
    }
}

fn orders(out: &mut String, outcome: &Outcome) {
    let _ = writeln!(out, "\nOrders");
    if outcome.orders.is_empty() {
        let _ = writeln!(out, "  nothing new: what is under way goes on, everybody else stays at their post");
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
    match shown.values().map(|n: &usize| n.saturating_sub(SHOWN)).sum::<usize>() {
        0 => {}
        1 => out.push_str("  (1 more lane follows when these are done)\n"),
        later => {
            let _ = writeln!(out, "  ({later} more lanes follow when these are done)");
        }
    }
}

fn belief(out: &mut String, outcome: &Outcome) {
    let m = outcome.course.belief.masses;
    let parts =
        [(m.bottom, "on the bottom"), (m.afloat, "afloat"), (m.ashore, "ashore"), (m.elsewhere, "elsewhere")];
    let most = parts.iter().fold(parts[0], |best, &part| if part.0 > best.0 { part } else { best });
    let rest: Vec<String> =
        parts.iter().filter(|p| p.1 != most.1).map(|p| format!("{} {}", p.1, percent(p.0))).collect();
    let _ = writeln!(out, "\nWhere: most probably {}, {}; {}", most.1, percent(most.0), rest.join(", "));
    if m.bottom > 0.0 && !outcome.regions.is_empty() {
        let regions: Vec<String> = outcome
            .regions
            .iter()
            .map(|region| format!("{} within {}", percent(region.share), ground(region.area_m2, outcome)))
            .collect();
        let _ =
            writeln!(out, "{}", wrapped(&format!("Of what lies on the bottom: {}", regions.join(", ")), 2));
    }
    let plan = &outcome.course.plan;
    if outcome.course.state == State::Searching && plan.found_by.iter().any(|(_, chance)| *chance > 0.0) {
        let by: Vec<String> = plan
            .found_by
            .iter()
            .map(|(s, chance)| format!("+{:.0} min {}", s / 60.0, percent(*chance)))
            .collect();
        let line = format!("Chance that these orders find them, counted from now: {}", by.join(", "));
        let _ = writeln!(out, "{}", wrapped(&line, 2));
    }
}

/// An area in the units of the site.
fn ground(area_m2: f64, outcome: &Outcome) -> String {
    let units = outcome.water.site.units;
    format!("{:.0} {}", units.area_of(area_m2), units.area_unit())
}

/// A share in whole percents; a little is never nothing, and nearly all is never all.
fn percent(share: f64) -> String {
    match 100.0 * share {
        p if p > 0.0 && p < 1.0 => "under 1 %".into(),
        p if p > 99.0 && p < 100.0 => "over 99 %".into(),
        p => format!("{:.0} %", p.abs()),
    }
}

/// The largest pieces one by one with their reason, the rest in one line.
fn not_covered(out: &mut String, outcome: &Outcome) {
    let mut gaps: Vec<&search::plan::Gap> = outcome.course.plan.gaps.iter().collect();
    gaps.sort_by(|a, b| b.mass.total_cmp(&a.mass));
    let (large, small) = gaps.split_at(gaps.len().min(GAPS_SHOWN));
    let mut lines: Vec<String> = Vec::new();
    let mut before = "";
    for gap in large {
        let place = search::orders::near(&outcome.water.site, gap.spot);
        let why = if gap.why == before { "the same" } else { &gap.why };
        lines.push(format!(
            "{place}, {}, holds {:.1} %: {why}",
            ground(gap.area_m2, outcome),
            100.0 * gap.mass
        ));
        before = &gap.why;
    }
    let rest = 100.0 * small.iter().map(|gap| gap.mass).sum::<f64>();
    match small.len() {
        0 => {}
        1 => lines.push(format!("and 1 smaller piece, {rest:.1} %")),
        pieces => lines.push(format!("and {pieces} smaller pieces, {rest:.1} % together")),
    }
    section(out, "Not covered", &lines);
}

fn assumed(outcome: &Outcome) -> Vec<String> {
    let mut lines = outcome.notes();
    let course = &outcome.course;
    // One line for all of whom the same is assumed.
    let mut by_value: Vec<(String, Vec<&str>)> = Vec::new();
    for (name, value, standing) in &course.day.assumed {
        let (what, whose) = name.split_once(" of ").unwrap_or((name, ""));
        let text = format!("{what}{}{{}}: {value} ({standing})", if whose.is_empty() { "" } else { " of " });
        match by_value.iter_mut().find(|(known, _)| *known == text) {
            Some((_, people)) => people.push(whose),
            None => by_value.push((text, vec![whose])),
        }
    }
    lines.extend(by_value.into_iter().map(|(text, people)| text.replacen("{}", &people.join(", "), 1)));
    for problem in outcome.water.problems.iter().map(ToString::to_string) {
        if !lines.contains(&problem) {
            lines.push(problem);
        }
    }
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
