//! Glare as one JSON object: what the browser and the roster read.

use super::text::period_mean;
use super::{Glare, NOT_CONTAINED, clock};
use measure::parameters::{parameter, value};
use serde_json::{Value, json};
use watch::glare::Step;

/// Parameters whose standing goes with the answer.
const USED: [&str; 12] = [
    "slope_factor",
    "refractive_index",
    "water_luminance_share",
    "contrast_threshold",
    "contrast_under",
    "contrast_head",
    "glare_impaired",
    "glare_share",
    "veil_share",
    "watch_limit_m",
    "crowd_height_m",
    "deck_height_m",
];

/// Rounded to four decimals, so that files stay small; numbers that are none become null.
fn short(x: f64) -> Value {
    if x.is_finite() { json!((x * 1e4).round() / 1e4) } else { Value::Null }
}

/// All of it.
pub fn json(glare: &Glare) -> Value {
    let day = glare.shown_day();
    let (open, told) = glare.open;
    let parameters: Vec<Value> = USED
        .iter()
        .map(|name| {
            let p = parameter(name);
            json!({"name": name, "value": p.value, "unit": p.unit, "standing": p.standing})
        })
        .collect();
    json!({
        "site": glare.site.name,
        "from": glare.dates[0].to_string(),
        "to": glare.dates[glare.dates.len() - 1].to_string(),
        "wind": {"speed_mps": glare.wind.0.speed_mps, "from_deg": glare.wind.0.from.map(|b| b.degrees()), "told": glare.wind.1},
        "open": {"from": clock(open.0), "to": clock(open.1), "told": told},
        "step_min": glare.step_min,
        "spots": glare.spots.len(),
        "square_m": glare.spots.grid.cell_m,
        "zones": glare.spots.zones.iter().map(|z| json!({"name": z.name, "spots": z.spots.len()})).collect::<Vec<_>>(),
        "periods": glare.periods,
        "posts": (0..glare.posts.len()).map(|post| of_post(glare, post)).collect::<Vec<_>>(),
        "day": glare.dates[day].to_string(),
        "hours": hours(glare, day),
        "half_hours": half_hours(glare, day),
        "parameters": parameters,
        "notes": glare.notes,
        "not_in_it": NOT_CONTAINED,
    })
}

fn of_post(glare: &Glare, post: usize) -> Value {
    let limit_m = value("watch_limit_m");
    let each = &glare.sights[post].each;
    let share = |count: usize| short(count as f64 / each.len().max(1) as f64);
    let least = value("glare_share");
    let zones: Vec<Value> = glare
        .spots
        .zones
        .iter()
        .enumerate()
        .map(|(z, zone)| {
            let days = glare.season.minutes_a_day((post, z), least, glare.step_min as f64);
            let mean: Vec<Value> =
                (0..glare.periods.len()).map(|p| short(period_mean(glare, &days, p))).collect();
            json!({
                "zone": zone.name,
                "watched_share": short(glare.season.posts[post].zone_watched[z]),
                "minutes_a_day": {"mean_by_period": mean, "by_day": days},
            })
        })
        .collect();
    let losses: Vec<Value> = glare
        .losses
        .iter()
        .filter(|loss| loss.post == post)
        .map(|loss| {
            json!({
                "periods": [glare.periods[loss.periods.0], glare.periods[loss.periods.1]],
                "from": clock(30 * loss.half_hours.0), "to": clock(30 * loss.half_hours.1),
                "hidden_share": short(loss.share), "place": loss.place,
                "better_post": loss.better.map(|(other, _)| glare.posts[other].name.clone()),
                "better_sees": loss.better.map(|(_, rest)| short(1.0 - rest)),
                "words": loss.words,
            })
        })
        .collect();
    json!({
        "name": glare.posts[post].name,
        "eye_m": short(glare.posts[post].eye_m),
        "eye_measured": glare.posts[post].measured,
        "watched_share": share(each.iter().filter(|s| s.watched(limit_m)).count()),
        "blocked_share": share(each.iter().filter(|s| !s.open && s.distance_m <= limit_m).count()),
        "too_far_share": share(each.iter().filter(|s| s.distance_m > limit_m).count()),
        "zones": zones,
        "losses": losses,
    })
}

/// Counts of steps by hour and post.
fn hours(glare: &Glare, day: usize) -> Vec<Value> {
    let scene = glare.scene();
    let open_hour = |k: &usize| glare.season.moments[*k].minute % 60 == 0 && glare.season.moments[*k].open;
    let one = |k: usize| {
        let (elevation, azimuth) = (glare.season.elevation_deg[k], glare.season.azimuth_deg[k]);
        let (up, level) = libm::sincos(elevation.to_radians());
        let (east, north) = libm::sincos(azimuth.to_radians());
        let posts: Vec<Value> = (0..glare.posts.len())
            .map(|post| {
                let steps = scene.steps(post, [level * east, level * north, up]);
                let count = |step: Step| steps.iter().filter(|s| **s == Some(step)).count();
                json!({
                    "post": glare.posts[post].name,
                    "not_watched": steps.iter().filter(|s| s.is_none()).count(),
                    "no_sun": count(Step::NoSun), "clear": count(Step::Clear), "slight": count(Step::Slight),
                    "impaired": count(Step::Impaired), "under_hidden": count(Step::UnderHidden),
                    "head_hidden": count(Step::HeadHidden),
                })
            })
            .collect();
        json!({
            "time": clock(glare.season.moments[k].minute), "sun_elevation_deg": short(elevation),
            "sun_azimuth_deg": short(azimuth), "posts": posts,
        })
    };
    glare.moments_of(day).filter(open_hour).map(one).collect()
}

fn half_hours(glare: &Glare, day: usize) -> Vec<Value> {
    let least = value("glare_share");
    let shares = glare.season.half_hours(day);
    shares
        .iter()
        .zip(&glare.posts)
        .map(|(half, post)| {
            let rows: Vec<Value> = half
                .iter()
                .enumerate()
                .filter(|(h, _)| (glare.open.0.0..glare.open.0.1).contains(&(30 * h)))
                .map(|(h, s)| json!({"from": clock(30 * h), "hidden_share": short(*s), "glare": *s >= least}))
                .collect();
            json!({"post": post.name, "half_hours": rows})
        })
        .collect()
}
