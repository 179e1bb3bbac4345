//! What a roster cannot keep: which rule, which slot, how many are short, and what everybody else does then.

use super::solve::windows;
use super::{Day, Roster};
use serde::Serialize;

/// A rule that cannot be kept in one slot.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Conflict {
    /// Slot.
    pub slot: usize,
    /// The rule: `posts filled`, `doubled in glare`, `lookout on watch`, `lookout who sees the zone`, `divers on watch`.
    pub rule: &'static str,
    /// How many are short.
    pub short: usize,
    /// Posts left empty, left alone in glare, or from which the zone is seen: by name.
    pub posts: Vec<String>,
    /// The zone that no lookout sees, if it is that.
    pub zone: Option<String>,
    /// Who could not, and why.
    pub why: Vec<String>,
}

/// Everything a roster cannot keep, in order of time.
pub(super) fn conflicts(day: &Day, roster: &Roster) -> Vec<Conflict> {
    let mut all = Vec::new();
    for slot in 0..day.slots.len() {
        let on: Vec<usize> = (0..day.guards.len()).filter(|&g| roster.at[g][slot].is_some()).collect();
        let mut places = day.places(slot);
        let need = places.len();
        for post in on.iter().filter_map(|&g| roster.at[g][slot]) {
            if let Some(at) = places.iter().rposition(|p| *p == post) {
                places.remove(at);
            }
        }
        let mut say = |rule, short: usize, posts: Vec<String>, pick: &dyn Fn(usize) -> bool| {
            if short > 0 {
                let idle = (0..day.guards.len()).filter(|g| !on.contains(g));
                let why = idle.map(|g| reason(day, roster, (g, slot), pick(g))).collect();
                all.push(Conflict { slot, rule, short, posts, zone: None, why });
            }
        };
        let stands = |post: usize| on.iter().any(|&g| roster.at[g][slot] == Some(post));
        let names = |posts: &[usize]| posts.iter().map(|&p| day.posts[p].clone()).collect::<Vec<_>>();
        let (seconds, empty): (Vec<usize>, Vec<usize>) = places.iter().partition(|p| stands(**p));
        // Of a post that is doubled and has nobody, the first place is the one that matters.
        say("posts filled", empty.len(), names(&empty), &|_| true);
        say("doubled in glare", seconds.len(), names(&seconds), &|_| true);
        let lookouts = on.iter().filter(|&&g| day.guards[g].lookout).count();
        let short = day.rules.lookouts.min(need).saturating_sub(lookouts);
        say("lookout on watch", short, Vec::new(), &|g| day.guards[g].lookout);
        let divers = on.iter().filter(|&&g| day.guards[g].dives).count();
        let short = day.rules.divers.min(need).saturating_sub(divers);
        say("divers on watch", short, Vec::new(), &|g| day.guards[g].dives);
        all.extend(unseen(day, roster, slot));
    }
    all
}

/// Zones of a slot that no lookout sees from where they stand.
fn unseen(day: &Day, roster: &Roster, slot: usize) -> Vec<Conflict> {
    let lookout_at = |post: usize| {
        (0..day.guards.len()).any(|g| day.guards[g].lookout && roster.at[g][slot] == Some(post))
    };
    // With no lookout on watch at all, that is said once; what no post sees is said all the same.
    let any = (0..day.posts.len()).any(lookout_at);
    let missed = day
        .sight(slot)
        .into_iter()
        .filter(|(_, posts)| !posts.iter().any(|&p| lookout_at(p)) && (any || posts.is_empty()));
    missed
        .map(|(zone, posts)| {
            let why = if posts.is_empty() {
                vec!["no post sees enough of it then".to_string()]
            } else {
                vec![format!("no lookout stands at {}", {
                    let names: Vec<&str> = posts.iter().map(|&p| day.posts[p].as_str()).collect();
                    names.join(" or ")
                })]
            };
            let posts = posts.iter().map(|&p| day.posts[p].clone()).collect();
            let zone = Some(day.zones[zone].clone());
            Conflict { slot, rule: "lookout who sees the zone", short: 1, posts, zone, why }
        })
        .collect()
}

/// Why somebody is not on watch in a slot.
fn reason(day: &Day, roster: &Roster, (guard, slot): (usize, usize), able: bool) -> String {
    let name = &day.guards[guard].name;
    if !day.guards[guard].there[slot] {
        return format!("{name} is not there");
    }
    if !able {
        return format!("{name} is not qualified");
    }
    let stood = |from: usize, count: usize| {
        (from..from + count).filter(|&s| s != slot && roster.at[guard][s].is_some()).count()
    };
    let full = windows(day)
        .into_iter()
        .find(|&(from, count, most)| (from..from + count).contains(&slot) && stood(from, count) >= most);
    match full {
        Some((_, count, _)) if count == day.rules.span => format!("{name} has stood enough in these hours"),
        Some(_) => format!("{name} rests between stints"),
        None => format!("{name} is free"),
    }
}
