//! A picture in the format that its file's ending names.

use super::png;
use std::path::Path;

/// Width of a PNG \[dots\]: twice the picture's own, so that it stays sharp on small screens and on paper.
const PNG_WIDTH: u32 = 2000;

/// The bytes of a picture for a file: `.svg` as it is, `.png` drawn.
///
/// # Gives
/// An error that names the ending, if it is another.
pub fn for_file(path: &Path, svg: &str) -> Result<Vec<u8>, String> {
    match path.extension().and_then(|ending| ending.to_str()).map(str::to_ascii_lowercase).as_deref() {
        Some("svg") => Ok(svg.as_bytes().to_vec()),
        Some("png") => png(svg, PNG_WIDTH),
        _ => Err("its ending is neither .svg nor .png".into()),
    }
}
