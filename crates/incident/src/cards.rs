//! The morning's cards: first orders for every zone and square of water, worked out before anybody is missing.
//!
//! A card is a function of site, day and the figures in [`MorningCards`]: who has the log can make every card again, so the
//! log holds only that they were made. The one for a place is chosen here as every phone chooses it.
//! Start reading at [`MorningCards`].

use crate::opening::{Water, marked};
use crate::report::Where;
use crate::state::Incident;
use measure::{Seed, Spot};
use search::Setting;
use search::orders::{Order, near};
use search::zero::{Morning, Place, Zero, order_zero, squares, zones};
use serde::{Deserialize, Serialize};
use water::{Day, Flow};

/// What the morning's cards were made with.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct MorningCards {
    /// How many squares of water have one; none while only those of the zones are there.
    pub squares: u32,
    /// Time of day an alarm was taken to come at \[s after midnight\].
    pub at_s: f64,
    /// Height of the person who would be missing \[m\].
    pub height_m: f64,
}

impl MorningCards {
    /// The card of a place.
    ///
    /// # Inputs
    /// - `water` · `day`: of the morning, with its crew and floats · `place`
    ///
    /// # Gives
    /// The same every time.
    ///
    /// # Source
    /// [`order_zero`]
    pub fn card(&self, water: &Water, day: &Day, place: &Place) -> Zero {
        let flow = Flow::from_floats(&day.floats).value;
        let setting = Setting { site: &water.site, day, ground: &water.ground, flow: &flow };
        let morning = Morning { alarm_at_s: self.at_s, missing_height_m: self.height_m, seed: Seed(0) };
        order_zero(&setting, place, morning)
    }

    /// The card that is read for where somebody was last seen, with the words for its place.
    ///
    /// The nearest square of a point or a mark, the zone of an area, and the first zone for whoever cannot say: as the phones do.
    ///
    /// # Inputs
    /// - `incident`: with its first sighting · `water`
    ///
    /// # Gives
    /// None without a card for it.
    ///
    /// # Source
    /// docs/handbook/alarm-room.md
    pub(crate) fn read(&self, incident: &Incident, water: &Water) -> Option<(String, Zero)> {
        let day = marked(&incident.day);
        let still = Flow::from_floats(&[]).value;
        let setting = Setting { site: &water.site, day: &day, ground: &water.ground, flow: &still };
        let told = incident.sightings.get(&1)?.place.as_ref()?;
        let spot = self.spot(told, water);
        let (name, place) = match spot.and_then(|spot| self.square(spot, water)) {
            Some(middle) => (near(&water.site, middle), Place::cell(middle)),
            None => {
                let mut all = zones(&setting);
                let named =
                    |(name, _): &(String, Place)| matches!(told, Where::Area { name: n } if n == name);
                let index = all.iter().position(named).unwrap_or(0);
                (index < all.len()).then(|| all.swap_remove(index))?
            }
        };
        let zero = self.card(water, &day, &place);
        Some((name, zero))
    }

    /// The one place that was told, if it is one.
    fn spot(&self, told: &Where, water: &Water) -> Option<Spot> {
        let mark = |name: &str| water.site.named(name).map(|feature| feature.shape.middle());
        match told {
            Where::Point { spot, .. } => Some(*spot),
            Where::Mark { name } => mark(name),
            Where::Bearing { from, bearing, range_m: Some(range_m) } => {
                Some(mark(from)? + Spot::towards(*bearing, *range_m))
            }
            Where::Bearing { .. } | Where::Area { .. } | Where::Nowhere => None,
        }
    }

    fn square(&self, spot: Spot, water: &Water) -> Option<Spot> {
        let all = squares(&water.ground);
        // Cards of another water, or of another program's squares, are nobody's here.
        let known = self.squares as usize == all.len();
        let far = |a: &Spot, b: &Spot| a.distance(spot).total_cmp(&b.distance(spot));
        all.into_iter().filter(|_| known).min_by(far)
    }
}

/// An order of a card as it is read on a phone: to whom, at most three lines, and how a line stands.
///
/// # Inputs
/// - `order`
///
/// # Gives
/// The words; a person's mark stays as it is.
///
/// # Source
/// docs/handbook/alarm-room.md
pub fn card_words(order: &Order) -> crate::screen::Words {
    crate::show::order_words(order)
}
