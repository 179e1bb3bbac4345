//! Lanes on a picture: planned, under way, searched; each with its number and the way it is walked.

use super::label::Labels;
use super::page::{Page, Rect, Type, number};
use super::people::progress;
use super::scene::SearchScene;
use super::signs::polygon;
use super::view::View;
use measure::Spot;
use search::{Stretch, Sweep};

/// How far a lane has come.
#[derive(Clone, Copy, Debug, PartialEq)]
enum State {
    Planned,
    /// Share behind the line.
    UnderWay(f64),
    Searched,
}

/// A lane as drawn.
struct Lane {
    number: String,
    stretch: Stretch,
    state: State,
}

/// All lanes of a scene with the room of their numbers.
pub struct Lanes {
    lanes: Vec<(Lane, Rect)>,
}

impl Lanes {
    /// The lanes; their numbers take their room first of all, since orders are said by them.
    pub fn place(page: &Page, view: &View, (scene, labels): (&SearchScene, &mut Labels)) -> Lanes {
        let searched = scene.searched.iter().map(|s| Lane {
            number: s.number.to_string(),
            stretch: s.sweep.stretch,
            state: State::Searched,
        });
        let runs = scene.plan.runs.iter().enumerate().map(|(k, run)| Lane {
            number: scene.number(k).to_string(),
            stretch: whole(run, run.legs.first().map(|leg| leg.sweep)),
            state: if run.under_way { State::UnderWay(progress(run, scene.now_s)) } else { State::Planned },
        });
        let lanes: Vec<Lane> = searched.chain(runs).filter(|lane| finite(&lane.stretch)).collect();
        for lane in &lanes {
            let edge: Vec<(f64, f64)> = corners(&lane.stretch, 1.0).iter().map(|&s| view.px(s)).collect();
            labels.avoid(&edge);
            // Room of the marks that say which way it goes.
            let (share, ahead, half) = match lane.state {
                State::UnderWay(share) => (share, 36.0, 14.0),
                State::Planned => (0.0, 24.0, 7.0),
                State::Searched => continue,
            };
            if let Stretch::Strip { from, to, .. } = lane.stretch {
                let (start, end) = (view.px(from.lerp(to, share)), view.px(to));
                let length = (end.0 - start.0).hypot(end.1 - start.1).max(1.0);
                let t = (ahead / length).min(0.5);
                let middle = (start.0 + (end.0 - start.0) * t, start.1 + (end.1 - start.1) * t);
                labels.take_at(middle, half);
            }
        }
        let mut placed: Vec<(Lane, Rect)> = Vec::new();
        for lane in lanes {
            let room = badge(page, view, (labels, &lane));
            placed.push((lane, room));
        }
        Lanes { lanes: placed }
    }

    /// Draws them, the searched ones below, those under way on top, and their numbers last.
    pub fn draw(&self, page: &mut Page, view: &View) {
        for wanted in [0, 1, 2] {
            for (lane, _) in self.lanes.iter().filter(|(lane, _)| layer(lane.state) == wanted) {
                body(page, view, lane);
            }
        }
        for (lane, room) in self.lanes.iter().rev() {
            number_sign(page, *room, lane);
        }
    }
}

fn layer(state: State) -> u8 {
    match state {
        State::Searched => 0,
        State::Planned => 1,
        State::UnderWay(_) => 2,
    }
}

/// The bottom a run asks for: its first sweep's disc, or the strip of the whole run.
fn whole(run: &search::plan::Run, first: Option<Sweep>) -> Stretch {
    match first.map(|s| s.stretch) {
        Some(disc @ Stretch::Disc { .. }) => disc,
        _ if run.from.distance(run.to) < 1e-6 => {
            Stretch::Disc { centre: run.from, radius_m: 0.5 * run.width_m }
        }
        _ => Stretch::Strip { from: run.from, to: run.to, width_m: run.width_m },
    }
}

fn finite(stretch: &Stretch) -> bool {
    match stretch {
        Stretch::Strip { from, to, width_m } => from.is_finite() && to.is_finite() && width_m.is_finite(),
        Stretch::Disc { centre, radius_m } => centre.is_finite() && radius_m.is_finite(),
    }
}

/// The edge of a stretch as a closed ring.
pub fn ring(stretch: &Stretch) -> Vec<Spot> {
    corners(stretch, 1.0)
}

/// The corners of a stretch up to a share of its length, closed.
pub fn corners(stretch: &Stretch, share: f64) -> Vec<Spot> {
    match *stretch {
        Stretch::Strip { from, to, width_m } => {
            let along = (to - from).unit().unwrap_or(Spot::new(0.0, 1.0));
            let (half, end) = (along.left() * (0.5 * width_m), from.lerp(to, share));
            vec![from - half, end - half, end + half, from + half, from - half]
        }
        Stretch::Disc { centre, radius_m } => (0..=36)
            .map(|k| centre + Spot::towards(measure::Bearing::new(-10.0 * f64::from(k)), radius_m))
            .collect(),
    }
}

fn body(page: &mut Page, view: &View, lane: &Lane) {
    let (ink, paper) = (page.ink.ink, page.ink.paper);
    let box_path = |share: f64| -> String {
        polygon(&corners(&lane.stretch, share).iter().map(|&s| view.px(s)).collect::<Vec<_>>())
    };
    let d = box_path(1.0);
    match lane.state {
        State::Searched => {
            page.path(&d, &format!("fill=\"url(#done)\" stroke=\"{ink}\" stroke-width=\"2\""));
        }
        State::Planned => {
            page.path(
                &d,
                &format!("fill=\"none\" stroke=\"{paper}\" stroke-width=\"4.5\" stroke-opacity=\"0.7\""),
            );
            page.path(
                &d,
                &format!("fill=\"none\" stroke=\"{ink}\" stroke-width=\"2\" stroke-dasharray=\"7 4.5\""),
            );
            chevrons(page, view, (lane, 0.0), 1);
        }
        State::UnderWay(share) => {
            if share > 0.0 {
                page.path(
                    &box_path(share),
                    &format!("fill=\"url(#done)\" stroke=\"{ink}\" stroke-width=\"1.5\""),
                );
            }
            page.path(
                &d,
                &format!("fill=\"none\" stroke=\"{paper}\" stroke-width=\"9\" stroke-opacity=\"0.8\""),
            );
            page.path(&d, &format!("fill=\"none\" stroke=\"{ink}\" stroke-width=\"5\""));
            chevrons(page, view, (lane, share), 3);
        }
    }
}

/// Marks ahead of the line that say which way it goes.
fn chevrons(page: &mut Page, view: &View, (lane, share): (&Lane, f64), count: usize) {
    let Stretch::Strip { from, to, width_m } = lane.stretch else { return };
    let (start, end) = (view.px(from.lerp(to, share)), view.px(to));
    let length = (end.0 - start.0).hypot(end.1 - start.1);
    if length.is_nan() || length < 16.0 {
        return;
    }
    let (dx, dy) = ((end.0 - start.0) / length, (end.1 - start.1) / length);
    let half = (0.24 * width_m * view.scale).clamp(4.0, if count > 1 { 13.0 } else { 8.0 });
    let (gap, lead) = (half * 1.15, (22.0_f64).min(0.4 * length));
    let mut d = String::new();
    for k in 0..count {
        let along = lead + gap * k as f64;
        if along + half > length {
            break;
        }
        let (x, y) = (start.0 + dx * along, start.1 + dy * along);
        let (tx, ty) = (x + dx * half * 0.9, y + dy * half * 0.9);
        d.push_str(&format!(
            "M{} {}L{} {}L{} {}",
            number(x - dy * half),
            number(y + dx * half),
            number(tx),
            number(ty),
            number(x + dy * half),
            number(y - dx * half)
        ));
    }
    let width = if count > 1 { 4.2 } else { 2.2 };
    for (colour, width) in [(page.ink.paper, width + 3.5), (page.ink.ink, width)] {
        page.path(&d, &format!("fill=\"none\" stroke=\"{colour}\" stroke-width=\"{width}\""));
    }
}

/// Room for the number at the start of a lane, else at its end, beside it, or in it.
fn badge(page: &Page, view: &View, (labels, lane): (&mut Labels, &Lane)) -> Rect {
    let (from, to, half) = match lane.stretch {
        Stretch::Strip { from, to, width_m } => (from, to, 0.5 * width_m * view.scale),
        Stretch::Disc { centre, radius_m } => {
            (centre - Spot::new(radius_m, 0.0), centre + Spot::new(radius_m, 0.0), 0.0)
        }
    };
    let (start, end) = (view.px(from), view.px(to));
    let length = (end.0 - start.0).hypot(end.1 - start.1).max(1e-6);
    let (dx, dy) = ((end.0 - start.0) / length, (end.1 - start.1) / length);
    let unit = page.unit();
    let set = Type::new(17.0 * unit, 800, page.ink.ink);
    let tick = if lane.state == State::Searched { 26.0 } else { 0.0 };
    let (w, h) = ((set.width(&lane.number) + 14.0 * unit).max(28.0 * unit) + tick, 28.0 * unit);
    // Before the start, beyond the end, beside either, then inside.
    let off = 0.5 * (w * dx.abs() + h * dy.abs()) + 3.0;
    let side = half + 0.5 * (w * dy.abs() + h * dx.abs()) + 3.0;
    let places = [
        (start.0 - dx * off, start.1 - dy * off),
        (end.0 + dx * off, end.1 + dy * off),
        (start.0 + dx * off - dy * side, start.1 + dy * off + dx * side),
        (start.0 + dx * off + dy * side, start.1 + dy * off - dx * side),
        (end.0 - dx * off - dy * side, end.1 - dy * off + dx * side),
        (end.0 - dx * off + dy * side, end.1 - dy * off - dx * side),
        (0.5 * (start.0 + end.0), 0.5 * (start.1 + end.1)),
    ];
    let rooms = places.map(|(x, y)| Rect { x: x - 0.5 * w, y: y - 0.5 * h, w, h });
    labels.best(&rooms).unwrap_or(rooms[0])
}

/// The number: in a ring, in a black square, or beside a ticked box.
fn number_sign(page: &mut Page, room: Rect, lane: &Lane) {
    let set = Type::new(17.0 * page.unit(), 800, page.ink.ink);
    let (ink, paper) = (page.ink.ink, page.ink.paper);
    let (x, y) = (room.x + 0.5 * room.w, room.y + 0.5 * room.h);
    match lane.state {
        State::Planned => {
            page.rect(
                room.grown(-1.0),
                &format!("rx=\"13\" fill=\"{paper}\" stroke=\"{ink}\" stroke-width=\"2\""),
            );
            page.text((x, y + 6.0), set.anchor("middle"), &lane.number);
        }
        State::UnderWay(_) => {
            page.rect(room, &format!("rx=\"4\" fill=\"{ink}\" stroke=\"{paper}\" stroke-width=\"2\""));
            page.text((x, y + 6.0), Type { fill: paper, ..set }.anchor("middle"), &lane.number);
        }
        State::Searched => {
            page.text((room.x + room.w - 30.0, y + 6.0), set.halo(paper).anchor("end"), &lane.number);
            let tick = Rect { x: room.x + room.w - 26.0, y: y - 12.0, w: 24.0, h: 24.0 };
            page.rect(tick, &format!("rx=\"3\" fill=\"{paper}\" stroke=\"{ink}\" stroke-width=\"2\""));
            let d = format!("M{} {}l5 6l9 -12", number(tick.x + 5.0), number(tick.y + 12.0));
            page.path(&d, &format!("fill=\"none\" stroke=\"{ink}\" stroke-width=\"3\""));
        }
    }
}
