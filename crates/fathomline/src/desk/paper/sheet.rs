//! The sheet's words, and the sheet set by ourselves on A4 for the PDF.

use super::drawing::{Dash, Drawing, Mark};
use super::map;
use super::pdf::Letters;
use crate::desk::clock::clock;
use incident::{Chart, Handover};
use water::Site;

/// Most rows of lanes on the page; the rest are counted.
pub const ROWS_MOST: usize = 11;
const LEFT: f64 = 15.0;
const RIGHT: f64 = 195.0;
const FOOT: f64 = 276.0;

/// Everything above and below the map that both layouts say.
pub struct Head {
    /// Title.
    pub title: String,
    /// Site and its place.
    pub place: String,
    /// Time of day.
    pub clock: String,
    /// Date and time since the alarm.
    pub since: String,
    /// Titles with their lines.
    pub facts: Vec<(String, Vec<String>)>,
    /// Shares, and how sure.
    pub shares: Vec<String>,
    /// People, counted and by their task.
    pub people: Vec<String>,
    /// Command and services.
    pub command: String,
    /// Cautions.
    pub small: Vec<String>,
}

/// The words of the head.
pub fn head(sheet: &Handover, site: &Site) -> Head {
    let time = |ms: i64| clock(ms, sheet.utc_offset_s);
    let origin = site.frame.origin();
    let alarm = sheet.alarm_at_ms.map_or("no alarm so far".into(), |ms| format!("alarm at {}", time(ms)));
    let told = |lines: Vec<String>| if lines.is_empty() { vec!["not told yet".to_string()] } else { lines };
    let who = sheet.missing.iter().map(|one| match one.found_ms {
        Some(ms) => format!("{}: found {}", one.words, time(ms)),
        None => one.words.clone(),
    });
    let conditions = std::iter::once(sheet.conditions.over.clone()).chain(sheet.conditions.lines.clone());
    let in_water = sheet.people.iter().filter(|person| person.in_water).count();
    let mut people = vec![format!("{in_water} in the water of {} listed.", sheet.people.len())];
    people
        .push(sheet.people.iter().map(|p| format!("{}: {}", p.name, p.words)).collect::<Vec<_>>().join("; "));
    let shares = sheet.shares.iter().map(|share| format!("{} {}", percent(share.share), share.place));
    let mut sure = vec![shares.collect::<Vec<_>>().join(", "), sheet.sentence.clone()];
    if let Some(by) = sheet.found_by.last() {
        sure.push(format!("As planned, found within {:.0} minutes: {}", by.minutes, percent(by.chance)));
    }
    sure.retain(|line| !line.is_empty());
    Head {
        title: "Handover: swimmer missing".into(),
        place: format!("{}, {} {}", sheet.site, degrees(origin.lat, ["N", "S"]), degrees(origin.lon, ["E", "W"])),
        clock: time(sheet.at_ms),
        since: if sheet.since.is_empty() { alarm.clone() } else { format!("{} after the alarm", sheet.since) },
        facts: vec![
            ("Since when".into(), vec![alarm]),
            ("Last seen".into(), told(sheet.sightings.iter().map(|one| one.words.clone()).collect())),
            ("Who".into(), told(who.collect())),
            ("Water".into(), conditions.filter(|line| !line.is_empty()).collect()),
        ],
        shares: sure,
        people,
        command: [sheet.command.as_str(), sheet.services.as_str()]
            .iter()
            .filter(|words| !words.is_empty())
            .map(|words| words.to_string())
            .collect::<Vec<_>>()
            .join("; services "),
        small: vec![
            sheet.cautions.join(" "),
            "Planning aid. Shares come from a model of drift and of what lines can miss; they order the search, no more. Ending it belongs to the authorities."
                .into(),
        ],
    }
}

/// Whole per cent; never "-0".
fn percent(share: f64) -> String {
    format!("{:.0} %", (share * 100.0).round() + 0.0)
}

fn degrees(value: f64, sides: [&str; 2]) -> String {
    format!("{:.5} {}", value.abs(), sides[usize::from(value < 0.0)])
}

/// The lanes as cells of a table.
pub fn rows(sheet: &Handover) -> Vec<[String; 7]> {
    let row = |lane: &incident::HandoverLane| {
        [
            lane.order.to_string(),
            lane.line.clone(),
            lane.place.clone(),
            lane.state.clone(),
            lane.at_ms.map_or(String::new(), |ms| clock(ms, sheet.utc_offset_s)),
            percent(lane.finds),
            percent(lane.holds),
        ]
    };
    sheet.lanes.iter().map(row).collect()
}

/// The last entries of the log, each with its time.
pub fn short_log(sheet: &Handover, most: usize) -> Vec<String> {
    let from = sheet.log.len().saturating_sub(most);
    sheet.log[from..]
        .iter()
        .map(|line| format!("{} {}", clock(line.happened_ms, sheet.utc_offset_s), line.words))
        .collect()
}

/// A sheet being set: where the pen is, and what was drawn.
struct Pen {
    drawing: Drawing,
    letters: Letters,
    y: f64,
}

impl Pen {
    /// Lines of a column, each wrapped; gives where the column ends.
    fn column(
        &mut self,
        (x, width): (f64, f64),
        from_y: f64,
        (size, strong): (f64, bool),
        lines: &[String],
    ) -> f64 {
        let mut y = from_y;
        for line in lines {
            for piece in self.letters.wrap(line, (size, strong), width) {
                if y + size * 1.3 > FOOT {
                    return y;
                }
                y += size * 1.3;
                self.drawing.words([x, y], (size, strong), piece);
            }
        }
        y
    }

    fn title(&mut self, (x, width): (f64, f64), from_y: f64, text: &str) -> f64 {
        self.column((x, width), from_y + 1.5, (3.4, true), &[text.to_string()])
    }

    fn rule(&mut self, y: f64, width: f64) {
        self.drawing.line(vec![[LEFT, y], [RIGHT, y]], width, Dash::Solid);
    }
}

/// The sheet as a PDF of one page: what does not fit is counted, never cut without a word.
pub fn pdf(sheet: &Handover, site: &Site, chart: &Chart) -> Vec<u8> {
    let head = head(sheet, site);
    let mut pen = Pen { drawing: Drawing::default(), letters: Letters::new(), y: 22.0 };
    pen.drawing.words([LEFT, pen.y], (7.5, true), head.title.clone());
    pen.drawing.set([RIGHT, pen.y], (7.5, true), (1.0, false), head.clock.clone());
    pen.drawing.words([LEFT, pen.y + 5.5], (3.3, false), head.place.clone());
    pen.drawing.set([RIGHT, pen.y + 5.5], (3.3, false), (1.0, false), head.since.clone());
    pen.rule(pen.y + 8.0, 1.0);
    pen.y += 9.0;
    if sheet.practice {
        pen.y = pen.title((LEFT, 180.0), pen.y, "PRACTICE: nobody is missing");
    }
    let columns = [(LEFT, 26.0), (44.0, 70.0), (118.0, 38.0), (159.0, 36.0)];
    let top = pen.y;
    for ((title, lines), column) in head.facts.iter().zip(columns) {
        let y = pen.title(column, top, title);
        pen.y = pen.y.max(pen.column(column, y, (3.1, false), &shortened(lines, 4)));
    }
    pen.y += 3.0;
    put(&mut pen, &map::map(chart, &sheet.map, map::SIZE));
    let key = "hatched: searched · thick box: under way · dashed box: planned next · solid, dashed, dotted outline: 50, 80, 95 % · ring with ticks: last seen";
    pen.y = pen.column((LEFT, 180.0), pen.y, (2.7, false), &[key.to_string()]);
    lanes(&mut pen, sheet);
    let top = pen.y;
    let mut y = pen.title((LEFT, 86.0), top, "Where they may be now");
    y = pen.column((LEFT, 86.0), y, (3.0, false), &head.shares);
    y = pen.column((LEFT, 86.0), y, (3.0, false), &[sheet.ashore.join("; ")]);
    y = pen.title((LEFT, 86.0), y, "People");
    let left_y = pen.column((LEFT, 86.0), y, (2.8, false), &head.people);
    let right = (108.0, 87.0);
    let mut y = pen.title(right, top, "Next, if nothing is found");
    y = pen.column(right, y, (3.0, false), &listed(&sheet.next, 5));
    y = pen.title(right, y, "Not covered");
    y = pen.column(right, y, (3.0, false), &listed(&gaps(sheet), 4));
    log(&mut pen, sheet, left_y.max(y));
    foot(&mut pen, sheet, &head);
    super::pdf::pdf(&pen.drawing, pen.letters, &format!("Handover, {}", sheet.site))
}

/// Ground that no method covers: place and reason, under a title that says the rest.
pub fn gaps(sheet: &Handover) -> Vec<String> {
    let bare = |words: &str| words.strip_prefix("not covered, ").unwrap_or(words).to_string();
    sheet.gaps.iter().map(|gap| format!("{}; holds {}", bare(&gap.words), percent(gap.holds))).collect()
}

/// The same in words where there is nothing: under a title without a line somebody looks for what was lost.
fn listed(lines: &[String], most: usize) -> Vec<String> {
    if lines.is_empty() { vec!["nothing listed".into()] } else { shortened(lines, most) }
}

/// At most so many lines; how many more there are is said.
pub fn shortened(lines: &[String], most: usize) -> Vec<String> {
    let mut all: Vec<String> = lines.iter().take(most).cloned().collect();
    if lines.len() > most {
        all.push(format!("and {} more", lines.len() - most));
    }
    all
}

/// Puts the map where the pen is.
fn put(pen: &mut Pen, drawing: &Drawing) {
    let moved = |p: &[f64; 2]| [p[0] + LEFT, p[1] + pen.y];
    let marks: Vec<Mark> = drawing
        .marks
        .iter()
        .map(|mark| match mark.clone() {
            Mark::Line { points, width, dash, closed } => {
                Mark::Line { points: points.iter().map(moved).collect(), width, dash, closed }
            }
            Mark::Area { points, white } => Mark::Area { points: points.iter().map(moved).collect(), white },
            Mark::Words { at, size, strong, left, white, text } => {
                Mark::Words { at: moved(&at), size, strong, left, white, text }
            }
        })
        .collect();
    pen.drawing.marks.extend(marks);
    pen.y += map::SIZE.1 + 1.0;
}

fn lanes(pen: &mut Pen, sheet: &Handover) {
    pen.y = pen.title((LEFT, 180.0), pen.y, "Searched and left");
    let columns =
        [(LEFT, 9.0), (24.0, 32.0), (57.0, 66.0), (124.0, 28.0), (153.0, 14.0), (167.0, 13.0), (182.0, 13.0)];
    let titles = ["Lane", "Line", "Where", "State", "At", "Finds", "Holds"];
    let all = rows(sheet);
    let set = |pen: &mut Pen, row: &[String; 7], strong: bool| {
        let top = pen.y;
        let mut bottom = top;
        for (cell, (x, width)) in row.iter().zip(columns) {
            let mut pieces = pen.letters.wrap(cell, (2.7, strong), width);
            pieces.truncate(2);
            bottom = bottom.max(pen.column((x, width + 3.0), top, (2.7, strong), &pieces));
        }
        pen.y = bottom + 1.0;
        pen.rule(pen.y, if strong { 0.4 } else { 0.12 });
    };
    set(pen, &titles.map(String::from), true);
    all.iter().take(ROWS_MOST).for_each(|row| set(pen, row, false));
    if all.len() > ROWS_MOST {
        let words = format!("and {} more lanes: see the screen or the log", all.len() - ROWS_MOST);
        pen.y = pen.column((LEFT, 180.0), pen.y, (2.7, false), &[words]);
    }
}

/// The last entries of the log, as many as there is room for: the newest of them last.
fn log(pen: &mut Pen, sheet: &Handover, from_y: f64) {
    const LOG_MOST: usize = 6;
    let (size, strong) = (2.8, false);
    let room = ((FOOT - from_y - 6.0) / (size * 1.3)).floor().max(0.0) as usize;
    let short: Vec<String> = short_log(sheet, LOG_MOST.min(room))
        .into_iter()
        .map(|line| pen.letters.wrap(&line, (size, strong), 180.0).into_iter().next().unwrap_or_default())
        .collect();
    if !short.is_empty() {
        let y = pen.title((LEFT, 180.0), from_y, &format!("Log, last entries of {}", sheet.seq));
        pen.column((LEFT, 180.0), y, (size, strong), &short);
    }
}

fn foot(pen: &mut Pen, sheet: &Handover, head: &Head) {
    pen.rule(FOOT + 1.0, 0.5);
    let small = (2.5, false);
    for (k, line) in [
        head.command.clone(),
        "Command passes at ________ from ________________ to ________________. Searchers counted out at ________.".into(),
        head.small[1].clone(),
    ]
    .iter()
    .enumerate()
    {
        // The code stands at the end of the first line.
        let room = if k == 0 { 115.0 } else { 180.0 };
        let piece = pen.letters.wrap(line, small, room).into_iter().next().unwrap_or_default();
        pen.drawing.words([LEFT, FOOT + 5.0 + 4.0 * k as f64], small, piece);
    }
    let code = format!("Log code {} after {} entries", sheet.head_code, sheet.seq);
    pen.drawing.set([RIGHT, FOOT + 5.0], (3.2, true), (1.0, false), code);
}
