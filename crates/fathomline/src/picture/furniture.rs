//! What frames a map: scale bar, north arrow, legend, rows of words below.

use super::label::Labels;
use super::page::{Page, Rect, Type};
use super::signs::{self, Doing};
use super::view::View;
use measure::Bearing;
use water::{FOOT_M, Units};

/// A sign of the legend.
#[derive(Clone, Copy, Debug)]
pub enum Key {
    /// Filled box of a colour.
    Band(&'static str),
    /// Box with a hatch by id and a line style.
    Hatch(&'static str, &'static str),
    /// A line: colour, width, dash.
    Line(&'static str, f64, &'static str),
    /// A person.
    Person(Doing),
    /// Last seen point.
    LastSeen,
    /// Where a witness stood.
    Witness,
    /// A dot of the belief.
    Dot,
    /// Post.
    Post,
    /// Landmark.
    Landmark,
    /// Gate.
    Gate,
    /// Kit.
    Kit,
    /// Where a thrower waits.
    CatchPoint,
    /// A sounding figure.
    Figure(Units),
}

/// Scale bar in the upper left and north arrow in the upper right of the frame; takes their room.
pub fn scale_and_north(page: &mut Page, labels: &mut Labels, view: &View, units: Units) {
    let unit = if units == Units::Feet { FOOT_M } else { 1.0 };
    let most = 0.26 * view.frame.w / view.scale / unit;
    let base = 10f64.powf(most.log10().floor());
    let length = [5.0, 2.0, 1.0].into_iter().map(|k| k * base).find(|l| *l <= most).unwrap_or(base);
    let (x, y, w) = (view.frame.x + 14.0, view.frame.y + 34.0, length * unit * view.scale);
    let ink = page.ink.ink;
    let d = format!("M{0:.1} {1:.1}v7h{2:.1}v-7", x, y - 7.0, w);
    for (colour, width) in [(page.ink.paper, 6.0), (ink, 2.6)] {
        page.path(&d, &format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\""));
    }
    let text = match (units, length) {
        (Units::Feet, l) => format!("{l} ft"),
        (Units::Metric, l) if l >= 1000.0 => format!("{} km", l / 1000.0),
        (Units::Metric, l) => format!("{l} m"),
    };
    let set = Type::new(15.0, 800, ink).halo(page.ink.paper).anchor("middle");
    page.text((x + 0.5 * w, y - 11.0), set, &text);
    labels.take(Rect { x, y: y - 26.0, w: w.max(60.0), h: 32.0 });
    let at = (view.frame.x + view.frame.w - 36.0, view.frame.y + 36.0);
    signs::north(page, at, view.heading(Bearing::new(0.0)));
    labels.take_at(at, 30.0);
}

/// Takes the room of the scale bar and north arrow before they are drawn on top.
pub fn take_corners(labels: &mut Labels, view: &View) {
    let f = view.frame;
    labels.take(Rect { x: f.x + 6.0, y: f.y + 6.0, w: 0.26 * f.w + 16.0, h: 38.0 });
    labels.take_at((f.x + f.w - 36.0, f.y + 36.0), 32.0);
}

/// The legend in rows that fit between the margins; gives the height used.
pub fn legend(page: &mut Page, y: f64, margin: f64, keys: &[(Key, String)]) -> f64 {
    let set = Type::new(14.0, 500, page.ink.ink);
    let (mut x, mut row) = (margin, 0.0);
    for (key, text) in keys {
        let wide = 46.0 + set.width(text);
        if x > margin && x + wide > page.width - margin {
            x = margin;
            row += 26.0;
        }
        swatch(page, (x, y + row + 13.0), *key);
        page.text((x + 42.0, y + row + 18.0), set, text);
        x += wide + 18.0;
    }
    row + 28.0
}

/// A sign 34 wide and 16 high, its left middle at the point.
fn swatch(page: &mut Page, (x, y): (f64, f64), key: Key) {
    let ink = page.ink.ink;
    let room = Rect { x: x + 1.0, y: y - 8.0, w: 32.0, h: 16.0 };
    let middle = (x + 17.0, y);
    match key {
        Key::Band(colour) => {
            page.rect(room, &format!("fill=\"{colour}\" stroke=\"{ink}\" stroke-width=\"1.2\""));
        }
        Key::Hatch(id, line) => {
            let fill = if id.is_empty() { "none".to_string() } else { format!("url(#{id})") };
            page.rect(room, &format!("fill=\"{fill}\" stroke=\"{ink}\" {line}"));
        }
        Key::Line(colour, width, dash) => {
            let line = format!("stroke=\"{colour}\" stroke-width=\"{width}\" {dash}");
            page.line((x + 1.0, y), (x + 33.0, y), &line);
        }
        Key::Person(doing) => signs::person(page, middle, 7.5, doing),
        Key::LastSeen => signs::last_seen(page, middle, 6.0),
        Key::Witness => signs::witness(page, middle, 6.0),
        Key::Dot => {
            for (dx, dy) in [(-9.0, 2.0), (-3.0, -4.0), (2.0, 4.0), (5.0, -2.0), (10.0, 3.0), (-6.0, -6.0)] {
                page.circle((middle.0 + dx, y + dy), 1.7, &format!("fill=\"{}\"", page.ink.belief));
            }
        }
        Key::Post => signs::post(page, middle, 8.0),
        Key::Landmark => signs::landmark(page, middle, 4.0),
        Key::Gate => signs::gate(page, middle, 6.0),
        Key::Kit => signs::kit(page, middle, 6.0),
        Key::CatchPoint => signs::catch_point(page, middle, 7.0),
        Key::Figure(Units::Feet) => {
            page.text((middle.0, y + 4.0), Type::new(12.5, 500, ink).anchor("middle"), "8");
        }
        Key::Figure(Units::Metric) => {
            page.text((middle.0 - 6.0, y + 4.0), Type::new(12.5, 500, ink), "2");
            page.text((middle.0 + 1.0, y + 7.0), Type::new(9.3, 500, ink), "4");
        }
    }
}

/// The words with a capital first, as a sentence begins.
fn sentence(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// A bold heading and sentences below it, wrapped between the margins; gives the height used.
pub fn words(page: &mut Page, y: f64, margin: f64, (heading, lines): (&str, &[String])) -> f64 {
    if lines.is_empty() {
        return 0.0;
    }
    let strong = Type::new(15.0, 800, page.ink.ink);
    let plain = Type::new(14.0, 500, page.ink.ink);
    let mut used = 0.0;
    if !heading.is_empty() {
        used += page.lines((margin, y), strong, &[heading.to_string()]) + 2.0;
    }
    for line in lines {
        let wrapped = plain.wrap(&sentence(line), page.width - 2.0 * margin);
        used += page.lines((margin, y + used), plain, &wrapped);
    }
    used + 8.0
}
