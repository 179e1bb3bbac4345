//! Reach on the water: lines of equal arrival, what lies beyond the site's limit, routes to the worst places.

use super::bottom::Bottom;
use super::furniture::{self, Key};
use super::label::Labels;
use super::page::{Page, Type};
use super::scene::Look;
use super::view::{Proportion, View, facing};
use super::water_map::{bounds, edge, frame_clip, places, untrusted_key, within_sight};
use super::{outline, signs, things};
use measure::{Bearing, Spot};
use watch::reach::{Footing, Reach, Route, ZoneReach};
use water::{Ground, Kind, Shape, Site};

/// What a picture of reach is made from.
pub struct ReachScene<'a> {
    /// As surveyed.
    pub site: &'a Site,
    /// The bottom at today's stage.
    pub ground: &'a Ground,
    /// Arrival times.
    pub reach: &'a Reach,
    /// Zones as told.
    pub zones: &'a [ZoneReach],
    /// Routes drawn.
    pub routes: Vec<&'a Route>,
    /// Doubts.
    pub notes: &'a [String],
}

/// Arrival nobody has, drawn beyond every line \[s\].
const NEVER_S: f64 = 1e6;

/// First arrival of all posts together as an SVG picture.
///
/// # Inputs
/// - `scene`: water, times, zones, routes · `look`: light, width, date
///
/// # Gives
/// A whole SVG document.
pub fn reach_map(scene: &ReachScene, look: &Look) -> String {
    let mut page = Page::new(look.page_width(), look.palette());
    let narrow = page.width < 600.0;
    let margin = if narrow { 12.0 } else { 24.0 };
    signs::define_hatches(&mut page);
    let top = title(&mut page, scene, look, margin);
    let up = if look.north_up { Bearing::new(0.0) } else { facing(scene.site) };
    let form = Proportion { least: 0.45, most: if narrow { 1.5 } else { 0.95 } };
    let view = View::fit(&framed(scene), up, (0.0, top, page.width), form);
    let mut labels = Labels::new(view.frame);
    furniture::take_corners(&mut labels, &view);
    things::take_signs(&mut labels, &view, scene.site);
    frame_clip(&mut page, &view);
    page.open("clip-path=\"url(#frame)\"");
    let bottom = Bottom { site: scene.site, ground: scene.ground, view: &view, quiet: true, photo: None };
    let doubts = bottom.draw(&mut page, &mut labels);
    let step_s = isochrones(&mut page, &mut labels, &view, scene);
    things::draw_lines(&mut page, &view, scene.site);
    for route in &scene.routes {
        draw_route(&mut page, &view, route);
    }
    things::draw_names(&mut page, &view, (&mut labels, scene.site));
    furniture::scale_and_north(&mut page, &mut labels, &view, scene.site.units);
    page.close();
    edge(&mut page, &view);
    let mut y = view.frame.y + view.frame.h + 12.0;
    let ink = page.ink;
    let limit_s = scene.site.limits.reach_s;
    let mut keys = vec![
        (
            Key::Line(ink.belief, 1.6, ""),
            format!("first guard there after so many seconds, every {step_s:.0}"),
        ),
        (Key::Line(ink.belief, 4.0, ""), format!("the site's limit, {limit_s:.0} s")),
        (Key::Hatch("late", "stroke-width=\"1\""), "later than the limit, or nobody comes".to_string()),
        (Key::Line(ink.people, 3.0, "stroke-dasharray=\"9 5\""), "way to the worst place".to_string()),
        (Key::Post, "post".to_string()),
    ];
    if scene.routes.is_empty() {
        keys.remove(3);
    }
    keys.extend((!doubts.is_empty()).then(|| untrusted_key(scene.site.units)));
    y += furniture::legend(&mut page, y, margin, &keys);
    y += below(&mut page, y + 6.0, margin, scene);
    page.finish(y + 12.0, &format!("{}: reach", scene.site.name))
}

/// Places the window should hold: the water, or on a lake far larger than its bathing areas those and what lies round them.
fn framed(scene: &ReachScene) -> Vec<Spot> {
    let all = places(scene.site, scene.ground);
    let mut near = Vec::new();
    for feature in scene.site.of_kind(Kind::BathingArea) {
        if let Shape::Area(polygons) = &feature.shape {
            near.extend(polygons.iter().flatten().flatten().copied());
        }
    }
    let posts = scene.site.of_kind(Kind::Post).map(|post| post.shape.middle());
    if near.is_empty() {
        near.extend(posts);
    } else {
        near.extend(within_sight(&near, posts));
    }
    let (Some(wide), Some((low, high))) = (bounds(&all), bounds(&near)) else { return all };
    let (span, lake) = ((high - low).length(), (wide.1 - wide.0).length());
    if lake <= LARGE * span {
        return all;
    }
    let margin = Spot::new(0.6 * span, 0.6 * span);
    near.extend([low - margin, high + margin]);
    near
}

/// A lake so many times as large as its bathing areas is not drawn whole.
const LARGE: f64 = 4.0;

fn title(page: &mut Page, scene: &ReachScene, look: &Look, margin: f64) -> f64 {
    let size = if page.width < 600.0 { 26.0 } else { 32.0 };
    let name = Type::new(size, 800, page.ink.ink);
    let lines = name.wrap(
        &format!("{}: reach", super::label::shortened(&scene.site.name, 110)),
        page.width - 2.0 * margin,
    );
    let mut y = 12.0 + page.lines((margin, 8.0), name, &lines);
    let soft = Type::new(15.0, 500, page.ink.soft);
    let posts: Vec<&str> = scene.reach.posts.iter().map(|p| p.post.name.as_str()).collect();
    let from = if posts.is_empty() { "no post".to_string() } else { format!("from {}", posts.join(", ")) };
    let words = format!("{} · {from} · seconds from leaving the post", look.date);
    let lines = soft.wrap(words.trim_start_matches(" · "), page.width - 2.0 * margin);
    y += page.lines((margin, y), soft, &lines);
    y + 12.0
}

/// Values with every gap filled from what lies nearest to it, over the sides of cells.
fn run_on(mut values: Vec<f64>, cols: usize) -> Vec<f64> {
    let mut front: std::collections::VecDeque<usize> =
        (0..values.len()).filter(|&c| !values[c].is_nan()).collect();
    while let Some(cell) = front.pop_front() {
        let (col, rows) = (cell % cols, values.len() / cols);
        let beside = [
            (col > 0).then(|| cell - 1),
            (col + 1 < cols).then_some(cell + 1),
            (cell >= cols).then(|| cell - cols),
            (cell / cols + 1 < rows).then_some(cell + cols),
        ];
        for next in beside.into_iter().flatten() {
            if values[next].is_nan() {
                values[next] = values[cell];
                front.push_back(next);
            }
        }
    }
    values
}

/// Lines of equal arrival with their seconds; gives the step between them \[s\].
fn isochrones(page: &mut Page, labels: &mut Labels, view: &View, scene: &ReachScene) -> f64 {
    let terrain = &scene.reach.terrain;
    let first = scene.reach.first_s();
    let wet = |cell: usize| terrain.footing[cell] == Footing::Water;
    // Land takes part so that lines run on to the shore, and so does no-go ground; the wet clip takes off what they leave.
    let known: Vec<f64> = (0..first.len())
        .map(|cell| match (first[cell].is_finite(), wet(cell)) {
            (true, _) => f64::from(first[cell]),
            (false, true) => NEVER_S,
            (false, false) => f64::NAN,
        })
        .collect();
    let filled = run_on(known, terrain.grid.cols);
    let times = view.reduced(&terrain.grid, |cell| filled[cell]);
    let limit_s = scene.site.limits.reach_s;
    let seen = |c: &usize| {
        let wet = terrain.footing[*c] == Footing::Water && first[*c].is_finite();
        wet && view.holds(terrain.grid.centre(*c))
    };
    let finite = || (0..first.len()).filter(seen);
    let longest = finite().map(|c| f64::from(first[c])).fold(0.0, f64::max);
    let step_s = [5.0, 10.0, 20.0, 30.0, 60.0, 120.0, 300.0, 600.0]
        .into_iter()
        .find(|s| longest / s <= 14.0)
        .unwrap_or(1200.0);
    let water =
        view.reduced(&terrain.grid, |cell| if terrain.footing[cell] == Footing::Water { 1.0 } else { 0.0 });
    let shore = view.rings(&outline::rings(&water, 0.5));
    page.define(&format!("<clipPath id=\"wet\"><path d=\"{shore}\" clip-rule=\"evenodd\"/></clipPath>"));
    page.open("clip-path=\"url(#wet)\"");
    let beyond: Vec<Vec<Spot>> = outline::rings(&times, limit_s);
    page.path(&view.rings(&beyond), "fill=\"url(#late)\" fill-rule=\"evenodd\" opacity=\"0.55\"");
    let line = |width: f64| format!("fill=\"none\" stroke=\"{}\" stroke-width=\"{width}\"", page.ink.belief);
    let (thin, thick) = (line(1.6), line(4.0));
    let mut level = step_s;
    let mut marks: Vec<(f64, Vec<Vec<Spot>>)> = Vec::new();
    while level < longest {
        let rings: Vec<Vec<Spot>> =
            outline::rings(&times, level).iter().map(|r| outline::rounded(r)).collect();
        page.path(&view.rings(&rings), &thin);
        marks.push((level, rings));
        level += step_s;
    }
    page.path(&view.rings(&beyond), &thick);
    page.close();
    let set = Type::new(13.5, 800, page.ink.belief).halo(page.ink.paper);
    for (level, rings) in marks {
        mark(page, labels, (view, scene), (set, &format!("{level:.0}"), &rings));
    }
    step_s
}

/// Writes the seconds on a line where there is room over water.
fn mark(
    page: &mut Page,
    labels: &mut Labels,
    (view, scene): (&View, &ReachScene),
    (set, text, rings): (Type, &str, &[Vec<Spot>]),
) {
    let terrain = &scene.reach.terrain;
    let (w, h) = (set.width(text) + 4.0, set.size * 1.1);
    let mut left = 3;
    for ring in rings {
        for spot in ring.iter().step_by((ring.len() / 60).max(1)) {
            let wet = terrain.grid.cell(*spot).is_some_and(|c| terrain.footing[c] == Footing::Water);
            let (x, y) = view.px(*spot);
            let room = super::page::Rect { x: x - 0.5 * w, y: y - 0.5 * h, w, h };
            if wet && left > 0 && labels.free(room.grown(10.0)) {
                page.text((room.x + 2.0, room.y + set.size * 0.88), set, text);
                left -= 1;
                break;
            }
        }
    }
}

fn draw_route(page: &mut Page, view: &View, route: &Route) {
    let line: Vec<Spot> = route.legs.iter().flat_map(|leg| leg.places.iter().copied()).collect();
    let d = view.line(&line);
    let (people, paper) = (page.ink.people, page.ink.paper);
    page.path(&d, &format!("fill=\"none\" stroke=\"{paper}\" stroke-width=\"6\" opacity=\"0.8\""));
    page.path(&d, &format!("fill=\"none\" stroke=\"{people}\" stroke-width=\"3\" stroke-dasharray=\"9 5\""));
    if let Some(end) = line.last() {
        page.circle(view.px(*end), 5.0, &format!("fill=\"{people}\" stroke=\"{paper}\" stroke-width=\"2\""));
    }
}

/// The zones in words and the doubts below the legend; gives the height used.
fn below(page: &mut Page, y: f64, margin: f64, scene: &ReachScene) -> f64 {
    let told: Vec<String> = scene
        .zones
        .iter()
        .map(|z| {
            let seconds = |s: Option<f64>| s.map_or("nobody".to_string(), |s| format!("{s:.0} s"));
            let denied = if z.denied_share > 0.0 {
                format!(", {:.0} % reached by nobody", 100.0 * z.denied_share)
            } else {
                String::new()
            };
            format!(
                "{}: half within {}, worst place {}, {:.0} % beyond the limit{denied}",
                z.zone,
                seconds(z.median_s),
                seconds(z.worst_s),
                100.0 * z.beyond_share
            )
        })
        .collect();
    let mut used = furniture::words(page, y, margin, ("Zones", &told));
    let notes: Vec<String> = scene.notes.iter().take(6).cloned().collect();
    used += furniture::words(page, y + used, margin, ("Cautions", &notes));
    let aid = "Planning aid. Paces are those of the register until the crew has measured its own; local rules come first.";
    used + furniture::words(page, y + used, margin, ("", &[aid.to_string()]))
}
