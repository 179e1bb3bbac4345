//! What follows from the log: a plain fold over its entries.
//!
//! Applying an entry asks nothing and never fails; what it does not know it keeps.
//! Start reading at [`State::apply`].

mod apply;
mod incident;

pub(crate) use incident::clock_s;
pub use incident::{Incident, Known, MissingSoFar, PersonSoFar, Phase, ShortCount, SightingSoFar};

use crate::cards::MorningCards;
use crate::chain::{self, Digest};
use crate::decide::Sender;
use crate::event::{DayOpened, Entry, Event};
use crate::report::{Person, Role};
use std::collections::BTreeMap;
use std::sync::Arc;
use water::Day;

/// Everything that is known from the log.
#[derive(Clone, Debug, Default)]
pub struct State {
    /// Last entry.
    pub seq: u64,
    /// When it was recorded.
    pub recorded_at_ms: i64,
    /// Digest of its line.
    pub head: Digest,
    /// The day, once opened.
    pub day: Option<Arc<DayOpened>>,
    /// The incident that runs, or the last one.
    pub incident: Option<Incident>,
    /// The morning's cards, once made for this day.
    pub cards: Option<MorningCards>,
    /// How many incidents the log holds.
    pub incidents: u32,
    /// Role and person of each device that took one.
    pub devices: BTreeMap<String, (Role, Option<Person>)>,
    /// Next free number for a person.
    pub next_person: Person,
    /// Services called before any incident, entries of a later program and remarks between incidents.
    pub loose: Vec<Arc<Entry>>,
}

/// A day on which one of the crew, and nobody else, leads.
///
/// # Inputs
/// - `day` · `lead`: place in its crew
///
/// # Gives
/// The same day but for who may lead.
///
/// # Source
/// docs/handbook/alarm-room.md
pub fn led_by(day: &Day, lead: usize) -> Day {
    let mut day = day.clone();
    day.crew.iter_mut().enumerate().for_each(|(k, member)| member.lead = k == lead);
    day
}

impl State {
    /// Takes in the next entry of the log.
    pub fn apply(&mut self, entry: &Entry) {
        self.head = chain::digest(&chain::line(entry, &self.head));
        self.seq = entry.seq;
        self.recorded_at_ms = self.recorded_at_ms.max(entry.recorded_at_ms);
        self.take_people(&entry.event);
        match &entry.event {
            Event::DayOpened(day) => (self.day, self.cards) = (Some(Arc::new((**day).clone())), None),
            Event::CardsMade(cards) => self.cards = Some(*cards),
            Event::RoleTaken { role, person } => self.take_role(&entry.device, *role, *person),
            Event::SwimmerReportedMissing { practice } if !self.is_open() => {
                if let Some(day) = &self.day {
                    self.incidents += 1;
                    let alarm = (self.incidents, entry.happened_at_ms, *practice);
                    self.incident = Some(Incident::open((self.led(day), self.cards), alarm));
                }
            }
            _ => {}
        }
        match &mut self.incident {
            Some(incident) if !matches!(entry.event, Event::DayOpened(_)) => {
                incident.apply(&Arc::new(entry.clone()));
            }
            _ => self.loose.push(Arc::new(entry.clone())),
        }
    }

    /// Sets the digest of the last line where the log itself is the better witness of it.
    pub fn set_head(&mut self, head: Digest) {
        self.head = head;
    }

    /// Whether an incident runs.
    pub fn is_open(&self) -> bool {
        self.incident.as_ref().is_some_and(|incident| incident.phase != Phase::Ended)
    }

    /// The incident, if one runs.
    pub fn open(&self) -> Option<&Incident> {
        self.incident.as_ref().filter(|incident| incident.phase != Phase::Ended)
    }

    /// Units in which people read: those of the incident's site, or of the day's.
    pub fn units(&self) -> water::Units {
        let day = self.incident.as_ref().map(|incident| &incident.day).or(self.day.as_ref());
        day.map_or_else(water::Units::default, |day| day.units)
    }

    /// Who a device is: the role it took; else in charge as long as no device took that; else recorder.
    pub fn sender(&self, device: &str) -> Sender {
        let (role, person) = self.devices.get(device).copied().unwrap_or_else(|| {
            let led = self.devices.values().any(|(role, _)| *role == Role::Lead);
            (if led { Role::Recorder } else { Role::Lead }, None)
        });
        Sender { device: device.to_owned(), role, person }
    }

    /// Who took the lead by name, as a place in the day's crew.
    pub fn lead_index(&self) -> Option<usize> {
        let lead =
            self.devices.values().find(|(role, _)| *role == Role::Lead).and_then(|(_, person)| *person)?;
        self.day.as_ref()?.people.iter().position(|person| *person == lead)
    }

    /// The day with whoever took the lead as the one who gives the orders: nobody is in charge and in the water.
    fn led(&self, day: &Arc<DayOpened>) -> Arc<DayOpened> {
        match self.lead_index() {
            Some(lead) => Arc::new(DayOpened { day: led_by(&day.day, lead), ..(**day).clone() }),
            None => Arc::clone(day),
        }
    }

    fn take_role(&mut self, device: &str, role: Role, person: Option<Person>) {
        if role == Role::Lead {
            // There is one lead; whoever had it is ready to take it back.
            for (other, (held, _)) in &mut self.devices {
                if *held == Role::Lead && other != device {
                    *held = Role::Deputy;
                }
            }
        }
        self.devices.insert(device.to_owned(), (role, person));
    }

    fn take_people(&mut self, event: &Event) {
        let highest = match event {
            Event::DayOpened(day) => day.people.iter().max().copied(),
            Event::PeopleCame { people } => people.iter().map(|arrival| arrival.person).max(),
            _ => None,
        };
        self.next_person = self.next_person.max(highest.map_or(0, |person| person.saturating_add(1))).max(1);
    }
}
