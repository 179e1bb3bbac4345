//! A search on the water: where they may be, which lanes in which order, who is where, what nobody covers.

use super::bottom::Bottom;
use super::cloud;
use super::furniture::{self, Key};
use super::label::Labels;
use super::lanes::{self, Lanes};
use super::marks::{self, GAPS_MOST, last_seen_at};
use super::page::{Page, Rect, Type};
use super::scene::{Person, SearchScene};
use super::signs::{self, Doing};
use super::view::{Proportion, View, facing};
use super::water_map::{edge, frame_clip, letter, thing_keys};
use super::{people, things};
use measure::{Bearing, Spot};
use search::Seen;
use water::{Kind, Shape};

/// Least width of the window \[m\]: less shows lanes without anything to know the place by.
const WINDOW_LEAST_M: f64 = 60.0;

/// Said under every picture of a search.
const PLANNING_AID: &str = "Planning aid. The shares come from a model of drift and of what lines can miss; they order the search, no more. \
                            Local rules and whoever is in charge decide.";

/// A search at one moment as an SVG picture.
///
/// # Inputs
/// - `scene`: everything that is drawn; nothing is computed here but places on paper
///
/// # Gives
/// A whole SVG document.
pub fn search_map(scene: &SearchScene) -> String {
    let site = scene.setting.site;
    let mut page = Page::new(scene.look.page_width(), scene.look.palette());
    let narrow = page.width < 600.0;
    let margin = if narrow { 12.0 } else { 24.0 };
    signs::define_hatches(&mut page);
    let top = header(&mut page, scene, margin);
    let up = if scene.look.north_up { Bearing::new(0.0) } else { facing(site) };
    let form = Proportion { least: if narrow { 0.85 } else { 0.5 }, most: if narrow { 1.4 } else { 0.8 } };
    let folk = if scene.people.is_empty() { people::from_plan(scene) } else { scene.people.to_vec() };
    let outlines = cloud::outlines(scene);
    let view = View::fit(&places(scene, &outlines, &folk), up, (0.0, top, page.width), form);
    let mut labels = Labels::new(view.frame);
    furniture::take_corners(&mut labels, &view);
    things::take_signs(&mut labels, &view, site);
    marks::take_last_seen(&mut labels, &view, scene);
    labels.take(Rect { x: 8.0, y: view.frame.y + 46.0, w: 176.0 * page.unit(), h: 62.0 });
    let lanes = Lanes::place(&page, &view, (scene, &mut labels));
    frame_clip(&mut page, &view);
    page.open("clip-path=\"url(#frame)\"");
    let bottom = Bottom { site, ground: scene.setting.ground, view: &view, quiet: true, photo: None };
    bottom.draw(&mut page, &mut labels);
    cloud::tints(&mut page, &view, &outlines);
    things::draw_lines(&mut page, &view, site);
    cloud::draw(&mut page, &view, (scene, &outlines));
    marks::gap_shapes(&mut page, &view, scene);
    lanes.draw(&mut page, &view);
    // Numbers and letters have their room first; the outlines' figures can lie anywhere along their line.
    marks::gap_letters(&mut page, &view, (scene, &mut labels));
    cloud::figures(&mut page, &view, (&outlines, &mut labels));
    let named = marks::draw_people(&mut page, &view, (scene, &folk, &mut labels));
    marks::sightings(&mut page, &view, (scene, &mut labels));
    let set = Type::new(14.0 * page.unit(), 800, page.ink.people).halo(page.ink.paper);
    let off = 10.0 * page.unit();
    for (k, &(at, name)) in named.iter().enumerate() {
        let near = |other: (f64, f64)| (other.0 - at.0).hypot(other.1 - at.1) < 60.0 * page.unit();
        if named[..k].iter().any(|&(other, said)| said == name && near(other)) {
            continue;
        }
        // On a phone a name without room is left out: the orders say it, and written over another neither is read.
        match narrow {
            true => labels.name_if_free(&mut page, at, off, (set, name)),
            false => labels.name(&mut page, at, off, (set, name)),
        }
    }
    marks::current(&mut page, &view, (scene, &mut labels));
    things::draw_names(&mut page, &view, (&mut labels, site));
    furniture::scale_and_north(&mut page, &mut labels, &view, site.units);
    page.close();
    edge(&mut page, &view);
    let mut y = view.frame.y + view.frame.h;
    y += masses(&mut page, y, scene) + 12.0;
    let legend = keys(&page, (scene, &folk, &outlines));
    y += furniture::legend(&mut page, y, margin, &legend);
    y += below(&mut page, y + 6.0, margin, (scene, &view));
    page.finish(y + 12.0, &format!("{}: {}", site.name, scene.header.title))
}

/// Clock and times on a bar, and the next order on yellow; gives where the map begins.
fn header(page: &mut Page, scene: &SearchScene, margin: f64) -> f64 {
    let (head, ink) = (&scene.header, page.ink);
    let narrow = page.width < 600.0;
    let (height, clock) = if narrow { (76.0, 46.0) } else { (88.0, 58.0) };
    let right = page.width - margin;
    page.rect(Rect { x: 0.0, y: 0.0, w: page.width, h: height }, &format!("fill=\"{}\"", ink.bar));
    let set = Type::new(clock, 800, ink.bar_ink);
    page.text((margin, 0.5 * height + 0.36 * clock), set, &head.clock);
    let strong = Type::new(if narrow { 15.0 } else { 19.0 }, 800, ink.bar_ink).anchor("end");
    let plain = Type::new(if narrow { 14.0 } else { 16.0 }, 500, ink.bar_ink).anchor("end");
    let room = page.width - 2.0 * margin - set.width(&head.clock) - 16.0;
    let first = [head.now.as_str(), head.title.as_str()]
        .iter()
        .filter(|t| !t.is_empty())
        .copied()
        .collect::<Vec<_>>();
    let alarm = if head.alarm.is_empty() { String::new() } else { format!("alarm {}", head.alarm) };
    let second = [alarm.as_str(), scene.setting.site.name.as_str(), scene.look.date.as_str()]
        .iter()
        .filter(|t| !t.is_empty())
        .copied()
        .collect::<Vec<_>>();
    for (set, parts, y) in [(strong, first, 0.5 * height - 6.0), (plain, second, 0.5 * height + 20.0)] {
        page.text((right, y), set, &fitting(&parts, (set, room)));
    }
    let line = format!("stroke=\"{}\" stroke-width=\"3\"", ink.ink);
    page.line((0.0, height), (page.width, height), &line);
    let Some(order) = &head.say_next else { return height };
    let label = Type::new(15.0, 800, ink.act_ink);
    let loud = Type::new(if narrow { 21.0 } else { 25.0 }, 800, ink.act_ink);
    let indent = if narrow { margin } else { margin + label.width("Say next") + 16.0 };
    let lines = loud.wrap(&super::label::shortened(order, 240), page.width - indent - margin);
    let under = if narrow { 22.0 } else { 0.0 };
    let tall = 18.0 + under + loud.size * 1.3 * lines.len() as f64;
    page.rect(Rect { x: 0.0, y: height, w: page.width, h: tall }, &format!("fill=\"{}\"", ink.act));
    let base = if narrow { 21.0 } else { 9.0 + loud.size };
    page.text((margin, height + base), label, "Say next");
    page.lines((indent, height + 7.0 + under), loud, &lines);
    page.line((0.0, height + tall), (page.width, height + tall), &line);
    height + tall
}

/// As many parts as fit, from the first; the first one is cut where even it is too long.
fn fitting(parts: &[&str], (set, room): (Type, f64)) -> String {
    let joined = (1..=parts.len()).rev().map(|k| parts[..k].join(" · ")).find(|text| set.width(text) <= room);
    let first = parts.first().copied().unwrap_or_default();
    let cut = || (1..=first.chars().count().min(80)).rev().map(|most| super::label::shortened(first, most));
    joined.or_else(|| cut().find(|text| set.width(text) <= room)).unwrap_or_default()
}

/// What the window must hold: the widest outline that is drawn, lanes, last seen points; people, posts and rafts that are near.
///
/// Ground that is scattered over a lake would make the lanes too small to read.
fn places(scene: &SearchScene, outlines: &cloud::Outlines, folk: &[Person]) -> Vec<Spot> {
    let drawn = outlines.iter().rfind(|(share, rings)| *share <= 0.9 && !rings.is_empty());
    let mut places: Vec<Spot> = drawn.iter().flat_map(|(_, rings)| rings.iter().flatten().copied()).collect();
    if drawn.is_none() && scene.plan.runs.is_empty() {
        places.extend(cloud::dots(scene.cloud, 200));
    }
    for run in &scene.plan.runs {
        let strip = search::Stretch::Strip { from: run.from, to: run.to, width_m: run.width_m };
        places.extend(lanes::corners(&strip, 1.0));
    }
    places.extend(scene.plan.gaps.iter().filter(|gap| gap.mass >= 0.01).map(|gap| gap.spot));
    for searched in scene.searched {
        places.extend(lanes::corners(&searched.sweep.stretch, 1.0));
    }
    for sighting in &scene.alarm.sightings {
        places.extend(last_seen_at(&sighting.seen));
    }
    places.retain(|s| s.is_finite());
    let site = scene.setting.site;
    let middle = places.iter().fold(Spot::default(), |sum, &s| sum + s) * (1.0 / places.len().max(1) as f64);
    let reach = places.iter().map(|s| s.distance(middle)).fold(0.0, f64::max);
    let known = !places.is_empty();
    // A phone shows the search alone; a wider picture also what stands round it.
    let near = if scene.look.page_width() < 600.0 { 1.05 } else { 1.4 } * reach;
    places.extend(folk.iter().map(|p| p.spot).filter(|s| known && s.distance(middle) < near));
    for feature in &site.features {
        match (&feature.shape, feature.kind) {
            (shape, Kind::Post | Kind::Gate | Kind::Raft(_))
                if known && shape.middle().distance(middle) < near =>
            {
                places.push(shape.middle());
            }
            (Shape::Area(polygons), Kind::BathingArea | Kind::Water) if !known => {
                places.extend(polygons.iter().flatten().flatten().copied());
            }
            _ => {}
        }
    }
    if known {
        places.extend(nearest_marks(site, middle, (2.5 * reach).max(WINDOW_LEAST_M)));
        let half = 0.5 * WINDOW_LEAST_M;
        places.extend([-half, half].map(|e| middle + Spot::new(e, e)));
    }
    places
}

/// The two nearest places that everybody knows by name, within `near_m`: without them a window on open water says nothing.
fn nearest_marks(site: &water::Site, middle: Spot, near_m: f64) -> Vec<Spot> {
    let known_by_name = |kind: Kind| {
        matches!(
            kind,
            Kind::Landmark | Kind::Post | Kind::Gate | Kind::KitPlace | Kind::Dock(_) | Kind::Raft(_)
        )
    };
    let mut marks: Vec<Spot> = site
        .features
        .iter()
        .filter(|f| known_by_name(f.kind) && !f.name.is_empty())
        .map(|f| f.shape.middle())
        .filter(|s| s.is_finite() && s.distance(middle) <= near_m)
        .collect();
    marks.sort_by(|a, b| a.distance(middle).total_cmp(&b.distance(middle)));
    marks.truncate(2);
    marks
}

/// A share in whole per cent, never 0 or 100 where it is neither.
fn percent(share: f64) -> String {
    match share {
        s if !s.is_finite() => "unknown".into(),
        s if s > 0.0 && s < 0.01 => "under 1 %".into(),
        s if s > 0.99 && s < 1.0 => "over 99 %".into(),
        s => format!("{:.0} %", s * 100.0),
    }
}

/// The share in words.
fn likely(share: f64) -> &'static str {
    match share {
        s if !s.is_finite() => "not known",
        s if s >= 0.5 => "most likely",
        s if s >= 0.25 => "quite possible",
        s if s >= 0.05 => "still possible",
        _ => "unlikely",
    }
}

/// The four places a person can be, in words and whole per cent; gives the height used.
fn masses(page: &mut Page, y: f64, scene: &SearchScene) -> f64 {
    let m = scene.masses;
    let cells =
        [("on the bottom", m.bottom), ("afloat", m.afloat), ("ashore", m.ashore), ("elsewhere", m.elsewhere)];
    let narrow = page.width < 600.0;
    let (w, h) = (0.25 * page.width, if narrow { 72.0 } else { 90.0 });
    let ink = page.ink.ink;
    let most = cells.iter().map(|c| c.1).fold(0.0, f64::max);
    for (k, (name, share)) in cells.into_iter().enumerate() {
        let x = w * k as f64;
        let middle = x + 0.5 * w;
        if k > 0 {
            page.line((x, y), (x, y + h), &format!("stroke=\"{}\" stroke-width=\"1\"", page.ink.hair));
        }
        if share == most && share > 0.0 {
            page.rect(Rect { x, y: y + h - 6.0, w, h: 6.0 }, &format!("fill=\"{ink}\""));
        }
        let set = |size: f64, weight: u32| Type::new(size, weight, ink).anchor("middle");
        let text = percent(share);
        let big = if text.len() > 5 { 19.0 } else { 26.0 };
        let (small, big) = if narrow { (13.0, (big * 0.8_f64).max(15.0)) } else { (16.0, big) };
        page.text((middle, y + 6.0 + small), set(small, 800), name);
        page.text((middle, y + 0.5 * h + 0.42 * big + 2.0), set(big, 800), &text);
        page.text((middle, y + h - 10.0), set(small, 500), likely(share));
    }
    page.line((0.0, y + h), (page.width, y + h), &format!("stroke=\"{ink}\" stroke-width=\"2.5\""));
    h
}

fn keys(
    page: &Page,
    (scene, folk, outlines): (&SearchScene, &[Person], &cloud::Outlines),
) -> Vec<(Key, String)> {
    let belief = page.ink.belief;
    let mut keys: Vec<(Key, String)> = Vec::new();
    keys.push((Key::Hatch("", "stroke-width=\"2\" stroke-dasharray=\"6 3\""), "lane planned".into()));
    keys.push((Key::Hatch("", "stroke-width=\"4\""), "under way".into()));
    keys.push((Key::Hatch("done", "stroke-width=\"1.6\""), "searched".into()));
    for (doing, text) in [(Doing::Dives, "dives"), (Doing::Wades, "wades"), (Doing::LooksOut, "looks out")] {
        if folk.iter().any(|p| p.doing == doing) {
            keys.push((Key::Person(doing), text.into()));
        }
    }
    if !scene.cloud.is_empty() {
        keys.push((Key::Dot, "possible places".into()));
    }
    for (share, rings) in outlines {
        let (width, dash) = cloud::stroke(*share);
        let text = match rings.is_empty() {
            true => format!("{:.0} % of them: scattered, not drawn", share * 100.0),
            false => format!("{:.0} % of them", share * 100.0),
        };
        keys.push((Key::Line(belief, width, dash), text));
    }
    let sightings = &scene.alarm.sightings;
    if sightings.iter().any(|s| last_seen_at(&s.seen).is_some()) {
        keys.push((Key::LastSeen, "last seen".into()));
    }
    let stood = |seen: &Seen| matches!(seen, Seen::Bearing { .. } | Seen::Point { stood: Some(_), .. });
    if sightings.iter().any(|s| stood(&s.seen)) {
        keys.push((Key::Witness, "witness stood".into()));
    }
    if !scene.plan.gaps.is_empty() {
        keys.push((
            Key::Hatch("gap", "stroke-width=\"1.6\" stroke-dasharray=\"9 3 2 3\""),
            "not covered".into(),
        ));
    }
    keys.extend(thing_keys(page, scene.setting.site));
    keys
}

/// What nobody covers, cautions and notes below the legend; gives the height used.
fn below(page: &mut Page, y: f64, margin: f64, (scene, view): (&SearchScene, &View)) -> f64 {
    let gaps: Vec<String> = scene
        .plan
        .gaps
        .iter()
        .take(GAPS_MOST)
        .enumerate()
        .map(|(k, gap)| {
            let beyond = if view.holds(gap.spot) { "" } else { ", outside this picture" };
            format!("{}: {} ({} of the whole{beyond})", letter(k), gap.why, percent(gap.mass))
        })
        .collect();
    let mut used = furniture::words(page, y, margin, ("Not covered", &gaps));
    let mut notes = scene.look.cautions.clone();
    notes.extend(scene.plan.notes.iter().take(6).cloned());
    used += furniture::words(page, y + used, margin, ("Cautions", &notes));
    used + furniture::words(page, y + used, margin, ("", &[PLANNING_AID.to_string()]))
}
