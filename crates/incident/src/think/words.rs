//! What the water says of lanes and belief, in words: places by marks, depths, why this lane.

use super::ledger::Card;
use crate::opening::Water;
use measure::{Spot, parameters::value};
use search::belief::Belief;
use search::course::{Begun, Course};
use search::lines::wade_depth;
use search::orders::near;
use search::plan::{Role, Run, Team};
use search::zero::Stands;
use search::{Method, Stretch};
use water::{Day, Units};

/// A depth, if it is known.
fn depth(units: Units, metres: f64) -> String {
    if metres.is_finite() { units.length(metres) } else { "not sounded".into() }
}

/// Where the belief is, in one sentence.
pub(super) fn sentence(belief: &Belief, water: &Water) -> String {
    let cloud = &belief.cloud;
    let Some(middle) = densest(belief) else {
        return "No mapped water holds them by what was told.".into();
    };
    let mut far: Vec<(f64, f64)> =
        (0..cloud.len()).map(|k| (cloud.spot(k).distance(middle), cloud.mass[k])).collect();
    far.sort_by(|a, b| a.0.total_cmp(&b.0));
    let total: f64 = far.iter().map(|(_, mass)| mass).sum();
    let within = |share: f64| {
        let mut sum = 0.0;
        far.iter().find(|(_, mass)| {
            sum += mass;
            sum >= share * total
        })
    };
    let [half_m, most_m] = [0.5, 0.8].map(|share| within(share).map_or(0.0, |(m, _)| *m));
    let place = near(&water.site, middle);
    let units = water.site.units;
    format!(
        "If on the bottom: half of the possible places lie within {} of a point {}, most within {}.",
        units.distance(half_m.max(1.0)),
        at(&place),
        units.distance(most_m.max(1.0)),
    )
}

/// Whether the first orders are those of the morning's card: said until the first line is at the end of its lane.
pub(super) fn order_zero(course: &Course, place: Option<&str>) -> Option<String> {
    let (card, place) = (course.card.as_ref()?, place?);
    let ended = |begun: &Begun| begun.ended_s.is_some() && begun.team.method != Method::Alone;
    if course.begun.iter().any(ended) {
        return None;
    }
    Some(match &card.stands {
        Stands::Keep { .. } if course.follows_card() => {
            format!("The first orders are those of the morning's card: {place}.")
        }
        Stands::Keep { .. } => format!(
            "No longer the orders of the morning's card ({place}): what had not begun has changed since. Tell whoever reads it."
        ),
        Stands::Depart { gain, .. } if gain.is_finite() => format!(
            "Differs from the morning's card ({place}): finds {:.0} % more. Call back whoever goes by the card.",
            100.0 * gain
        ),
        Stands::Depart { why, .. } => {
            format!("Differs from the morning's card ({place}): {why}. Call back whoever goes by the card.")
        }
    })
}

/// `at Raft` or `12 metres north of Raft`.
fn at(place: &str) -> String {
    if place.starts_with(|c: char| c.is_ascii_digit()) { place.to_owned() } else { format!("at {place}") }
}

/// Middle of the densest five-metre square.
fn densest(belief: &Belief) -> Option<Spot> {
    const SQUARE_M: f64 = 5.0;
    let cloud = &belief.cloud;
    let mut squares = std::collections::BTreeMap::new();
    for k in 0..cloud.len() {
        let spot = cloud.spot(k);
        let square = squares
            .entry(((spot.east / SQUARE_M).floor() as i64, (spot.north / SQUARE_M).floor() as i64))
            .or_insert((0.0, Spot::default()));
        square.0 += cloud.mass[k];
        square.1 = square.1 + spot * cloud.mass[k];
    }
    let best = squares.into_values().fold(None, |best: Option<(f64, Spot)>, square| match best {
        Some(other) if other.0 >= square.0 => best,
        _ => Some(square),
    })?;
    (best.0 > 0.0).then(|| best.1 * (1.0 / best.0))
}

/// Where a line is now: the leg that is not reported yet.
pub(super) fn place_now(card: &Card, water: &Water) -> Option<String> {
    let (run, _) = card.run.as_ref()?;
    let leg = run.legs.get(card.legs_reported.min(run.legs.len().saturating_sub(1)));
    let spot = leg.map_or(run.from, |leg| match leg.sweep.stretch {
        Stretch::Strip { from, to, .. } => from.lerp(to, 0.5),
        Stretch::Disc { centre, .. } => centre,
    });
    Some(near(&water.site, spot))
}

/// Directions as a table has room for them.
const WAYS: [(&str, &str); 8] = [
    ("north-east", "NE"),
    ("south-east", "SE"),
    ("south-west", "SW"),
    ("north-west", "NW"),
    ("north", "N"),
    ("east", "E"),
    ("south", "S"),
    ("west", "W"),
];

/// Where a lane lies, for whoever was not there: landmarks of its ends, and its length.
pub(super) fn span(run: &Run, water: &Water) -> String {
    let units = water.site.units;
    let short = |spot: Spot| {
        let place = near(&water.site, spot).replace(" metres ", " m ").replace(" feet ", " ft ");
        WAYS.iter().fold(place, |place, (word, letters)| {
            place.replace(&format!(" {word} of "), &format!(" {letters} of "))
        })
    };
    let length_m = run.from.distance(run.to);
    if length_m > 0.0 {
        format!("{} to {}, {}", short(run.from), short(run.to), units.distance(length_m))
    } else {
        format!("round {}, {}", short(run.from), units.distance(0.5 * run.width_m))
    }
}

/// Why an order is given, in one sentence.
pub(super) fn why(card: &Card, holds: f64) -> String {
    match (card.post, &card.run) {
        (Some(Role::First), _) => "Everything is measured from the marker.".into(),
        (Some(Role::Lead), _) => "One person gives the orders.".into(),
        (Some(Role::Lookout), _) => "Nobody dives unwatched.".into(),
        (Some(Role::Gate), _) => "They may be ashore.".into(),
        (_, Some(_)) => format!("Finds most for its time; holds {:.0} % now.", 100.0 * holds),
        _ => String::new(),
    }
}

/// Facts for whoever reads to a line: depth, spacing, relief, deepest, how far, what at the end.
pub(super) fn facts(card: &Card, water: &Water, day: &Day) -> Vec<(String, String)> {
    let Some((run, team)) = &card.run else { return Vec::new() };
    let units = water.site.units;
    let mut facts: Vec<(String, String)> = Vec::new();
    let mut say = |name: &str, words: String| facts.push((name.to_string(), words));
    let here = card.legs_reported.min(run.legs.len().saturating_sub(1));
    let deepest_m = run.legs.iter().map(|leg| leg.depth_m).fold(f64::NAN, f64::max);
    if let Some(leg) = run.legs.get(here) {
        say("Deepest in this stretch", depth(units, leg.depth_m));
    }
    if run.legs.len() > 1 {
        say("Deepest in the lane", depth(units, deepest_m));
    }
    match team.method {
        Method::Dive => dive_facts(run, team, here, &mut say),
        Method::Wade => {
            say("Left to walk", left_to_walk(run, here, units));
            let chest =
                team.members.iter().filter_map(|&who| wade_depth(day.crew.get(who)?, &water.site.limits));
            let least = chest.fold(f64::INFINITY, f64::min);
            if least.is_finite() {
                say("Nobody deeper than", depth(units, least));
            }
        }
        Method::Alone | Method::Look | Method::Pole => {}
    }
    if let Some(end) = card.order.as_ref().and_then(|order| order.lines.last()) {
        say("At the end", end.trim_start_matches("At the end ").trim_end_matches('.').to_string());
    }
    facts
}

fn dive_facts(run: &Run, team: &Team, here: usize, say: &mut impl FnMut(&str, String)) {
    if team.members.len() > 1 {
        say("Spacing", "arm's length".into());
    }
    say("Under, at most", format!("{:.0} s", value("dive_time_s")));
    let rest = value("dives_before_rest").max(1.0) as usize;
    if here < rest && run.legs.len() > rest {
        say("Swap divers", format!("after dive {rest}"));
    }
    if run.legs.len() > here {
        say("Dives left", format!("{}", run.legs.len() - here));
    }
}

fn left_to_walk(run: &Run, here: usize, units: Units) -> String {
    let left = run.legs.iter().skip(here);
    let metres = left.clone().fold(0.0, |sum, leg| match leg.sweep.stretch {
        Stretch::Strip { from, to, .. } => sum + from.distance(to),
        Stretch::Disc { .. } => sum,
    });
    let seconds = left.clone().fold(0.0, |sum, leg| sum + (leg.sweep.to_s - leg.sweep.from_s).max(0.0));
    format!("{}, about {:.0} min at this pace", units.distance(metres), (seconds / 60.0).ceil())
}
