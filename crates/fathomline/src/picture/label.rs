//! Where words go on a map: greedily, each at the first of several places near its thing that is still free.

use super::page::{Page, Rect, Type};

/// Most pieces of line that words keep off.
const LINES_MOST: usize = 6000;

/// Room that is taken on a map.
pub struct Labels {
    frame: Rect,
    taken: Vec<Rect>,
    lines: Vec<Rect>,
}

impl Labels {
    /// Nothing is taken yet in `frame`.
    pub fn new(frame: Rect) -> Self {
        Labels { frame, taken: Vec::new(), lines: Vec::new() }
    }

    /// Takes room for a sign drawn elsewhere.
    pub fn take(&mut self, room: Rect) {
        self.taken.push(room);
    }

    /// Takes a square of half side `r` round a point.
    pub fn take_at(&mut self, (x, y): (f64, f64), r: f64) {
        self.take(Rect { x: x - r, y: y - r, w: 2.0 * r, h: 2.0 * r });
    }

    /// Marks the edge of a shape: words may lie on it, but rather not.
    pub fn avoid(&mut self, corners: &[(f64, f64)]) {
        for pair in corners.windows(2) {
            if self.lines.len() > LINES_MOST {
                return;
            }
            let (dx, dy) = (pair[1].0 - pair[0].0, pair[1].1 - pair[0].1);
            let steps = (dx.hypot(dy) / 9.0).ceil().clamp(1.0, 300.0);
            for k in 0..steps as usize {
                let t = (k as f64 + 0.5) / steps;
                self.lines.push(Rect {
                    x: pair[0].0 + dx * t - 4.0,
                    y: pair[0].1 + dy * t - 4.0,
                    w: 8.0,
                    h: 8.0,
                });
            }
        }
    }

    /// Room of a given size near `at`, clear of a sign of half size `off`: the first free place round it, and taken then.
    /// With `must`, the place that covers least; otherwise `None` where nothing is free.
    pub fn near(&mut self, at: (f64, f64), size: (f64, f64), off: f64, must: bool) -> Option<Rect> {
        self.among((at, &ROUND), size, off, must)
    }

    /// The same with the directions to try, best first.
    fn among(
        &mut self,
        (at, round): ((f64, f64), &[(f64, f64)]),
        (w, h): (f64, f64),
        off: f64,
        must: bool,
    ) -> Option<Rect> {
        let mut best: Option<(f64, Rect)> = None;
        for ring in 0..if must { 4 } else { 1 } {
            let off = off + f64::from(ring) * 12.0;
            for &(sx, sy) in round {
                let (x, y) = (at.0 + sx * (0.5 * w + off) - 0.5 * w, at.1 + sy * (0.5 * h + off) - 0.5 * h);
                let room = Rect { x, y, w, h };
                let on_lines: f64 = self.lines.iter().map(|l| l.overlap(room)).sum();
                // Far from its thing is worth about a tenth of the word lying on a line.
                let cost = 4.0 * self.cost(room) + on_lines + f64::from(ring) * 0.12 * w * h;
                if best.is_none_or(|(least, _)| cost < least) {
                    best = Some((cost, room));
                }
            }
        }
        let (_, room) = best?;
        if !must && self.cost(room) > 0.0 {
            return None;
        }
        let f = self.frame;
        let room = Rect {
            x: room.x.clamp(f.x + 2.0, (f.x + f.w - w - 2.0).max(f.x + 2.0)),
            y: room.y.clamp(f.y + 2.0, (f.y + f.h - h - 2.0).max(f.y + 2.0)),
            ..room
        };
        self.take(room);
        Some(room)
    }

    /// The best of several rooms, the first one preferred; taken then.
    pub fn best(&mut self, rooms: &[Rect]) -> Option<Rect> {
        let cost = |(k, room): (usize, &Rect)| {
            let on_lines: f64 = self.lines.iter().map(|l| l.overlap(*room)).sum();
            4.0 * self.cost(*room) + on_lines + k as f64 * 0.1 * room.w * room.h
        };
        let costs = rooms.iter().enumerate().map(|pair| (cost(pair), *pair.1));
        let (_, room) = costs.min_by(|a, b| a.0.total_cmp(&b.0))?;
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

    /// Writes a name near a sign; one that nobody points by is left out rather than written over something.
    pub fn name_if_free(&mut self, page: &mut Page, at: (f64, f64), off: f64, (set, text): (Type, &str)) {
        let text = shortened(text, 40);
        let (w, h) = (set.width(&text) + 4.0, set.size * 1.15);
        let off = off + 2.0;
        let rooms = ROUND.map(|(sx, sy)| Rect {
            x: at.0 + sx * (0.5 * w + off) - 0.5 * w,
            y: at.1 + sy * (0.5 * h + off) - 0.5 * h,
            w,
            h,
        });
        if let Some(room) = rooms.into_iter().find(|room| !text.is_empty() && self.free(*room)) {
            page.text((room.x + 2.0, room.y + set.size * 0.9), set, &text);
        }
    }

    /// Writes a name near a sign.
    pub fn name(&mut self, page: &mut Page, at: (f64, f64), off: f64, word: (Type, &str)) {
        self.name_among(page, (at, &ROUND), off, word);
    }

    /// Writes a name above or below a line or wide thing.
    pub fn name_over(&mut self, page: &mut Page, at: (f64, f64), off: f64, word: (Type, &str)) {
        self.name_among(page, (at, &OVER), off, word);
    }

    fn name_among(
        &mut self,
        page: &mut Page,
        place: ((f64, f64), &[(f64, f64)]),
        off: f64,
        (set, text): (Type, &str),
    ) {
        let text = shortened(text, 40);
        let size = (set.width(&text) + 4.0, set.size * 1.15);
        if text.is_empty() {
            return;
        }
        if let Some(room) = self.among(place, size, off, true) {
            page.text((room.x + 2.0, room.y + set.size * 0.9), set, &text);
        }
    }
}

/// Directions tried, the best for reading first: right, left, above, below, then the corners.
const ROUND: [(f64, f64); 8] =
    [(1.0, 0.0), (-1.0, 0.0), (0.0, -1.0), (0.0, 1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, -1.0), (-1.0, 1.0)];

/// Directions for the name of a line: above, below, then aside.
const OVER: [(f64, f64); 6] = [(0.0, -1.0), (0.0, 1.0), (-0.6, -1.0), (0.6, -1.0), (-0.6, 1.0), (0.6, 1.0)];

/// At most `most` letters, with dots where something was cut.
pub fn shortened(text: &str, most: usize) -> String {
    if text.chars().count() <= most {
        return text.to_string();
    }
    let mut short: String = text.chars().take(most - 1).collect();
    short.push('…');
    short
}
