//! Glare as a table with a sentence for each post.

use super::{Glare, NOT_CONTAINED, clock, day_words};
use measure::parameters::value;
use std::fmt::Write as _;
use watch::glare::{HALF_HOURS, daylight};
use watch::view::{Clarity, look_depth};

/// What is printed.
pub fn text(glare: &Glare) -> String {
    let (open, _) = glare.open;
    let mut out = format!(
        "{}, glare of {}: {}, clear sky, open {}-{}\n",
        glare.site.name,
        glare.span_words(),
        glare.wind_words(),
        clock(open.0),
        clock(open.1)
    );
    view(glare, &mut out);
    minutes(glare, &mut out);
    hours(glare, &mut out);
    words(glare, &mut out);
    for note in &glare.notes {
        let _ = writeln!(out, "note: {note}");
    }
    let _ = writeln!(out, "not in it: {NOT_CONTAINED}");
    out
}

/// How far off the look into the water is told \[m\].
const LOOKS_M: (f64, f64) = (10.0, 20.0);

/// What each post sees at all.
fn view(glare: &Glare, out: &mut String) {
    let (limit_m, units) = (value("watch_limit_m"), glare.site.units);
    let _ = writeln!(
        out,
        "\nwhat each post sees, before any glare (limit of useful watch {})",
        units.distance(limit_m)
    );
    let _ = writeln!(
        out,
        "  {:<16}{:>8}{:>10}{:>10}{:>10}{:>15}{:>27}",
        "post",
        "eye",
        "watched",
        "blocked",
        "too far",
        "smallest head",
        format!("looks in at {} / {}", units.distance(LOOKS_M.0), units.distance(LOOKS_M.1))
    );
    for (post, sights) in glare.posts.iter().zip(&glare.sights) {
        let count = sights.each.len().max(1) as f64;
        let share = |of: usize| format!("{:.0} %", 100.0 * of as f64 / count);
        let watched = sights.each.iter().filter(|s| s.watched(limit_m));
        let blocked = sights.each.iter().filter(|s| !s.open && s.distance_m <= limit_m).count();
        let far = sights.each.iter().filter(|s| s.distance_m > limit_m).count();
        let least = watched.clone().map(|s| s.arcmin).fold(f64::INFINITY, f64::min);
        let least = if least.is_finite() { format!("{least:.0} arc min") } else { "none".into() };
        let _ = writeln!(
            out,
            "  {:<16}{:>8}{:>10}{:>10}{:>10}{:>15}{:>27}",
            post.name,
            units.length(post.eye_m),
            share(watched.count()),
            share(blocked),
            share(far),
            least,
            depths(glare, post.eye_m)
        );
    }
}

/// Depths a post looks in, near and far off, under the day's sun at its highest.
fn depths(glare: &Glare, eye_m: f64) -> String {
    let Some(secchi_m) = glare.secchi_m else { return "clarity not told".into() };
    let highest =
        glare.moments_of(glare.shown_day()).map(|k| glare.season.elevation_deg[k]).fold(0.0, f64::max);
    let clarity = Clarity { secchi_m, light: daylight(highest) };
    let depth = |distance: f64| {
        glare.site.units.length(look_depth(libm::atan2(distance, eye_m).to_degrees(), &clarity))
    };
    format!("{} / {}", depth(LOOKS_M.0), depth(LOOKS_M.1))
}

/// Open minutes a day in which a zone hides more than the share that counts.
fn minutes(glare: &Glare, out: &mut String) {
    let least = value("glare_share");
    let _ = writeln!(
        out,
        "\nopen minutes a day in which {:.0} % or more of the zone's watched water hides a person just under",
        100.0 * least
    );
    let mut head = format!("  {:<16}{:<28}{:>9}", "post", "zone", "watched");
    for period in &glare.periods {
        let _ = write!(head, "{period:>12}");
    }
    let _ = writeln!(out, "{head}{:>26}", "worst day");
    for post in 0..glare.posts.len() {
        for (z, zone) in glare.spots.zones.iter().enumerate() {
            let watched = glare.season.posts[post].zone_watched[z];
            let days = glare.season.minutes_a_day((post, z), least, glare.step_min as f64);
            let _ =
                write!(out, "  {:<16}{:<28}{:>7.0} %", glare.posts[post].name, zone.name, 100.0 * watched);
            for period in 0..glare.periods.len() {
                let _ = write!(out, "{:>12.0}", period_mean(glare, &days, period));
            }
            let worst = (0..days.len()).fold(0, |best, d| if days[d] > days[best] { d } else { best });
            let worst = match days.get(worst) {
                Some(minutes) if *minutes > 0.0 => {
                    format!("{}: {minutes:.0}", day_words(glare.dates[worst], false))
                }
                _ => "none".into(),
            };
            let _ = writeln!(out, "{worst:>26}");
        }
    }
}

/// Mean over the days of a period.
pub(super) fn period_mean(glare: &Glare, days: &[f64], period: usize) -> f64 {
    let mut of: Vec<Option<usize>> = vec![None; days.len()];
    glare.season.moments.iter().for_each(|m| of[m.day] = Some(m.period));
    let inside: Vec<f64> =
        days.iter().zip(&of).filter(|(_, p)| **p == Some(period)).map(|(minutes, _)| *minutes).collect();
    inside.iter().sum::<f64>() / inside.len().max(1) as f64
}

/// Hour by hour of one day: the sun, and what each post loses.
fn hours(glare: &Glare, out: &mut String) {
    let day = glare.shown_day();
    let date = day_words(glare.dates[day], false);
    let _ = writeln!(
        out,
        "\n{date}, share of the watched water that hides a person just under (in brackets: a head)"
    );
    let mut head = format!("  {:<7}{:>11}", "time", "sun");
    for post in &glare.posts {
        let _ = write!(head, "{:>16}", post.name);
    }
    let _ = writeln!(out, "{head}");
    let hourly = |k: &usize| glare.season.moments[*k].minute % 60 == 0 && glare.season.moments[*k].open;
    for k in glare.moments_of(day).filter(hourly) {
        let elevation = glare.season.elevation_deg[k];
        let sun = if elevation > 0.0 {
            format!("{elevation:.0} at {:03.0}", glare.season.azimuth_deg[k])
        } else {
            "down".into()
        };
        let _ = write!(out, "  {:<7}{sun:>11}", clock(glare.season.moments[k].minute));
        for post in 0..glare.posts.len() {
            let share = glare.season.whole_share(post, k);
            let cell = share.map_or("none in view".into(), |s| {
                format!("{:.0} % ({:.0} %)", 100.0 * s.under, 100.0 * s.head)
            });
            let _ = write!(out, "{cell:>16}");
        }
        out.push('\n');
    }
}

/// For each post that no mean of a month takes anything from, but some days do: which days. A mean must not hide the worst of its month.
pub fn single_days(glare: &Glare) -> Vec<Option<String>> {
    let least = value("glare_share");
    let mut worst = vec![Vec::new(); glare.posts.len()];
    for day in 0..glare.dates.len() {
        for (post, half) in glare.season.half_hours(day).iter().enumerate() {
            let most = half.iter().copied().fold(0.0, f64::max);
            if most >= least {
                worst[post].push((day, most));
            }
        }
    }
    let said = |(post, days): (usize, &Vec<(usize, f64)>)| {
        let (first, last) = (days.first()?.0, days.last()?.0);
        if glare.losses.iter().any(|loss| loss.post == post) {
            return None;
        }
        let most = days.iter().map(|(_, share)| *share).fold(0.0, f64::max);
        let when = match days.len() {
            1 => format!("on {}", day_words(glare.dates[first], false)),
            count => format!(
                "on {count} days from {} to {}",
                day_words(glare.dates[first], false),
                day_words(glare.dates[last], false)
            ),
        };
        let name = &glare.posts[post].name;
        Some(format!(
            "{name}: in no month's mean, but {when} a half-hour hides up to {:.0} % of the water it watches; ask again with --day or a shorter season",
            100.0 * most
        ))
    };
    worst.iter().enumerate().map(said).collect()
}

fn words(glare: &Glare, out: &mut String) {
    out.push('\n');
    let single = single_days(glare);
    for (k, post) in glare.posts.iter().enumerate() {
        let own: Vec<_> = glare.losses.iter().filter(|loss| loss.post == k).collect();
        for loss in &own {
            let _ = writeln!(out, "- {}", loss.words);
        }
        if own.is_empty() {
            let told = if glare.season.posts[k].watched.is_empty() {
                "no water in its watch".to_string()
            } else {
                format!(
                    "no half-hour while open in which mean glint hides {:.0} % or more of the water it watches",
                    100.0 * value("glare_share")
                )
            };
            let words = single[k].clone().unwrap_or_else(|| format!("{}: {told}", post.name));
            let _ = writeln!(out, "- {words}");
        }
    }
    let day = glare.shown_day();
    let least = value("glare_share");
    let doubled: Vec<String> = glare
        .season
        .half_hours(day)
        .iter()
        .zip(&glare.posts)
        .filter_map(|(half, post)| {
            let hours: Vec<String> =
                (0..HALF_HOURS).filter(|h| half[*h] >= least).map(|h| clock(30 * h)).collect();
            (!hours.is_empty()).then(|| format!("{} {}", post.name, hours.join(", ")))
        })
        .collect();
    if !doubled.is_empty() {
        let date = day_words(glare.dates[day], false);
        let _ = writeln!(out, "half-hours to double or move on {date}: {}", doubled.join("; "));
    }
}
