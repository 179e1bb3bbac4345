//! Care after somebody was brought up.

use super::View;
use crate::report::CareStep;
use crate::screen::{Care, CareLine};
use crate::state::Incident;

impl View<'_> {
    /// The steps in the order of the trade, with their stamps.
    pub(crate) fn care(&self) -> Option<Care> {
        let incident = self.incident()?;
        let found_at_ms = incident.found_at_ms?;
        let step = |(step, title, note): (CareStep, &str, &str)| CareLine {
            step,
            title: title.into(),
            note: self.care_note(incident, step, note),
            at_ms: incident.care.get(&step).copied(),
        };
        let found = incident.missing.values().filter(|m| m.found_ms.is_some()).count();
        let found = found + incident.found_unnamed as usize;
        let still_in = incident.in_water_at(self.now_ms);
        Some(Care {
            found_at_ms,
            steps: STEPS.into_iter().map(step).collect(),
            searchers: searchers(incident),
            still_in: still_in.into_iter().map(|p| (p, self.names.person(p))).collect(),
            of: format!("{found} of {} missing found", incident.missing.len()),
        })
    }

    fn care_note(&self, incident: &Incident, step: CareStep, note: &str) -> String {
        match step {
            CareStep::OutOfWater => {
                let way = self
                    .thought_of_now()
                    .map(|thought| thought.way_out.clone())
                    .filter(|way| !way.is_empty());
                way.unwrap_or_else(|| note.to_string())
            }
            CareStep::Identified => {
                let missing = incident.missing.len();
                let still = incident.still_missing();
                match (missing, still) {
                    (1, _) => "Ask whoever knows them. Not them: the search goes on".into(),
                    (_, 0) => "All who are missing are found".into(),
                    (_, still) => format!("{still} of {missing} still missing: the search for them goes on"),
                }
            }
            CareStep::HandedOver => match incident.here_ms {
                Some(at_ms) => {
                    format!("Services here since {}", super::clock(at_ms, incident.day.utc_offset_s))
                }
                None => note.to_string(),
            },
            _ => note.to_string(),
        }
    }
}

/// Everybody who was sent into or over the water.
fn searchers(incident: &Incident) -> u32 {
    let sent = |person: &u32| {
        incident
            .orders
            .values()
            .any(|known| known.shown.method.is_some() && known.shown.people.contains(person))
    };
    incident.people.iter().filter(|p| sent(&p.person)).count() as u32
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
