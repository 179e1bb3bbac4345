//! A site as surveyed: its shore, docks, ropes, posts, landmarks, bottom types, soundings and limits.

use crate::Frame;
use measure::Spot;
use serde::{Deserialize, Serialize};

/// What kind of water it is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum WaterKind {
    /// Lake, pond, reservoir.
    Lake,
    /// River or canal.
    River,
    /// Sea or estuary.
    Sea,
    /// Pool or lagoon with a made bottom.
    Pool,
}

/// Salt in the water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Salinity {
    /// Fresh.
    Fresh,
    /// Between.
    Brackish,
    /// Sea water.
    Salt,
}

/// Units shown to people; inside it is always metres.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Units {
    /// Metres.
    #[default]
    Metric,
    /// Feet and yards.
    Feet,
}

/// What lies on the bottom.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Bed {
    /// Sand or gravel.
    Sand,
    /// Mud or silt.
    Mud,
    /// Weed.
    Weed,
    /// Rock, boulders, stumps.
    Rock,
}

impl Bed {
    /// Share of persons on this bottom that no hand or foot finds (models B6).
    pub fn hidden_share(self) -> f64 {
        measure::parameters::value(match self {
            Bed::Sand => "hidden_sand",
            Bed::Mud => "hidden_mud",
            Bed::Weed => "hidden_weed",
            Bed::Rock => "hidden_rock",
        })
    }
}

/// How a dock or raft stands in the water.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Support {
    /// Filled to the bottom: no water under it.
    Solid,
    /// On piles: water under it.
    Piled,
    /// Floating: water under it.
    Floating,
}

/// What a feature is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Water surface at the datum stage (polygon; holes are islands).
    Water,
    /// Where bathing is allowed (polygon).
    BathingArea,
    /// Bottom type (polygon).
    Bottom(Bed),
    /// Dock or jetty (polygon).
    Dock(Support),
    /// Raft (polygon).
    Raft(Support),
    /// Rope of buoys (line).
    Rope,
    /// Guard post or stand (point).
    Post,
    /// Where rescue equipment hangs (point).
    KitPlace,
    /// Something everybody knows by name (point, or the middle of a shape).
    Landmark,
    /// Gate or way out on land (point).
    Gate,
    /// Where a thrower waits down-current (point).
    CatchPoint,
    /// Ground no searcher may enter: weir, intake, strainer (polygon, line or point).
    NoGo,
    /// Edge of a drop-off that wading lines keep off (line).
    DropOff,
}

/// The shape of a feature, in site metres.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub enum Shape {
    /// One place.
    Point(Spot),
    /// A line of at least two places.
    Line(Vec<Spot>),
    /// Polygons, each an outer ring then holes; rings closed (first place repeated last), not self-crossing.
    Area(Vec<Vec<Vec<Spot>>>),
}

impl Shape {
    /// A place to stand for the whole: the point itself, the middle of a line, the centroid of the largest outer ring.
    pub fn middle(&self) -> Spot {
        match self {
            Shape::Point(spot) => *spot,
            Shape::Line(places) => {
                let total: f64 = places.windows(2).map(|w| w[0].distance(w[1])).sum();
                let mut left = 0.5 * total;
                for pair in places.windows(2) {
                    let step = pair[0].distance(pair[1]);
                    if step >= left && step > 0.0 {
                        return pair[0].lerp(pair[1], left / step);
                    }
                    left -= step;
                }
                places.first().copied().unwrap_or_default()
            }
            Shape::Area(polygons) => polygons
                .iter()
                .filter_map(|rings| rings.first())
                .map(|ring| ring_centroid(ring))
                .max_by(|a, b| a.1.total_cmp(&b.1))
                .map(|(spot, _)| spot)
                .unwrap_or_default(),
        }
    }
}

/// Centroid and area of a closed ring.
fn ring_centroid(ring: &[Spot]) -> (Spot, f64) {
    let Some(&base) = ring.first() else { return (Spot::default(), 0.0) };
    let (mut twice, mut sum) = (0.0, Spot::default());
    for pair in ring.windows(2) {
        let (a, b) = (pair[0] - base, pair[1] - base);
        let cross = a.cross(b);
        twice += cross;
        sum = sum + (a + b) * cross;
    }
    if twice.abs() < 1e-9 {
        return (base, 0.0);
    }
    (base + sum * (1.0 / (3.0 * twice)), 0.5 * twice.abs())
}

/// One thing on the map.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Feature {
    /// Name as called over the radio; unique among named features of a site.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Where it is.
    pub shape: Shape,
}

/// One measured depth.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Sounding {
    /// Where.
    pub spot: Spot,
    /// Depth below the site's datum level \[m\], positive down.
    pub depth_m: f64,
}

/// Site planning values: limits the site has set, with the defaults of the register otherwise.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Limits {
    /// Deepest wading \[m\]; the chest of whoever stands there also limits.
    pub wade_depth_m: f64,
    /// Depth × speed at which no line is sent \[m²/s\].
    pub wade_product_stop_m2ps: f64,
    /// Deepest surface dive of the site \[m\]; a diver's own limit also limits.
    pub dive_depth_m: f64,
    /// Distance kept from drop-offs and no-go ground \[m\].
    pub keep_off_m: f64,
    /// Longest time in which a guard must be anywhere in a bathing area \[s\].
    pub reach_s: f64,
    /// Least depth for a head-first entry \[m\].
    pub head_first_depth_m: f64,
}

impl Default for Limits {
    fn default() -> Self {
        use measure::parameters::value;
        Limits {
            wade_depth_m: value("wade_depth_limit_m"),
            wade_product_stop_m2ps: value("wade_product_stop_m2ps"),
            dive_depth_m: value("dive_stop_depth_m"),
            keep_off_m: value("keep_off_m"),
            reach_s: value("reach_limit_s"),
            head_first_depth_m: value("head_first_depth_m"),
        }
    }
}

/// A site after the door: every value checked, every place in site metres.
#[derive(Clone, Debug, PartialEq)]
pub struct Site {
    /// Name.
    pub name: String,
    /// Ties site metres to longitude and latitude.
    pub frame: Frame,
    /// IANA time zone, such as `Europe/London`.
    pub time_zone: String,
    /// Kind of water.
    pub water_kind: WaterKind,
    /// Salt.
    pub salinity: Salinity,
    /// What the stage is read against: words for people.
    pub stage_datum: String,
    /// Stage at which soundings have their depth \[m\].
    pub datum_stage_m: f64,
    /// Units shown.
    pub units: Units,
    /// Local emergency number.
    pub emergency_number: String,
    /// The local emergency action plan in a few lines.
    pub plan_text: String,
    /// Meaning of each flag here: (flag, meaning).
    pub flags: Vec<(String, String)>,
    /// Bottom where no bottom polygon says otherwise.
    pub bed: Bed,
    /// Limits.
    pub limits: Limits,
    /// Everything on the map.
    pub features: Vec<Feature>,
    /// Soundings that are used, after outliers were set aside.
    pub soundings: Vec<Sounding>,
    /// A bed raster instead of, or beside, soundings: depth below datum \[m\], NaN outside.
    pub raster: Option<crate::Field<f64>>,
    /// The raster's own cells, for area and volume to the digit: resampling to site metres would spoil them.
    pub hypsography: Option<crate::Hypsography>,
    /// Newest date of a sounding, as written; empty if none is given.
    pub sounded_on: String,
    /// Heights over the water at the datum stage that the map tells, by the name of the feature \[m\]: of the eye for a post, of the
    /// top for a dock, a raft or a landmark.
    pub heights: Vec<(String, f64)>,
}

impl Site {
    /// The features of one kind.
    pub fn of_kind(&self, kind: Kind) -> impl Iterator<Item = &Feature> {
        self.features.iter().filter(move |feature| feature.kind == kind)
    }

    /// The feature called `name`, upper and lower case alike. No name is nobody's, and not that of the first thing without one.
    pub fn named(&self, name: &str) -> Option<&Feature> {
        let name = name.trim();
        self.features.iter().find(|f| !name.is_empty() && f.name.eq_ignore_ascii_case(name))
    }

    /// The height that the map tells of a feature \[m over the water at the datum stage\].
    pub fn height_m(&self, name: &str) -> Option<f64> {
        self.heights.iter().find(|(of, _)| of.eq_ignore_ascii_case(name)).map(|(_, m)| *m)
    }

    /// Names and places by which orders may point: posts, landmarks, docks, rafts, ropes' ends are not among them.
    pub fn marks(&self) -> Vec<(&str, Spot)> {
        self.features
            .iter()
            .filter(|f| {
                !f.name.is_empty()
                    && matches!(
                        f.kind,
                        Kind::Post
                            | Kind::Landmark
                            | Kind::KitPlace
                            | Kind::Gate
                            | Kind::Dock(_)
                            | Kind::Raft(_)
                    )
            })
            .map(|f| (f.name.as_str(), f.shape.middle()))
            .collect()
    }
}
