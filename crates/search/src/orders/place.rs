//! Places in words: by the nearest named mark, with distance and direction where none is near.

use crate::Setting;
use measure::{Bearing, Spot};
use water::{FOOT_M, Site, Units};

/// So near a mark, the mark itself is the place \[m\].
const AT_M: f64 = 3.0;
/// A mark this far off the way still shows the way \[degrees\].
const AHEAD_DEG: f64 = 15.0;
/// A mark on land counts as so many times farther than one in or beside the water, where eyes already are.
const LAND_TIMES: f64 = 1.5;
/// So near the water a mark stands beside it \[m\].
const BESIDE_M: f64 = 6.0;

/// The marks of a site, and the marker of this search.
pub(super) struct Places<'a> {
    /// Name, place, whether it stands in or beside the water.
    marks: Vec<(&'a str, Spot, bool)>,
    marker: Spot,
    units: Units,
}

impl<'a> Places<'a> {
    pub fn new(setting: &Setting<'a>, marker: Spot) -> Self {
        let ground = setting.ground;
        let beside = |spot: Spot| {
            (0..8).any(|k| {
                let aside = Spot::towards(Bearing::new(45.0 * f64::from(k)), BESIDE_M);
                [spot, spot + aside * 0.5, spot + aside]
                    .into_iter()
                    .any(|place| ground.grid.cell(place).is_some_and(|cell| ground.is_water(cell)))
            })
        };
        let marks = setting.site.marks().into_iter().map(|(name, spot)| (name, spot, beside(spot))).collect();
        Places { marks, marker, units: setting.site.units }
    }

    /// The same without the water: every mark counts alike.
    pub fn of_site(site: &'a Site, marker: Spot) -> Self {
        let marks = site.marks().into_iter().map(|(name, spot)| (name, spot, true)).collect();
        Places { marks, marker, units: site.units }
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
        let own = with_marker.then_some(("the marker", self.marker, true));
        let far = |mark: &(&str, Spot, bool)| {
            let metres = mark.1.distance(spot);
            if mark.2 || metres <= AT_M { metres } else { LAND_TIMES * metres }
        };
        let near = self
            .marks
            .iter()
            .copied()
            .chain(own)
            .min_by(|a, b| far(a).total_cmp(&far(b)))
            .map(|(name, place, _)| (name, place));
        match near {
            None => self.beside_origin(spot),
            Some((name, place)) if place.distance(spot) <= AT_M => name.to_string(),
            Some((name, place)) => {
                format!("{} {} of {name}", self.length(place.distance(spot)), place.bearing_to(spot).word())
            }
        }
    }

    /// Without any mark on the map: from the origin that site.toml names.
    fn beside_origin(&self, spot: Spot) -> String {
        let origin = Spot::default();
        match origin.distance(spot) {
            metres if metres <= AT_M => "the site's origin".into(),
            metres => {
                format!("{} {} of the site's origin", self.length(metres), origin.bearing_to(spot).word())
            }
        }
    }

    /// `at Jetty end`, or `12 metres north of Jetty end`.
    pub fn at(&self, spot: Spot) -> String {
        let name = self.name(spot);
        if name.starts_with(|c: char| c.is_ascii_digit()) { name } else { format!("at {name}") }
    }

    /// `near Jetty end`, or `12 metres north of Jetty end`.
    pub fn near(&self, spot: Spot) -> String {
        let name = self.name(spot);
        if name.starts_with(|c: char| c.is_ascii_digit()) { name } else { format!("near {name}") }
    }

    /// A mark that shows the way: ahead within a few degrees, the nearest that is not where one stands.
    pub fn ahead(&self, from: Spot, way: Bearing) -> Option<&'a str> {
        self.marks
            .iter()
            .filter(|(_, place, _)| {
                let far = from.distance(*place);
                far > 2.0 * AT_M && from.bearing_to(*place).angle_to(way) <= AHEAD_DEG
            })
            .min_by(|a, b| {
                let off = |place: Spot| from.bearing_to(place).angle_to(way);
                off(a.1).total_cmp(&off(b.1))
            })
            .map(|(name, ..)| *name)
    }
}

fn plural(count: u64, one: &str, many: &str) -> String {
    format!("{count} {}", if count == 1 { one } else { many })
}
