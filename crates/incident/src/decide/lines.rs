//! Judging what comes from the lines: orders said, dives, heads, metres, lanes.

use super::refusal::refuse;
use super::told::WORDS_MOST;
use super::{Case, Facts, Refusal, only};
use crate::event::Event;
use crate::names::tidy;
use crate::report::{OrderNumber, Person, Report};
use crate::state::{Incident, Known};

/// More heads than this are a slip of the finger, whoever is down.
const HEADS_MOST: u32 = 200;

/// So long after an order has taken the place of another, a touch may still be meant for the one before \[ms\].
const SEEN_MS: i64 = 2_000;

impl Case<'_> {
    pub(super) fn line(&self, report: &Report) -> Facts {
        let incident = self.incident()?;
        match report {
            Report::SaidIt { order } => {
                let known = self.order(incident, *order)?;
                if known.is_some_and(|known| known.withdrawn && known.said_ms.is_none()) {
                    return refuse(
                        "I121",
                        format!("order {order} was replaced by a newer one"),
                        "read the order on the screen now; if they have gone already, report what they did",
                    );
                }
                only(Event::OrderGiven { order: *order })
            }
            Report::NotNow { order } => {
                self.order(incident, *order)?;
                only(Event::OrderPutOff { order: *order })
            }
            Report::TheyAreDown { order } => {
                let known = self.diving(incident, *order)?;
                let down = known.map(|known| still_in(incident, known)).unwrap_or_default();
                only(Event::DiveBegan { order: *order, down })
            }
            Report::Headcount { order, up } => self.headcount(incident, *order, *up),
            Report::MetresWalked { order, metres } => {
                self.metres(self.order(incident, *order)?, Some(*metres))?;
                only(Event::MetresWalked { order: *order, metres: *metres })
            }
            Report::LaneWalked { order } => {
                self.line_order(incident, *order)?;
                only(Event::LaneWalked { order: *order })
            }
            Report::StoppedHere { order, metres } => {
                self.metres(self.line_order(incident, *order)?, *metres)?;
                only(Event::LaneStoppedShort { order: *order, metres: *metres })
            }
            Report::Contact { order, note } => {
                if let Some(order) = order {
                    self.order(incident, *order)?;
                }
                only(Event::ContactChecked { order: *order, note: tidy(note, WORDS_MOST) })
            }
            Report::BreakOff { order } => {
                let known = self.line_order(incident, *order)?;
                if known.is_some_and(|known| known.ended_ms.is_some()) {
                    return refuse(
                        "I122",
                        format!("order {order} has ended already"),
                        "look at the lines again",
                    );
                }
                only(Event::LaneBrokenOff { order: *order })
            }
            Report::FaceSeen { person, seen } => {
                if incident.short.iter().any(|short| short.down.contains(person)) {
                    return only(Event::FaceSeen { person: *person, seen: *seen });
                }
                refuse(
                    "I123",
                    "that person was not with the line that is short",
                    "choose a name of that line",
                )
            }
            Report::ShortLifted { order } => self.lifted(incident, *order),
            _ => refuse("I101", "this report is not known here", "bring the program up to date"),
        }
    }

    /// The order with this number; refused if none was given. Without any order in the log nothing can be judged.
    fn order<'b>(&self, incident: &'b Incident, number: OrderNumber) -> Result<Option<&'b Known>, Refusal> {
        match incident.orders.get(&number) {
            Some(known) if known.other_until_ms.is_some_and(|until_ms| self.at_ms < until_ms + SEEN_MS) => {
                refuse(
                    "I121",
                    format!("order {number} was replaced by a newer one"),
                    "read the order on the screen now; if they have gone already, report what they did",
                )
            }
            Some(known) => Ok(Some(known)),
            None if incident.orders.is_empty() => Ok(None),
            None => {
                refuse("I120", format!("order {number} has not been given"), "check the number of the order")
            }
        }
    }

    /// The same for the order of a line.
    fn line_order<'b>(
        &self,
        incident: &'b Incident,
        number: OrderNumber,
    ) -> Result<Option<&'b Known>, Refusal> {
        let known = self.order(incident, number)?;
        match known {
            Some(known) if known.shown.method.is_none() => refuse(
                "I124",
                format!("order {number} sends people to a post, not along a lane"),
                "choose a lane",
            ),
            _ => Ok(known),
        }
    }

    /// The same for an order that dives.
    fn diving<'b>(&self, incident: &'b Incident, number: OrderNumber) -> Result<Option<&'b Known>, Refusal> {
        let known = self.line_order(incident, number)?;
        match known {
            Some(known) if !known.dives_under() => {
                refuse("I125", format!("order {number} is not diving"), "choose the line that dives")
            }
            _ => Ok(known),
        }
    }

    fn headcount(&self, incident: &Incident, number: OrderNumber, up: Option<u32>) -> Facts {
        let known = self.diving(incident, number)?;
        let short = incident.short.iter().find(|short| short.order == number);
        let down: Vec<Person> = match (short, known) {
            (Some(short), _) => short.down.clone(),
            (None, Some(known)) => {
                known.down.as_ref().map_or_else(|| still_in(incident, known), |(_, down)| down.clone())
            }
            (None, None) => Vec::new(),
        };
        let expected = down.len() as u32;
        // Nothing here says how many are expected: the count must come from the water.
        if up.is_some_and(|up| up > HEADS_MOST || (known.is_some() && up > expected)) {
            return refuse(
                "I126",
                "that is more heads than this line has",
                "count again and type what is called",
            );
        }
        let mut events = vec![Event::HeadcountTaken { order: number, up, down: expected }];
        if let Some(up) = up.filter(|up| *up < expected && short.is_none()) {
            events.push(Event::CountCameShort { order: number, up, down });
        }
        Ok((events, Vec::new()))
    }

    fn metres(&self, known: Option<&Known>, metres: Option<f64>) -> Result<(), Refusal> {
        let Some(metres) = metres else { return Ok(()) };
        let length_m = known.map_or(f64::MAX, |known| known.shown.from.distance(known.shown.to));
        // A pace more or less is no mistake.
        if !metres.is_finite() || metres < 0.0 || metres > (1.25 * length_m + 10.0).min(5000.0) {
            let units = self.state.units();
            let most = if length_m < 5000.0 {
                format!("this lane is {} long", units.distance(length_m))
            } else {
                "too long".into()
            };
            let what = format!("{} cannot be: {most}", units.told(metres));
            return refuse("I127", what, "give how far from its start");
        }
        Ok(())
    }

    fn lifted(&self, incident: &Incident, number: OrderNumber) -> Facts {
        let Some(short) = incident.short.iter().find(|short| short.order == number) else {
            return refuse(
                "I123",
                format!("order {number} is not short of a head"),
                "look at the screen again",
            );
        };
        if short.down.iter().any(|person| !short.seen.contains(person)) {
            return refuse(
                "I128",
                "not every face of that line has been seen",
                "recount; touch each name as it is seen",
            );
        }
        only(Event::ShortCountLifted { order: number, heads: short.down.len() as u32 })
    }
}

/// Who of an order's line has not dropped out.
fn still_in(incident: &Incident, known: &Known) -> Vec<Person> {
    let gone = |who: &Person| incident.people.iter().any(|p| p.person == *who && p.left.is_some());
    known.shown.people.iter().copied().filter(|who| !gone(who)).collect()
}
