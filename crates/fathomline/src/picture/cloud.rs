//! The belief on a picture: a cloud of dots, each a possible place, and outlines that say how much is inside.

use super::label::Labels;
use super::outline;
use super::page::{Page, Rect, Type, number};
use super::scene::SearchScene;
use super::view::View;
use measure::Spot;
use search::belief::Cloud;
use std::fmt::Write as _;

/// Particles that stand for the whole: every one in proportion to its mass, by systematic resampling from a fixed start.
///
/// # Inputs
/// - `cloud` · `count`: how many
///
/// # Gives
/// Their places in the order of the particles; none where the cloud holds no mass.
///
/// # Source
/// systematic resampling (textbook); the start is half a step, so the same cloud gives the same dots
pub fn dots(cloud: &Cloud, count: usize) -> Vec<Spot> {
    let weight = |k: usize| {
        let mass = cloud.mass.get(k).copied().unwrap_or(0.0);
        if mass.is_finite() && mass > 0.0 { mass } else { 0.0 }
    };
    let total: f64 = (0..cloud.len()).map(weight).sum();
    let mut found = Vec::new();
    if total <= 0.0 || count == 0 {
        return found;
    }
    let step = total / count as f64;
    let (mut sum, mut due) = (0.0, 0.5 * step);
    for k in 0..cloud.len() {
        sum += weight(k);
        if sum > due {
            let spot = Spot::new(cloud.east[k], cloud.north[k]);
            if spot.is_finite() {
                found.push(spot);
            }
            // A heavy particle is drawn once: dots on top of each other are one dot.
            due += step * ((sum - due) / step).ceil().max(1.0);
        }
    }
    found
}

/// Outlines that were drawn: share and rings.
pub type Outlines = Vec<(f64, Vec<Vec<Spot>>)>;

/// An outline in more pieces than this is speckle of a thin cloud: it shows nothing and hides the rest.
const RINGS_MOST: usize = 12;

/// The outlines of a scene, smallest share first; without rings where they are scattered over the water.
pub fn outlines(scene: &SearchScene) -> Outlines {
    let mut outlines = Outlines::new();
    if let Some(map) = scene.map {
        for &(share, level) in &levels(scene) {
            let rings = outline::rings(map, level);
            // A speck of a few cells is noise of the cloud, not a region.
            let least = 4.0 * map.grid.cell_area_m2();
            let rings: Vec<Vec<Spot>> = rings
                .iter()
                .filter(|r| outline::ring_area(r).abs() >= least)
                .map(|r| outline::rounded(r))
                .collect();
            outlines.push((share, if rings.len() > RINGS_MOST { Vec::new() } else { rings }));
        }
    }
    outlines
}

/// Tints what the inner outlines hold; goes below everything that stands in the water.
pub fn tints(page: &mut Page, view: &View, outlines: &Outlines) {
    page.open("clip-path=\"url(#water)\"");
    for (share, rings) in outlines.iter().rev() {
        let tint = match share {
            s if *s <= 0.65 => page.ink.belief_50,
            s if *s <= 0.87 => page.ink.belief_80,
            _ => continue,
        };
        page.path(&view.rings(rings), &format!("fill=\"{tint}\" fill-opacity=\"0.8\" fill-rule=\"evenodd\""));
    }
    page.close();
}

/// Draws dots and outlines, inside the water's clip.
pub fn draw(page: &mut Page, view: &View, (scene, outlines): (&SearchScene, &Outlines)) {
    let belief = page.ink.belief;
    page.open("clip-path=\"url(#water)\"");
    let count = (1.9 * view.frame.w).clamp(500.0, 1600.0) as usize;
    let mut d = String::new();
    for spot in dots(scene.cloud, count) {
        if view.holds(spot) {
            let (x, y) = view.px(spot);
            let _ = write!(d, "M{} {}h.01", number(x), number(y));
        }
    }
    let size = if view.frame.w < 500.0 { 2.2 } else { 3.0 };
    page.path(
        &d,
        &format!("fill=\"none\" stroke=\"{belief}\" stroke-width=\"{size}\" stroke-linecap=\"round\""),
    );
    for (share, rings) in outlines {
        let (width, dash) = stroke(*share);
        page.path(
            &view.rings(rings),
            &format!(
                "fill=\"none\" stroke=\"{belief}\" stroke-width=\"{width}\" stroke-linejoin=\"round\" {dash}"
            ),
        );
    }
    page.close();
}

/// Writes on every outline how much is inside, once everything else has its room.
pub fn figures(page: &mut Page, view: &View, (outlines, labels): (&Outlines, &mut Labels)) {
    for (share, rings) in outlines {
        figure(page, view, (labels, rings), *share);
    }
}

/// Shares and levels that can be drawn, smallest share first.
pub fn levels(scene: &SearchScene) -> Vec<(f64, f64)> {
    let mut all: Vec<(f64, f64)> =
        scene.regions.iter().copied().filter(|(s, l)| s.is_finite() && l.is_finite() && *l > 0.0).collect();
    all.sort_by(|a, b| a.0.total_cmp(&b.0));
    all
}

/// Width and dash of the outline that holds a share: solid, dashed, dotted.
pub fn stroke(share: f64) -> (f64, &'static str) {
    match share {
        s if s <= 0.65 => (3.4, ""),
        s if s <= 0.87 => (2.8, "stroke-dasharray=\"11 6\""),
        _ => (3.0, "stroke-dasharray=\"0.1 5.4\" stroke-linecap=\"round\""),
    }
}

/// Writes the share on the longest ring, where it is free.
fn figure(page: &mut Page, view: &View, (labels, rings): (&mut Labels, &[Vec<Spot>]), share: f64) {
    let longest =
        rings.iter().max_by(|a, b| outline::ring_area(a).abs().total_cmp(&outline::ring_area(b).abs()));
    let Some(ring) = longest else { return };
    let set = Type::new(15.0 * page.unit(), 800, page.ink.belief).halo(page.ink.paper);
    let text = format!("{:.0} %", share * 100.0);
    let (w, h) = (set.width(&text) + 4.0, 17.0);
    // Upper right first: there the eye looks for it, and lanes have their numbers on the left.
    let mut points: Vec<(f64, f64)> = ring.iter().map(|&s| view.px(s)).collect();
    points.sort_by(|a, b| (b.0 - b.1).total_cmp(&(a.0 - a.1)));
    let stride = (points.len() / 60).max(1);
    for (x, y) in points.into_iter().step_by(stride) {
        let room = Rect { x: x - 0.5 * w, y: y - 0.5 * h, w, h };
        if labels.free(room) {
            page.text((room.x + 2.0, room.y + 13.5), set, &text);
            return;
        }
    }
}
