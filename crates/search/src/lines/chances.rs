//! The chance that each way of searching finds a person it passes over, before a crew has drilled.

use super::contact;
use crate::{Detection, Method};
use measure::parameters::value;

/// How a wading line holds on to each other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Grip {
    /// Linked hands: wide, the default.
    Hands,
    /// Linked elbows: close, for water that pushes.
    Elbows,
}

impl Grip {
    /// Spacing of the people \[m\].
    pub fn spacing_m(self) -> f64 {
        value(match self {
            Grip::Hands => "spacing_hands_m",
            Grip::Elbows => "spacing_elbows_m",
        })
    }
}

/// Chances on firm and on rough bottom.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Chances {
    /// Sand, mud.
    pub firm: Detection,
    /// Weed, rock.
    pub rough: Detection,
}

/// Chances of every method for a missing person of a given height, by [`Method::index`].
///
/// Lines: contact model. Lone guard and pole: the chance of touch alone, since how much of the disc
/// was felt over is in the sweep ([`super::lone_chance`]). Looking: the register's.
///
/// # Inputs
/// - `grip`: of the wading line · `height_m`: of the missing person \[m\], not above zero counts as an adult
///
/// # Gives
/// Beta of a crew that has not drilled, per method.
///
/// # Source
/// derived here (contact model); touch chances assumed
pub fn chances(grip: Grip, height_m: f64) -> [Chances; 5] {
    let adult_m = value("body_length_m");
    let length_m = if height_m > 0.0 && height_m.is_finite() { height_m.min(2.5) } else { adult_m };
    let width_m = value("body_width_m") * length_m / adult_m;
    let line = |spacing_m: f64, reach_m: f64, touch: f64| {
        Detection::undrilled(contact(spacing_m, reach_m, length_m, width_m, touch, value("contact_cap")))
    };
    let foot = |touch: &str| line(grip.spacing_m(), value("reach_foot_m"), value(touch));
    let hand = line(value("spacing_dive_m"), value("reach_arm_m"), value("touch_hand"));
    let flat =
        |chance: f64| Chances { firm: Detection::undrilled(chance), rough: Detection::undrilled(chance) };
    let mut all = [flat(0.0); 5];
    all[Method::Wade.index()] = Chances { firm: foot("touch_foot_firm"), rough: foot("touch_foot_rough") };
    all[Method::Dive.index()] = Chances { firm: hand, rough: hand };
    all[Method::Alone.index()] = flat(value("contact_cap"));
    all[Method::Look.index()] = flat(value("look_chance"));
    all[Method::Pole.index()] = flat(value("touch_pole"));
    all
}

#[cfg(test)]
mod tests {
    use super::*;

    // shows: LN-14
    #[test]
    fn closer_grip_larger_person_and_firmer_bottom_find_more() {
        let mean = |grip, height_m, method: Method| chances(grip, height_m)[method.index()].firm.mean();
        assert!(mean(Grip::Elbows, 1.7, Method::Wade) > mean(Grip::Hands, 1.7, Method::Wade));
        assert!(mean(Grip::Hands, 1.7, Method::Wade) > mean(Grip::Hands, 1.2, Method::Wade));
        let wade = chances(Grip::Hands, 1.7)[Method::Wade.index()];
        assert!(wade.firm.mean() > wade.rough.mean());
        assert_eq!(chances(Grip::Hands, f64::NAN), chances(Grip::Hands, 1.7));
    }

    #[test]
    fn few_steps_are_as_good_as_many() {
        let exact = super::super::contact(1.3, 0.4, 1.7, 0.35, 0.7, 0.95);
        assert!((chances(Grip::Hands, 1.7)[0].firm.mean() - exact).abs() < 1e-4, "{exact}");
    }
}
