//! The water of a log: site and bottom at the stage of the day, shared by all who look at it.

use crate::event::DayOpened;
use crate::event::Event;
use crate::names::{NameNote, Names, mark};
use crate::report::Person;
use crate::state::State;
use std::sync::Arc;
use water::{Day, Ground, Kind, Shape, Site};

/// Site and bottom.
#[derive(Clone, Debug)]
pub struct Water {
    /// The site.
    pub site: Arc<Site>,
    /// Its bottom at the stage of the day.
    pub ground: Arc<Ground>,
}

impl Water {
    /// The bottom of a site at a stage.
    ///
    /// # Inputs
    /// - `site` · `stage_m`: today's
    ///
    /// # Gives
    /// Both, to be shared.
    ///
    /// # Source
    /// [`Ground::build`]
    pub fn new(site: Site, stage_m: f64) -> Water {
        let ground = Ground::build(&site, stage_m).value;
        Water { site: Arc::new(site), ground: Arc::new(ground) }
    }
}

/// What a log begins with, beside site and day.
#[derive(Clone, Debug, PartialEq)]
pub struct Beginning {
    /// Digest of the site folder.
    pub site_digest: String,
    /// Version of the program and its models.
    pub version: String,
    /// Seed of the day's incidents.
    pub seed: u64,
    /// Local time minus UTC, by the time zone of the site \[s\].
    pub utc_offset_s: i32,
}

/// The entry that opens a day, with the names of its crew apart.
///
/// Whoever is in the list by name keeps their number; others get the next free ones.
///
/// # Inputs
/// - `known`: what the log holds so far, and its names · `site` · `day` · `beginning`
///
/// # Gives
/// The event and the names.
///
/// # Source
/// docs/handbook/alarm-room.md
pub fn opening(
    known: (&State, &Names),
    site: &Site,
    day: &Day,
    beginning: &Beginning,
) -> (Event, Vec<NameNote>) {
    let (state, names) = known;
    let mut next: Person = state.next_person.max(1);
    let mut people: Vec<Person> = Vec::new();
    let mut notes = Vec::new();
    let mut bare = day.clone();
    for member in &mut bare.crew {
        let person =
            names.number_of(&member.name).filter(|p| *p < next && !people.contains(p)).unwrap_or_else(|| {
                let free = next;
                next = next.saturating_add(1);
                free
            });
        notes.push(NameNote::Person { person, name: member.name.clone() });
        people.push(person);
        member.name = String::new();
    }
    let named = |feature: &&water::Feature| !feature.name.is_empty();
    let of = |wanted: &dyn Fn(&water::Feature) -> bool| -> Vec<String> {
        site.features.iter().filter(named).filter(|f| wanted(f)).map(|f| f.name.clone()).collect()
    };
    let opened = DayOpened {
        site: site.name.clone(),
        site_digest: beginning.site_digest.clone(),
        version: beginning.version.clone(),
        seed: beginning.seed,
        utc_offset_s: beginning.utc_offset_s,
        people,
        marks: of(&|f| f.kind != Kind::Water),
        areas: of(&|f| matches!(f.shape, Shape::Area(_)) && f.kind != Kind::Water),
        ashore: ashore(site),
        emergency: site.emergency_number.clone(),
        units: site.units,
        day: bare,
    };
    (Event::DayOpened(Box::new(opened)), notes)
}

/// Places ashore to look at: gates and landmarks on land of the site, then those that every place has.
fn ashore(site: &Site) -> Vec<String> {
    let mut all: Vec<String> =
        site.of_kind(Kind::Gate).map(|f| f.name.clone()).filter(|name| !name.is_empty()).collect();
    if all.is_empty() {
        all.push("Gate".into());
    }
    all.extend(["Changing rooms", "Shore and lawn", "Car park"].map(String::from));
    all
}

/// The day of an incident with marks in the place of names.
pub(crate) fn marked(opened: &DayOpened) -> Day {
    let mut day = opened.day.clone();
    for (member, person) in day.crew.iter_mut().zip(&opened.people) {
        member.name = mark(*person);
    }
    day
}
