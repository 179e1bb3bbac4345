//! A short count, on every device: that line holds, the others stand by, faces are looked for.

use super::View;
use super::first::words;
use crate::report::{Person, Role};
use crate::screen::{Face, Short, Words};
use crate::state::{Incident, Known, ShortCount};

impl View<'_> {
    /// The oldest short count.
    pub(crate) fn short(&self) -> Option<Short> {
        let incident = self.incident()?;
        let short = incident.short.first()?;
        let known = incident.orders.get(&short.order);
        let line = known.map_or_else(|| format!("order {}", short.order), |known| self.line_name(known));
        let dive = known.map_or(String::new(), |known| format!(", dive {}", known.dives + 1));
        let where_now = self.thought_of_now().and_then(|thought| thought.places.get(&short.order));
        let place = match where_now {
            Some(place) => format!("{line}{dive}, lane {}: {place}", short.order),
            None => format!("{line}{dive}, lane {}", short.order),
        };
        let face = |&person: &Person| Face {
            person,
            name: self.names.person(person),
            seen: short.seen.contains(&person),
        };
        Some(Short {
            order: short.order,
            since_ms: short.since_ms,
            words: self.short_words(short, &line),
            place,
            faces: short.down.iter().map(face).collect(),
            lifted_by: "Recount first. When every name is seen, the lead, a deputy or the lookout's recorder lifts this.".into(),
            orders: self.searcher_orders(incident, short, known),
        })
    }

    fn short_words(&self, short: &ShortCount, line: &str) -> Words {
        let unseen: Vec<Person> = short.down.iter().copied().filter(|p| !short.seen.contains(p)).collect();
        let others = "Other lines: stand by, heads up. See a face, touch it.";
        match unseen.as_slice() {
            [] => words(
                "STOP",
                &["Every name is seen up.", "Recount once more, then lift this."],
                "Nobody goes down until it is lifted.",
            ),
            [one] => {
                let name = self.names.person(*one);
                let (missing, place) = (format!("{name} not seen yet."), self.between(short, *one));
                words("STOP", &[&missing, &place, "Searcher missing: orders below."], others)
            }
            _ => {
                let shout = format!("{}: stay up. Count again.", capital(line));
                let last = match self.sender.role {
                    Role::Gate => "Tell the services: a searcher may be missing.",
                    _ => "Who is missing? Look for each face.",
                };
                words("STOP", &[&shout, last], others)
            }
        }
    }

    /// Between whom somebody stood in the line, and where.
    fn between(&self, short: &ShortCount, person: Person) -> String {
        let place = self.thought_of_now().and_then(|thought| thought.places.get(&short.order)).map_or_else(
            || format!("lane {}", short.order),
            |place| format!("lane {}, {place}", short.order),
        );
        match neighbours(&short.down, person).as_slice() {
            [a, b] => {
                format!("Last at {place}, between {} and {}.", self.names.person(*a), self.names.person(*b))
            }
            [a] => format!("Last at {place}, beside {}.", self.names.person(*a)),
            _ => format!("Last at {place}."),
        }
    }

    /// Orders for the searcher who is not seen, once it is one: neighbours first, then the lookout, then whoever is near.
    fn searcher_orders(&self, incident: &Incident, short: &ShortCount, known: Option<&Known>) -> Vec<Words> {
        let unseen: Vec<Person> = short.down.iter().copied().filter(|p| !short.seen.contains(p)).collect();
        let [person] = unseen.as_slice() else { return Vec::new() };
        let name = self.names.person(*person);
        let place = self.thought_of_now().and_then(|thought| thought.places.get(&short.order)).cloned();
        let place = place.unwrap_or_else(|| format!("lane {}", short.order));
        let mut orders = Vec::new();
        let near = neighbours(&short.down, *person);
        if !near.is_empty() {
            let both = near.iter().map(|&p| self.names.person(p)).collect::<Vec<_>>().join(" and ");
            let lines = [
                format!("Down where {name} was: {place}."),
                "Feel the bottom at arm's length, one breath at a time.".into(),
                "Up, count, down again, until told.".into(),
            ];
            orders.push(words(both, &lines.each_ref().map(String::as_str), "only within your own depth"));
        }
        let rest: Vec<Person> =
            short.down.iter().copied().filter(|p| p != person && !near.contains(p)).collect();
        if !rest.is_empty() {
            let hold = format!("Stay up, hold on to one another, look round for {name}.");
            orders.push(words(self.named(&rest), &[&hold, "Call your own name."], ""));
        }
        if let Some(lookout) = known.and_then(|known| known.shown.lookout) {
            let eyes = format!("Tube in hand, to {place}. Eyes on the water there.");
            orders.push(words(
                self.names.person(lookout),
                &[&eyes, "Count every head that goes down and comes up."],
                "",
            ));
        }
        let free = self.free_divers(incident, short);
        if !free.is_empty() {
            let go = format!("Masks and fins, to {place}.");
            orders.push(words(
                self.named(&free),
                &[&go, "Wait for the lookout's word before going down."],
                "",
            ));
        }
        let call = format!("Tell {}: a searcher is missing.", self.emergency());
        orders.push(words("Phone", &[&call], ""));
        orders
    }

    /// Up to two who may dive and are not in a line under way.
    fn free_divers(&self, incident: &Incident, short: &ShortCount) -> Vec<Person> {
        let Some(day) = self.thought_of_now().and_then(|thought| thought.day.as_ref()) else {
            return Vec::new();
        };
        let watches = |p: Person| incident.orders.values().any(|known| known.shown.lookout == Some(p));
        let fit = |(k, so_far): &(usize, &crate::state::PersonSoFar)| {
            let dives = day.crew.get(*k).is_some_and(|member| member.dive_m.is_some());
            let p = so_far.person;
            dives && so_far.left.is_none() && !so_far.in_water && !short.down.contains(&p) && !watches(p)
        };
        incident.people.iter().enumerate().filter(fit).map(|(_, so_far)| so_far.person).take(2).collect()
    }
}

/// Who stood beside somebody in a line.
fn neighbours(line: &[Person], person: Person) -> Vec<Person> {
    let Some(at) = line.iter().position(|&p| p == person) else { return Vec::new() };
    let before = at.checked_sub(1).and_then(|k| line.get(k));
    before.into_iter().chain(line.get(at + 1)).copied().collect()
}

fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or(String::new(), |first| first.to_uppercase().chain(chars).collect())
}
