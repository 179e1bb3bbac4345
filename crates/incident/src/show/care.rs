//! Care after somebody was brought up.

use super::View;
use crate::report::CareStep;
use crate::screen::{Care, CareLine};

impl View<'_> {
    /// The steps in the order of the trade, with their stamps.
    pub(crate) fn care(&self) -> Option<Care> {
        let incident = self.incident()?;
        let found_at_ms = incident.found_at_ms?;
        let step = |(step, title, note): (CareStep, &str, &str)| CareLine {
            step,
            title: title.into(),
            note: note.into(),
            at_ms: incident.care.get(&step).copied(),
        };
        let found = incident.missing.values().filter(|m| m.found_ms.is_some()).count();
        let found = found + incident.found_unnamed as usize;
        let still_in = incident.in_water();
        Some(Care {
            found_at_ms,
            steps: STEPS.into_iter().map(step).collect(),
            searchers: incident.people.iter().filter(|p| p.left.is_none()).count() as u32,
            still_in: still_in.into_iter().map(|p| (p, self.names.person(p))).collect(),
            of: format!("{found} of {} missing found", incident.missing.len()),
        })
    }
}

const STEPS: [(CareStep, &str, &str); 7] = [
    (CareStep::Surfaced, "Surfaced", "Face out, head and neck steady"),
    (CareStep::OutOfWater, "Out of the water", "The nearest way out that carries two"),
    (CareStep::Identified, "Is it them?", "Ask whoever knows them"),
    (CareStep::FirstBreath, "Breaths first", "If not breathing. Number by local protocol"),
    (CareStep::Compressions, "Compressions", "As trained, change hands"),
    (CareStep::Aed, "Defibrillator", "Dry chest"),
    (CareStep::HandedOver, "Handed over", "To the ambulance crew"),
];
