//! Who of those on watch stands at which post: slot by slot, so that everybody moves on.

use super::{Day, Keep};

/// Most people of one slot that are dealt exactly; beyond, one after the other.
const EXACT: usize = 12;

/// The post of each guard in each slot.
pub(super) fn posts(day: &Day, watch: &[Vec<bool>], keep: Option<Keep>) -> Vec<Vec<Option<usize>>> {
    let mut at = vec![vec![None; day.slots.len()]; day.guards.len()];
    for s in 0..day.slots.len() {
        let places = day.places(s);
        let people: Vec<usize> = (0..day.guards.len()).filter(|&g| watch[g][s]).collect();
        let cost = |g: usize, place: usize| {
            let post = places[place];
            let kept = keep.and_then(|k| k.roster.at[g][s]);
            let before = s.checked_sub(1).and_then(|s| at[g][s]);
            let stood = at[g].iter().filter(|p| **p == Some(post)).count() as f64;
            // Kept first; then nobody twice in a row at one post; then where they have stood least.
            let moved = if kept.is_some() && kept != Some(post) { 1000.0 } else { 0.0 };
            let stays = if before == Some(post) { 20.0 } else { 0.0 };
            let elsewhere = if s == 0 && day.guards[g].begins.is_some_and(|b| b != post) { 5.0 } else { 0.0 };
            // A doubled post is filled after all others: its second place stands at the end of the list.
            moved + stays + elsewhere + stood + 0.01 * place as f64
        };
        let dealt = assigned(&people, places.len(), cost);
        for (g, place) in people.iter().zip(dealt) {
            at[*g][s] = place.map(|p| places[p]);
        }
    }
    at
}

/// A place for each person at the least cost in all; the first places are filled where people are too few.
fn assigned(people: &[usize], places: usize, cost: impl Fn(usize, usize) -> f64) -> Vec<Option<usize>> {
    let places = places.min(people.len());
    if people.len() > EXACT {
        let mut free: Vec<usize> = (0..places).collect();
        return people
            .iter()
            .map(|&g| {
                let best = (0..free.len()).min_by(|&a, &b| cost(g, free[a]).total_cmp(&cost(g, free[b])))?;
                Some(free.remove(best))
            })
            .collect();
    }
    // The best for every set of places already taken, person after person.
    let sets = 1usize << places;
    let mut best = vec![(f64::INFINITY, None); sets];
    best[0] = (0.0, None);
    let mut back: Vec<Vec<Option<Option<usize>>>> = Vec::with_capacity(people.len());
    for (k, &g) in people.iter().enumerate() {
        let mut next = vec![(f64::INFINITY, None); sets];
        // Somebody goes without a place only where there are more people than places.
        let spare = people.len() > places;
        for taken in 0..sets {
            let so_far = best[taken].0;
            if so_far.is_infinite() || taken.count_ones() as usize > k {
                continue;
            }
            if spare && so_far + 1e-6 < next[taken].0 {
                next[taken] = (so_far + 1e-6, Some(None));
            }
            for place in (0..places).filter(|p| taken >> p & 1 == 0) {
                let sum = so_far + cost(g, place);
                let with = taken | 1 << place;
                if sum < next[with].0 {
                    next[with] = (sum, Some(Some(place)));
                }
            }
        }
        back.push(next.iter().map(|(_, how)| *how).collect());
        best = next;
    }
    let mut taken = sets - 1;
    let mut dealt = vec![None; people.len()];
    for k in (0..people.len()).rev() {
        let Some(Some(how)) = back[k].get(taken).copied() else { break };
        dealt[k] = how;
        if let Some(place) = how {
            taken &= !(1 << place);
        }
    }
    dealt
}
