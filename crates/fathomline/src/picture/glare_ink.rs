//! Colours and patterns of glare: each step has a pattern of its own, so that it reads without colour and in the sun.

use super::page::Page;
use super::scene::Theme;

/// Colours of the steps, from little to much, and of the night.
#[derive(Clone, Copy, Debug)]
pub struct GlareInk {
    /// Contrast halved.
    pub halved: &'static str,
    /// Some.
    pub some: &'static str,
    /// Much.
    pub much: &'static str,
    /// Sun down.
    pub night: &'static str,
    /// Dots and hatches.
    pub mark: &'static str,
}

/// The colours for a light.
pub fn glare_ink(theme: Theme) -> GlareInk {
    match theme {
        Theme::Sun => GlareInk {
            halved: "#F3E4B3",
            some: "#D9A23B",
            much: "#3A1503",
            night: "#7F9AA3",
            mark: "#07141A",
        },
        Theme::Dusk => GlareInk {
            halved: "#3D3118",
            some: "#8A4A12",
            much: "#F3E4B3",
            night: "#34454C",
            mark: "#F7E8CC",
        },
        Theme::Print => GlareInk {
            halved: "#E8E8E8",
            some: "#FFFFFF",
            much: "#000000",
            night: "#A0A0A0",
            mark: "#000000",
        },
    }
}

/// Defines the fills `glare1` to `glare4` (tint, dots, hatch, full), `unwatched` and `night`.
pub fn define_fills(page: &mut Page, theme: Theme) {
    let ink = glare_ink(theme);
    let pattern = |id: &str, size: u32, inside: String| {
        format!(
            "<pattern id=\"{id}\" width=\"{size}\" height=\"{size}\" patternUnits=\"userSpaceOnUse\">{inside}</pattern>"
        )
    };
    let ground =
        |size: u32, colour: &str| format!("<rect width=\"{size}\" height=\"{size}\" fill=\"{colour}\"/>");
    let mark = ink.mark;
    page.define(&pattern("glare1", 8, ground(8, ink.halved)));
    let dots = format!(
        "<circle cx=\"2\" cy=\"2\" r=\"1\" fill=\"{mark}\"/><circle cx=\"6\" cy=\"6\" r=\"1\" fill=\"{mark}\"/>"
    );
    page.define(&pattern("glare2", 8, ground(8, ink.some) + &dots));
    let slant =
        format!("<path d=\"M-2 10L10 -2M-2 2L2 -2M6 10L10 6\" stroke=\"{mark}\" stroke-width=\"1.3\"/>");
    page.define(&pattern("glare3", 8, ground(8, ink.some) + &slant));
    page.define(&pattern("glare4", 8, ground(8, ink.much)));
    let sparse = format!("<path d=\"M0 12L12 0\" stroke=\"{mark}\" stroke-width=\"0.8\"/>");
    page.define(&pattern("unwatched", 12, sparse));
    page.define(&pattern("night", 8, ground(8, ink.night)));
}
