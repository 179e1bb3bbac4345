//! A drawing as a PDF of one A4 page, with its letters inside, so that it prints the same everywhere.

use super::drawing::{Drawing, Mark};
use flate2::{Compression, write::ZlibEncoder};
use pdf_writer::types::{CidFontType, FontFlags, SystemInfo, UnicodeCmap};
use pdf_writer::{Content, Filter, Finish, Name, Pdf, Rect, Ref, Str, TextStr};
use std::collections::BTreeMap;
use std::io::Write;
use ttf_parser::{Face, GlyphId};

/// A4 \[mm\].
pub const A4: (f64, f64) = (210.0, 297.0);
/// Points of a printer in a millimetre.
const POINTS: f64 = 72.0 / 25.4;

const FONTS: [(&str, &[u8]); 4] = [
    ("AtkinsonNext-Medium", include_bytes!("../../../assets/fonts/atkinson-hyperlegible-next-latin-500.ttf")),
    (
        "AtkinsonNextExt-Medium",
        include_bytes!("../../../assets/fonts/atkinson-hyperlegible-next-latin-ext-500.ttf"),
    ),
    (
        "AtkinsonNext-ExtraBold",
        include_bytes!("../../../assets/fonts/atkinson-hyperlegible-next-latin-800.ttf"),
    ),
    (
        "AtkinsonNextExt-ExtraBold",
        include_bytes!("../../../assets/fonts/atkinson-hyperlegible-next-latin-ext-800.ttf"),
    ),
];

/// The letters, and which were used.
pub struct Letters {
    faces: Vec<Face<'static>>,
    used: Vec<BTreeMap<u16, char>>,
}

impl Letters {
    /// The built-in fonts.
    ///
    /// # Panics
    /// When the fonts inside the program are none: a mistake of ours.
    pub fn new() -> Letters {
        let faces = FONTS.iter().map(|(_, bytes)| Face::parse(bytes, 0).expect("our own font")).collect();
        Letters { faces, used: vec![BTreeMap::new(); FONTS.len()] }
    }

    /// Font and glyph of a letter; a question mark where no font has it.
    fn glyph(&self, letter: char, strong: bool) -> (usize, GlyphId) {
        let first = if strong { 2 } else { 0 };
        let find = |letter| (first..first + 2).find_map(|k| Some((k, self.faces[k].glyph_index(letter)?)));
        find(letter).or_else(|| find('?')).unwrap_or((first, GlyphId(0)))
    }

    fn advance(&self, (font, glyph): (usize, GlyphId)) -> f64 {
        let face = &self.faces[font];
        f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) / f64::from(face.units_per_em())
    }

    /// Width of a text \[in units of `size`\].
    pub fn width(&self, text: &str, (size, strong): (f64, bool)) -> f64 {
        text.chars().map(|letter| self.advance(self.glyph(letter, strong))).sum::<f64>() * size
    }

    /// A text in lines no wider than `room`; a longer word is cut.
    pub fn wrap(&self, text: &str, set: (f64, bool), room: f64) -> Vec<String> {
        let mut lines: Vec<String> = Vec::new();
        for word in text.split_whitespace() {
            let joined = lines.last().map(|line| format!("{line} {word}"));
            match joined.filter(|joined| self.width(joined, set) <= room) {
                Some(joined) => *lines.last_mut().expect("there is one") = joined,
                None => lines.extend(self.cut(word, set, room)),
            }
        }
        lines
    }

    fn cut(&self, word: &str, set: (f64, bool), room: f64) -> Vec<String> {
        let mut parts = vec![String::new()];
        for letter in word.chars() {
            let part = parts.last_mut().expect("there is one");
            part.push(letter);
            if self.width(part, set) > room && part.chars().count() > 1 {
                part.pop();
                parts.push(letter.to_string());
            }
        }
        parts
    }
}

/// The drawing on one A4 page.
///
/// # Inputs
/// - `drawing`: places in mm from the upper left corner · `letters` · `title`
pub fn pdf(drawing: &Drawing, mut letters: Letters, title: &str) -> Vec<u8> {
    let mut content = Content::new();
    drawing.marks.iter().for_each(|mark| draw(&mut content, &mut letters, mark));
    let body = packed(&content.finish());

    let mut next = 1;
    let mut fresh = || {
        next += 1;
        Ref::new(next - 1)
    };
    let (catalog, pages, page, stream, info) = (fresh(), fresh(), fresh(), fresh(), fresh());
    let fonts: Vec<[Ref; 5]> = FONTS.iter().map(|_| [(); 5].map(|()| fresh())).collect();
    let mut pdf = Pdf::new();
    pdf.catalog(catalog).pages(pages).lang(TextStr("en"));
    pdf.pages(pages).kids([page]).count(1);
    let mut sheet = pdf.page(page);
    sheet
        .media_box(Rect::new(0.0, 0.0, (A4.0 * POINTS) as f32, (A4.1 * POINTS) as f32))
        .parent(pages)
        .contents(stream);
    let mut resources = sheet.resources();
    let mut names = resources.fonts();
    for (k, refs) in fonts.iter().enumerate() {
        names.pair(Name(font_name(k).as_bytes()), refs[0]);
    }
    names.finish();
    resources.finish();
    sheet.finish();
    pdf.stream(stream, &body).filter(Filter::FlateDecode);
    pdf.document_info(info).title(TextStr(title)).creator(TextStr("fathomline"));
    for (k, refs) in fonts.iter().enumerate() {
        write_font(&mut pdf, (k, refs), &letters);
    }
    pdf.finish()
}

fn font_name(k: usize) -> String {
    format!("F{k}")
}

fn draw(content: &mut Content, letters: &mut Letters, mark: &Mark) {
    let at = |[x, y]: [f64; 2]| ((x * POINTS) as f32, ((A4.1 - y) * POINTS) as f32);
    let path = |content: &mut Content, points: &[[f64; 2]]| {
        for (k, point) in points.iter().filter(|p| p.iter().all(|x| x.is_finite())).enumerate() {
            let (x, y) = at(*point);
            if k == 0 {
                content.move_to(x, y)
            } else {
                content.line_to(x, y)
            };
        }
    };
    match mark {
        Mark::Line { points, width, dash, closed } => {
            let pattern = dash.pattern().map(|both| both.map(|mm| (mm * POINTS) as f32));
            content.set_stroke_gray(0.0).set_line_width((width * POINTS) as f32);
            content.set_dash_pattern(pattern.into_iter().flatten(), 0.0);
            path(content, points);
            if *closed {
                content.close_and_stroke()
            } else {
                content.stroke()
            };
        }
        Mark::Area { points, white } => {
            content.set_fill_gray(if *white { 1.0 } else { 0.0 });
            path(content, points);
            content.close_path().fill_nonzero();
        }
        Mark::Words { at: place, size, strong, left, white, text } => {
            let width = letters.width(text, (*size, *strong));
            let (x, y) = at([place[0] - left * width, place[1]]);
            content.set_fill_gray(if *white { 1.0 } else { 0.0 });
            show(content, letters, ((x, y), (size * POINTS) as f32, *strong), text);
        }
    }
}

/// Writes a text, changing fonts where a letter needs another.
fn show(
    content: &mut Content,
    letters: &mut Letters,
    ((x, y), size, strong): ((f32, f32), f32, bool),
    text: &str,
) {
    content.begin_text();
    content.set_text_matrix([1.0, 0.0, 0.0, 1.0, x, y]);
    let mut run: (usize, Vec<u8>) = (usize::MAX, Vec::new());
    let put = |content: &mut Content, run: &(usize, Vec<u8>)| {
        if !run.1.is_empty() {
            content.set_font(Name(font_name(run.0).as_bytes()), size).show(Str(&run.1));
        }
    };
    for letter in text.chars() {
        let (font, glyph) = letters.glyph(letter, strong);
        letters.used[font].insert(glyph.0, letter);
        if font != run.0 {
            put(content, &run);
            run = (font, Vec::new());
        }
        run.1.extend(glyph.0.to_be_bytes());
    }
    put(content, &run);
    content.end_text();
}

fn write_font(pdf: &mut Pdf, (k, refs): (usize, &[Ref; 5]), letters: &Letters) {
    let [font, cid, descriptor, unicode, file] = *refs;
    let (name, bytes) = FONTS[k];
    let face = &letters.faces[k];
    let thousandths = |units: f64| (units / f64::from(face.units_per_em()) * 1000.0) as f32;
    let system = SystemInfo { registry: Str(b"Adobe"), ordering: Str(b"Identity"), supplement: 0 };
    pdf.type0_font(font)
        .base_font(Name(name.as_bytes()))
        .encoding_predefined(Name(b"Identity-H"))
        .descendant_font(cid)
        .to_unicode(unicode);
    let mut inner = pdf.cid_font(cid);
    inner.subtype(CidFontType::Type2).base_font(Name(name.as_bytes())).system_info(system);
    inner.font_descriptor(descriptor).default_width(0.0).cid_to_gid_map_predefined(Name(b"Identity"));
    let mut widths = inner.widths();
    for glyph in letters.used[k].keys() {
        let advance = face.glyph_hor_advance(GlyphId(*glyph)).unwrap_or(0);
        widths.consecutive(*glyph, [thousandths(f64::from(advance))]);
    }
    widths.finish();
    inner.finish();
    let bounds = face.global_bounding_box();
    let side = |units: i16| thousandths(f64::from(units));
    pdf.font_descriptor(descriptor)
        .name(Name(name.as_bytes()))
        .flags(FontFlags::SYMBOLIC)
        .bbox(Rect::new(side(bounds.x_min), side(bounds.y_min), side(bounds.x_max), side(bounds.y_max)))
        .italic_angle(0.0)
        .ascent(side(face.ascender()))
        .descent(side(face.descender()))
        .cap_height(side(face.capital_height().unwrap_or(700)))
        .stem_v(if k < 2 { 90.0 } else { 150.0 })
        .font_file2(file);
    let mut map = UnicodeCmap::new(Name(b"Letters"), system);
    letters.used[k].iter().for_each(|(glyph, letter)| map.pair(*glyph, *letter));
    pdf.stream(unicode, &map.finish());
    let whole = packed(bytes);
    let mut stream = pdf.stream(file, &whole);
    stream.filter(Filter::FlateDecode).pair(Name(b"Length1"), bytes.len() as i32);
}

fn packed(bytes: &[u8]) -> Vec<u8> {
    let mut packing = ZlibEncoder::new(Vec::new(), Compression::default());
    packing.write_all(bytes).and_then(|()| packing.finish()).expect("memory takes what is written")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::desk::paper::drawing::Dash;

    #[test]
    fn a_page_holds_its_words_in_any_latin_letters() {
        let letters = Letters::new();
        let wide = letters.width("Łukasz Żółw", (4.0, true));
        assert!(wide > letters.width("Lukasz", (4.0, true)) && wide < 60.0, "{wide}");
        let lines = letters.wrap("one two three four averyverylongwordthatfitsnowhere", (4.0, false), 20.0);
        assert!(
            lines.len() >= 4 && lines.iter().all(|line| letters.width(line, (4.0, false)) <= 20.0),
            "{lines:?}"
        );
        let mut drawing = Drawing::default();
        drawing.words([20.0, 20.0], (4.0, true), "Łukasz 漢 <b>");
        drawing.line(vec![[20.0, 30.0], [100.0, 30.0]], 0.3, Dash::Dashed);
        drawing.area(vec![[20.0, 40.0], [100.0, 40.0], [60.0, 60.0]], false);
        let bytes = pdf(&drawing, letters, "Handover");
        let text = String::from_utf8_lossy(&bytes);
        assert!(
            text.starts_with("%PDF-") && text.trim_end().ends_with("%%EOF") && text.contains("/MediaBox")
        );
        assert!(bytes.len() < 200_000, "{}", bytes.len());
    }
}
