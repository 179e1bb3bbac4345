//! Writing SVG: numbers that are always finite, text that is always escaped, the few shapes the pictures use.

use super::palette::{ADVANCE_500, ADVANCE_800, Palette};
use std::fmt::Write as _;

/// The family named in every picture; the fallbacks serve viewers that lack it.
const FAMILY: &str = "Atkinson Hyperlegible Next,Segoe UI,Roboto,Noto Sans,Helvetica,Arial,sans-serif";

/// A rectangle in picture units.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rect {
    /// Left edge.
    pub x: f64,
    /// Upper edge.
    pub y: f64,
    /// Width.
    pub w: f64,
    /// Height.
    pub h: f64,
}

impl Rect {
    /// Area shared with another rectangle.
    pub fn overlap(self, other: Rect) -> f64 {
        let across = (self.x + self.w).min(other.x + other.w) - self.x.max(other.x);
        let down = (self.y + self.h).min(other.y + other.h) - self.y.max(other.y);
        across.max(0.0) * down.max(0.0)
    }

    /// Whether a point lies inside.
    pub fn holds(self, x: f64, y: f64) -> bool {
        x >= self.x && x <= self.x + self.w && y >= self.y && y <= self.y + self.h
    }

    /// The rectangle widened by `by` on every side.
    pub fn grown(self, by: f64) -> Rect {
        Rect { x: self.x - by, y: self.y - by, w: self.w + 2.0 * by, h: self.h + 2.0 * by }
    }
}

/// How text is set.
#[derive(Clone, Copy, Debug)]
pub struct Type<'a> {
    /// Size in picture units.
    pub size: f64,
    /// 500 or 800.
    pub weight: u32,
    /// Colour.
    pub fill: &'a str,
    /// Colour of the halo; empty for none.
    pub halo: &'a str,
    /// `start`, `middle` or `end`.
    pub anchor: &'a str,
}

impl<'a> Type<'a> {
    /// Text of one size and colour from the left, without a halo.
    pub fn new(size: f64, weight: u32, fill: &'a str) -> Self {
        Type { size, weight, fill, halo: "", anchor: "start" }
    }

    /// The same with a halo.
    pub fn halo(self, halo: &'a str) -> Self {
        Type { halo, ..self }
    }

    /// The same, anchored.
    pub fn anchor(self, anchor: &'a str) -> Self {
        Type { anchor, ..self }
    }

    /// Width of `text` in picture units, from the advances of the built-in font (other letters count as an `m`).
    pub fn width(&self, text: &str) -> f64 {
        let table = if self.weight >= 700 { &ADVANCE_800 } else { &ADVANCE_500 };
        let thousandths: f64 = text
            .chars()
            .map(|c| (c as usize).checked_sub(32).and_then(|k| table.get(k)).map_or(700.0, |a| f64::from(*a)))
            .sum();
        thousandths * self.size / 1000.0
    }

    /// `text` in lines no wider than `room`; a single longer word keeps its own line.
    pub fn wrap(&self, text: &str, room: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split_whitespace() {
            match lines.last_mut() {
                Some(line) if self.width(line) + self.width(" ") + self.width(word) <= room => {
                    line.push(' ');
                    line.push_str(word);
                }
                _ => lines.push(word.to_string()),
            }
        }
        lines
    }
}

/// A picture being written.
pub struct Page {
    /// Width in picture units.
    pub width: f64,
    /// Colours.
    pub ink: &'static Palette,
    defs: String,
    body: String,
}

/// One decimal, no trailing zero, and never anything but a finite number.
pub fn number(x: f64) -> String {
    let x = if x.is_finite() { x.clamp(-1e6, 1e6) } else { 0.0 };
    let mut text = format!("{x:.1}");
    if text.ends_with(".0") {
        text.truncate(text.len() - 2);
    }
    if text == "-0" { "0".into() } else { text }
}

/// Text with everything XML would read as markup, or refuse, made harmless.
pub fn escape(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\t' | '\n' | '\r' => out.push(' '),
            c if (c as u32) < 32 || matches!(c as u32, 0xFFFE | 0xFFFF) => {}
            c => out.push(c),
        }
    }
    out
}

impl Page {
    /// An empty page.
    pub fn new(width: f64, ink: &'static Palette) -> Self {
        Page { width, ink, defs: String::new(), body: String::new() }
    }

    /// Whether the page is a phone's: signs and words on the map are then a little smaller.
    pub fn narrow(&self) -> bool {
        self.width < 600.0
    }

    /// Factor for signs and words on the map.
    pub fn unit(&self) -> f64 {
        if self.narrow() { 0.84 } else { 1.0 }
    }

    /// Something others refer to: a clip path, a pattern. The text must be whole, escaped SVG.
    pub fn define(&mut self, svg: &str) {
        self.defs.push_str(svg);
        self.defs.push('\n');
    }

    /// Opens a group with attributes; close it with [`Page::close`].
    pub fn open(&mut self, attributes: &str) {
        let _ = writeln!(self.body, "<g {attributes}>");
    }

    /// Closes a group.
    pub fn close(&mut self) {
        self.body.push_str("</g>\n");
    }

    /// A path; an empty one is left out.
    pub fn path(&mut self, d: &str, attributes: &str) {
        if !d.is_empty() {
            let _ = writeln!(self.body, "<path d=\"{d}\" {attributes}/>");
        }
    }

    /// A rectangle.
    pub fn rect(&mut self, r: Rect, attributes: &str) {
        let (x, y, w, h) = (number(r.x), number(r.y), number(r.w.max(0.0)), number(r.h.max(0.0)));
        let _ = writeln!(self.body, "<rect x=\"{x}\" y=\"{y}\" width=\"{w}\" height=\"{h}\" {attributes}/>");
    }

    /// A raster picture of so many pixels, laid by a matrix from its pixels to the page; `data` is a whole data address.
    pub fn image(&mut self, data: &str, (w, h): (f64, f64), matrix: [f64; 6], opacity: f64) {
        let parts = matrix.map(|part| format!("{part:.6}")).join(" ");
        let _ = writeln!(
            self.body,
            "<image width=\"{w}\" height=\"{h}\" transform=\"matrix({parts})\" opacity=\"{opacity}\" \
             preserveAspectRatio=\"none\" href=\"{data}\"/>"
        );
    }

    /// A circle.
    pub fn circle(&mut self, (x, y): (f64, f64), r: f64, attributes: &str) {
        let (x, y, r) = (number(x), number(y), number(r));
        let _ = writeln!(self.body, "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {attributes}/>");
    }

    /// A straight line.
    pub fn line(&mut self, (x1, y1): (f64, f64), (x2, y2): (f64, f64), attributes: &str) {
        let d = format!("M{} {}L{} {}", number(x1), number(y1), number(x2), number(y2));
        self.path(&d, attributes);
    }

    /// A line of text at a base point; a halo is drawn as its own text below, which every viewer understands.
    pub fn text(&mut self, (x, y): (f64, f64), set: Type, text: &str) {
        let place = format!(
            "x=\"{}\" y=\"{}\" font-size=\"{}\" font-weight=\"{}\" text-anchor=\"{}\"",
            number(x),
            number(y),
            number(set.size),
            set.weight,
            set.anchor
        );
        let text = escape(text);
        if !set.halo.is_empty() {
            let around = number((set.size * 0.28).max(3.0));
            let _ = writeln!(
                self.body,
                "<text {place} fill=\"{0}\" stroke=\"{0}\" stroke-width=\"{around}\" stroke-linejoin=\"round\" aria-hidden=\"true\">{text}</text>",
                set.halo
            );
        }
        let _ = writeln!(self.body, "<text {place} fill=\"{}\">{text}</text>", set.fill);
    }

    /// Lines of text below each other; gives the height used.
    pub fn lines(&mut self, (x, y): (f64, f64), set: Type, lines: &[String]) -> f64 {
        let step = set.size * 1.3;
        for (k, line) in lines.iter().enumerate() {
            self.text((x, y + set.size + step * k as f64), set, line);
        }
        step * lines.len() as f64
    }

    /// The whole picture.
    pub fn finish(self, height: f64, title: &str) -> String {
        let (w, h) = (number(self.width), number(height));
        format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\" \
             role=\"img\" font-family=\"{FAMILY}\">\n<title>{}</title>\n<defs>\n{}</defs>\n\
             <rect width=\"{w}\" height=\"{h}\" fill=\"{}\"/>\n{}</svg>\n",
            escape(title),
            self.defs,
            self.ink.paper,
            self.body
        )
    }
}
