//! Judging who comes, goes, is counted, takes a role.

use super::refusal::refuse;
use super::{Case, Facts, only};
use crate::event::{Arrival, Event};
use crate::names::{NameNote, tidy};
use crate::report::{Comer, Person, Report};
use measure::parameters::value;

/// Most people in one report, and in all.
const MOST: usize = 60;
/// Most people of one incident.
const PEOPLE_MOST: usize = 400;

impl Case<'_> {
    pub(super) fn people(&self, report: &Report) -> Facts {
        match report {
            Report::PeopleCame { people } => self.came(people),
            Report::PeopleLeft { people, why } => {
                self.known(people)?;
                only(Event::PeopleLeft { people: people.clone(), why: *why })
            }
            Report::CountedOut { people } if people.is_empty() => {
                only(Event::SearchersCountedOut { people: self.incident()?.in_water_at(self.at_ms) })
            }
            Report::CountedOut { people } => {
                self.known(people)?;
                only(Event::SearchersCountedOut { people: people.clone() })
            }
            Report::RoleTaken { role, person } => {
                if let (Some(person), Some(day)) = (person, &self.state.day) {
                    let came = self.state.incident.as_ref().is_some_and(|i| i.index_of(*person).is_some());
                    if !came && !day.people.contains(person) {
                        return refuse(
                            "I130",
                            format!("there is no person {person}"),
                            "choose a name of the list",
                        );
                    }
                }
                only(Event::RoleTaken { role: *role, person: *person })
            }
            _ => refuse("I101", "this report is not known here", "bring the program up to date"),
        }
    }

    fn known(&self, people: &[Person]) -> Result<(), super::Refusal> {
        let incident = self.incident()?;
        if people.is_empty() || people.len() > PEOPLE_MOST {
            return refuse("I130", "nobody is named", "choose who");
        }
        match people.iter().find(|person| incident.index_of(**person).is_none()) {
            Some(person) => {
                refuse("I130", format!("there is no person {person}"), "choose a name of the list")
            }
            None => Ok(()),
        }
    }

    fn came(&self, comers: &[Comer]) -> Facts {
        let incident = self.incident()?;
        if comers.is_empty() || comers.len() > MOST || incident.people.len() + comers.len() > PEOPLE_MOST {
            return refuse(
                "I131",
                format!("{} people at once cannot be", comers.len()),
                "name 1 to 60 at a time",
            );
        }
        let (mut people, mut names) = (Vec::new(), Vec::new());
        for (k, comer) in comers.iter().enumerate() {
            let person = self.state.next_person.max(1).saturating_add(k as u32);
            let name = match (tidy(&comer.name, 60), comer.tag) {
                (name, _) if !name.is_empty() => name,
                (_, Some(tag)) => format!("tag {tag}"),
                _ => return refuse("I131", "somebody came without a name", "give a name or a tag number"),
            };
            let height_m = comer.height_m.unwrap_or_else(|| value("height_guard_m"));
            if !(1.2..=2.3).contains(&height_m) || comer.dive_m.is_some_and(|m| !(0.0..=30.0).contains(&m)) {
                let units = self.state.units();
                let what = format!("height {} or dive depth of {name} cannot be", units.height(height_m));
                let [short, tall] = [1.2, 2.3].map(|metres| units.height(metres));
                let deepest = units.told(30.0);
                let remedy = format!("give heights of {short} to {tall} and dive depths of 0 to {deepest}");
                return refuse("I111", what, remedy);
            }
            if let Some(at) = &comer.at {
                self.mark(at)?;
            }
            // A volunteer wades and no more.
            let volunteer = comer.tag.is_some();
            people.push(Arrival {
                person,
                height_m,
                wade: comer.wade || volunteer,
                dive_m: comer.dive_m.filter(|m| *m > 0.0 && !volunteer),
                lookout: comer.lookout && !volunteer,
                tag: comer.tag,
                at: comer.at.clone(),
            });
            names.push(NameNote::Person { person, name });
        }
        Ok((vec![Event::PeopleCame { people }], names))
    }
}
