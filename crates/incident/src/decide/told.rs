//! Judging what is told: alarm, sightings, who is missing, the current.

use super::refusal::refuse;
use super::{Case, Facts, only};
use crate::event::Event;
use crate::names::{NameNote, tidy};
use crate::report::{Ago, Report, Where};
use crate::state::Incident;
use measure::Spot;

/// Most sightings and most missing people that are kept apart.
const MOST: u32 = 40;
/// Farthest place that can belong to a site \[m\].
const FAR_M: f64 = 20_000.0;
/// Longest ago that a sighting may be \[s\].
const AGO_MOST_S: f64 = 86_400.0;
/// Letters of a remark that are kept.
pub(super) const WORDS_MOST: usize = 400;

impl Case<'_> {
    pub(super) fn told(&self, report: &Report) -> Facts {
        match report {
            Report::SwimmerMissing { practice } => {
                only(Event::SwimmerReportedMissing { practice: *practice })
            }
            Report::Sighting { .. } => self.sighting(report),
            Report::KindTold { kind } => only(Event::AlarmKindTold { kind: *kind }),
            Report::MissingTold { missing, height_m, swimmer, words } => {
                let incident = self.incident()?;
                let known = incident.missing.keys().max().copied().unwrap_or(0);
                if *missing == 0 || *missing > known + 1 || *missing > MOST {
                    let remedy = format!("the next missing person is number {}", known + 1);
                    return refuse("I110", format!("there is no missing person {missing}"), remedy);
                }
                if let Some(height_m) = height_m.filter(|h| !(0.4..=2.3).contains(h)) {
                    let units = self.state.units();
                    let what = format!("a height of {} cannot be", units.height(height_m));
                    let remedy = format!("give {} to {}", units.height(0.4), units.height(2.3));
                    return refuse("I111", what, remedy);
                }
                let words = words.as_deref().map(|words| tidy(words, WORDS_MOST)).filter(|w| !w.is_empty());
                let event = Event::MissingDescribed {
                    missing: *missing,
                    height_m: *height_m,
                    swimmer: *swimmer,
                    words: words.is_some(),
                };
                let note = words.map(|words| NameNote::Missing {
                    incident: incident.number,
                    missing: *missing,
                    words,
                });
                Ok((vec![event], note.into_iter().collect()))
            }
            Report::CurrentMeasured { from, to, seconds } => {
                self.near(*from)?;
                self.near(*to)?;
                let speed_mps = from.distance(*to) / seconds;
                if !(5.0..=7200.0).contains(seconds) || speed_mps > 5.0 {
                    let what = format!(
                        "{} in {seconds} s is no float",
                        self.state.units().distance(from.distance(*to))
                    );
                    return refuse("I112", what, "give both places and the seconds between, 5 or more");
                }
                only(Event::CurrentMeasured { from: *from, to: *to, seconds: *seconds })
            }
            Report::Note { words } => match tidy(words, WORDS_MOST) {
                words if words.is_empty() => refuse("I113", "the remark is empty", "write a few words"),
                words => only(Event::NoteMade { words }),
            },
            _ => refuse("I101", "this report is not known here", "bring the program up to date"),
        }
    }

    pub(super) fn incident(&self) -> Result<&Incident, super::Refusal> {
        match self.state.open() {
            Some(incident) => Ok(incident),
            None => refuse("I105", "no search is running", "hold Swimmer missing if somebody is"),
        }
    }

    fn sighting(&self, report: &Report) -> Facts {
        let Report::Sighting { number, place, ago, class, stood, went_under, talked_with, missing } = report
        else {
            return refuse("I101", "this report is no sighting", "send it again");
        };
        let incident = self.incident()?;
        if *number == 0 || *number > MOST {
            return refuse("I114", format!("there is no sighting {number}"), "number them from 1");
        }
        if let Some(place) = place {
            self.place(place)?;
        }
        if let Some(stood) = stood {
            self.mark(stood)?;
        }
        if let Some(person) = missing.filter(|person| !incident.missing.contains_key(person)) {
            let remedy = "tell of them under Who is missing first";
            return refuse("I110", format!("there is no missing person {person}"), remedy);
        }
        let between_ms = ago.map(|ago| self.moments(ago)).transpose()?;
        let talked_with = talked_with.clone().map(|mut all| {
            all.retain(|other| other != number && *other <= MOST);
            all.truncate(MOST as usize);
            all
        });
        only(Event::SightingGiven {
            number: *number,
            place: place.clone(),
            between_ms,
            class: *class,
            stood: stood.clone(),
            went_under: *went_under,
            talked_with,
            missing: *missing,
        })
    }

    /// Earliest and latest moment of something so long ago.
    fn moments(&self, ago: Ago) -> Result<[i64; 2], super::Refusal> {
        let known = (0.0..=AGO_MOST_S).contains(&ago.from_s) && (0.0..=AGO_MOST_S).contains(&ago.to_s);
        if !known || ago.from_s > ago.to_s {
            let what = format!("{} to {} s ago cannot be", ago.from_s, ago.to_s);
            return refuse("I115", what, "give the shorter time first, at most a day");
        }
        Ok([ago.to_s, ago.from_s].map(|s| self.at_ms - (s * 1000.0).round() as i64))
    }

    fn place(&self, place: &Where) -> Result<(), super::Refusal> {
        match place {
            Where::Point { spot, error_m } => {
                self.near(*spot)?;
                match error_m {
                    Some(error_m) if !(0.1..=2000.0).contains(error_m) => {
                        let units = self.state.units();
                        let what = format!("an error of {} cannot be", units.told(*error_m));
                        let remedy = format!("give {} to {}", units.told(0.1), units.told(2000.0));
                        refuse("I116", what, remedy)
                    }
                    _ => Ok(()),
                }
            }
            Where::Mark { name } => self.mark(name),
            Where::Bearing { from, bearing, range_m } => {
                self.mark(from)?;
                if !bearing.degrees().is_finite() || range_m.is_some_and(|m| !(0.5..=5000.0).contains(&m)) {
                    let [least, most] = [0.5, 5000.0].map(|metres| self.state.units().told(metres));
                    let remedy = format!("give degrees, and a distance of {least} to {most} or none");
                    return refuse("I116", "this direction or distance cannot be", remedy);
                }
                Ok(())
            }
            Where::Area { name } => self.one_of(name, |day| &day.areas, "area"),
            Where::Nowhere => Ok(()),
        }
    }

    fn near(&self, spot: Spot) -> Result<(), super::Refusal> {
        if spot.is_finite() && spot.length() <= FAR_M {
            return Ok(());
        }
        refuse("I116", "the place is nowhere near this site", "touch the map again")
    }

    pub(super) fn mark(&self, name: &str) -> Result<(), super::Refusal> {
        self.one_of(name, |day| &day.marks, "mark")
    }

    fn one_of(
        &self,
        name: &str,
        list: impl Fn(&crate::event::DayOpened) -> &Vec<String>,
        kind: &str,
    ) -> Result<(), super::Refusal> {
        let Some(day) = &self.state.day else {
            return refuse("I103", "no day is open", "open the site and the day of this morning");
        };
        let known = list(day);
        if known.iter().any(|other| other.eq_ignore_ascii_case(name.trim())) {
            return Ok(());
        }
        let remedy = match known.len() {
            0 => "touch the map instead".to_string(),
            _ => format!("name one of: {}", known.join(", ")),
        };
        refuse("I117", format!("{:?} is no {kind} of this site", tidy(name, 60)), remedy)
    }
}
