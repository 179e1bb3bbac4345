//! A sighting in words: where, when, by whom.

use super::Fields;
use super::times::{ago_s, clock_gap_s, clock_s};
use crate::{Seen, Sighting, WitnessClass};
use measure::{Bearing, Spot};
use water::{Kind, LonLat, Problem, Shape, Site};

/// Keys of a sighting.
pub const KEYS: [&str; 15] = [
    "landmark", "point", "post", "from", "area", "bearing", "range", "error", "stood", "ago", "at", "class",
    "by", "heading", "talked",
];
/// Words without a value.
pub const FLAGS: [&str; 3] = ["under", "by-mark", "placed"];
/// Longest time since a sighting when nobody knows \[s\] (assumed).
const UNKNOWN_AGO_S: f64 = 600.0;

/// Reads a sighting.
///
/// Place: `landmark=NAME`, `point=LON,LAT`, `area=NAME`, or `post=NAME bearing=DEG [range=M] [by-mark]`
/// (`from=LON,LAT` instead of a post). Doubt: `error=M` for a point, degrees for a bearing; `placed` when the
/// witness has put a guard there. Time: `ago=2min`, `ago=1..3min`, `ago=now`, `at=14:30`, `at=14:29..14:31`;
/// none: any time in the last ten minutes. Witness: `by`, `class=companion|guard|distant`, `stood`, `talked=NAME,NAME`.
///
/// # Inputs
/// - `told_at_s`: when it is told \[s since the alarm\] · `alarm_clock_s`: time of day of the alarm
///
/// # Gives
/// The sighting in site metres and seconds since the alarm, or every problem at once.
pub fn sighting(
    mut fields: Fields,
    site: &Site,
    told_at_s: f64,
    alarm_clock_s: f64,
) -> Result<Sighting, Vec<Problem>> {
    let class = witness_class(&mut fields);
    let seen = place_seen(&mut fields, site);
    let (from_s, to_s) = time_seen(&mut fields, told_at_s, alarm_clock_s);
    let heading = fields.number("heading", "degrees", 0.0, 360.0).map(Bearing::new);
    match seen {
        Some(seen) if fields.problems.is_empty() => Ok(Sighting {
            by: fields.text("by").unwrap_or_else(|| "a witness".into()),
            class,
            seen,
            heading,
            from_s,
            to_s,
            went_under: fields.flag("under"),
            talked_with: fields.names("talked"),
        }),
        _ => Err(fields.problems),
    }
}

fn witness_class(fields: &mut Fields) -> WitnessClass {
    match fields.text("class").as_deref() {
        Some("companion") => WitnessClass::Companion,
        Some("guard") => WitnessClass::Guard,
        Some("distant") | None => WitnessClass::Distant,
        Some(other) => {
            let what = format!("class is {other:?}");
            fields.refuse("A120", what, "use companion, guard or distant");
            WitnessClass::Distant
        }
    }
}

/// The one way of saying where that the row uses; says so when there is none or more than one.
fn place_seen(fields: &mut Fields, site: &Site) -> Option<Seen> {
    let ways: Vec<&str> = ["landmark", "point", "area", "bearing"]
        .into_iter()
        .filter(|key| fields.text(key).is_some())
        .collect();
    if ways.len() != 1 {
        let said = if ways.is_empty() {
            "nothing says where".to_owned()
        } else {
            format!("{} all say where", ways.join(" and "))
        };
        fields.refuse("A121", said, "give one of landmark, point, area, or post with bearing");
        return None;
    }
    match ways[0] {
        "bearing" => bearing_seen(fields, site),
        "area" => area_seen(fields, site),
        way => {
            let spot = if way == "landmark" {
                named(fields, "landmark", site)?
            } else {
                lonlat(fields, "point", site)?
            };
            let error_m = match fields.flag("placed") {
                true => Some(measure::parameters::value("placed_sigma_m")),
                false => fields.number("error", "m", 0.1, 2000.0),
            };
            let stood = fields.text("stood").and_then(|_| stand(fields, "stood", site));
            Some(Seen::Point { spot, error_m, stood })
        }
    }
}

fn bearing_seen(fields: &mut Fields, site: &Site) -> Option<Seen> {
    let stood = if fields.text("post").is_some() {
        named(fields, "post", site)
    } else if fields.text("from").is_some() {
        stand(fields, "from", site)
    } else {
        fields.refuse(
            "A122",
            "a bearing without where the witness stood".into(),
            "add post=NAME or from=LON,LAT",
        );
        None
    };
    let bearing = fields.number("bearing", "degrees", 0.0, 360.0).map(Bearing::new);
    let error_deg = fields.number("error", "degrees", 0.1, 90.0);
    let range_m = fields.number("range", "m", 0.5, 5000.0);
    Some(Seen::Bearing {
        stood: stood?,
        bearing: bearing?,
        error_deg,
        range_m,
        by_mark: fields.flag("by-mark"),
    })
}

fn area_seen(fields: &mut Fields, site: &Site) -> Option<Seen> {
    let name = fields.text("area")?;
    match site.named(&name).map(|feature| &feature.shape) {
        Some(Shape::Area(rings)) => Some(Seen::Area { name, rings: rings.clone() }),
        found => {
            let what = format!(
                "area {name:?} is {}",
                if found.is_some() { "no area on the map" } else { "not on the map" }
            );
            let known: Vec<&str> = site
                .features
                .iter()
                .filter(|f| matches!(f.shape, Shape::Area(_)) && f.kind != Kind::Water)
                .map(|f| f.name.as_str())
                .filter(|name| !name.is_empty())
                .collect();
            fields.refuse("A123", what, &one_of(&known));
            None
        }
    }
}

/// The way out of a name that is not on the map.
fn one_of(known: &[&str]) -> String {
    match known {
        [] => "nothing of the kind is named on the map: write point=LON,LAT instead".into(),
        names => format!("name one of: {}", names.join(", ")),
    }
}

/// Where a named thing stands.
fn named(fields: &mut Fields, key: &str, site: &Site) -> Option<Spot> {
    let name = fields.text(key)?;
    if let Some(feature) = site.named(&name) {
        return Some(feature.shape.middle());
    }
    let known: Vec<&str> = site.marks().into_iter().map(|(name, _)| name).collect();
    fields.refuse("A124", format!("{key} {name:?} is not on the map"), &one_of(&known));
    None
}

/// A named thing, or longitude and latitude.
fn stand(fields: &mut Fields, key: &str, site: &Site) -> Option<Spot> {
    let text = fields.text(key)?;
    if text.contains(',') { lonlat(fields, key, site) } else { named(fields, key, site) }
}

/// Farthest place that can belong to a site \[m\].
const FAR_M: f64 = 20_000.0;

fn lonlat(fields: &mut Fields, key: &str, site: &Site) -> Option<Spot> {
    let text = fields.text(key)?;
    let parts: Vec<f64> = text.split(',').filter_map(|part| part.trim().parse().ok()).collect();
    let good =
        parts.len() == 2 && text.split(',').count() == 2 && parts[0].abs() <= 180.0 && parts[1].abs() <= 90.0;
    if !good {
        let what = format!("{key} is {text:?}, not a longitude and latitude");
        fields.refuse("A125", what, "write degrees as LON,LAT, longitude first, such as -3.0991,54.5012");
        return None;
    }
    let spot = site.frame.to_site(LonLat { lon: parts[0], lat: parts[1] });
    if spot.length() > FAR_M {
        let what = format!("{key} {text} lies {:.0} km from the site", spot.length() / 1000.0);
        fields.refuse("A126", what, "longitude comes first; check the order and the digits");
        return None;
    }
    Some(spot)
}

/// Earliest and latest moment \[s since the alarm\].
fn time_seen(fields: &mut Fields, told_at_s: f64, alarm_clock_s: f64) -> (f64, f64) {
    match (fields.text("ago"), fields.text("at")) {
        (Some(_), Some(_)) => {
            fields.refuse("A127", "ago and at are both given".into(), "give one of them");
            (told_at_s, told_at_s)
        }
        (Some(text), None) => match ago_s(&text) {
            Some((short, long)) => (told_at_s - long, told_at_s - short),
            None => {
                fields.refuse("A128", format!("ago is {text:?}"), "write it like 90s, 2min, 1..3min or now");
                (told_at_s, told_at_s)
            }
        },
        (None, Some(text)) => clock_span(fields, &text, told_at_s, alarm_clock_s),
        (None, None) => (told_at_s - UNKNOWN_AGO_S, told_at_s),
    }
}

fn clock_span(fields: &mut Fields, text: &str, told_at_s: f64, alarm_clock_s: f64) -> (f64, f64) {
    let (from, to) = text.split_once("..").unwrap_or((text, text));
    let (Some(from), Some(to)) = (clock_s(from), clock_s(to)) else {
        fields.refuse("A128", format!("at is {text:?}"), "write it like 14:30, 14:30:20 or 14:29..14:31");
        return (told_at_s, told_at_s);
    };
    let (from, to) = (clock_gap_s(alarm_clock_s, from), clock_gap_s(alarm_clock_s, to));
    if from > to || to > told_at_s + 60.0 {
        let rule = if from > to { "ends before it begins" } else { "lies after it was told" };
        fields.refuse("A129", format!("at {text} {rule}"), "correct the times");
    }
    (from, to.min(told_at_s.max(from)))
}
