//! Where guards watch from, and how high their eyes are.

use measure::Spot;
use measure::parameters::value;
use water::{Kind, Site};

/// A place to watch from.
#[derive(Clone, Debug, PartialEq)]
pub struct Post {
    /// Name as called.
    pub name: String,
    /// Where.
    pub spot: Spot,
    /// Eye over today's water \[m\], above zero.
    pub eye_m: f64,
    /// Whether the map tells the height; otherwise a deck is taken.
    pub measured: bool,
}

impl Post {
    /// Unit step from a spot on the water to the eye (east, north, up).
    pub fn step_from(&self, spot: Spot) -> [f64; 3] {
        let to = self.spot - spot;
        let range = (to.east * to.east + to.north * to.north + self.eye_m * self.eye_m).sqrt();
        [to.east / range, to.north / range, self.eye_m / range]
    }
}

/// Eyes lower than this over the water see nothing that a model could tell \[m\].
const EYE_LEAST_M: f64 = 0.3;

/// The posts of a site at a stage, in the order of the map.
///
/// # Inputs
/// - `site` · `stage_m`: today's stage, on the scale of the site
pub fn posts(site: &Site, stage_m: f64) -> Vec<Post> {
    let rise_m = if stage_m.is_finite() { stage_m - site.datum_stage_m } else { 0.0 };
    let found = site.of_kind(Kind::Post).map(|feature| {
        let told = site.height_m(&feature.name);
        let eye_m = (told.unwrap_or(value("eye_deck_m")) - rise_m).max(EYE_LEAST_M);
        Post { name: feature.name.clone(), spot: feature.shape.middle(), eye_m, measured: told.is_some() }
    });
    found.filter(|post| post.spot.is_finite()).collect()
}
