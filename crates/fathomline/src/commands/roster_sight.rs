//! What each post sees in each half-hour of a roster: told by the sun of the day, or by the crew.

use super::loaded::{Loaded, option_problem};
use super::options::{DAY_S, span};
use crate::glare::{Asked, Glare};
use jiff::civil::Date;
use watch::roster::{InSight, Slot};
use water::Problem;

/// A post that sees nothing, and its span of the day \[s\].
type Blind = (usize, (f64, f64));

/// Sun below the horizon \[degrees\] from which one no longer sees without lamps: the end of civil twilight.
const DARK_DEG: f64 = -6.0;

/// Tells the slots what each post sees then; gives the names of the zones. `words`: glare as told with `--glare`.
pub fn sights(
    words: &[String],
    loaded: &mut Loaded,
    posts: &[String],
    slots: &mut [Slot],
) -> Result<Vec<String>, Vec<Problem>> {
    let blind = told_glare(words, posts)?;
    let last_s = slots.last().map_or(0.0, |slot| slot.to_s);
    let glare = glare_of(loaded, last_s)?;
    let same = glare.posts.len() == posts.len() && glare.posts.iter().zip(posts).all(|(g, p)| g.name == *p);
    let mut notes = glare.notes.clone();
    let names: Vec<String> = glare.spots.zones.iter().map(|zone| zone.name.clone()).collect();
    if !same {
        notes.push("a post has no place on the map: glare and lines of sight are left out".into());
    } else if blind.is_none() {
        InSight::under_the_sun(&glare.season).tell(slots);
        notes.push(format!(
            "glare as computed for a clear sky, {}; under cloud give --glare none",
            glare.wind_words()
        ));
    } else {
        InSight::told(&glare.season, blind.as_deref().unwrap_or_default()).tell(slots);
    }
    for (zone, name) in names.iter().enumerate().filter(|_| same) {
        if glare.season.posts.iter().all(|post| post.zone_watched[zone] == 0.0) {
            notes.push(format!("{name} is watched from no post: too far, or something stands in the way"));
        }
    }
    for (post, of) in glare.posts.iter().zip(&glare.season.posts).filter(|_| !glare.spots.is_empty()) {
        if of.watched.is_empty() {
            notes.push(format!(
                "{} watches no bathing water: too far, or something stands in the way",
                post.name
            ));
        }
    }
    notes.extend(dark(&glare, slots));
    let seen = |zone: usize| glare.season.posts.iter().any(|post| post.zone_watched[zone] > 0.0);
    let names = if (0..names.len()).any(seen) { names } else { Vec::new() };
    drop(glare);
    // What the roster rests on; doubts about depths belong to other answers.
    loaded.notes = notes;
    Ok(if same { names } else { Vec::new() })
}

/// Glare that was told: posts with their spans; `None` where it is to be computed.
fn told_glare(words: &[String], posts: &[String]) -> Result<Option<Vec<Blind>>, Vec<Problem>> {
    let mut told = Vec::new();
    let mut problems = Vec::new();
    for text in words.iter().filter(|text| !text.trim().eq_ignore_ascii_case("none")) {
        let read = text.split_once('=').and_then(|(post, hours)| {
            let post = posts.iter().position(|p| p.eq_ignore_ascii_case(post.trim()))?;
            Some((post, span("--glare", hours).ok()?))
        });
        let remedy = format!("write POST=16:30-18:00 with one of {}, or none", posts.join(", "));
        match read {
            Some(one) => told.push(one),
            None => problems.push(option_problem("--glare", text, "is no post and span", &remedy)),
        }
    }
    if problems.is_empty() { Ok((!words.is_empty()).then_some(told)) } else { Err(problems) }
}

/// Glare of the roster's day, and of the next where the last slot lies in it.
fn glare_of(loaded: &Loaded, last_s: f64) -> Result<Glare<'_>, Vec<Problem>> {
    let date = loaded.day.date.parse::<Date>().ok();
    let next = date.filter(|_| last_s > DAY_S).and_then(|d| Some((d, d.tomorrow().ok()?)));
    let asked = Asked {
        site: &loaded.site,
        day: Some(&loaded.day),
        span: next,
        wind: None,
        posts: Vec::new(),
        open: Some((0, (DAY_S / 60.0) as usize)),
        crowd_m: None,
    };
    asked.compute()
}

/// Slots in which it is dark, said once.
fn dark(glare: &Glare, slots: &[Slot]) -> Option<String> {
    let at_s = |k: usize| {
        let moment = glare.season.moments[k];
        DAY_S * moment.day as f64 + 60.0 * moment.minute as f64
    };
    let moments = (0..glare.season.moments.len()).filter(|&k| glare.season.elevation_deg[k] < DARK_DEG);
    let dark = moments.filter(|&k| slots.iter().any(|s| (s.from_s..s.to_s).contains(&at_s(k)))).count();
    let minutes = dark * glare.step_min;
    (dark > 0).then(|| {
        format!(
            "the sun is more than {:.0} degrees below the horizon in {minutes} minutes of these hours: \
             what a post sees then depends on lamps and is not in it",
            -DARK_DEG
        )
    })
}
