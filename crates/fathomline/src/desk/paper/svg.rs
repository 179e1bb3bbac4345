//! A drawing as SVG inside an HTML page.

use super::drawing::{Drawing, Mark};
use crate::picture::escape;
use std::fmt::Write;

/// The drawing, `width` by `height` millimetres.
pub fn svg(drawing: &Drawing, (width, height): (f64, f64), title: &str) -> String {
    let mut out = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {width:.1} {height:.1}\" role=\"img\" aria-label=\"{}\">",
        escape(title)
    );
    for mark in &drawing.marks {
        match mark {
            Mark::Line { points, width, dash, closed } => {
                let dashes = dash
                    .pattern()
                    .map_or(String::new(), |[on, off]| format!(" stroke-dasharray=\"{on} {off}\""));
                let _ = write!(
                    out,
                    "<path fill=\"none\" stroke=\"#000\" stroke-width=\"{width:.2}\" stroke-linejoin=\"round\"{dashes} d=\"{}\"/>",
                    path(points, *closed)
                );
            }
            Mark::Area { points, white } => {
                let fill = if *white { "#fff" } else { "#000" };
                let _ = write!(out, "<path fill=\"{fill}\" d=\"{}\"/>", path(points, true));
            }
            Mark::Words { at, size, strong, left, white, text } => {
                let anchor = if *left < 0.25 {
                    "start"
                } else if *left > 0.75 {
                    "end"
                } else {
                    "middle"
                };
                let (fill, halo) = if *white {
                    ("#fff", "")
                } else {
                    ("#000", " stroke=\"#fff\" stroke-width=\"0.8\" paint-order=\"stroke\"")
                };
                let _ = write!(
                    out,
                    "<text x=\"{:.2}\" y=\"{:.2}\" font-size=\"{size:.2}\" font-weight=\"{}\" text-anchor=\"{anchor}\" fill=\"{fill}\"{halo}>{}</text>",
                    at[0],
                    at[1],
                    if *strong { 800 } else { 500 },
                    escape(text)
                );
            }
        }
    }
    out + "</svg>"
}

fn path(points: &[[f64; 2]], closed: bool) -> String {
    let mut d = String::new();
    for (k, point) in points.iter().filter(|p| p.iter().all(|x| x.is_finite())).enumerate() {
        let _ = write!(d, "{}{:.2} {:.2}", if k == 0 { 'M' } else { 'L' }, point[0], point[1]);
    }
    if closed && !d.is_empty() {
        d.push('Z');
    }
    d
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::paper::drawing::Dash;

    #[test]
    fn words_are_text_and_odd_places_are_left_out() {
        let mut drawing = Drawing::default();
        drawing.words([1.0, 2.0], (3.0, true), "<b>&\"");
        drawing.line(vec![[0.0, 0.0], [f64::NAN, 1.0], [2.0, 2.0]], 0.3, Dash::Dotted);
        let text = svg(&drawing, (10.0, 10.0), "a \"map\"");
        assert!(
            text.contains("&lt;b&gt;&amp;&quot;")
                && text.contains("M0.00 0.00L2.00 2.00")
                && !text.contains("NaN"),
            "{text}"
        );
    }
}
