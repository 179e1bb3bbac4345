//! Rings of polygons: closing them, cutting off slips of the hand, and naming the place where one crosses itself.

use crate::Frame;
use crate::problem::{At, Report};
use geo::line_intersection::{LineIntersection, line_intersection};
use geo::{Coord, Line};
use measure::Spot;

/// Two places nearer than this are one \[m\].
pub(crate) const SAME_M: f64 = 1e-3;
/// A polygon smaller than this is nothing \[m²\].
const LEAST_AREA_M2: f64 = 0.01;
/// A loop smaller than this, and than a hundredth of its ring, is a slip of the hand \[m²\].
const SLIP_AREA_M2: f64 = 1.0;

/// Whose rings are read, and where to say so.
pub(crate) struct Ring<'a> {
    pub frame: &'a Frame,
    pub at: At,
    pub report: &'a mut Report,
}

impl Ring<'_> {
    fn fatal(&mut self, code: &str, what: String, remedy: &str) {
        self.report.fatal(code, self.at.clone(), what, remedy);
    }

    fn note(&mut self, code: &str, what: String, remedy: &str) {
        self.report.note(code, self.at.clone(), what, remedy);
    }

    fn words(&self, spot: Spot) -> String {
        let place = self.frame.to_lonlat(spot);
        format!("[{:.6}, {:.6}]", place.lon, place.lat)
    }
}

/// Signed area of a closed ring \[m²\], positive anticlockwise.
pub(crate) fn area(ring: &[Spot]) -> f64 {
    let Some(&base) = ring.first() else { return 0.0 };
    0.5 * ring.windows(2).map(|w| (w[0] - base).cross(w[1] - base)).sum::<f64>()
}

/// Whether a place lies inside a closed ring, by the even-odd rule.
pub(crate) fn inside(ring: &[Spot], spot: Spot) -> bool {
    ring.windows(2).fold(false, |odd, pair| {
        let (a, b) = (pair[0], pair[1]);
        let passes = (a.north > spot.north) != (b.north > spot.north)
            && spot.east < a.east + (b.east - a.east) * (spot.north - a.north) / (b.north - a.north);
        odd != passes
    })
}

/// One polygon, outer ring first; `None` with a fatal problem where it is none.
pub(crate) fn polygon(rings: Vec<Vec<Spot>>, whose: &mut Ring) -> Option<Vec<Vec<Spot>>> {
    if rings.is_empty() {
        whose.fatal("W212", "is a polygon without rings".into(), "draw its outline");
        return None;
    }
    let count = rings.len();
    let clean: Vec<_> = rings.into_iter().enumerate().filter_map(|(n, r)| one_ring(r, n, whose)).collect();
    if clean.len() < count {
        return None;
    }
    let between = crossings(&clean).into_iter().find(|c| c.first.0 != c.second.0);
    if let Some(crossing) = between {
        let what =
            format!("two of its rings cross or run along each other near {}", whose.words(crossing.spot));
        whose.fatal("W215", what, "draw islands as rings wholly inside the outline");
        return None;
    }
    for hole in &clean[1..] {
        // A hole may touch the outline in a corner, so the middle of an edge is asked.
        if !inside(&clean[0], hole[0].lerp(hole[1], 0.5)) {
            let what = format!("the hole at {} lies outside the outline", whose.words(hole[0]));
            whose.fatal("W215", what, "draw land within the water as a hole, other water as its own polygon");
            return None;
        }
    }
    Some(clean)
}

fn one_ring(mut ring: Vec<Spot>, n: usize, whose: &mut Ring) -> Option<Vec<Spot>> {
    let word = if n == 0 { "the outline".to_string() } else { format!("hole {n}") };
    ring.dedup_by(|a, b| a.distance(*b) < SAME_M);
    if let (Some(&first), Some(&last)) = (ring.first(), ring.last()) {
        if ring.len() > 1 && first.distance(last) < SAME_M {
            ring.pop();
        } else if ring.len() > 2 {
            let gap = first.distance(last);
            let what = format!("{word} was not closed: closed over a gap of {gap:.1} m");
            whose.note("W210", what, "repeat the first position at the end");
        }
    }
    let corners = ring.len();
    cut_spurs(&mut ring);
    if ring.len() < 3 {
        if corners < 3 {
            let what = format!("{word} has {corners} different corners; a ring needs three");
            whose.fatal("W212", what, "draw it again");
        } else {
            whose.fatal(
                "W214",
                format!("{word} encloses no area"),
                "draw it again, round the ground it covers",
            );
        }
        return None;
    }
    if ring.len() < corners {
        let what = format!("{word} ran out and back on itself at {} corners: cut off", corners - ring.len());
        whose.note("W211", what, "look whether the shape is still right");
    }
    ring.push(ring[0]);
    let ring = uncross(ring, &word, whose)?;
    if area(&ring).abs() < LEAST_AREA_M2 {
        let what = format!("{word} encloses {:.4} m², less than {LEAST_AREA_M2} m²", area(&ring).abs());
        whose.fatal("W214", what, "draw it again, round the ground it covers");
        return None;
    }
    Some(ring)
}

/// Whether the way from `a` over `b` to `c` turns straight back at `b`.
fn turns_back(a: Spot, b: Spot, c: Spot) -> bool {
    let (back, on) = (a - b, c - b);
    back.dot(on) > 0.0 && back.cross(on).abs() <= SAME_M * back.length().max(on.length())
}

/// Takes out corners at which the (open) ring turns straight back or does not move.
fn cut_spurs(ring: &mut Vec<Spot>) {
    let same = |a: Spot, b: Spot| a.distance(b) < SAME_M;
    let mut kept: Vec<Spot> = Vec::with_capacity(ring.len());
    for &spot in ring.iter() {
        kept.push(spot);
        loop {
            let n = kept.len();
            if n >= 2 && same(kept[n - 2], kept[n - 1]) {
                kept.pop();
            } else if n >= 3 && turns_back(kept[n - 3], kept[n - 2], kept[n - 1]) {
                kept.swap_remove(n - 2);
            } else {
                break;
            }
        }
    }
    // The ring's own beginning and end meet too.
    let (mut from, mut to) = (0, kept.len());
    while to - from >= 3 {
        if same(kept[to - 1], kept[from]) || turns_back(kept[to - 2], kept[to - 1], kept[from]) {
            to -= 1;
        } else if turns_back(kept[to - 1], kept[from], kept[from + 1]) {
            from += 1;
        } else {
            break;
        }
    }
    *ring = kept[from..to].to_vec();
}

/// One of the two coordinates.
type Axis = fn(Spot) -> f64;

/// A crossing of two edges: (ring, edge) of each and the place.
struct Crossing {
    first: (usize, usize),
    second: (usize, usize),
    spot: Spot,
    /// Whether the edges run along each other rather than cross.
    along: bool,
}

/// Proper crossings and overlaps among the edges of closed rings, at most a hundred.
fn crossings(rings: &[Vec<Spot>]) -> Vec<Crossing> {
    // Edges are walked along the axis on which they overlap less.
    let pairs = || rings.iter().flat_map(|ring| ring.windows(2));
    let total = |along: Axis| -> f64 {
        let ends = pairs().map(|w| (along(w[0]), along(w[1])));
        let (low, high, sum) = ends
            .fold((f64::INFINITY, f64::NEG_INFINITY, 0.0), |(low, high, sum), (a, b)| {
                (low.min(a.min(b)), high.max(a.max(b)), sum + (a - b).abs())
            });
        sum / (high - low).max(SAME_M)
    };
    let (east, north): (Axis, Axis) = (|s| s.east, |s| s.north);
    let (main, side) = if total(east) <= total(north) { (east, north) } else { (north, east) };
    let mut edges: Vec<(f64, f64, usize, usize)> = Vec::new();
    for (r, ring) in rings.iter().enumerate() {
        for (e, pair) in ring.windows(2).enumerate() {
            let (a, b) = (main(pair[0]), main(pair[1]));
            edges.push((a.min(b), a.max(b), r, e));
        }
    }
    edges.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.2, a.3).cmp(&(b.2, b.3))));
    let line = |r: usize, e: usize| {
        let coord = |s: Spot| Coord { x: s.east, y: s.north };
        Line::new(coord(rings[r][e]), coord(rings[r][e + 1]))
    };
    let mut found = Vec::new();
    for (n, &(_, right, r, e)) in edges.iter().enumerate() {
        let first = line(r, e);
        let sides = |r: usize, e: usize| (side(rings[r][e]), side(rings[r][e + 1]));
        let (a, b) = sides(r, e);
        let (low, high) = (a.min(b), a.max(b));
        for &(left, _, r2, e2) in &edges[n + 1..] {
            if left > right {
                break;
            }
            let (a, b) = sides(r2, e2);
            if a.max(b) < low || a.min(b) > high {
                continue;
            }
            let second = line(r2, e2);
            let (at, along) = match line_intersection(first, second) {
                Some(LineIntersection::SinglePoint { intersection, is_proper: true }) => {
                    (intersection, false)
                }
                Some(LineIntersection::Collinear { intersection }) => {
                    let (dx, dy) = (intersection.dx(), intersection.dy());
                    if (dx * dx + dy * dy).sqrt() < SAME_M {
                        continue;
                    }
                    (intersection.start, true)
                }
                _ => continue,
            };
            found.push(Crossing { first: (r, e), second: (r2, e2), spot: Spot::new(at.x, at.y), along });
            if found.len() >= 100 {
                return found;
            }
        }
    }
    found
}

/// Cuts off loops that are plainly slips of the hand; names the place of any other crossing.
fn uncross(mut ring: Vec<Spot>, word: &str, whose: &mut Ring) -> Option<Vec<Spot>> {
    for _ in 0..20 {
        let found = crossings(std::slice::from_ref(&ring));
        let Some(crossing) = found.first() else { return pinched(ring, word, whose) };
        let (i, j) = (crossing.first.1.min(crossing.second.1), crossing.first.1.max(crossing.second.1));
        let spot = crossing.spot;
        if !crossing.along && found.len() <= 20 {
            // The ring falls into two loops at the crossing: the corners between the edges, and the rest.
            let close = |corners: &mut dyn Iterator<Item = Spot>| -> Vec<Spot> {
                std::iter::once(spot).chain(corners).chain(std::iter::once(spot)).collect()
            };
            let inner = close(&mut ring[i + 1..=j].iter().copied());
            let outer = close(&mut ring[j + 1..].iter().copied().chain(ring[1..=i].iter().copied()));
            let (small, large) =
                if area(&inner).abs() < area(&outer).abs() { (inner, outer) } else { (outer, inner) };
            let (least, most) = (area(&small).abs(), area(&large).abs());
            if least <= SLIP_AREA_M2 && least <= 0.01 * most {
                let place = whose.words(spot);
                let what = format!("{word} crossed itself at {place}: a loop of {least:.2} m² was cut off");
                whose.note("W211", what, "look whether the shape is still right");
                ring = large;
                continue;
            }
        }
        say_crossed(&found, word, whose);
        return None;
    }
    let what = format!("{word} crosses itself in more than 20 places");
    whose.fatal("W213", what, "draw it again");
    None
}

fn say_crossed(found: &[Crossing], word: &str, whose: &mut Ring) {
    let places: Vec<String> = found
        .iter()
        .take(3)
        .map(|c| format!("{} (edges {} and {})", whose.words(c.spot), c.first.1 + 1, c.second.1 + 1))
        .collect();
    let more = if found.len() > 3 { format!(" and {} more", found.len() - 3) } else { String::new() };
    let places = places.join(", ");
    if found.iter().all(|c| c.along) {
        let what = format!("{word} runs along itself at {places}{more}");
        whose.fatal("W216", what, "draw an island as a hole, not by a cut from the shore");
    } else {
        let what = format!("{word} crosses itself at {places}{more}");
        whose.fatal("W213", what, "move the corners there so that no two edges cross");
    }
}

/// A ring that meets itself in a corner is two loops: side by side or one within the other is fine, a bow tie is not.
fn pinched(ring: Vec<Spot>, word: &str, whose: &mut Ring) -> Option<Vec<Spot>> {
    let open = ring.len() - 1;
    let mut order: Vec<usize> = (0..open).collect();
    let key = |n: usize| (ring[n].east, ring[n].north);
    order
        .sort_by(|a, b| key(*a).0.total_cmp(&key(*b).0).then(key(*a).1.total_cmp(&key(*b).1)).then(a.cmp(b)));
    for pair in order.windows(2) {
        let (i, j) = (pair[0].min(pair[1]), pair[0].max(pair[1]));
        if ring[i] != ring[j] {
            continue;
        }
        let first: Vec<Spot> = ring[i..=j].to_vec();
        let second: Vec<Spot> = ring[j..open].iter().chain(&ring[..=i]).copied().collect();
        let same_way = (area(&first) > 0.0) == (area(&second) > 0.0);
        let within = |a: &[Spot], b: &[Spot]| a.len() > 1 && inside(b, a[0].lerp(a[1], 0.5));
        let nested = within(&first, &second) || within(&second, &first);
        if same_way == nested {
            let what = format!("{word} crosses itself at {}", whose.words(ring[i]));
            whose.fatal("W213", what, "draw the parts as two polygons");
            return None;
        }
    }
    Some(ring)
}
