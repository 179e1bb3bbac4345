//! Places in words: by the nearest named mark, with distance and direction where none is near.

use measure::{Bearing, Spot};
use water::{Site, Units};

/// So near a mark, the mark itself is the place \[m\].
const AT_M: f64 = 3.0;
/// A mark this far off the way still shows the way \[degrees\].
const AHEAD_DEG: f64 = 12.0;
/// Metres in a foot.
const FOOT_M: f64 = 0.3048;

/// The marks of a site, and the marker of this search.
pub(super) struct Places<'a> {
    marks: Vec<(&'a str, Spot)>,
    marker: Spot,
    units: Units,
}

impl<'a> Places<'a> {
    pub fn new(site: &'a Site, marker: Spot) -> Self {
        Places { marks: site.marks(), marker, units: site.units }
    }

    /// `12 metres`, `40 feet`.
    pub fn length(&self, metres: f64) -> String {
        match self.units {
            Units::Metric => plural((metres.round().max(1.0)) as u64, "metre", "metres"),
            Units::Feet => plural((metres / FOOT_M).round().max(1.0) as u64, "foot", "feet"),
        }
    }

    /// A place by the nearest mark: `Jetty end`, `12 metres north of Jetty end`; by the marker if that is nearer.
    pub fn name(&self, spot: Spot) -> String {
        self.nearest(spot, true)
    }

    /// The same by the site's marks alone: for the place of the marker itself.
    pub fn by_marks(&self, spot: Spot) -> String {
        self.nearest(spot, false)
    }

    fn nearest(&self, spot: Spot, with_marker: bool) -> String {
        let own = with_marker.then_some(("the marker", self.marker));
        let near = self
            .marks
            .iter()
            .copied()
            .chain(own)
            .min_by(|a, b| a.1.distance(spot).total_cmp(&b.1.distance(spot)));
        match near {
            None => format!("east {:.0}, north {:.0} on the map", spot.east, spot.north),
            Some((name, place)) if place.distance(spot) <= AT_M => name.to_string(),
            Some((name, place)) => {
                format!("{} {} of {name}", self.length(place.distance(spot)), place.bearing_to(spot).word())
            }
        }
    }

    /// `at Jetty end`, or `12 metres north of Jetty end`.
    pub fn at(&self, spot: Spot) -> String {
        let name = self.name(spot);
        if name.starts_with(|c: char| c.is_ascii_digit()) { name } else { format!("at {name}") }
    }

    /// A mark that shows the way: ahead within a few degrees, the nearest that is not where one stands.
    pub fn ahead(&self, from: Spot, way: Bearing) -> Option<&'a str> {
        self.marks
            .iter()
            .filter(|(_, place)| {
                let far = from.distance(*place);
                far > 2.0 * AT_M && from.bearing_to(*place).angle_to(way) <= AHEAD_DEG
            })
            .min_by(|a, b| {
                let off = |place: Spot| from.bearing_to(place).angle_to(way);
                off(a.1).total_cmp(&off(b.1))
            })
            .map(|(name, _)| *name)
    }
}

fn plural(count: u64, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
