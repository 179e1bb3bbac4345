//! Who can see what in each slot: zones that glare leaves to a post, and posts that glare calls to be doubled.

use super::Slot;
use crate::glare::Season;
use measure::parameters::value;

const DAY_S: f64 = 86_400.0;

/// A share by post, zone and span of the day \[s\].
pub type Hidden<'a> = Box<dyn Fn(usize, usize, (f64, f64)) -> f64 + 'a>;

/// How much of each zone a post sees without glare, and how much of that is hidden when.
pub struct InSight<'a> {
    /// Share of each zone that each post watches without glare: by post, then zone.
    pub watched: Vec<Vec<f64>>,
    /// Share of what a post (first) watches of a zone (second) that hides a person just under, over a span of the day \[s\].
    pub hidden: Hidden<'a>,
}

impl<'a> InSight<'a> {
    /// What the sun leaves to see, from a season whose first day is the roster's.
    pub fn under_the_sun(season: &'a Season) -> InSight<'a> {
        let hidden = move |post: usize, zone: usize, (from_s, to_s): (f64, f64)| {
            let (mut sum, mut count) = (0.0, 0.0);
            for (k, moment) in season.moments.iter().enumerate() {
                let at_s = DAY_S * moment.day as f64 + 60.0 * moment.minute as f64;
                let Some(share) =
                    (from_s..to_s).contains(&at_s).then(|| season.share(post, zone, k)).flatten()
                else {
                    continue;
                };
                (sum, count) = (sum + share.under, count + 1.0);
            }
            if count > 0.0 { sum / count } else { 0.0 }
        };
        InSight { watched: watched(season), hidden: Box::new(hidden) }
    }

    /// What somebody has told: spans in which a post sees nothing; none: no glare all day, as under cloud.
    pub fn told(season: &Season, blind: &'a [(usize, (f64, f64))]) -> InSight<'a> {
        let hidden = move |post: usize, _: usize, (from_s, to_s): (f64, f64)| {
            let met = |(of, (from, to)): &(usize, (f64, f64))| *of == post && from_s < *to && *from < to_s;
            f64::from(u8::from(blind.iter().any(met)))
        };
        InSight { watched: watched(season), hidden: Box::new(hidden) }
    }

    /// Tells each slot which posts are doubled and which zones each post sees. Model `roster`, docs/models/roster.md.
    ///
    /// # Inputs
    /// - `slots`: with their spans
    ///
    /// # Gives
    /// A zone is a post's own where the post watches `sight_share` of what the best post watches of it without glare. A post is doubled
    /// where `glare_share` of what it watches of one of its zones is hidden; it sees a zone as long as so much is left of it.
    ///
    /// # Source
    /// assumed
    pub fn tell(&self, slots: &mut [Slot]) {
        let (least, hides) = (value("sight_share"), value("glare_share"));
        let zones = self.watched.iter().map(Vec::len).max().unwrap_or(0);
        let best: Vec<f64> =
            (0..zones).map(|z| self.watched.iter().map(|of| of[z]).fold(0.0, f64::max)).collect();
        for slot in slots {
            let span = (slot.from_s, slot.to_s);
            slot.sees = vec![Vec::new(); self.watched.len()];
            for (post, of) in self.watched.iter().enumerate() {
                let own = (0..zones).filter(|&z| of[z] > 0.0 && of[z] >= least * best[z]);
                let hidden: Vec<(usize, f64)> = own.map(|z| (z, (self.hidden)(post, z, span))).collect();
                if hidden.iter().any(|(_, share)| *share >= hides) {
                    slot.doubled.push(post);
                }
                let sees = hidden.iter().filter(|(z, share)| of[*z] * (1.0 - share) >= least * best[*z]);
                slot.sees[post] = sees.map(|(z, _)| *z).collect();
            }
            slot.doubled.sort_unstable();
            slot.doubled.dedup();
        }
    }
}

fn watched(season: &Season) -> Vec<Vec<f64>> {
    season.posts.iter().map(|post| post.zone_watched.clone()).collect()
}
