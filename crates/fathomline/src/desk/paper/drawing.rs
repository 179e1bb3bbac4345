//! Lines, areas and words in millimetres of a sheet, black on white: written as SVG or as PDF, the same on both.

/// How a line is drawn.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Dash {
    /// Unbroken.
    Solid,
    /// Dashes.
    Dashed,
    /// Dots.
    Dotted,
}

impl Dash {
    /// Lengths of mark and gap \[mm\]; none for an unbroken line.
    pub fn pattern(self) -> Option<[f64; 2]> {
        match self {
            Dash::Solid => None,
            Dash::Dashed => Some([1.8, 1.2]),
            Dash::Dotted => Some([0.4, 1.0]),
        }
    }
}

/// One thing on a sheet; y runs downwards.
#[derive(Clone, Debug, PartialEq)]
pub enum Mark {
    /// A line through places.
    Line {
        /// Places \[mm\].
        points: Vec<[f64; 2]>,
        /// Width \[mm\].
        width: f64,
        /// Dash.
        dash: Dash,
        /// Whether the last place is joined to the first.
        closed: bool,
    },
    /// An area of one colour.
    Area {
        /// Places \[mm\].
        points: Vec<[f64; 2]>,
        /// White, or black.
        white: bool,
    },
    /// Words.
    Words {
        /// Where the line of writing begins, ends or has its middle \[mm\].
        at: [f64; 2],
        /// Height of the letters \[mm\].
        size: f64,
        /// Strong.
        strong: bool,
        /// Share of the width that stands left of `at`.
        left: f64,
        /// Black on white ground, or white.
        white: bool,
        /// Text.
        text: String,
    },
}

/// Marks, the later over the earlier.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Drawing {
    /// Marks.
    pub marks: Vec<Mark>,
}

impl Drawing {
    /// A line.
    pub fn line(&mut self, points: Vec<[f64; 2]>, width: f64, dash: Dash) {
        self.marks.push(Mark::Line { points, width, dash, closed: false });
    }

    /// A closed line.
    pub fn ring(&mut self, points: Vec<[f64; 2]>, width: f64, dash: Dash) {
        self.marks.push(Mark::Line { points, width, dash, closed: true });
    }

    /// An area.
    pub fn area(&mut self, points: Vec<[f64; 2]>, white: bool) {
        self.marks.push(Mark::Area { points, white });
    }

    /// Words from `at` to the right.
    pub fn words(&mut self, at: [f64; 2], (size, strong): (f64, bool), text: impl Into<String>) {
        self.set(at, (size, strong), (0.0, false), text);
    }

    /// Words with a share of their width left of `at`; white ones for black ground.
    pub fn set(
        &mut self,
        at: [f64; 2],
        (size, strong): (f64, bool),
        (left, white): (f64, bool),
        text: impl Into<String>,
    ) {
        self.marks.push(Mark::Words { at, size, strong, left, white, text: text.into() });
    }

    /// Strokes across an area, so that it is told from others in black alone.
    pub fn hatch(&mut self, ring: &[[f64; 2]], apart: f64) {
        let along = |p: &[f64; 2]| p[0] + p[1];
        let (low, high) =
            ring.iter().fold((f64::MAX, f64::MIN), |(l, h), p| (l.min(along(p)), h.max(along(p))));
        let count = ((high - low) / (apart * std::f64::consts::SQRT_2)).floor();
        if !(count.is_finite() && count < 2000.0) {
            return;
        }
        for k in 1..=count as usize {
            let level = low + k as f64 * apart * std::f64::consts::SQRT_2;
            let mut cuts: Vec<[f64; 2]> = ring
                .iter()
                .zip(ring.iter().cycle().skip(1))
                .filter(|(a, b)| (along(a) < level) != (along(b) < level))
                .map(|(a, b)| {
                    let t = (level - along(a)) / (along(b) - along(a));
                    [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])]
                })
                .collect();
            cuts.sort_by(|a, b| a[0].total_cmp(&b[0]));
            cuts.chunks_exact(2).for_each(|two| self.line(two.to_vec(), 0.15, Dash::Solid));
        }
    }
}

/// The part of a line inside a rectangle (left, top, right, bottom): pieces, each of at least two places.
pub fn clipped(points: &[[f64; 2]], closed: bool, frame: [f64; 4]) -> Vec<Vec<[f64; 2]>> {
    let mut pieces: Vec<Vec<[f64; 2]>> = Vec::new();
    let last = if closed { points.len() } else { points.len().saturating_sub(1) };
    for k in 0..last {
        let Some([a, b]) = cut(points[k], points[(k + 1) % points.len()], frame) else { continue };
        match pieces.last_mut() {
            Some(piece) if piece.last() == Some(&a) => piece.push(b),
            _ => pieces.push(vec![a, b]),
        }
    }
    pieces
}

/// The part of one straight piece inside a rectangle (Liang and Barsky 1984, from memory, unverified).
fn cut(a: [f64; 2], b: [f64; 2], [left, top, right, bottom]: [f64; 4]) -> Option<[[f64; 2]; 2]> {
    let (dx, dy) = (b[0] - a[0], b[1] - a[1]);
    if !(dx.is_finite() && dy.is_finite()) {
        return None;
    }
    let (mut from, mut to) = (0.0_f64, 1.0_f64);
    for (p, q) in [(-dx, a[0] - left), (dx, right - a[0]), (-dy, a[1] - top), (dy, bottom - a[1])] {
        if p == 0.0 {
            if q < 0.0 {
                return None;
            }
            continue;
        }
        let t = q / p;
        if p < 0.0 { from = from.max(t) } else { to = to.min(t) }
    }
    let at = |t: f64| [a[0] + t * dx, a[1] + t * dy];
    (from < to).then(|| [if from == 0.0 { a } else { at(from) }, if to == 1.0 { b } else { at(to) }])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_are_cut_at_the_frame() {
        let frame = [0.0, 0.0, 10.0, 10.0];
        assert_eq!(clipped(&[[-5.0, 5.0], [15.0, 5.0]], false, frame), [[[0.0, 5.0], [10.0, 5.0]]]);
        assert_eq!(
            clipped(&[[2.0, 2.0], [4.0, 2.0], [4.0, 4.0]], true, frame),
            [[[2.0, 2.0], [4.0, 2.0], [4.0, 4.0], [2.0, 2.0]]]
        );
        assert_eq!(clipped(&[[5.0, 5.0], [5.0, 20.0], [7.0, 20.0], [7.0, 5.0]], false, frame).len(), 2);
        assert!(clipped(&[[20.0, 0.0], [20.0, 9.0]], false, frame).is_empty());
        assert!(clipped(&[[f64::NAN, 0.0], [1.0, 1.0]], false, frame).is_empty());
        assert!(clipped(&[], true, frame).is_empty() && clipped(&[[1.0, 1.0]], false, frame).is_empty());
    }

    #[test]
    fn hatching_stays_inside() {
        let mut drawing = Drawing::default();
        drawing.hatch(&[[0.0, 0.0], [10.0, 0.0], [10.0, 4.0], [0.0, 4.0]], 1.0);
        assert!(drawing.marks.len() >= 8);
        for mark in &drawing.marks {
            let Mark::Line { points, .. } = mark else { panic!("{mark:?}") };
            assert!(
                points
                    .iter()
                    .all(|p| (-1e-9..=10.0 + 1e-9).contains(&p[0]) && (-1e-9..=4.0 + 1e-9).contains(&p[1]))
            );
        }
        drawing.hatch(&[[0.0, f64::INFINITY], [1.0, 0.0]], 1.0);
        drawing.hatch(&[], 1.0);
    }
}
