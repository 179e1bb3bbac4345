//! What a season of glare means for each post, in a sentence.

use super::season::{HALF_HOURS, Season};
use crate::view::{Post, Spots};
use measure::{Bearing, Spot};
use water::{Shape, Site, Units};

/// Hours in which a post loses more than a given share of what it watches.
#[derive(Clone, Debug, PartialEq)]
pub struct Loss {
    /// Number of the post.
    pub post: usize,
    /// First and last period in which it is so.
    pub periods: (usize, usize),
    /// First half-hour, and one past the last.
    pub half_hours: (usize, usize),
    /// Largest share of its watched water that hides a person just under, over those half-hours.
    pub share: f64,
    /// Where most of it lies, in words: `west of the Raft`.
    pub place: String,
    /// Post that sees those spots best at those hours, with the share of them that stays hidden or out of its watch.
    pub better: Option<(usize, f64)>,
    /// The sentence.
    pub words: String,
}

/// Share of lost spots that another post must see for it to be named.
const BETTER_LEAST: f64 = 0.5;

/// For each post the hours that it loses to glare, worst first.
///
/// # Inputs
/// - `season`, with `posts` and `spots` as it was made from · `site`: for the names · `periods`: names of the periods · `least`: share of the
///   watched water, from which a half-hour counts
///
/// # Gives
/// None for a post that loses no half-hour.
pub fn losses(
    season: &Season,
    (posts, spots, site): (&[Post], &Spots, &Site),
    periods: &[String],
    least: f64,
) -> Vec<Loss> {
    let mut all = Vec::new();
    for post in 0..posts.len() {
        let mut own: Vec<Loss> = spells(season, post, least)
            .into_iter()
            .map(|spell| {
                let lost = lost_spots(season, post, &spell);
                let place = place_of(&lost, spots, site, posts[post].spot);
                let better = better(season, (post, posts.len()), &spell, &lost);
                let words = sentence((posts, periods, site.units), &spell, &place, better);
                Loss {
                    post,
                    periods: spell.periods,
                    half_hours: spell.half_hours,
                    share: spell.share,
                    place,
                    better,
                    words,
                }
            })
            .collect();
        own.sort_by(|a, b| b.share.total_cmp(&a.share));
        all.extend(own);
    }
    all
}

struct Spell {
    post: usize,
    periods: (usize, usize),
    half_hours: (usize, usize),
    share: f64,
}

/// Mean share of the watched water that is hidden in a half-hour of a period.
fn share(season: &Season, post: usize, slot: (usize, usize)) -> f64 {
    let watched = &season.posts[post].watched;
    if watched.is_empty() || season.open_moments(slot.0, slot.1) == 0 {
        return 0.0;
    }
    watched.iter().map(|s| season.hidden(post, slot, *s)).sum::<f64>() / watched.len() as f64
}

/// Runs of half-hours at or above the share, joined over neighbouring periods that overlap.
fn spells(season: &Season, post: usize, least: f64) -> Vec<Spell> {
    let mut found: Vec<Spell> = Vec::new();
    for period in 0..season.periods() {
        let shares: Vec<f64> = (0..HALF_HOURS).map(|h| share(season, post, (period, h))).collect();
        let mut from = 0;
        while from < HALF_HOURS {
            if shares[from] < least || shares[from] <= 0.0 {
                from += 1;
                continue;
            }
            let mut to = from;
            while to < HALF_HOURS && shares[to] >= least && shares[to] > 0.0 {
                to += 1;
            }
            let worst = shares[from..to].iter().copied().fold(0.0, f64::max);
            let joined = found
                .iter_mut()
                .find(|s| s.periods.1 + 1 == period && from < s.half_hours.1 && s.half_hours.0 < to);
            match joined {
                Some(spell) => {
                    spell.periods.1 = period;
                    spell.half_hours = (spell.half_hours.0.min(from), spell.half_hours.1.max(to));
                    spell.share = spell.share.max(worst);
                }
                None => found.push(Spell {
                    post,
                    periods: (period, period),
                    half_hours: (from, to),
                    share: worst,
                }),
            }
            from = to;
        }
    }
    found
}

/// Slots of a spell in which bathing is open.
fn slots<'a>(season: &'a Season, spell: &'a Spell) -> impl Iterator<Item = (usize, usize)> + 'a {
    let hours = spell.half_hours.0..spell.half_hours.1;
    (spell.periods.0..=spell.periods.1)
        .flat_map(move |p| hours.clone().map(move |h| (p, h)))
        .filter(|(p, h)| season.open_moments(*p, *h) > 0)
}

/// Spots hidden in the spell with how often, those most hidden only.
fn lost_spots(season: &Season, post: usize, spell: &Spell) -> Vec<(usize, f64)> {
    let count = slots(season, spell).count().max(1) as f64;
    let often =
        |s: &usize| slots(season, spell).map(|slot| season.hidden(post, slot, *s)).sum::<f64>() / count;
    let all: Vec<(usize, f64)> =
        season.posts[post].watched.iter().map(|s| (*s, often(s))).filter(|(_, w)| *w > 0.0).collect();
    let most = all.iter().map(|(_, w)| *w).fold(0.0, f64::max);
    all.into_iter().filter(|(_, w)| *w >= 0.5 * most).collect()
}

/// Where spots lie, from the nearest thing everybody knows by name; from the post itself where nothing else is near.
fn place_of(lost: &[(usize, f64)], spots: &Spots, site: &Site, from: Spot) -> String {
    let total: f64 = lost.iter().map(|(_, w)| w).sum();
    if total <= 0.0 {
        return String::new();
    }
    let middle = lost.iter().fold(Spot::default(), |sum, (s, w)| sum + spots.places[*s] * (*w / total));
    let mut best: Option<(f64, String)> = None;
    for feature in site.features.iter().filter(|f| !f.name.is_empty() && names_water(f.kind)) {
        let to = nearest_of(&feature.shape, middle);
        let metres = to.distance(middle);
        if to.is_finite() && best.as_ref().is_none_or(|(least, _)| metres < *least) {
            let side: Bearing = feature.shape.middle().bearing_to(middle);
            best = Some((metres, format!("{} of {}", side.word(), feature.name)));
        }
    }
    let out = site.units.distance(from.distance(middle));
    let straight = format!("{out} out on bearing {}", from.bearing_to(middle));
    match best {
        Some((metres, words)) if metres < 40.0 => format!("{words}, {straight}"),
        _ => straight,
    }
}

/// Things by which water is named.
fn names_water(kind: water::Kind) -> bool {
    use water::Kind;
    matches!(kind, Kind::Raft(_) | Kind::Dock(_) | Kind::Landmark | Kind::Post)
}

/// The place of a shape nearest to a spot, among its corners and its middle.
fn nearest_of(shape: &Shape, spot: Spot) -> Spot {
    let nearest = |places: &mut dyn Iterator<Item = Spot>| {
        places
            .min_by(|a, b| a.distance(spot).total_cmp(&b.distance(spot)))
            .unwrap_or(Spot::new(f64::NAN, f64::NAN))
    };
    match shape {
        Shape::Point(place) => *place,
        Shape::Line(places) => nearest(&mut places.iter().copied()),
        Shape::Area(polygons) => nearest(&mut polygons.iter().flatten().flatten().copied()),
    }
}

/// The other post to which fewest of the lost spots are lost or out of watch.
fn better(
    season: &Season,
    (post, posts): (usize, usize),
    spell: &Spell,
    lost: &[(usize, f64)],
) -> Option<(usize, f64)> {
    let count = slots(season, spell).count().max(1) as f64;
    let total: f64 = lost.iter().map(|(_, w)| w).sum();
    let unseen = |other: usize| {
        // Spots are in rising order, so that a search by halves finds them.
        let watched = |spot: &usize| season.posts[other].watched.binary_search(spot).is_ok();
        let of_spot = |(s, weight): &(usize, f64)| {
            let often: f64 =
                slots(season, spell).map(|slot| season.hidden(other, slot, *s)).sum::<f64>() / count;
            weight * if watched(s) { often } else { 1.0 }
        };
        if total > 0.0 { lost.iter().map(of_spot).sum::<f64>() / total } else { 1.0 }
    };
    (0..posts)
        .filter(|other| *other != post)
        .map(|other| (other, unseen(other)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .filter(|(_, share)| *share <= 1.0 - BETTER_LEAST)
}

/// `16:30` of a number of half-hours.
fn clock(half: usize) -> String {
    format!("{:02}:{:02}", half / 2, 30 * (half % 2))
}

fn sentence(
    (posts, periods, units): (&[Post], &[String], Units),
    spell: &Spell,
    place: &str,
    better: Option<(usize, f64)>,
) -> String {
    let name = |period: usize| periods.get(period).map_or("the season", String::as_str);
    let when = if spell.periods.0 == spell.periods.1 {
        // A day begins with its number, a month with its name.
        let name = name(spell.periods.0);
        let on = if name.starts_with(|c: char| c.is_ascii_digit()) { "on" } else { "in" };
        format!("{on} {name}")
    } else {
        format!("from {} to {}", name(spell.periods.0), name(spell.periods.1))
    };
    let post = &posts[spell.post];
    let act = match better {
        Some((other, rest)) if rest < 0.1 => {
            format!("watch it from {} then, or double {}", posts[other].name, post.name)
        }
        Some((other, rest)) => format!(
            "{} sees {:.0} % of it then: put a second guard there, or double {}",
            posts[other].name,
            100.0 * (1.0 - rest),
            post.name
        ),
        None if posts.len() == 1 => format!("double {}, or move it to the other side", post.name),
        None => format!("no other post sees it: double {}, or move it to the other side", post.name),
    };
    format!(
        "{}-{} {when}: from {} (eye {}) a person just under cannot be seen on up to {:.0} % of the water it watches, most of it {place}; {act}",
        clock(spell.half_hours.0),
        clock(spell.half_hours.1),
        post.name,
        units.length(post.eye_m),
        100.0 * spell.share,
    )
}
