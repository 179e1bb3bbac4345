//! The photo from above under a picture of the water: pale, so that bands, contours and figures stay the plainest.

use super::page::Page;
use super::scene::Theme;
use super::view::View;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use water::door::Photo;

/// A photo and its bytes, ready to be drawn.
#[derive(Clone, Debug, PartialEq)]
pub struct Under {
    photo: Photo,
    /// The file itself, as a picture holds it.
    data: String,
}

/// How much of the photo shows, in the sun or on paper, and at dusk.
const PALE: (f64, f64) = (0.5, 0.34);
/// How much of the bands lies over a photo, so that their edges still read and it shows through.
pub(super) const OVER: f64 = 0.35;

impl Under {
    /// A photo as it was read, with the bytes of its file.
    pub fn new(photo: Photo, bytes: &[u8]) -> Under {
        let data = format!("data:{};base64,{}", photo.media, STANDARD.encode(bytes));
        Under { photo, data }
    }

    /// What is said of it: `photo of 2026-05-02`.
    pub fn words(&self) -> String {
        if self.photo.date.is_empty() {
            "photo, undated".into()
        } else {
            format!("photo of {}", self.photo.date)
        }
    }

    /// Draws it where it lies; three of its corners say where its pixels are, since it is a parallelogram.
    pub(super) fn draw(&self, page: &mut Page, view: &View, theme: Theme) {
        let [upper_left, upper_right, _, lower_left] = self.photo.corners.map(|corner| view.px(corner));
        let (wide, high) = (f64::from(self.photo.width_px.max(1)), f64::from(self.photo.height_px.max(1)));
        let step =
            |to: (f64, f64), count: f64| ((to.0 - upper_left.0) / count, (to.1 - upper_left.1) / count);
        let (across, down) = (step(upper_right, wide), step(lower_left, high));
        let matrix = [across.0, across.1, down.0, down.1, upper_left.0, upper_left.1];
        if matrix.iter().any(|part| !part.is_finite()) {
            return;
        }
        let pale = if theme == Theme::Dusk { PALE.1 } else { PALE.0 };
        page.image(&self.data, (wide, high), matrix, pale);
    }
}
