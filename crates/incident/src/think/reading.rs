//! What people told, as the search takes it: an incident's sightings and missing person as an alarm.

use crate::report::Where;
use crate::state::{Incident, SightingSoFar};
use measure::parameters::value;
use search::{Alarm, AlarmKind, Missing, Seen, Sighting, WitnessClass};
use water::{Shape, Site};

/// What to call the witness of a sighting.
pub(crate) fn witness(number: u32) -> String {
    format!("sighting {number}")
}

/// The alarm as told so far.
///
/// Sightings without a place or a time do not count yet; one that names another missing person than `who` does not
/// count for this one.
pub(crate) fn alarm(incident: &Incident, site: &Site, who: u32) -> Alarm {
    let of = |so_far: &SightingSoFar| so_far.missing.is_none_or(|missing| missing == who);
    let sightings = incident
        .sightings
        .iter()
        .filter(|(_, so_far)| of(so_far))
        .filter_map(|(&number, so_far)| sighting(incident, site, number, so_far))
        .collect();
    let person = incident.missing.get(&who).copied().unwrap_or_default();
    Alarm {
        kind: incident.kind.unwrap_or(AlarmKind::CountShort),
        at_s: incident.clock_s(incident.alarm_at_ms),
        missing: Missing {
            height_m: person.height_m.unwrap_or_else(|| value("height_missing_m")),
            swimmer: person.swimmer,
        },
        sightings,
    }
}

/// One alarm for each who is missing still; of everybody if all are found or nobody knows who was.
pub(crate) fn alarms(incident: &Incident, site: &Site) -> Vec<Alarm> {
    let open = |(_, so_far): &(&u32, &crate::state::MissingSoFar)| so_far.found_ms.is_none();
    let mut who: Vec<u32> = incident.missing.iter().filter(open).map(|(&number, _)| number).collect();
    if who.is_empty() {
        who = incident.missing.keys().copied().collect();
    }
    who.into_iter().map(|number| alarm(incident, site, number)).collect()
}

fn sighting(incident: &Incident, site: &Site, number: u32, so_far: &SightingSoFar) -> Option<Sighting> {
    let between_ms = so_far.between_ms?;
    let spot = |name: &str| site.named(name).map(|feature| feature.shape.middle());
    let stood = so_far.stood.as_deref().and_then(spot);
    let seen = match so_far.place.as_ref()? {
        Where::Point { spot, error_m } => Seen::Point { spot: *spot, error_m: *error_m, stood },
        Where::Mark { name } => Seen::Point { spot: spot(name)?, error_m: None, stood },
        Where::Bearing { from, bearing, range_m } => Seen::Bearing {
            stood: spot(from)?,
            bearing: *bearing,
            error_deg: None,
            range_m: *range_m,
            by_mark: false,
        },
        Where::Area { name } => match &site.named(name)?.shape {
            Shape::Area(rings) => Seen::Area { name: name.clone(), rings: rings.clone() },
            shape => Seen::Point { spot: shape.middle(), error_m: None, stood },
        },
        Where::Nowhere => return None,
    };
    let [from_s, to_s] = between_ms.map(|ms| incident.since_s(ms));
    Some(Sighting {
        by: witness(number),
        class: so_far.class.unwrap_or(WitnessClass::Distant),
        seen,
        heading: None,
        from_s,
        to_s,
        went_under: so_far.went_under.unwrap_or(false),
        talked_with: so_far.talked_with.iter().map(|&other| witness(other)).collect(),
    })
}
