//! Judging the turns of a search: out and back, widened, found, ended, passed, real.

use super::refusal::refuse;
use super::told::WORDS_MOST;
use super::{Case, Facts, only};
use crate::event::Event;
use crate::names::{NameNote, tidy};
use crate::report::Report;

impl Case<'_> {
    pub(super) fn turn(&self, report: &Report) -> Facts {
        let incident = self.incident()?;
        match report {
            Report::ShoreChecked { place } => {
                let place = place.as_deref().map(|place| tidy(place, 60)).filter(|place| !place.is_empty());
                only(Event::ShoreLooked { place })
            }
            Report::SurfaceLooked => only(Event::SurfaceLooked),
            Report::AllOut { why } => only(Event::AllCalledOut { why: *why }),
            Report::BackIn if !incident.short.is_empty() => refuse(
                "I128",
                "a line is short of a head",
                "see every face and lift it before anybody goes in",
            ),
            Report::BackIn => only(Event::SearchResumed),
            Report::Widen => only(Event::SearchWidened),
            Report::Found { missing } => {
                self.one_of_the_missing(*missing)?;
                only(Event::PersonFound { missing: *missing })
            }
            Report::NotThem => only(Event::FoundSomebodyElse),
            Report::Care { step, done } => only(Event::CareGiven { step: *step, done: *done }),
            Report::FoundAshore { missing, place } => {
                self.one_of_the_missing(Some(*missing))?;
                let place = place.as_deref().map(|place| tidy(place, 60)).filter(|place| !place.is_empty());
                only(Event::FoundAshore { missing: *missing, place })
            }
            Report::StoodDown { reason } => match tidy(reason, WORDS_MOST) {
                reason if reason.is_empty() => {
                    refuse("I113", "no reason is given", "say in a few words why the alarm is stood down")
                }
                reason => only(Event::StoodDown { reason }),
            },
            Report::CommandPassed { to } => match tidy(to, 120) {
                to if to.is_empty() => refuse("I113", "nobody is named", "say to whom command passes"),
                to => {
                    let note = NameNote::Command { incident: incident.number, to };
                    Ok((vec![Event::CommandPassed], vec![note]))
                }
            },
            Report::Services { here } => {
                only(if *here { Event::ServicesArrived } else { Event::ServicesCalled })
            }
            Report::ThisIsReal => only(Event::PracticeEnded { in_water: incident.in_water_at(self.at_ms) }),
            _ => refuse("I101", "this report is not known here", "bring the program up to date"),
        }
    }

    fn one_of_the_missing(&self, missing: Option<u32>) -> Result<(), super::Refusal> {
        let incident = self.incident()?;
        let Some(number) = missing else { return Ok(()) };
        match incident.missing.get(&number) {
            Some(so_far) if so_far.found_ms.is_none() => Ok(()),
            Some(_) => refuse("I110", format!("missing person {number} is found already"), "choose another"),
            None => refuse("I110", format!("there is no missing person {number}"), "choose one of the list"),
        }
    }
}
