//! Before an alarm: who does what today; and during one, until when nothing need be touched.

use super::View;
use super::first::words;
use crate::report::{Person, Role};
use crate::screen::{Say, Words};
use crate::state::Phase;

impl View<'_> {
    /// In charge, phone and gate, lookout of today.
    pub(crate) fn quiet(&self) -> Words {
        let Some(day) = &self.state.day else {
            return words("No day is open", &["Open the site and the day of this morning."], "");
        };
        let holds = |role: Role| {
            let device = self.state.devices.values().find(|(held, person)| *held == role && person.is_some());
            device.and_then(|(_, person)| *person)
        };
        let crew: Vec<(Person, &water::Member)> = day.people.iter().copied().zip(&day.day.crew).collect();
        let now_s = crate::state::clock_s(self.now_ms, day.utc_offset_s);
        let here = |m: &water::Member| m.on_duty(now_s);
        let mut taken: Vec<Person> = Vec::new();
        let mut first = |own: Option<Person>, fits: &dyn Fn(&water::Member) -> bool| {
            let found = own.or_else(|| {
                let mut free = crew.iter().filter(|(p, m)| !taken.contains(p) && here(m) && fits(m));
                free.next().map(|(p, _)| *p)
            });
            taken.extend(found);
            found.map_or("nobody".to_string(), |p| self.names.person(p))
        };
        let lead = first(holds(Role::Lead), &|m| m.lead);
        let lookout = first(None, &|m| m.lookout && !m.volunteer);
        // The phone takes whom the water needs least.
        let phone = match holds(Role::Gate) {
            Some(person) => first(Some(person), &|_| true),
            None => {
                let shore = first(None, &|m| m.dive_m.is_none());
                if shore == "nobody" { first(None, &|_| true) } else { shore }
            }
        };
        // With so few the one in charge calls as well.
        let phone = if phone == "nobody" { lead.clone() } else { phone };
        let on_duty = crew.iter().filter(|(_, m)| here(m)).count();
        let under = match crew.iter().map(|(_, m)| super::people::off_duty(m, now_s)).min() {
            Some(first) if on_duty == 0 => format!("nobody is on duty at this hour, the first are {first}"),
            _ => format!("{on_duty} on duty now"),
        };
        words(
            "Nobody is reported missing",
            &[
                &format!("In charge: {lead}"),
                &format!("Lookout: {lookout}"),
                &format!("Phone and gate: {phone}"),
            ],
            under,
        )
    }

    /// After the orders of now, the moment of the next order to be said or the next end of a lane that is due.
    pub(crate) fn quiet_until_ms(&self, say: &[Say]) -> Option<i64> {
        let incident = self.incident().filter(|i| i.phase == Phase::Searching && i.short.is_empty())?;
        let ahead = |ms: &i64| *ms > self.now_ms;
        let next = say.iter().map(|say| say.due_ms).filter(ahead).min();
        let open = incident.orders.values().filter(|known| known.ended_ms.is_none() && !known.withdrawn);
        let line = |known: &&crate::state::Known| {
            matches!(known.shown.method, Some(search::Method::Wade | search::Method::Dive))
        };
        let end = open.filter(line).map(|known| known.shown.ends_ms).filter(ahead).min();
        next.into_iter().chain(end).min()
    }
}
