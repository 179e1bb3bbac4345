//! Maps of glare, hour by hour: for each spot what the best placed of the posts can still see.

use super::furniture::{self, Key};
use super::glare_ink::define_fills;
use super::page::{Page, Rect, Type, number};
use super::scene::Look;
use super::view::{Proportion, View, facing};
use super::{signs, things};
use crate::glare::{Glare, NOT_CONTAINED, clock, day_words};
use measure::{Bearing, Spot};
use std::fmt::Write as _;
use watch::glare::Step;
use water::{Kind, Shape};

/// Most hours of one picture.
const HOURS_MOST: usize = 24;
/// The same on a phone, where a picture must not grow endlessly long.
const HOURS_MOST_NARROW: usize = 12;

/// The maps of a day's open hours as an SVG picture.
pub fn glare_map(glare: &Glare, look: &Look) -> String {
    let mut page = Page::new(look.page_width(), look.palette());
    define_fills(&mut page, look.theme);
    signs::define_hatches(&mut page);
    let margin = if page.narrow() { 12.0 } else { 24.0 };
    let day = glare.shown_day();
    let mut y = title(&mut page, glare, margin);
    let hourly = |k: &usize| glare.season.moments[*k].minute % 60 == 0 && glare.season.moments[*k].open;
    let most = if page.narrow() { HOURS_MOST_NARROW } else { HOURS_MOST };
    let hours: Vec<usize> = glare.moments_of(day).filter(hourly).take(most).collect();
    let columns = if page.width >= 800.0 { 3 } else { 2 };
    let gap = 14.0;
    let wide = (page.width - 2.0 * margin - gap * (columns as f64 - 1.0)) / columns as f64;
    let up = if look.north_up { Bearing::new(0.0) } else { facing(glare.site) };
    let probe = View::fit(&places(glare), up, (0.0, 0.0, wide), Proportion { least: 0.5, most: 1.1 });
    let high = probe.frame.h;
    for (k, moment) in hours.iter().enumerate() {
        let (x, top) =
            (margin + (k % columns) as f64 * (wide + gap), y + (k / columns) as f64 * (high + 40.0));
        let frame = Rect { x, y: top + 22.0, w: wide, h: high };
        draw_hour(&mut page, glare, *moment, (View { frame, ..probe }, k));
    }
    y += hours.len().div_ceil(columns) as f64 * (high + 40.0);
    let line = "stroke-width=\"1.2\"";
    let keys = [
        (Key::Hatch("glare1", line), "contrast halved".to_string()),
        (Key::Hatch("glare3", line), "a person just under is hidden".into()),
        (Key::Hatch("glare4", line), "a head is hidden".into()),
        (Key::Hatch("unwatched", line), "in no post's watch: blocked or too far".into()),
        (Key::Hatch("night", line), "sun down".into()),
        (Key::Post, "post".into()),
    ];
    y += furniture::legend(&mut page, y + 4.0, margin, &keys) + 10.0;
    let date = glare.dates[day];
    let mut words: Vec<String> = Vec::new();
    if hours.len() == most && open_hours(glare, day) > most {
        words.push(format!("only the first {most} open hours are drawn; choose hours with --open"));
    }
    if hours.is_empty() {
        words.push(format!("no open hour on {}", day_words(date, true)));
    }
    words.push(NOT_CONTAINED.into());
    y += furniture::words(&mut page, y, margin, ("Not in it", &words));
    page.finish(y + 10.0, &format!("{}: glare by hour", glare.site.name))
}

/// Whole hours of a day that are open.
fn open_hours(glare: &Glare, day: usize) -> usize {
    glare
        .moments_of(day)
        .filter(|k| glare.season.moments[*k].minute % 60 == 0 && glare.season.moments[*k].open)
        .count()
}

fn title(page: &mut Page, glare: &Glare, margin: f64) -> f64 {
    let ink = page.ink;
    let set = Type::new(if page.narrow() { 24.0 } else { 30.0 }, 800, ink.ink);
    let lines = set.wrap(&format!("{}: glare by hour", glare.site.name), page.width - 2.0 * margin);
    let mut y = 8.0 + page.lines((margin, 6.0), set, &lines);
    let posts: Vec<&str> = glare.posts.iter().map(|p| p.name.as_str()).collect();
    let whose = if posts.len() == 1 {
        format!("as {} sees it", posts[0])
    } else {
        format!("as the best placed of {} sees it", posts.join(", "))
    };
    let date = day_words(glare.dates[glare.shown_day()], true);
    let soft = Type::new(15.0, 500, ink.soft);
    let facts =
        format!("{date} · {} · clear sky assumed · {whose} · arrows point to the sun", glare.wind_words());
    let lines = soft.wrap(&facts, page.width - 2.0 * margin);
    y += page.lines((margin, y), soft, &lines);
    // Room for the arrow over the first hour.
    y + 14.0
}

/// What the window holds: bathing water, docks, rafts and posts; else the spots.
fn places(glare: &Glare) -> Vec<Spot> {
    let mut all: Vec<Spot> = glare.spots.places.clone();
    for feature in &glare.site.features {
        match (&feature.shape, feature.kind) {
            (Shape::Area(polygons), Kind::BathingArea | Kind::Raft(_)) => {
                all.extend(polygons.iter().flatten().flatten().copied());
            }
            (Shape::Point(spot), Kind::Post) => all.push(*spot),
            _ => {}
        }
    }
    all
}

/// Fill of a spot: what the best placed watching post still sees; `unwatched` where none watches.
fn fill(steps: &[Vec<Option<Step>>], spot: usize) -> Option<&'static str> {
    let best = steps.iter().filter_map(|of_post| of_post[spot]).min();
    match best {
        None => Some("unwatched"),
        Some(Step::NoSun) => Some("night"),
        Some(Step::Clear | Step::Slight) => None,
        Some(Step::Impaired) => Some("glare1"),
        Some(Step::UnderHidden) => Some("glare3"),
        Some(Step::HeadHidden) => Some("glare4"),
    }
}

fn draw_hour(page: &mut Page, glare: &Glare, moment: usize, (view, number_of): (View, usize)) {
    let ink = page.ink;
    let f = view.frame;
    let (elevation, azimuth) = (glare.season.elevation_deg[moment], glare.season.azimuth_deg[moment]);
    let time = Type::new(18.0, 800, ink.ink);
    let clock = clock(glare.season.moments[moment].minute);
    page.text((f.x, f.y - 6.0), time, &clock);
    let sun = if elevation > 0.0 {
        let bearing = Bearing::new(azimuth);
        if page.narrow() {
            format!("{elevation:.0}° at {bearing}")
        } else {
            format!("sun {elevation:.0}° high, bearing {bearing}")
        }
    } else {
        "sun down".into()
    };
    page.text((f.x + time.width(&clock) + 10.0, f.y - 6.0), Type::new(14.0, 500, ink.soft), &sun);
    let clip = format!("hour{number_of}");
    page.define(&format!(
        "<clipPath id=\"{clip}\"><rect x=\"{}\" y=\"{}\" width=\"{}\" height=\"{}\"/></clipPath>",
        number(f.x),
        number(f.y),
        number(f.w),
        number(f.h)
    ));
    page.open(&format!("clip-path=\"url(#{clip})\""));
    page.rect(f, &format!("fill=\"{}\"", ink.land));
    for feature in glare.site.of_kind(Kind::Water) {
        if let Shape::Area(polygons) = &feature.shape {
            let d: String = polygons.iter().map(|rings| view.rings(rings)).collect();
            let look = format!(
                "fill=\"{}\" fill-rule=\"evenodd\" stroke=\"{}\" stroke-width=\"1.6\"",
                ink.wade, ink.ink
            );
            page.path(&d, &look);
        }
    }
    squares(page, glare, moment, &view);
    things::draw_lines(page, &view, glare.site);
    for post in &glare.posts {
        signs::post(page, view.px(post.spot), 7.0);
        let (x, y) = view.px(post.spot);
        if number_of == 0 {
            let (set, wide) = (Type::new(13.0, 800, ink.ink).halo(ink.paper), 12.0);
            let words = set.width(&post.name) + wide;
            let x = if x + words > f.x + f.w { x - words } else { x + wide };
            page.text((x, y.clamp(f.y + 14.0, f.y + f.h - 4.0)), set, &post.name);
        }
    }
    page.close();
    page.rect(f, &format!("fill=\"none\" stroke=\"{}\" stroke-width=\"1.6\"", ink.ink));
    if elevation > 0.0 {
        let heading = view.heading(Bearing::new(azimuth));
        let tail = (f.x + f.w - 14.0 - 10.0 * heading.0, f.y - 13.0 - 10.0 * heading.1);
        signs::arrow(page, tail, heading, 20.0, ink.ink);
    }
}

/// Squares of one fill, joined along their rows.
fn squares(page: &mut Page, glare: &Glare, moment: usize, view: &View) {
    let elevation = glare.season.elevation_deg[moment].to_radians();
    let azimuth = glare.season.azimuth_deg[moment].to_radians();
    let sun = [elevation.cos() * azimuth.sin(), elevation.cos() * azimuth.cos(), elevation.sin()];
    let scene = glare.scene();
    let steps: Vec<Vec<Option<Step>>> = (0..glare.posts.len()).map(|p| scene.steps(p, sun)).collect();
    let grid = glare.spots.grid;
    let mut k = 0;
    let mut paths: Vec<(&'static str, String)> = Vec::new();
    while k < glare.spots.len() {
        let of = fill(&steps, k);
        let first = glare.spots.square[k];
        let mut last = first;
        k += 1;
        while k < glare.spots.len()
            && glare.spots.square[k] == last + 1
            && (last + 1) % grid.cols != 0
            && fill(&steps, k) == of
        {
            last += 1;
            k += 1;
        }
        let Some(of) = of else { continue };
        let half = 0.5 * grid.cell_m;
        let (a, b) = (grid.centre(first), grid.centre(last));
        let corners = [
            Spot::new(a.east - half, a.north - half),
            Spot::new(b.east + half, b.north - half),
            Spot::new(b.east + half, b.north + half),
            Spot::new(a.east - half, a.north + half),
        ];
        let path = match paths.iter_mut().find(|(name, _)| *name == of) {
            Some((_, path)) => path,
            None => {
                paths.push((of, String::new()));
                let last = paths.len() - 1;
                &mut paths[last].1
            }
        };
        for (corner, place) in corners.iter().enumerate() {
            let (x, y) = view.px(*place);
            let _ = write!(path, "{}{} {}", if corner == 0 { 'M' } else { 'L' }, number(x), number(y));
        }
        path.push('Z');
    }
    for (of, d) in paths {
        // A hair of the same fill closes the seams between turned rows.
        let seam = if of == "unwatched" {
            String::new()
        } else {
            format!(" stroke=\"url(#{of})\" stroke-width=\"0.6\"")
        };
        page.path(&d, &format!("fill=\"url(#{of})\"{seam}"));
    }
}
