//! Order zero: the first orders for a last-seen place, worked out in the morning with the crew of the day.
//!
//! A card says who does what before anybody has thought. When the alarm comes, the plan made then is held
//! against the card, and people are moved only where that is worth it. Start reading at [`order_zero`].

use crate::{
    Alarm, AlarmKind, Missing, Seen, Setting, Sighting, WitnessClass,
    belief::Belief,
    course::meeting_place,
    orders::{Order, orders},
    plan::{Crew, Plan, Request, check::check, plan},
};
use measure::{Seed, Spot, parameters::value};

/// A place for which first orders are wanted.
#[derive(Clone, Debug, PartialEq)]
pub struct Place {
    /// Last seen point: where the marker is dropped.
    pub last_seen: Spot,
    /// What is known of the place: a point with its error, or a zone.
    pub seen: Seen,
}

impl Place {
    /// The middle of a ten-metre cell: anywhere in it is as good.
    ///
    /// # Gives
    /// A point with the standard error of a cell and of a companion's pointing together.
    pub fn cell(middle: Spot) -> Self {
        // A square of side 10 m has a standard deviation of 10/√12 m per axis.
        let error_m = (100.0 / 12.0 + 7.0 * 7.0_f64).sqrt();
        Place { last_seen: middle, seen: Seen::Point { spot: middle, error_m: Some(error_m), stood: None } }
    }

    /// A zone, by its outlines: anywhere in it is as good.
    pub fn zone(name: &str, middle: Spot, rings: Vec<Vec<Vec<Spot>>>) -> Self {
        Place { last_seen: middle, seen: Seen::Area { name: name.into(), rings } }
    }
}

/// First orders for a place.
#[derive(Clone, Debug, PartialEq)]
pub struct Zero {
    /// The place.
    pub place: Place,
    /// The plan that the orders begin.
    pub plan: Plan,
    /// Posts, and the first lane of every line: what people do in the first minutes.
    pub orders: Vec<Order>,
}

impl Zero {
    /// Where the marker is dropped.
    pub fn marker(&self) -> Spot {
        self.place.last_seen
    }
}

/// For whom and when first orders are worked out.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Morning {
    /// Time of day an alarm is taken to come at \[s after midnight\].
    pub alarm_at_s: f64,
    /// Height of the person who would be missing \[m\].
    pub missing_height_m: f64,
    /// Seed of the day.
    pub seed: Seed,
}

/// Particles of a card: enough for the first lanes, few enough for every cell of a beach.
const PARTICLES: usize = 6_000;
/// Seconds before the alarm that the person was last seen.
const AGO_S: f64 = 120.0;

/// The first orders for a place, with whoever is on duty at their posts.
///
/// # Inputs
/// - `setting`: water and day · `place` · `morning`
///
/// # Gives
/// Orders as the plan of an alarm with nothing but this place known would give them. The same every time.
///
/// # Source
/// as [`plan`]; `AGO_S` and the height are assumed
pub fn order_zero(setting: &Setting, place: &Place, morning: Morning) -> Zero {
    let alarm = Alarm {
        kind: AlarmKind::CountShort,
        at_s: morning.alarm_at_s,
        missing: Missing { height_m: morning.missing_height_m, swimmer: None },
        sightings: vec![Sighting {
            by: "somebody".into(),
            class: WitnessClass::Companion,
            seen: place.seen.clone(),
            heading: None,
            from_s: -AGO_S,
            to_s: -AGO_S,
            went_under: false,
            talked_with: Vec::new(),
        }],
    };
    let belief = Belief::start(setting, &alarm, morning.seed, PARTICLES).value;
    let crew = at_posts(setting);
    let request = Request {
        setting: *setting,
        belief: &belief,
        crew: &crew,
        now_s: 0.0,
        alarm_at_s: morning.alarm_at_s,
        last_seen: place.last_seen,
        missing_height_m: morning.missing_height_m,
        before: None,
        seed: morning.seed,
        effort: Request::FIRST_EFFORT,
    };
    let plan = plan(&request);
    let first = |run: usize| {
        let team = plan.runs[run].team;
        plan.runs.iter().filter(|other| other.team == team).all(|other| other.from_s >= plan.runs[run].from_s)
    };
    let mut orders = orders(&plan, setting, morning.alarm_at_s);
    orders.retain(|order| order.post.is_some() || order.run.is_none_or(first));
    Zero { place: place.clone(), plan, orders }
}

/// Everybody of the day at their posts, or where people gather.
///
/// # Inputs
/// - `setting`
///
/// # Gives
/// One entry a member; who is off duty is left to the plan.
pub fn at_posts(setting: &Setting) -> Vec<Crew> {
    let hut = meeting_place(setting.site);
    let at = |post: &str| setting.site.named(post).map_or(hut, |feature| feature.shape.middle());
    let one = |(member, person): (usize, &water::Member)| Crew {
        member,
        from_s: 0.0,
        at: at(&person.post),
        out: false,
        spent: None,
    };
    setting.day.crew.iter().enumerate().map(one).collect()
}

/// Whether people stay with the card when the plan of the alarm is there.
#[derive(Clone, Debug, PartialEq)]
pub enum Stands {
    /// The card stays: the live plan is worth at most the threshold more.
    Keep {
        /// What the live plan would be worth more, as a share of the card's.
        gain: f64,
    },
    /// The live plan is ordered instead.
    Depart {
        /// What it is worth more, as a share of the card's; infinite where the card cannot be carried out.
        gain: f64,
        /// Why, in words.
        why: String,
    },
}

/// Holds a card against the plan of an alarm.
///
/// Both are priced on the raw particles of the live belief, and the card must still keep every rule with who is there.
///
/// # Inputs
/// - `zero` · `live`: the plan made for `request` · `request`
///
/// # Gives
/// Keep up to `keep_threshold` more, the same share at which orders that were given are changed; else depart.
///
/// # Source
/// assumed (`keep_threshold`)
pub fn stands(zero: &Zero, live: &Plan, request: &Request) -> Stands {
    let card = check(&zero.plan, request);
    if let Some(broken) = card.violations.first() {
        return Stands::Depart { gain: f64::INFINITY, why: broken.what.clone() };
    }
    let worth = check(live, request).value;
    let gain = if card.value > 0.0 {
        worth / card.value - 1.0
    } else if worth > 0.0 {
        f64::INFINITY
    } else {
        0.0
    };
    if gain <= value("keep_threshold") {
        return Stands::Keep { gain };
    }
    let why = if gain.is_finite() {
        format!("what is known now makes other orders worth {:.0} % more", 100.0 * gain)
    } else {
        "the card finds nothing of what is believed now".to_string()
    };
    Stands::Depart { gain, why }
}

/// Middles of the ten-metre cells of water within outlines, west to east, then south to north.
///
/// # Inputs
/// - `setting` · `rings`: polygons of rings, as of a bathing area
///
/// # Gives
/// Cells whose middle is water inside the outlines.
pub fn cells(setting: &Setting, rings: &[Vec<Vec<Spot>>]) -> Vec<Spot> {
    const SIDE_M: f64 = 10.0;
    let all = || rings.iter().flatten().flatten();
    let (mut low, mut high) =
        (Spot::new(f64::INFINITY, f64::INFINITY), Spot::new(f64::NEG_INFINITY, f64::NEG_INFINITY));
    for spot in all().filter(|spot| spot.is_finite()) {
        low = Spot::new(low.east.min(spot.east), low.north.min(spot.north));
        high = Spot::new(high.east.max(spot.east), high.north.max(spot.north));
    }
    let ground = setting.ground;
    let wet = |spot: Spot| ground.grid.cell(spot).is_some_and(|cell| ground.is_water(cell));
    let count = |metres: f64| (metres / SIDE_M).ceil().clamp(0.0, 1_000.0) as usize;
    let (cols, rows) = (count(high.east - low.east), count(high.north - low.north));
    (0..rows)
        .flat_map(|row| (0..cols).map(move |col| Spot::new(col as f64 + 0.5, row as f64 + 0.5) * SIDE_M))
        .map(|off| low + off)
        .filter(|&spot| wet(spot) && crate::belief::inside(rings, spot))
        .collect()
}
