//! A roster that is kept: read from its file, and who has left since.

use super::loaded::option_problem;
use super::options::clock;
use crate::roster::Kept;
use std::path::PathBuf;
use watch::roster::{Day, Roster, Slot};
use water::Problem;

/// The roster to keep, over today's guards and slots; whoever is new was nowhere.
pub fn kept(file: Option<&PathBuf>, day: &Day) -> Result<Option<Roster>, Box<Problem>> {
    let Some(file) = file else { return Ok(None) };
    let name = file.display().to_string();
    let wrong = |what: String| {
        Box::new(option_problem("--keep", &name, &what, "give the file that --json has written for this day"))
    };
    let text = std::fs::read_to_string(file).map_err(|e| wrong(format!("cannot be read: {e}")))?;
    let all: serde_json::Value =
        serde_json::from_str(&text).map_err(|e| wrong(format!("is not JSON: {e}")))?;
    let kept: Kept =
        serde_json::from_value(all["roster"].clone()).map_err(|e| wrong(format!("holds no roster: {e}")))?;
    let whole = kept.at.len() == kept.guards.len() && kept.at.iter().all(|row| row.len() == kept.slots.len());
    if !whole {
        return Err(wrong("its rows do not fit its guards and half-hours".into()));
    }
    let place = |guard: usize, slot: &Slot| -> Option<usize> {
        // Two of one name are told apart by their order.
        let name = &day.guards[guard].name;
        let twin = day.guards[..guard].iter().filter(|other| other.name == *name).count();
        let g = (0..kept.guards.len()).filter(|&g| kept.guards[g] == *name).nth(twin)?;
        let s = kept.slots.iter().position(|k| k.from_s == slot.from_s)?;
        let post = kept.posts.get(kept.at[g][s]?)?;
        day.posts.iter().position(|p| p == post)
    };
    let row = |guard: usize| day.slots.iter().map(|slot| place(guard, slot)).collect();
    Ok(Some(Roster { at: (0..day.guards.len()).map(row).collect() }))
}

/// Somebody who is not there from a slot on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Absent {
    /// Guard, by index.
    pub guard: usize,
    /// First slot without them.
    pub from: usize,
}

/// Takes somebody out from a time on.
pub fn absent(text: &str, day: &mut Day) -> Result<Absent, Box<Problem>> {
    let (name, time) = text.split_once('@').map_or((text, None), |(n, t)| (n, Some(t)));
    let wrong = |what: &str, remedy: &str| Box::new(option_problem("--without", text, what, remedy));
    let from_s = match time {
        None => f64::NEG_INFINITY,
        Some(t) => clock(t).ok_or_else(|| wrong("has no time HH:MM", "write NAME@14:30"))?,
    };
    let names: Vec<String> = day.guards.iter().map(|g| g.name.clone()).collect();
    let Some(guard) = day.guards.iter().position(|g| g.name.eq_ignore_ascii_case(name.trim())) else {
        return Err(wrong("is nobody of today's guards", &format!("choose among {}", names.join(", "))));
    };
    let first = day.slots.iter().position(|s| s.to_s > from_s).unwrap_or(day.slots.len());
    day.guards[guard].there[first..].iter_mut().for_each(|t| *t = false);
    Ok(Absent { guard, from: first })
}

/// The first slot that may change: what lies before the first news is over and stays.
///
/// Whoever the kept roster already leaves out is no news; with none but such, the last of them went last.
pub fn first_news(gone: &[Absent], kept: &Roster) -> usize {
    let news = gone.iter().filter(|a| kept.at[a.guard][a.from..].iter().any(Option::is_some));
    news.map(|a| a.from).min().unwrap_or_else(|| gone.iter().map(|a| a.from).max().unwrap_or(0))
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: RO-4
    #[test]
    fn the_earliest_news_decides_what_is_over() {
        let kept = Roster { at: vec![vec![Some(0); 8], [vec![Some(1); 3], vec![None; 5]].concat()] };
        let gone = |guard: usize, from: usize| Absent { guard, from };
        assert_eq!(first_news(&[gone(0, 6)], &kept), 6);
        // The second went at the third slot and the roster knows it; the first goes now.
        assert_eq!(first_news(&[gone(0, 6), gone(1, 3)], &kept), 6);
        // Both go now, at different times: the gap of the earlier one is to be filled too.
        assert_eq!(first_news(&[gone(0, 6), gone(1, 2)], &kept), 2);
        assert_eq!(first_news(&[gone(1, 3)], &kept), 3);
        assert_eq!(first_news(&[], &kept), 0);
    }
}
