//! Marks of a search on the map: sightings, people, the current, what nobody covers.

use super::label::Labels;
use super::page::{Page, Rect, Type};
use super::scene::{Person, SearchScene};
use super::signs::{self, Doing};
use super::view::View;
use super::water_map::letter;
use measure::Spot;
use search::Seen;
use water::{Flow, Kind, Shape};

/// Most gaps that get a letter.
pub const GAPS_MOST: usize = 8;

/// Where a witness places the missing person, if at a place.
pub fn last_seen_at(seen: &Seen) -> Option<Spot> {
    let spot = match seen {
        Seen::Point { spot, .. } => *spot,
        Seen::Bearing { stood, bearing, range_m: Some(range), .. } => {
            *stood + Spot::towards(*bearing, *range)
        }
        Seen::Bearing { range_m: None, .. } => return None,
        Seen::Area { rings, .. } => Shape::Area(rings.clone()).middle(),
    };
    spot.is_finite().then_some(spot)
}

/// Takes room for last seen points before any word is placed.
pub fn take_last_seen(labels: &mut Labels, view: &View, scene: &SearchScene) {
    for spot in scene.alarm.sightings.iter().filter_map(|s| last_seen_at(&s.seen)).filter(|s| view.holds(*s))
    {
        labels.take_at(view.px(spot), 15.0);
    }
}

/// Lines of sight, last seen points and the places of witnesses, with their names.
pub fn sightings(page: &mut Page, view: &View, (scene, labels): (&SearchScene, &mut Labels)) {
    let set = Type::new(14.0 * page.unit(), 800, page.ink.ink).halo(page.ink.paper);
    let thin =
        format!("fill=\"none\" stroke=\"{}\" stroke-width=\"1.6\" stroke-dasharray=\"2 5\"", page.ink.ink);
    for sighting in scene.alarm.sightings.iter().take(20) {
        let stood = match &sighting.seen {
            Seen::Point { stood, .. } => *stood,
            Seen::Bearing { stood, .. } => Some(*stood),
            Seen::Area { rings, .. } => {
                let d: String = rings.iter().map(|r| view.rings(r)).collect();
                page.path(&d, &thin);
                None
            }
        };
        let seen = last_seen_at(&sighting.seen);
        let end = match &sighting.seen {
            Seen::Bearing { stood, bearing, range_m: None, .. } => {
                Some(*stood + Spot::towards(*bearing, 300.0))
            }
            _ => seen,
        };
        if let (Some(stood), Some(end)) = (stood.filter(|s| s.is_finite()), end) {
            page.path(&view.line(&[stood, end]), &thin);
            if view.holds(stood) {
                signs::witness(page, view.px(stood), 7.0 * page.unit());
                labels.take_at(view.px(stood), 9.0);
                labels.name(page, view.px(stood), 9.0, (set, &format!("{} stood", sighting.by)));
            }
        }
        if let Some(spot) = seen.filter(|s| view.holds(*s)) {
            signs::last_seen(page, view.px(spot), 11.0 * page.unit());
            let text =
                if page.narrow() { sighting.by.clone() } else { format!("last seen, {}", sighting.by) };
            labels.name(page, view.px(spot), 17.0 * page.unit(), (set, &text));
        }
    }
}

/// Signs of people; a lookout on a post, or on somebody else, is drawn beside it. Gives the names still to be written.
pub fn draw_people<'a>(
    page: &mut Page,
    view: &View,
    (scene, folk, labels): (&SearchScene, &'a [Person], &mut Labels),
) -> Vec<((f64, f64), &'a str)> {
    let unit = page.unit();
    let posts = scene.setting.site.of_kind(Kind::Post).map(|f| view.px(f.shape.middle()));
    let mut taken: Vec<(f64, f64)> = posts.collect();
    let mut named = Vec::new();
    for person in folk.iter().filter(|p| view.holds(p.spot)).take(80) {
        let mut at = view.px(person.spot);
        let looks = person.doing == Doing::LooksOut;
        while looks && taken.iter().any(|t| (t.0 - at.0).hypot(t.1 - at.1) < 19.0 * unit) {
            at.0 += 11.0 * unit;
        }
        taken.push(at);
        signs::person(page, at, if looks { 8.0 } else { 5.5 } * unit, person.doing);
        labels.take_at(at, if looks { 10.0 } else { 6.0 } * unit);
        named.push((at, person.name.as_str()));
    }
    named
}

/// The current in the middle of the window as an arrow with its speed, under the scale bar.
pub fn current(page: &mut Page, view: &View, (scene, labels): (&SearchScene, &mut Labels)) {
    let (x, y) = (view.frame.x + 14.0, view.frame.y + 62.0);
    let set = Type::new(14.0 * page.unit(), 800, page.ink.iso_key).halo(page.ink.paper);
    let flow = scene.setting.flow.at(view.centre);
    let speed = flow.length();
    let text = match scene.setting.flow {
        Flow::Still => "no current measured".to_string(),
        _ if !speed.is_finite() => return,
        _ if speed < 0.005 => "current under 0.01 m/s".to_string(),
        _ => format!("current {speed:.2} m/s to {}°", flow.bearing()),
    };
    page.text((x, y), set, &text);
    labels.take(Rect { x, y: y - 14.0, w: set.width(&text), h: 20.0 });
    if speed >= 0.005 && !matches!(scene.setting.flow, Flow::Still) {
        let heading = view.heading(flow.bearing());
        let middle = (x + 26.0, y + 26.0);
        let tail = (middle.0 - heading.0 * 18.0, middle.1 - heading.1 * 18.0);
        signs::arrow(page, tail, heading, 36.0, page.ink.iso_key);
        labels.take_at(middle, 22.0);
    }
}

/// Hatched pieces of the probable region that no order covers.
pub fn gap_shapes(page: &mut Page, view: &View, scene: &SearchScene) {
    for gap in scene.plan.gaps.iter().take(GAPS_MOST).filter(|gap| view.holds(gap.spot)) {
        let radius_m = (gap.area_m2.max(1.0) / std::f64::consts::PI).sqrt();
        let r = (radius_m * view.scale).clamp(13.0, 160.0);
        let edge = format!("stroke=\"{}\" stroke-width=\"2\" stroke-dasharray=\"9 3 2 3\"", page.ink.ink);
        page.circle(view.px(gap.spot), r, &format!("fill=\"url(#gap)\" {edge}"));
    }
}

/// The letters under which the reasons are listed.
pub fn gap_letters(page: &mut Page, view: &View, (scene, labels): (&SearchScene, &mut Labels)) {
    for (k, gap) in scene.plan.gaps.iter().take(GAPS_MOST).enumerate().filter(|(_, gap)| view.holds(gap.spot))
    {
        if let Some(room) = labels.near(view.px(gap.spot), (26.0, 26.0), -13.0, true) {
            signs::letter(page, (room.x + 13.0, room.y + 13.0), &letter(k));
        }
    }
}
