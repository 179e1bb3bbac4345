//! Where words go on a map: greedily, each at the first of several places near its thing that is still free.

use super::page::{Page, Rect, Type};

/// Room that is taken on a map.
pub struct Labels {
    frame: Rect,
    taken: Vec<Rect>,
}

impl Labels {
    /// Nothing is taken yet in `frame`.
    pub fn new(frame: Rect) -> Self {
        Labels { frame, taken: Vec::new() }
    }

    /// Takes room for a sign drawn elsewhere.
    pub fn take(&mut self, room: Rect) {
        self.taken.push(room);
    }

    /// Takes a square of half side `r` round a point.
    pub fn take_at(&mut self, (x, y): (f64, f64), r: f64) {
        self.take(Rect { x: x - r, y: y - r, w: 2.0 * r, h: 2.0 * r });
    }

    /// Room of a given size near `at`, clear of a sign of half size `off`: the first free place round it, and taken then.
    /// With `must`, the place that covers least; otherwise `None` where nothing is free.
    pub fn near(&mut self, at: (f64, f64), (w, h): (f64, f64), off: f64, must: bool) -> Option<Rect> {
        let mut best: Option<(f64, Rect)> = None;
        for ring in 0..3 {
            let off = off + f64::from(ring) * 14.0;
            for (sx, sy) in ROUND {
                let room = Rect {
                    x: at.0 + sx * (0.5 * w + off) - 0.5 * w,
                    y: at.1 + sy * (0.5 * h + off) - 0.5 * h,
                    w,
                    h,
                };
                let cost = self.cost(room);
                if cost <= 0.0 {
                    self.take(room);
                    return Some(room);
                }
                if best.is_none_or(|(least, _)| cost < least) {
                    best = Some((cost, room));
                }
            }
            if !must {
                break;
            }
        }
        let (_, room) = best.filter(|_| must)?;
        let f = self.frame;
        let room = Rect {
            x: room.x.clamp(f.x + 2.0, (f.x + f.w - w - 2.0).max(f.x + 2.0)),
            y: room.y.clamp(f.y + 2.0, (f.y + f.h - h - 2.0).max(f.y + 2.0)),
            ..room
        };
        self.take(room);
        Some(room)
    }

    /// Whether a room is inside the frame and free; takes it if so.
    pub fn free(&mut self, room: Rect) -> bool {
        let free = self.cost(room) <= 0.0;
        if free {
            self.take(room);
        }
        free
    }

    /// Area of what a room would cover, with what falls out of the frame counted four times.
    fn cost(&self, room: Rect) -> f64 {
        let inside = room.overlap(self.frame.grown(-3.0));
        let out = 4.0 * (room.w * room.h - inside);
        let out = if out < 1e-6 { 0.0 } else { out };
        out + self.taken.iter().map(|t| t.overlap(room)).sum::<f64>()
    }

    /// Writes a name near a sign.
    pub fn name(&mut self, page: &mut Page, at: (f64, f64), off: f64, (set, text): (Type, &str)) {
        let text = shortened(text, 40);
        let size = (set.width(&text) + 4.0, set.size * 1.15);
        if let Some(room) = self.near(at, size, off, true) {
            page.text((room.x + 2.0, room.y + set.size * 0.9), set, &text);
        }
    }
}

/// Directions tried, the best for reading first: right, left, above, below, then the corners.
const ROUND: [(f64, f64); 8] = [
    (1.0, 0.0),
    (-1.0, 0.0),
    (0.0, -1.0),
    (0.0, 1.0),
    (1.0, -1.0),
    (1.0, 1.0),
    (-1.0, -1.0),
    (-1.0, 1.0),
];

/// At most `most` letters, with dots where something was cut.
pub fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_string();
    }
    let mut short: String = text.chars().take(most - 1).collect();
    short.push('…');
    short
}
