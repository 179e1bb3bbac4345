//! What stands in and round the water: docks, rafts, ropes, posts, landmarks, gates, kit, drop-offs, ground to keep off.

use super::label::Labels;
use super::outline;
use super::page::{Page, Type};
use super::signs;
use super::view::View;
use measure::Spot;
use water::{Feature, Kind, Shape, Site, Support};

/// Most areas and lines of one picture.
const LINES_MOST: usize = 2000;

/// Draws areas and lines of a site, which lie under everything else; takes no room for words.
pub fn draw_lines(page: &mut Page, view: &View, site: &Site) {
    let (ink, deck) = (page.ink.ink, page.ink.deck);
    let order = |f: &Feature| match f.kind {
        Kind::BathingArea => 0,
        Kind::NoGo => 1,
        Kind::DropOff => 2,
        Kind::Rope => 3,
        _ => 4,
    };
    let mut features: Vec<&Feature> = site.features.iter().collect();
    features.sort_by_key(|f| order(f));
    features.truncate(LINES_MOST);
    for feature in features {
        let d = path(view, &feature.shape);
        match feature.kind {
            Kind::BathingArea => page.path(
                &d,
                &format!(
                    "fill=\"none\" stroke=\"{}\" stroke-width=\"1.2\" stroke-dasharray=\"10 4 2 4\"",
                    page.ink.soft
                ),
            ),
            Kind::NoGo => page.path(
                &d,
                &format!(
                    "fill=\"{}\" stroke=\"{ink}\" stroke-width=\"3.5\"",
                    if is_area(feature) { "url(#keep)" } else { "none" }
                ),
            ),
            Kind::DropOff => drop_off(page, view, &feature.shape),
            Kind::Rope => {
                // A thin line carries the floats, so that the row is seen as one thing.
                page.path(&d, &format!("fill=\"none\" stroke=\"{ink}\" stroke-width=\"0.8\""));
                let dots = "stroke-linecap=\"round\" stroke-dasharray=\"0.1 9\"";
                page.path(&d, &format!("fill=\"none\" stroke=\"{ink}\" stroke-width=\"4.6\" {dots}"));
            }
            Kind::Dock(support) | Kind::Raft(support) => {
                // Solid to the bottom: full edge; water under it: the edge is broken.
                let edge = if support == Support::Solid { "" } else { " stroke-dasharray=\"9 3\"" };
                page.path(
                    &d,
                    &format!(
                        "fill=\"{deck}\" fill-rule=\"evenodd\" stroke=\"{ink}\" stroke-width=\"2.4\"{edge}"
                    ),
                );
            }
            _ => {}
        }
    }
}

fn is_area(feature: &Feature) -> bool {
    matches!(feature.shape, Shape::Area(_))
}

fn path(view: &View, shape: &Shape) -> String {
    match shape {
        Shape::Point(_) => String::new(),
        Shape::Line(places) => view.line(places),
        Shape::Area(polygons) => polygons.iter().map(|rings| view.rings(rings)).collect(),
    }
}

/// The edge of a drop-off: a line with teeth towards its right, the deep side when it was walked so; both sides are kept off.
fn drop_off(page: &mut Page, view: &View, shape: &Shape) {
    let Shape::Line(places) = shape else { return };
    let ink = page.ink.ink;
    let line = format!("fill=\"none\" stroke=\"{ink}\" stroke-width=\"2\"");
    page.path(&view.line(places), &line);
    let mut teeth = String::new();
    let mut room = 600;
    for pair in places.windows(2) {
        let (a, b) = (view.px(pair[0]), view.px(pair[1]));
        let length = (b.0 - a.0).hypot(b.1 - a.1);
        if length.is_nan() || length < 1e-6 {
            continue;
        }
        let (dx, dy) = ((b.0 - a.0) / length, (b.1 - a.1) / length);
        let mut along = 6.0;
        while along < length && room > 0 {
            let (x, y) = (a.0 + dx * along, a.1 + dy * along);
            if view.frame.holds(x, y) {
                teeth.push_str(&signs::polygon(&[
                    (x - dx * 4.0, y - dy * 4.0),
                    (x + dx * 4.0, y + dy * 4.0),
                    (x - dy * 7.0, y + dx * 7.0),
                ]));
            }
            along += 16.0;
            room -= 1;
        }
    }
    page.path(&teeth, &format!("fill=\"{ink}\""));
}

/// Whether a feature is drawn as a sign at one place.
fn sign(page: &mut Page, kind: Kind, at: (f64, f64)) -> bool {
    match kind {
        Kind::Post => signs::post(page, at, 10.0 * page.unit()),
        Kind::Landmark => signs::landmark(page, at, 4.0),
        Kind::Gate => signs::gate(page, at, 7.0),
        Kind::KitPlace => signs::kit(page, at, 7.0),
        Kind::CatchPoint => signs::catch_point(page, at, 8.0),
        _ => return false,
    }
    true
}

/// Takes room for the signs of points, before any word is placed.
pub fn take_signs(labels: &mut Labels, view: &View, site: &Site) {
    for feature in &site.features {
        if let (Kind::Rope | Kind::DropOff, Shape::Line(places)) = (feature.kind, &feature.shape) {
            let line: Vec<(f64, f64)> =
                places.iter().filter(|s| s.is_finite()).map(|&s| view.px(s)).collect();
            labels.avoid(&line);
        }
        let spot = feature.shape.middle();
        let pointed = matches!(
            feature.kind,
            Kind::Post | Kind::Landmark | Kind::Gate | Kind::KitPlace | Kind::CatchPoint
        );
        if pointed && view.holds(spot) {
            labels.take_at(view.px(spot), 10.0);
        }
        if let (Kind::Raft(_), Shape::Area(polygons)) = (feature.kind, &feature.shape) {
            if let Some(room) = polygons.first().and_then(|p| p.first()).and_then(|ring| bounds(view, ring)) {
                labels.take(room);
            }
        }
    }
}

fn bounds(view: &View, ring: &[Spot]) -> Option<super::page::Rect> {
    let (mut x0, mut y0, mut x1, mut y1) = (f64::MAX, f64::MAX, f64::MIN, f64::MIN);
    for &spot in ring.iter().filter(|s| view.holds(**s)) {
        let (x, y) = view.px(spot);
        (x0, y0, x1, y1) = (x0.min(x), y0.min(y), x1.max(x), y1.max(y));
    }
    (x1 >= x0).then_some(super::page::Rect { x: x0, y: y0, w: x1 - x0, h: y1 - y0 })
}

/// Draws signs and names of everything named in the frame, posts first, since orders point by them.
pub fn draw_names(page: &mut Page, view: &View, (labels, site): (&mut Labels, &Site)) {
    let rank = |kind: Kind| match kind {
        Kind::Post => 0,
        Kind::Raft(_) | Kind::Dock(_) => 1,
        Kind::Landmark | Kind::Gate => 2,
        Kind::DropOff | Kind::NoGo => 3,
        _ => 4,
    };
    let mut features: Vec<&Feature> = site.features.iter().collect();
    features.sort_by_key(|f| rank(f.kind));
    let set = Type::new(15.0 * page.unit(), 800, page.ink.ink).halo(page.ink.paper);
    let mut room = if page.narrow() { 40 } else { 150 };
    for feature in features {
        let spot = feature.shape.middle();
        if matches!(feature.kind, Kind::Water | Kind::BathingArea | Kind::Bottom(_))
            || !view.holds(spot)
            || room == 0
        {
            continue;
        }
        room -= 1;
        let at = view.px(spot);
        let signed = sign(page, feature.kind, at);
        let name = if feature.name.is_empty() { plain_name(feature.kind) } else { &feature.name };
        match (feature.kind, &feature.shape) {
            (Kind::Raft(_) | Kind::Dock(_), shape) => {
                labels.name(page, at, 6.0 + half_size(view, shape), (set, name))
            }
            (_, Shape::Line(_)) => labels.name_over(page, at, 6.0, (set, name)),
            (Kind::Post, _) => labels.name(page, at, 12.0, (set, name)),
            _ => labels.name_if_free(page, at, if signed { 10.0 } else { 4.0 }, (set, name)),
        }
    }
}

/// Half the width of a dock or raft on the picture: twice area over girth, at most 60 units.
fn half_size(view: &View, shape: &Shape) -> f64 {
    let Shape::Area(polygons) = shape else { return 0.0 };
    let Some(ring) = polygons.first().and_then(|p| p.first()) else { return 0.0 };
    let girth: f64 = ring.windows(2).map(|w| w[0].distance(w[1])).sum();
    if girth > 0.0 { (2.0 * outline::ring_area(ring).abs() / girth * view.scale).min(60.0) } else { 0.0 }
}

/// What a thing without a name is called on the picture; signs of points stay without a word.
fn plain_name(kind: Kind) -> &'static str {
    match kind {
        Kind::DropOff => "drop-off",
        Kind::NoGo => "keep off",
        _ => "",
    }
}
