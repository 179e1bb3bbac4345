//! Watch roster: who stands at which post in which half-hour.
//!
//! Who is on watch is one whole-number problem for a general solver: stints and rests are limits that are never broken;
//! a post that cannot be filled, or a missing diver or lookout, is a conflict that is named. Who stands at which post
//! is then dealt slot by slot so that a lookout sees each zone, and everybody moves on, or stays as before where a roster
//! is repaired.
//! Start reading at [`Roster::make`].

mod deal;
mod sight;
mod solve;
mod told;

use measure::parameters::value;
use serde::{Deserialize, Serialize};

pub use sight::InSight;
pub use told::Conflict;

/// Limits of the site; hard ones are never broken.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rules {
    /// Longest stint on watch without a rest, in slots.
    pub stint: usize,
    /// The same in heat.
    pub stint_hot: usize,
    /// In any so many slots …
    pub span: usize,
    /// … nobody is on watch in more than this many.
    pub span_most: usize,
    /// Divers among those on watch, where so many are on watch.
    pub divers: usize,
    /// Lookouts among those on watch.
    pub lookouts: usize,
}

impl Rules {
    /// The register's rules for slots of a length \[s\]; a limit shorter than a slot is one slot.
    pub fn of(slot_s: f64) -> Rules {
        let slots = |minutes: f64| ((60.0 * minutes / slot_s + 1e-9) as usize).max(1);
        let span = slots(value("watch_span_min"));
        Rules {
            stint: slots(value("stint_longest_min")),
            stint_hot: slots(value("stint_hot_min")),
            span,
            span_most: slots(value("watch_span_most_min")).min(span),
            divers: value("watch_divers") as usize,
            lookouts: value("watch_lookouts") as usize,
        }
    }
}

/// One slot of the day.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Slot {
    /// Begin \[s after midnight\].
    pub from_s: f64,
    /// End.
    pub to_s: f64,
    /// Posts that are doubled, such as in glare: indices.
    pub doubled: Vec<usize>,
    /// Whether the shorter stint holds.
    pub hot: bool,
    /// For each post the zones that somebody there sees in this slot; empty: nobody told, and a lookout counts anywhere.
    #[serde(default)]
    pub sees: Vec<Vec<usize>>,
}

/// A guard as the roster sees them.
#[derive(Clone, Debug, PartialEq)]
pub struct Guard {
    /// Name.
    pub name: String,
    /// May surface-dive.
    pub dives: bool,
    /// May be lookout.
    pub lookout: bool,
    /// Slots in which they are there.
    pub there: Vec<bool>,
    /// Post where they would begin, if any.
    pub begins: Option<usize>,
}

/// What a roster is made from.
#[derive(Clone, Debug, PartialEq)]
pub struct Day {
    /// Names of the posts.
    pub posts: Vec<String>,
    /// Names of the zones of water that lookouts are to see; none where nobody told.
    pub zones: Vec<String>,
    /// Slots in order.
    pub slots: Vec<Slot>,
    /// Guards.
    pub guards: Vec<Guard>,
    /// Limits.
    pub rules: Rules,
}

/// Who stands where.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Roster {
    /// For each guard and slot the post, or none.
    pub at: Vec<Vec<Option<usize>>>,
}

/// A roster that is to be kept as far as it can.
#[derive(Clone, Copy, Debug)]
pub struct Keep<'a> {
    /// The roster so far, over the same guards and slots.
    pub roster: &'a Roster,
    /// Slots before this one are over and stay as they are.
    pub from: usize,
}

/// A roster with what cannot be kept.
#[derive(Clone, Debug, PartialEq)]
pub struct Made {
    /// The roster.
    pub roster: Roster,
    /// Rules that cannot be kept, in order of time.
    pub conflicts: Vec<Conflict>,
    /// Guards and slots that differ from the roster kept.
    pub changes: usize,
    /// Whether the solver has proven that no other choice of who is on watch has less against it.
    pub proven: bool,
}

impl Day {
    /// Places to fill in a slot: every post, and doubled ones twice.
    pub fn places(&self, slot: usize) -> Vec<usize> {
        let mut places: Vec<usize> = (0..self.posts.len()).collect();
        places.extend(self.slots[slot].doubled.iter().copied().filter(|&p| p < self.posts.len()));
        places
    }

    /// Posts from which a zone is seen in a slot.
    pub fn seen_from(&self, zone: usize, slot: usize) -> Vec<usize> {
        let sees = &self.slots[slot].sees;
        (0..sees.len().min(self.posts.len())).filter(|&p| sees[p].contains(&zone)).collect()
    }

    /// Zones told for a slot, each with the posts that see it.
    fn sight(&self, slot: usize) -> Vec<(usize, Vec<usize>)> {
        if self.slots[slot].sees.is_empty() {
            return Vec::new();
        }
        (0..self.zones.len()).map(|zone| (zone, self.seen_from(zone, slot))).collect()
    }
}

impl Roster {
    /// The best roster of a day. Model `roster`, docs/models/roster.md.
    ///
    /// # Inputs
    /// - `day`: posts, slots, guards, limits · `keep`: a roster to keep as far as it can
    ///
    /// # Gives
    /// Who stands where, what cannot be kept, and how much differs. Stints and rests hold in every roster.
    ///
    /// # Source
    /// whole-number programme of staffing: textbook; limits: common practice, no published source
    pub fn make(day: &Day, keep: Option<Keep>) -> Made {
        let (watch, proven) = solve::on_watch(day, keep);
        let roster = Roster { at: deal::posts(day, &watch, keep) };
        let conflicts = told::conflicts(day, &roster);
        let changes = keep.map_or(0, |k| {
            let differ = |g: usize, s: usize| roster.at[g][s] != k.roster.at[g][s];
            (0..day.guards.len()).map(|g| (0..day.slots.len()).filter(|&s| differ(g, s)).count()).sum()
        });
        Made { roster, conflicts, changes, proven }
    }
}

#[cfg(test)]
mod tests;
