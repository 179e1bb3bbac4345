//! A short count, on every device.

use super::View;
use crate::screen::{Face, Short, Words};

impl View<'_> {
    /// The oldest short count.
    pub(crate) fn short(&self) -> Option<Short> {
        let incident = self.incident()?;
        let short = incident.short.first()?;
        let name = |person| self.names.person(person);
        let leader = incident
            .orders
            .get(&short.order)
            .and_then(|known| known.shown.leader)
            .map_or_else(|| format!("Order {}", short.order), |p| format!("{}'s line", name(p)));
        let faces = short.down.iter().map(|&person| Face {
            person,
            name: name(person),
            seen: short.seen.contains(&person),
        });
        Some(Short {
            order: short.order,
            since_ms: short.since_ms,
            words: Words {
                over: "STOP".into(),
                lines: vec!["Stay up. Count again.".into(), "Who is missing?".into()],
                under: "Other lines: stand by. See a face, touch it.".into(),
            },
            place: format!("{leader} is short, lane {}", short.order),
            faces: faces.collect(),
            lifted_by:
                "Recount first. Then the lead, a deputy or the recorder for the lookout can lift this.".into(),
            orders: Vec::new(),
        })
    }
}
