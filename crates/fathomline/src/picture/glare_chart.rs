//! Day by hour: what share of each zone's watched water hides a person just under, a panel for each post and zone.

use super::furniture::{self, Key};
use super::glare_ink::define_fills;
use super::page::{Page, Rect, Type, number};
use super::scene::Look;
use crate::glare::{Glare, NOT_CONTAINED, clock, day_words, month_words, single_days};
use std::fmt::Write as _;
use watch::glare::Share;

/// Most columns of one panel: longer seasons show every second or third day.
const COLUMNS_MOST: usize = 184;
/// Rows of panels go on until the picture is this many times as high as wide.
const HEIGHT_MOST: f64 = 4.6;
/// Shares from which the steps begin.
const STEPS: [f64; 3] = [0.02, 0.10, 0.20];

/// The fill of a share: 0 none, 1 contrast halved, 2 to 4 hidden; 5 night.
fn step(share: Option<Share>, elevation_deg: f64) -> usize {
    if elevation_deg <= 0.0 {
        return 5;
    }
    let Some(share) = share else { return 0 };
    match share.under {
        under if under >= STEPS[2] => 4,
        under if under >= STEPS[1] => 3,
        under if under >= STEPS[0] => 2,
        _ if share.impaired >= STEPS[0] => 1,
        _ => 0,
    }
}

const FILLS: [&str; 6] = ["", "url(#glare1)", "url(#glare2)", "url(#glare3)", "url(#glare4)", "url(#night)"];

/// Minutes of the day that the chart shows: from before the first sunrise to after the last sunset, the opening hours in any case.
fn window(glare: &Glare) -> (usize, usize) {
    let up = glare.season.moments.iter().zip(&glare.season.elevation_deg).filter(|(_, e)| **e > 0.0);
    let (mut from, mut to) = glare.open.0;
    for (moment, _) in up {
        from = from.min(moment.minute);
        to = to.max(moment.minute + glare.step_min);
    }
    (from / 60 * 60, to.div_ceil(60) * 60)
}

/// The season chart as an SVG picture.
pub fn glare_chart(glare: &Glare, look: &Look) -> String {
    let mut page = Page::new(look.page_width(), look.palette());
    define_fills(&mut page, look.theme);
    let margin = if page.narrow() { 12.0 } else { 24.0 };
    let ink = page.ink;
    let title = Type::new(if page.narrow() { 24.0 } else { 30.0 }, 800, ink.ink);
    let lines = title.wrap(&format!("{}: glare", glare.site.name), page.width - 2.0 * margin);
    let mut y = 8.0 + page.lines((margin, 6.0), title, &lines);
    let soft = Type::new(15.0, 500, ink.soft);
    let facts = format!("{} · {} · clear sky assumed", glare.span_words(), glare.wind_words());
    let lines = soft.wrap(&facts, page.width - 2.0 * margin);
    y += page.lines((margin, y), soft, &lines) + 8.0;
    let panels: Vec<(usize, usize)> = (0..glare.posts.len())
        .flat_map(|p| (0..glare.spots.zones.len()).map(move |z| (p, z)))
        .filter(|(p, z)| glare.season.posts[*p].zone_watched[*z] > 0.0)
        .collect();
    let columns = if page.width >= 800.0 && panels.len() > 1 { 2 } else { 1 };
    let gap = 28.0;
    let wide = (page.width - 2.0 * margin - gap * (columns as f64 - 1.0)) / columns as f64;
    let high = (0.62 * wide).clamp(200.0, 420.0);
    let most = ((HEIGHT_MOST * page.width / (high + 14.0)) as usize).max(1) * columns;
    for (k, panel) in panels.iter().take(most).enumerate() {
        let at = Rect {
            x: margin + (k % columns) as f64 * (wide + gap),
            y: y + (k / columns) as f64 * (high + 14.0),
            w: wide,
            h: high,
        };
        draw_panel(&mut page, glare, *panel, at);
    }
    y += panels.len().min(most).div_ceil(columns) as f64 * (high + 14.0);
    let soft_key = "stroke-width=\"1.2\"";
    let keys = [
        (Key::Hatch("", soft_key), "no glare".to_string()),
        (Key::Hatch("glare1", soft_key), "contrast halved".into()),
        (Key::Hatch("glare2", soft_key), "2 to 10 % hides a person just under".into()),
        (Key::Hatch("glare3", soft_key), "10 to 20 %".into()),
        (Key::Hatch("glare4", soft_key), "over 20 %".into()),
        (Key::Hatch("night", soft_key), "sun down".into()),
        (Key::Line(ink.ink, 2.2, "stroke-dasharray=\"7 4\""), "opens, closes".into()),
    ];
    y += furniture::legend(&mut page, y + 4.0, margin, &keys) + 10.0;
    let mut words: Vec<String> = glare.losses.iter().take(8).map(|loss| loss.words.clone()).collect();
    words.extend(single_days(glare).into_iter().flatten());
    if panels.is_empty() {
        words.push("no post has any bathing water in its watch".into());
    }
    if panels.len() > most {
        words.push(format!("{} more panels are not drawn; choose posts", panels.len() - most));
    }
    y += furniture::words(&mut page, y, margin, ("What to do", &words));
    y += furniture::words(&mut page, y, margin, ("Not in it", &[NOT_CONTAINED.to_string()]));
    page.finish(y + 10.0, &format!("{}: glare by day and hour", glare.site.name))
}

fn draw_panel(page: &mut Page, glare: &Glare, (post, zone): (usize, usize), room: Rect) {
    let ink = page.ink;
    let strong = Type::new(15.0, 800, ink.ink);
    let name = format!("{} · {}", glare.posts[post].name, glare.spots.zones[zone].name);
    page.text((room.x, room.y + 16.0), strong, &super::label::shortened(&name, 60));
    let watched = 100.0 * glare.season.posts[post].zone_watched[zone];
    let soft = Type::new(13.0, 500, ink.soft);
    let facts = format!(
        "eye {}, {watched:.0} % of the zone in its watch",
        glare.site.units.length(glare.posts[post].eye_m)
    );
    page.text((room.x, room.y + 34.0), soft, &facts);
    let frame = Rect { x: room.x + 44.0, y: room.y + 48.0, w: room.w - 46.0, h: room.h - 74.0 };
    let (from, to) = window(glare);
    let y_of = |minute: usize| frame.y + frame.h * (minute - from) as f64 / (to - from).max(1) as f64;
    let stride = glare.dates.len().div_ceil(COLUMNS_MOST);
    let columns = glare.dates.len().div_ceil(stride);
    let x_of = |column: usize| frame.x + frame.w * column as f64 / columns as f64;
    fill_cells(page, glare, (post, zone), stride, &|column, minute: usize| {
        (x_of(column), y_of(minute.clamp(from, to)))
    });
    for minute in (from..=to).step_by(120) {
        page.line(
            (frame.x, y_of(minute)),
            (frame.x + frame.w, y_of(minute)),
            &format!("stroke=\"{}\" stroke-width=\"0.7\"", ink.hair),
        );
        let set = Type::new(13.0, 500, ink.ink).anchor("end");
        page.text((frame.x - 6.0, y_of(minute) + 4.0), set, &clock(minute));
    }
    months(page, glare, frame, (stride, &x_of));
    let open = glare.open.0;
    for (minute, words) in [(open.0, "opens"), (open.1, "closes")] {
        let y = y_of(minute.clamp(from, to));
        let dashes = format!("stroke=\"{}\" stroke-width=\"2\" stroke-dasharray=\"7 4\"", ink.ink);
        page.line((frame.x, y), (frame.x + frame.w, y), &dashes);
        let set = Type::new(13.0, 800, ink.ink).halo(ink.paper);
        // Above the frame stands what the panel shows.
        let base = if y - 16.0 < frame.y { y + 14.0 } else { y - 4.0 };
        page.text((frame.x + 6.0, base), set, &format!("{words} {}", clock(minute)));
    }
    page.rect(frame, &format!("fill=\"none\" stroke=\"{}\" stroke-width=\"1.6\"", ink.ink));
}

/// Runs of one step, day by day, as one path for each fill.
fn fill_cells(
    page: &mut Page,
    glare: &Glare,
    (post, zone): (usize, usize),
    stride: usize,
    corner: &dyn Fn(usize, usize) -> (f64, f64),
) {
    let mut paths: [String; 6] = Default::default();
    let mut k = 0;
    let moments = &glare.season.moments;
    while k < moments.len() {
        let day = moments[k].day;
        let mut end = k;
        while end < moments.len() && moments[end].day == day {
            end += 1;
        }
        if day % stride == 0 {
            let fills: Vec<usize> = (k..end)
                .map(|m| step(glare.season.share(post, zone, m), glare.season.elevation_deg[m]))
                .collect();
            let mut run = 0;
            while run < fills.len() {
                let mut to = run;
                while to < fills.len() && fills[to] == fills[run] {
                    to += 1;
                }
                if fills[run] > 0 {
                    let (x, y) = corner(day / stride, moments[k + run].minute);
                    let (x2, y2) = corner(day / stride + 1, moments[k + to - 1].minute + glare.step_min);
                    let _ = write!(
                        paths[fills[run]],
                        "M{} {}H{}V{}H{}Z",
                        number(x),
                        number(y),
                        number(x2 + 0.05),
                        number(y2),
                        number(x)
                    );
                }
                run = to;
            }
        }
        k = end;
    }
    for (d, fill) in paths.iter().zip(FILLS) {
        page.path(d, &format!("fill=\"{fill}\" shape-rendering=\"crispEdges\""));
    }
}

/// Names of months below the panel, with a line where each begins.
fn months(page: &mut Page, glare: &Glare, frame: Rect, (stride, x_of): (usize, &dyn Fn(usize) -> f64)) {
    let ink = page.ink;
    let mut last = f64::NEG_INFINITY;
    for (day, date) in glare.dates.iter().enumerate() {
        let first = day == 0;
        if !(first || date.day() == 1) {
            continue;
        }
        let x = x_of(day / stride);
        if !first {
            let line = format!("stroke=\"{}\" stroke-width=\"0.7\"", ink.hair);
            page.line((x, frame.y), (x, frame.y + frame.h), &line);
        }
        let set = Type::new(13.0, 500, ink.ink);
        let whole = if first { day_words(*date, false) } else { month_words(*date).to_string() };
        let fits = |text: &str| x + set.width(text) < page.width - 2.0;
        let text = if fits(&whole) { whole } else { whole.chars().take(3).collect() };
        if x > last && fits(&text) {
            page.text((x, frame.y + frame.h + 16.0), set, &text);
            last = x + set.width(&text) + 6.0;
        }
    }
}
