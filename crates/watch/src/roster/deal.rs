//! Who of those on watch stands at which post: slot by slot, so that a lookout sees each zone and everybody moves on.

use super::{Day, Keep};

/// Most people of one slot that are dealt exactly; beyond, one after the other.
const EXACT: usize = 12;
/// Most kinds of zones of which it is followed whether a lookout sees them; zones seen from the same posts are one kind.
const KINDS: usize = 5;
/// What a zone that no lookout sees costs: more than anybody moved.
const UNSEEN: f64 = 20_000.0;

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
        // What is over is not dealt anew, whoever sees what.
        let over = keep.is_some_and(|k| s < k.from);
        let mut kinds: Vec<Vec<usize>> = Vec::new();
        for (_, posts) in day.sight(s).into_iter().filter(|(_, posts)| !posts.is_empty() && !over) {
            if kinds.len() < KINDS && !kinds.contains(&posts) {
                kinds.push(posts);
            }
        }
        let sees = |g: usize, place: usize| -> usize {
            let kind = |k: usize| day.guards[g].lookout && kinds[k].contains(&places[place]);
            (0..kinds.len()).filter(|&k| kind(k)).map(|k| 1 << k).sum()
        };
        let dealt = assigned(&people, (places.len(), kinds.len()), (&cost, &sees));
        for (g, place) in people.iter().zip(dealt) {
            at[*g][s] = place.map(|p| places[p]);
        }
    }
    at
}

/// A state and the place that was taken from there, if any.
type Step = (usize, Option<usize>);

/// What a person costs at a place, and which kinds of zones a lookout there sees.
type Price<'a> = (&'a dyn Fn(usize, usize) -> f64, &'a dyn Fn(usize, usize) -> usize);

/// A place for each person at the least cost in all; the first places are filled where people are too few.
fn assigned(people: &[usize], (places, kinds): (usize, usize), (cost, sees): Price) -> Vec<Option<usize>> {
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
    // The best for every set of places already taken and kinds already seen, person after person.
    let (sets, masks) = (1usize << places, 1usize << kinds);
    let mut best = vec![f64::INFINITY; sets * masks];
    best[0] = 0.0;
    // How each state was come to: the state before, and the place taken.
    let mut back: Vec<Vec<Option<Step>>> = Vec::with_capacity(people.len());
    // Somebody goes without a place only where there are more people than places.
    let spare = people.len() > places;
    for &g in people {
        let mut next = vec![f64::INFINITY; sets * masks];
        let mut how = vec![None; sets * masks];
        let mut take = |to: usize, sum: f64, from: Step| {
            if sum < next[to] {
                (next[to], how[to]) = (sum, Some(from));
            }
        };
        for state in (0..best.len()).filter(|&s| best[s].is_finite()) {
            let (taken, seen) = (state / masks, state % masks);
            if spare {
                take(state, best[state] + 1e-6, (state, None));
            }
            for place in (0..places).filter(|p| taken >> p & 1 == 0) {
                let to = (taken | 1 << place) * masks + (seen | sees(g, place));
                take(to, best[state] + cost(g, place), (state, Some(place)));
            }
        }
        back.push(how);
        best = next;
    }
    let unseen = |mask: usize| UNSEEN * (kinds - mask.count_ones() as usize) as f64;
    let full = (sets - 1) * masks;
    let end =
        (0..masks).min_by(|&a, &b| (best[full + a] + unseen(a)).total_cmp(&(best[full + b] + unseen(b))));
    let mut state = full + end.unwrap_or(0);
    let mut dealt = vec![None; people.len()];
    for k in (0..people.len()).rev() {
        let Some((before, place)) = back[k][state] else { break };
        (dealt[k], state) = (place, before);
    }
    dealt
}
