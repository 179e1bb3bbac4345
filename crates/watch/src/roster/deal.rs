//! Who of those on watch stands at which post: slot by slot, so that a lookout sees each zone and everybody moves on.

use super::{Day, Keep};
use good_lp::{
    Expression, ProblemVariables, Solution, SolverModel, Variable, WithMipGap, constraint, microlp, variable,
};

/// Most people of one slot, and most kinds of zones, that are dealt by trying every set; beyond, the solver deals them. Zones seen
/// from the same posts are one kind.
const EXACT: usize = 12;
const KINDS: usize = 5;
/// Most kinds at all: one bit each.
const KINDS_MOST: usize = 60;
/// What a zone that no lookout sees costs: more than anybody moved.
const UNSEEN: f64 = 20_000.0;
/// Differences below this share of all are not worth proving.
const GAP: f32 = 1e-4;

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
            if kinds.len() < KINDS_MOST && !kinds.contains(&posts) {
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
fn assigned(people: &[usize], (places, kinds): (usize, usize), price: Price) -> Vec<Option<usize>> {
    let places = places.min(people.len());
    if people.len() <= EXACT && kinds <= KINDS {
        return by_sets(people, (places, kinds), price);
    }
    by_solver(people, (places, kinds), price).unwrap_or_else(|| one_by_one(people, places, price))
}

/// The same as a whole-number problem for the general solver: people to places, and a price on every kind that no lookout sees.
fn by_solver(
    people: &[usize],
    (places, kinds): (usize, usize),
    (cost, sees): Price,
) -> Option<Vec<Option<usize>>> {
    let mut variables = ProblemVariables::new();
    let stands: Vec<Vec<Variable>> =
        people.iter().map(|_| (0..places).map(|_| variables.add(variable().binary())).collect()).collect();
    let unseen: Vec<Variable> = (0..kinds).map(|_| variables.add(variable().min(0.0).max(1.0))).collect();
    let mut sum: Expression = unseen.iter().map(|u| UNSEEN * *u).sum();
    for (row, &g) in stands.iter().zip(people) {
        sum += row.iter().enumerate().map(|(place, v)| cost(g, place) * *v).sum::<Expression>();
    }
    let mut model = variables.minimise(sum).using(microlp);
    for row in &stands {
        model = model.with(constraint!(row.iter().sum::<Expression>() <= 1.0));
    }
    for place in 0..places {
        model = model.with(constraint!(stands.iter().map(|row| row[place]).sum::<Expression>() == 1.0));
    }
    for (kind, unseen) in unseen.iter().enumerate() {
        let mut looks = Expression::from(*unseen);
        for (row, &g) in stands.iter().zip(people) {
            looks += (0..places).filter(|&p| sees(g, p) >> kind & 1 == 1).map(|p| row[p]).sum::<Expression>();
        }
        model = model.with(constraint!(looks >= 1.0));
    }
    let solved = model.with_mip_gap(GAP).ok()?.solve().ok()?;
    let place = |row: &Vec<Variable>| row.iter().position(|v| solved.value(*v) > 0.5);
    Some(stands.iter().map(place).collect())
}

/// One person after the other to the place that costs least: what is left where the solver gives nothing.
fn one_by_one(people: &[usize], places: usize, (cost, _): Price) -> Vec<Option<usize>> {
    let mut free: Vec<usize> = (0..places).collect();
    let mut place = |g: usize| {
        let best = (0..free.len()).min_by(|&a, &b| cost(g, free[a]).total_cmp(&cost(g, free[b])))?;
        Some(free.remove(best))
    };
    people.iter().map(|&g| place(g)).collect()
}

/// The same by the best for every set of places and kinds.
fn by_sets(people: &[usize], (places, kinds): (usize, usize), (cost, sees): Price) -> Vec<Option<usize>> {
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_solver_deals_as_well_as_trying_every_set() {
        let mut draws = measure::Seed(4).stream("deal").draws();
        for _ in 0..40 {
            let people: Vec<usize> = (0..2 + (draws.u01() * 6.0) as usize).collect();
            let (places, kinds) = (1 + (draws.u01() * 6.0) as usize, 1 + (draws.u01() * 4.0) as usize);
            let table: Vec<Vec<f64>> =
                people.iter().map(|_| (0..places).map(|_| (draws.u01() * 40.0).floor()).collect()).collect();
            let masks: Vec<Vec<usize>> = people
                .iter()
                .map(|g| {
                    (0..places)
                        .map(|_| if g % 2 == 0 { (draws.u01() * (1 << kinds) as f64) as usize } else { 0 })
                        .collect()
                })
                .collect();
            let (cost, sees) = (|g: usize, p: usize| table[g][p], |g: usize, p: usize| masks[g][p]);
            let worth = |dealt: &[Option<usize>]| {
                let taken: Vec<usize> = dealt.iter().flatten().copied().collect();
                let mut once = taken.clone();
                once.sort_unstable();
                once.dedup();
                assert_eq!((once.len(), taken.len()), (places.min(people.len()), places.min(people.len())));
                let met = |(g, p): (usize, &Option<usize>)| p.map(|p| (cost(g, p), sees(g, p)));
                let (sum, mask) =
                    dealt.iter().enumerate().filter_map(met).fold((0.0, 0), |a, b| (a.0 + b.0, a.1 | b.1));
                sum + UNSEEN * (kinds - mask.count_ones() as usize) as f64
            };
            let filled = places.min(people.len());
            let best = worth(&by_sets(&people, (filled, kinds), (&cost, &sees)));
            let solved = worth(&by_solver(&people, (filled, kinds), (&cost, &sees)).unwrap());
            // The solver stops within its share of the best.
            assert!((solved - best).abs() <= 1e-6 + f64::from(GAP) * best, "{solved} not {best}");
        }
    }
}
