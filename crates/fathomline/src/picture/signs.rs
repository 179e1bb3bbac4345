//! The signs of the map: the same on every picture, drawn as shapes so that no font is needed.

use super::page::{Page, Rect, Type, number};

/// What a person is doing.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Doing {
    /// In a dive line: ▽.
    Dives,
    /// In a wading line: ●.
    Wades,
    /// Safety lookout: ◇.
    LooksOut,
}

/// A closed path through points.
pub fn polygon(points: &[(f64, f64)]) -> String {
    let mut d: String = points
        .iter()
        .enumerate()
        .map(|(k, (x, y))| format!("{}{} {}", if k == 0 { 'M' } else { 'L' }, number(*x), number(*y)))
        .collect();
    if !d.is_empty() {
        d.push('Z');
    }
    d
}

/// Hatch patterns every picture may refer to: `done`, `doubt`, `keep`, `gap`, `late`.
pub fn define_hatches(page: &mut Page) {
    let (ink, key) = (page.ink.ink, page.ink.iso_key);
    for (id, turn, gap, colour, width) in [
        ("done", 45, 9, ink, 1.4),
        ("doubt", -45, 8, key, 1.1),
        ("keep", 90, 5, ink, 1.4),
        ("gap", -45, 12, ink, 1.6),
        // Lies over `doubt` and must not be taken for it: it leans the other way.
        ("late", 45, 12, ink, 1.6),
    ] {
        page.define(&format!(
            "<pattern id=\"{id}\" width=\"{gap}\" height=\"{gap}\" patternUnits=\"userSpaceOnUse\" \
             patternTransform=\"rotate({turn})\"><path d=\"M0 0V{gap}\" stroke=\"{colour}\" \
             stroke-width=\"{width}\" fill=\"none\"/></pattern>"
        ));
    }
}

/// A person; `r` is half the size.
pub fn person(page: &mut Page, (x, y): (f64, f64), r: f64, doing: Doing) {
    let (colour, paper) = (page.ink.people, page.ink.paper);
    let around = format!("stroke=\"{paper}\" stroke-width=\"1.5\" stroke-linejoin=\"round\"");
    match doing {
        Doing::Dives => {
            let d = polygon(&[(x - r, y - 0.8 * r), (x + r, y - 0.8 * r), (x, y + r)]);
            page.path(&d, &format!("fill=\"{colour}\" {around}"));
        }
        Doing::Wades => page.circle((x, y), 0.92 * r, &format!("fill=\"{colour}\" {around}")),
        Doing::LooksOut => {
            let d = polygon(&[(x, y - 1.3 * r), (x + 1.3 * r, y), (x, y + 1.3 * r), (x - 1.3 * r, y)]);
            page.path(&d, &format!("fill=\"{paper}\" stroke=\"{paper}\" stroke-width=\"7\""));
            page.path(&d, &format!("fill=\"{paper}\" stroke=\"{colour}\" stroke-width=\"3\""));
        }
    }
}

/// A post: an open triangle.
pub fn post(page: &mut Page, (x, y): (f64, f64), r: f64) {
    let d = polygon(&[(x, y - r), (x + 0.9 * r, y + 0.8 * r), (x - 0.9 * r, y + 0.8 * r)]);
    let (ink, paper) = (page.ink.ink, page.ink.paper);
    page.path(&d, &format!("fill=\"{paper}\" stroke=\"{paper}\" stroke-width=\"6\""));
    page.path(&d, &format!("fill=\"{paper}\" stroke=\"{ink}\" stroke-width=\"3\""));
}

/// Last seen point: a ring with four ticks.
pub fn last_seen(page: &mut Page, (x, y): (f64, f64), r: f64) {
    let mut d = String::new();
    for (sx, sy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
        let (a, b) = (0.45 * r, 1.55 * r);
        d.push_str(&format!(
            "M{} {}L{} {}",
            number(x + sx * a),
            number(y + sy * a),
            number(x + sx * b),
            number(y + sy * b)
        ));
    }
    for (colour, width) in [(page.ink.paper, 7.0), (page.ink.ink, 3.2)] {
        let line = format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\"");
        page.circle((x, y), r, &line);
        page.path(&d, &line);
    }
}

/// Where a witness stood: a small ring with a dot.
pub fn witness(page: &mut Page, at: (f64, f64), r: f64) {
    let (ink, paper) = (page.ink.ink, page.ink.paper);
    page.circle(at, r, &format!("fill=\"{paper}\" stroke=\"{paper}\" stroke-width=\"6\""));
    page.circle(at, r, &format!("fill=\"{paper}\" stroke=\"{ink}\" stroke-width=\"2.2\""));
    page.circle(at, 0.4 * r, &format!("fill=\"{ink}\""));
}

/// A landmark: a small solid square.
pub fn landmark(page: &mut Page, (x, y): (f64, f64), r: f64) {
    let (ink, paper) = (page.ink.ink, page.ink.paper);
    let square = Rect { x: x - r, y: y - r, w: 2.0 * r, h: 2.0 * r };
    page.rect(square, &format!("fill=\"{ink}\" stroke=\"{paper}\" stroke-width=\"2\""));
}

/// A gate: two posts and the way between them.
pub fn gate(page: &mut Page, (x, y): (f64, f64), r: f64) {
    let d = format!(
        "M{0} {2}V{3}M{1} {2}V{3}M{0} {4}H{1}",
        number(x - r),
        number(x + r),
        number(y - r),
        number(y + r),
        number(y)
    );
    stroked(page, &d, 3.0);
}

/// Where kit hangs: a cross with equal arms.
pub fn kit(page: &mut Page, (x, y): (f64, f64), r: f64) {
    let d = format!(
        "M{} {}V{}M{} {}H{}",
        number(x),
        number(y - r),
        number(y + r),
        number(x - r),
        number(y),
        number(x + r)
    );
    stroked(page, &d, 3.6);
}

/// Where a thrower waits: half a ring open to the water.
pub fn catch_point(page: &mut Page, (x, y): (f64, f64), r: f64) {
    let d = format!("M{} {}A{r} {r} 0 0 0 {} {}", number(x - r), number(y), number(x + r), number(y));
    stroked(page, &d, 3.0);
}

fn stroked(page: &mut Page, d: &str, width: f64) {
    for (colour, width) in [(page.ink.paper, width + 4.0), (page.ink.ink, width)] {
        page.path(d, &format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\""));
    }
}

/// A boxed letter, as gaps carry it.
pub fn letter(page: &mut Page, (x, y): (f64, f64), text: &str) {
    let (ink, paper) = (page.ink.ink, page.ink.paper);
    let r = 12.0 * page.unit();
    let square = Rect { x: x - r, y: y - r, w: 2.0 * r, h: 2.0 * r };
    page.rect(square, &format!("rx=\"3\" fill=\"{paper}\" stroke=\"{ink}\" stroke-width=\"2\""));
    page.text((x, y + 5.5 * page.unit()), Type::new(15.0 * page.unit(), 800, ink).anchor("middle"), text);
}

/// An arrow along a unit step, its tail at `at`.
pub fn arrow(page: &mut Page, (x, y): (f64, f64), (dx, dy): (f64, f64), length: f64, colour: &str) {
    let (tx, ty) = (x + dx * length, y + dy * length);
    let barb = 9.0;
    let wing = |side: f64| (tx - dx * barb - side * dy * 0.7 * barb, ty - dy * barb + side * dx * 0.7 * barb);
    let (a, b) = (wing(1.0), wing(-1.0));
    let d = format!(
        "M{} {}L{} {}M{} {}L{} {}L{} {}",
        number(x),
        number(y),
        number(tx),
        number(ty),
        number(a.0),
        number(a.1),
        number(tx),
        number(ty),
        number(b.0),
        number(b.1)
    );
    for (stroke, width) in [(page.ink.paper, 6.5), (colour, 2.8)] {
        page.path(&d, &format!("fill=\"none\" stroke=\"{stroke}\" stroke-width=\"{width}\""));
    }
}

/// North arrow: the letter and an arrow to true north, in a box of about 44 units round `at`.
pub fn north(page: &mut Page, (x, y): (f64, f64), heading: (f64, f64)) {
    let ink = page.ink.ink;
    arrow(page, (x - heading.0 * 8.0, y - heading.1 * 8.0), heading, 26.0, ink);
    let set = Type::new(15.0, 800, ink).halo(page.ink.paper).anchor("middle");
    page.text((x - heading.0 * 18.0, y - heading.1 * 18.0 + 5.0), set, "N");
}
