//! Places ashore, who is missing, sightings: what was told, in words.

use super::View;
use super::clock::clock;
use crate::event::DayOpened;
use crate::report::Where;
use crate::screen::{AshorePlace, MissingWords, SightingWords};
use crate::state::SightingSoFar;
use search::WitnessClass;
use water::Units;

impl View<'_> {
    /// Places ashore and when they were looked at; those told besides come last.
    pub(crate) fn ashore(&self) -> Vec<AshorePlace> {
        let Some(day) = &self.state.day else { return Vec::new() };
        let incident = self.state.open();
        let looked = |name: &String| {
            let own = incident.and_then(|i| i.shore.iter().find(|(n, _)| n.eq_ignore_ascii_case(name)));
            own.map(|(_, at)| *at).max(incident.and_then(|i| i.shore_all_ms))
        };
        let mut all: Vec<AshorePlace> = day
            .ashore
            .iter()
            .map(|name| AshorePlace { name: name.clone(), looked_ms: looked(name) })
            .collect();
        for (name, at_ms) in incident.iter().flat_map(|i| &i.shore) {
            if !day.ashore.iter().any(|known| known.eq_ignore_ascii_case(name)) {
                all.push(AshorePlace { name: name.clone(), looked_ms: Some(*at_ms) });
            }
        }
        all
    }

    /// Who is missing, as told.
    pub(crate) fn missing(&self) -> Vec<MissingWords> {
        let Some(incident) = self.incident() else { return Vec::new() };
        let all = incident.missing.iter().map(|(&number, so_far)| {
            let mut words = self
                .names
                .missing(incident.number, number)
                .map_or_else(|| format!("missing person {number}"), String::from);
            if let Some(height_m) = so_far.height_m {
                words.push_str(&format!(", {}", incident.day.units.height(height_m)));
            }
            match so_far.swimmer {
                Some(true) => words.push_str(", swims"),
                Some(false) => words.push_str(", does not swim"),
                None => {}
            }
            MissingWords { missing: number, words, found_ms: so_far.found_ms }
        });
        all.collect()
    }

    /// Sightings so far, with what is still to be asked.
    pub(crate) fn sightings(&self) -> Vec<SightingWords> {
        let Some(incident) = self.incident() else { return Vec::new() };
        let all = incident.sightings.iter().map(|(&number, so_far)| SightingWords {
            number,
            words: sighting_words(so_far, &incident.day, self.near(number)),
            ask: ask(so_far),
        });
        all.collect()
    }

    /// Where a sighting puts them, by the nearest mark.
    fn near(&self, number: u32) -> Option<&str> {
        self.thought_of_now()?.seen_near.get(&number).map(String::as_str)
    }
}

/// Where, when, by whom.
fn sighting_words(so_far: &SightingSoFar, day: &DayOpened, near: Option<&str>) -> String {
    let offset_s = day.utc_offset_s;
    let place = match (&so_far.place, near) {
        (None, _) => "place not told".to_string(),
        (Some(Where::Point { .. }), Some(near)) => near.to_string(),
        (Some(place), _) => place_words(place, day.units),
    };
    let time = match so_far.between_ms {
        None => "time not told".to_string(),
        Some([from, to]) if to - from < 1000 => clock(to, offset_s),
        Some([from, to]) => format!("{} to {}", clock(from, offset_s), clock(to, offset_s)),
    };
    let class = match so_far.class {
        None => "",
        Some(WitnessClass::Companion) => ", companion",
        Some(WitnessClass::Guard) => ", guard",
        Some(WitnessClass::Distant) => ", from farther off",
    };
    let stood = so_far.stood.as_ref().map(|stood| format!(", stood at {stood}")).unwrap_or_default();
    let under = if so_far.went_under == Some(true) { ", saw them go under" } else { "" };
    format!("{place}, {time}{class}{stood}{under}")
}

pub(crate) fn place_words(place: &Where, units: Units) -> String {
    match place {
        Where::Point { spot, .. } => {
            let way = |m: f64, ahead: &str, back: &str| {
                format!("{} {}", units.distance(m.abs()), if m < 0.0 { back } else { ahead })
            };
            let (east, north) = (way(spot.east, "east", "west"), way(spot.north, "north", "south"));
            format!("on the map {east} and {north} of its origin")
        }
        Where::Mark { name } => format!("at {name}"),
        Where::Bearing { from, bearing, range_m } => {
            let far = range_m.map(|m| format!(", {}", units.distance(m))).unwrap_or_default();
            format!("from {from}, bearing {bearing}{far}")
        }
        Where::Area { name } => format!("somewhere in {name}"),
        Where::Nowhere => "nobody saw them in the water".into(),
    }
}

fn ask(so_far: &SightingSoFar) -> Vec<String> {
    let open = [
        ("place", so_far.place.is_none()),
        ("time", so_far.between_ms.is_none()),
        ("class", so_far.class.is_none()),
        ("stood", so_far.stood.is_none() && !matches!(so_far.place, Some(Where::Nowhere))),
    ];
    open.into_iter().filter(|(_, open)| *open).map(|(name, _)| name.to_string()).collect()
}
