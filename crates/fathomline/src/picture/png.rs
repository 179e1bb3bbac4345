//! SVG to PNG with the letters built in, the same on every machine.

use resvg::{tiny_skia, usvg};
use std::sync::{Arc, OnceLock};

const FONTS: [&[u8]; 4] = [
    include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-500.ttf"),
    include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-800.ttf"),
    include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-ext-500.ttf"),
    include_bytes!("../../assets/fonts/atkinson-hyperlegible-next-latin-ext-800.ttf"),
];

/// Largest side of a PNG.
const MOST_PX: f64 = 12_000.0;

fn letters() -> Arc<usvg::fontdb::Database> {
    static LETTERS: OnceLock<Arc<usvg::fontdb::Database>> = OnceLock::new();
    LETTERS
        .get_or_init(|| {
            let mut database = usvg::fontdb::Database::new();
            FONTS.iter().for_each(|font| database.load_font_data(font.to_vec()));
            database.set_sans_serif_family("Atkinson Hyperlegible Next");
            Arc::new(database)
        })
        .clone()
}

/// The picture as PNG, `width_px` wide, with the height that belongs to it.
///
/// # Inputs
/// - `svg`: a whole SVG · `width_px`: 1 to 12,000
///
/// # Gives
/// The bytes of a PNG file; in words why not, where the SVG does not parse or the size cannot be.
pub fn png(svg: &str, width_px: u32) -> Result<Vec<u8>, String> {
    let options = usvg::Options { fontdb: letters(), ..usvg::Options::default() };
    let tree = usvg::Tree::from_str(svg, &options).map_err(|e| format!("the picture is not SVG: {e}"))?;
    let scale = f64::from(width_px) / f64::from(tree.size().width());
    let height = (f64::from(tree.size().height()) * scale).round().max(1.0);
    if width_px == 0 || f64::from(width_px) > MOST_PX || height > MOST_PX {
        return Err(format!(
            "a picture {width_px} by {height:.0} dots cannot be drawn: 1 to {MOST_PX:.0} a side; ask for another width"
        ));
    }
    let mut dots = tiny_skia::Pixmap::new(width_px, height as u32).ok_or_else(|| {
        format!("no room for a picture {width_px} by {height:.0} dots; ask for a smaller width")
    })?;
    resvg::render(&tree, tiny_skia::Transform::from_scale(scale as f32, scale as f32), &mut dots.as_mut());
    dots.encode_png().map_err(|e| format!("the picture could not be written as PNG: {e}"))
}
