//! The water as surveyed: bands, contours, soundings, what is not trusted, and everything that stands there.

use super::bottom::{Bottom, Untrusted};
use super::furniture::{self, Key};
use super::label::Labels;
use super::page::{Page, Type};
use super::scene::Look;
use super::view::{Proportion, View, facing};
use super::{signs, things};
use measure::{Bearing, Spot, parameters::value};
use water::{Ground, Kind, Shape, Site, Units};

/// Most pieces of water without a near sounding that get a letter.
const LETTERED_MOST: usize = 8;

/// Said under every picture of the water.
const PLANNING_AID: &str = "Planning aid. Depths are below the level shown; the bottom may have moved since it was sounded. \
                            Local rules and your own emergency plan come first.";

/// The water of a site at one stage as an SVG picture.
///
/// # Inputs
/// - `site`, `ground`: as surveyed, at today's stage · `look`: light, width, date, cautions
///
/// # Gives
/// A whole SVG document, under 3 MB however large the water; the photo besides.
pub fn water_map(site: &Site, ground: &Ground, look: &Look) -> String {
    let mut page = Page::new(look.page_width(), look.palette());
    let narrow = page.width < 600.0;
    let margin = if narrow { 12.0 } else { 24.0 };
    signs::define_hatches(&mut page);
    let top = title(&mut page, (site, ground), look, margin);
    let up = if look.north_up { Bearing::new(0.0) } else { facing(site) };
    let form = Proportion { least: 0.45, most: if narrow { 1.5 } else { 0.95 } };
    let view = View::fit(&places(site, ground), up, (0.0, top, page.width), form);
    let mut labels = Labels::new(view.frame);
    furniture::take_corners(&mut labels, &view);
    things::take_signs(&mut labels, &view, site);
    let photo = look.photo.as_ref().map(|photo| (photo, look.theme));
    let bottom = Bottom { site, ground, view: &view, quiet: false, photo };
    frame_clip(&mut page, &view);
    page.open("clip-path=\"url(#frame)\"");
    let doubts = bottom.draw(&mut page, &mut labels);
    things::draw_lines(&mut page, &view, site);
    for (k, doubt) in doubts.iter().take(LETTERED_MOST).enumerate() {
        let at = view.px(doubt.spot);
        if let Some(room) = labels.near(at, (26.0, 26.0), -13.0, true) {
            signs::letter(&mut page, (room.x + 13.0, room.y + 13.0), &letter(k));
        }
    }
    things::draw_names(&mut page, &view, (&mut labels, site));
    bottom.soundings(&mut page, &mut labels);
    furniture::scale_and_north(&mut page, &mut labels, &view, site.units);
    page.close();
    edge(&mut page, &view);
    let mut y = view.frame.y + view.frame.h + 12.0;
    let legend = keys(&page, (site, ground), !doubts.is_empty());
    y += furniture::legend(&mut page, y, margin, &legend);
    y += below(&mut page, y + 6.0, margin, (site, ground, look, &doubts));
    page.finish(y + 12.0, &format!("{}: the water", site.name))
}

/// Clips the map to its frame.
pub(super) fn frame_clip(page: &mut Page, view: &View) {
    let f = view.frame;
    page.define(&format!(
        "<clipPath id=\"frame\"><rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\"/></clipPath>",
        f.x, f.y, f.w, f.h
    ));
}

/// Lines above and below the map.
pub(super) fn edge(page: &mut Page, view: &View) {
    let f = view.frame;
    let line = format!("stroke=\"{}\" stroke-width=\"2.5\"", page.ink.ink);
    page.line((f.x, f.y), (f.x + f.w, f.y), &line);
    page.line((f.x, f.y + f.h), (f.x + f.w, f.y + f.h), &line);
}

/// A, B, C …
pub(super) fn letter(k: usize) -> String {
    char::from(b'A' + (k % 26) as u8).to_string()
}

/// Name, survey, date and stage; gives where the map begins.
fn title(page: &mut Page, (site, ground): (&Site, &Ground), look: &Look, margin: f64) -> f64 {
    let ink = page.ink.ink;
    let size = if page.width < 600.0 { 26.0 } else { 32.0 };
    let name = Type::new(size, 800, ink);
    let lines = name.wrap(&super::label::shortened(&site.name, 120), page.width - 2.0 * margin);
    let mut y = 12.0 + page.lines((margin, 8.0), name, &lines);
    let soft = Type::new(15.0, 500, page.ink.soft);
    let mut facts = Vec::new();
    if !look.date.is_empty() {
        facts.push(look.date.clone());
    }
    if ground.stage_m.is_finite() {
        let datum =
            if site.stage_datum.is_empty() { String::new() } else { format!(" ({})", site.stage_datum) };
        facts.push(format!("{}{datum}", site.units.stage(ground.stage_m)));
    }
    facts.push(match (site.soundings.len(), site.sounded_on.as_str()) {
        (0, "") => "no soundings".to_string(),
        (0, date) => format!("surveyed {date}"),
        (count, "") => format!("{count} soundings, undated"),
        (count, date) => format!("{count} soundings, newest {date}"),
    });
    facts.extend(look.photo.as_ref().map(super::photo::Under::words));
    let lines = soft.wrap(&facts.join(" · "), page.width - 2.0 * margin);
    y += page.lines((margin, y), soft, &lines);
    y + 12.0
}

/// Everything the window should hold: water, what stands there, else soundings, else the grid.
pub(super) fn places(site: &Site, ground: &Ground) -> Vec<Spot> {
    let (mut places, mut points) = (Vec::new(), Vec::new());
    for feature in &site.features {
        match (&feature.shape, feature.kind) {
            (Shape::Area(polygons), Kind::Water | Kind::BathingArea | Kind::Dock(_) | Kind::Raft(_)) => {
                places.extend(polygons.iter().flatten().flatten().copied());
            }
            (Shape::Point(spot), Kind::Post | Kind::Gate | Kind::KitPlace) => points.push(*spot),
            _ => {}
        }
    }
    if places.is_empty() {
        places = points;
    } else {
        places.extend(within_sight(&places, points.into_iter()));
    }
    if places.is_empty() {
        places.extend(site.soundings.iter().map(|s| s.spot));
    }
    if places.is_empty() && !ground.grid.is_empty() {
        let g = ground.grid;
        places.push(g.corner);
        places.push(g.corner + Spot::new(g.cols as f64, g.rows as f64) * g.cell_m);
    }
    places
}

/// South-west and north-east corner of places.
pub(super) fn bounds(places: &[Spot]) -> Option<(Spot, Spot)> {
    let first = *places.first()?;
    Some(places.iter().filter(|s| s.is_finite()).fold((first, first), |(low, high), s| {
        (
            Spot::new(low.east.min(s.east), low.north.min(s.north)),
            Spot::new(high.east.max(s.east), high.north.max(s.north)),
        )
    }))
}

/// Points that lie no farther outside `places` than these reach across, or a hundred metres: one gate down the road must not make
/// the water a dot.
pub(super) fn within_sight(places: &[Spot], points: impl Iterator<Item = Spot>) -> Vec<Spot> {
    let Some((low, high)) = bounds(places) else { return points.collect() };
    let most_m = (high - low).length().max(ROUND_M);
    let off = |s: Spot| {
        s.distance(Spot::new(s.east.clamp(low.east, high.east), s.north.clamp(low.north, high.north)))
    };
    points.filter(|s| s.is_finite() && off(*s) <= most_m).collect()
}

/// What lies within so much of small water is drawn with it \[m\].
const ROUND_M: f64 = 100.0;

/// Areas of the three bands, of what is wet today \[m²\].
fn band_areas(site: &Site, ground: &Ground) -> [f64; 3] {
    let mut areas = [0.0; 3];
    for k in (0..ground.grid.len()).filter(|&k| ground.is_water(k)) {
        let depth = ground.depth_m[k];
        let band = if depth <= site.limits.wade_depth_m {
            0
        } else if depth <= site.limits.dive_depth_m {
            1
        } else {
            2
        };
        areas[band] += ground.grid.cell_area_m2();
    }
    areas
}

fn keys(page: &Page, (site, ground): (&Site, &Ground), doubts: bool) -> Vec<(Key, String)> {
    let (ink, units) = (page.ink, site.units);
    let areas = band_areas(site, ground).map(|a| units.area(a));
    let (wade, dive) = (site.limits.wade_depth_m, site.limits.dive_depth_m);
    let mut keys = vec![
        (Key::Band(ink.wade), format!("wade, to {}: {}", units.length(wade), areas[0])),
        (Key::Band(ink.dive), format!("dive, to {}: {}", units.length(dive), areas[1])),
        (Key::Band(ink.deep), format!("too deep to dive: {}", areas[2])),
        (Key::Line(ink.iso, 1.3, ""), "contour".into()),
        (Key::Line(ink.iso_key, 2.2, ""), "wading and diving limit".into()),
    ];
    if !site.soundings.is_empty() {
        let unit = if units == Units::Feet { "feet" } else { "metres, tenths small" };
        keys.push((Key::Figure(units), format!("sounding, {unit}")));
    }
    if doubts {
        keys.push(untrusted_key(units));
    }
    keys.extend(thing_keys(page, site));
    keys
}

/// The key of water that is not trusted.
pub(super) fn untrusted_key(units: Units) -> (Key, String) {
    let far = units.length(value("far_sounding_m"));
    (Key::Hatch("doubt", DOTTED), format!("not trusted: no sounding within {far}"))
}

/// Edge of hatched ground that is not trusted.
const DOTTED: &str = "stroke-width=\"1.6\" stroke-dasharray=\"1.5 4\"";

/// Legend of the things that are on the map.
pub(super) fn thing_keys(page: &Page, site: &Site) -> Vec<(Key, String)> {
    let has = |pick: fn(&Kind) -> bool| site.features.iter().any(|f| pick(&f.kind));
    let ink = page.ink;
    let rope = "stroke-linecap=\"round\" stroke-dasharray=\"0.1 8\"";
    let dashes = "stroke-dasharray=\"10 4 2 4\"";
    let all: [(bool, Key, &str); 10] = [
        (has(|k| *k == Kind::BathingArea), Key::Line(ink.soft, 1.4, dashes), "bathing area"),
        (has(|k| matches!(k, Kind::Dock(_) | Kind::Raft(_))), Key::Band(ink.deck), "dock, raft"),
        (has(|k| *k == Kind::Rope), Key::Line(ink.ink, 4.6, rope), "rope"),
        (has(|k| *k == Kind::Post), Key::Post, "post"),
        (has(|k| *k == Kind::Landmark), Key::Landmark, "landmark"),
        (has(|k| *k == Kind::Gate), Key::Gate, "gate"),
        (has(|k| *k == Kind::KitPlace), Key::Kit, "kit"),
        (has(|k| *k == Kind::CatchPoint), Key::CatchPoint, "thrower waits"),
        (has(|k| *k == Kind::DropOff), Key::Line(ink.ink, 2.0, ""), "drop-off (teeth)"),
        (has(|k| *k == Kind::NoGo), Key::Hatch("keep", "stroke-width=\"3\""), "searchers keep off"),
    ];
    all.into_iter().filter(|(there, ..)| *there).map(|(_, key, text)| (key, text.to_string())).collect()
}

/// Lettered doubts, notes and cautions below the legend; gives the height used.
fn below(
    page: &mut Page,
    y: f64,
    margin: f64,
    (site, ground, look, doubts): (&Site, &Ground, &Look, &[Untrusted]),
) -> f64 {
    let mut used = 0.0;
    let mut lines: Vec<String> = doubts
        .iter()
        .take(LETTERED_MOST)
        .enumerate()
        .map(|(k, d)| {
            let area = site.units.area(d.area_m2);
            match d.far_m.is_finite() {
                true => format!(
                    "{}: {area}, up to {} from the nearest sounding",
                    letter(k),
                    site.units.length(d.far_m)
                ),
                false => format!("{}: {area}, no sounding at all", letter(k)),
            }
        })
        .collect();
    if doubts.len() > LETTERED_MOST {
        let rest: f64 = doubts[LETTERED_MOST..].iter().map(|d| d.area_m2).sum();
        let count = doubts.len() - LETTERED_MOST;
        lines.push(format!("{count} more pieces, {} together", site.units.area(rest)));
    }
    used += furniture::words(page, y, margin, ("Not trusted", &lines));
    let mut notes = look.cautions.clone();
    notes.extend(ground.notes.iter().take(8).cloned());
    used += furniture::words(page, y + used, margin, ("Cautions", &notes));
    used + furniture::words(page, y + used, margin, ("", &[PLANNING_AID.to_string()]))
}
