//! The waters that plans are measured on: the demo site, and two Wisconsin lakes from their rasters.

use measure::{Bearing, Seed, Spot};
use search::belief::Belief;
use search::plan::{Crew, Request};
use search::{Alarm, AlarmKind, Missing, Seen, Setting, Sighting, WitnessClass};
use water::door::{SiteFiles, read_day, read_site};
use water::formats::raster::geotiff;
use water::{Bed, Day, Field, Flow, Frame, Grid, Ground, Limits, LonLat, Salinity, Site, Units, WaterKind};

macro_rules! data {
    ($name:literal) => {
        include_bytes!(concat!("../../data/", $name))
    };
}

/// Particles of a belief.
pub const PARTICLES: usize = 200_000;

/// A water with today's crew and an alarm on it.
pub struct Case {
    /// Short name for the tables.
    pub name: &'static str,
    site: Site,
    day: Day,
    ground: Ground,
    flow: Flow,
    alarm: Alarm,
    last_seen: Spot,
    crew: Vec<Crew>,
}

impl Case {
    fn new(name: &'static str, site: Site, day: Day, last_seen: Spot) -> Self {
        let ground = Ground::build(&site, day.stage_m).value;
        let flow = Flow::from_floats(&day.floats).value;
        let sighting = |by: &str, class, spot: Spot, error_m, at_s| Sighting {
            by: by.into(),
            class,
            seen: Seen::Point { spot, error_m: Some(error_m), stood: None },
            heading: None,
            from_s: at_s,
            to_s: at_s + 30.0,
            went_under: false,
            talked_with: Vec::new(),
        };
        let other = last_seen + Spot::new(9.0, 5.0);
        let alarm = Alarm {
            kind: AlarmKind::CountShort,
            at_s: 14.5 * 3600.0,
            missing: Missing { height_m: 1.4, swimmer: None },
            sightings: vec![
                sighting("cousin", WitnessClass::Companion, last_seen, 7.0, -150.0),
                sighting("guard", WitnessClass::Guard, other, 9.0, -120.0),
            ],
        };
        let crew = (0..day.crew.len())
            .map(|member| Crew {
                member,
                from_s: 0.0,
                at: last_seen + Spot::new(-25.0, -10.0),
                out: false,
                spent: None,
            })
            .collect();
        Case { name, site, day, ground, flow, alarm, last_seen, crew }
    }

    /// Water and day.
    pub fn setting(&self) -> Setting<'_> {
        Setting { site: &self.site, day: &self.day, ground: &self.ground, flow: &self.flow }
    }

    /// The belief to plan on, drawn afresh for every seed.
    pub fn belief(&self, seed: u64) -> Belief {
        let setting = self.setting();
        Belief::start(&setting, &self.alarm, Seed(seed), PARTICLES).value.broad(&setting, Seed(seed))
    }

    /// A request with this belief and effort.
    pub fn request<'a>(&'a self, belief: &'a Belief, effort: u64) -> Request<'a> {
        Request {
            setting: self.setting(),
            belief,
            crew: &self.crew,
            now_s: 0.0,
            alarm_at_s: self.alarm.at_s,
            last_seen: self.last_seen,
            missing_height_m: self.alarm.missing.height_m,
            before: None,
            seed: Seed(1),
            effort,
        }
    }
}

/// The three waters.
pub fn cases() -> Vec<Case> {
    let (site, day) = kestrel();
    let slab = site.frame.to_site(LonLat { lon: -3.100_18, lat: 54.500_12 });
    let mut all = vec![Case::new("Kestrel Tarn", site, day.clone(), slab)];
    for (name, tif, level_m) in [
        ("Pleasant Lake", &data!("real/wisconsin-lakes/pleasant_elevation.tif")[..], 299.92),
        ("Plainfield Lake", &data!("real/wisconsin-lakes/plainfield_elevation.tif")[..], 336.46),
    ] {
        let site = lake(name, tif, level_m);
        let mut day = day.clone();
        day.floats.clear();
        day.stage_m = 0.0;
        let place = waist_deep(&Ground::build(&site, 0.0).value);
        all.push(Case::new(name, site, day, place));
    }
    all
}

fn kestrel() -> (Site, Day) {
    let file = |name: &str, bytes: &[u8]| (name.to_string(), bytes.to_vec());
    let files = SiteFiles {
        files: vec![
            file("site.toml", data!("sites/kestrel-tarn/site.toml")),
            file("map.geojson", data!("sites/kestrel-tarn/map.geojson")),
            file("soundings.csv", data!("sites/kestrel-tarn/soundings.csv")),
        ],
    };
    let site = read_site(&files).value.expect("the demo site passes its own door");
    let day = read_day("day.toml", data!("sites/kestrel-tarn/day.toml"), &site).value;
    (site, day.expect("the demo day passes its own door"))
}

/// A lake raster as a site: heights turned into depths below the level.
fn lake(name: &str, tif: &[u8], level_m: f64) -> Site {
    let raster = geotiff(tif, None).expect("a published raster");
    let grid = Grid { corner: Spot::default(), cell_m: raster.cell[0], cols: raster.cols, rows: raster.rows };
    Site {
        name: name.into(),
        frame: Frame::new(LonLat { lon: -89.56, lat: 43.98 }),
        time_zone: "America/Chicago".into(),
        water_kind: WaterKind::Lake,
        salinity: Salinity::Fresh,
        stage_datum: "lake level".into(),
        datum_stage_m: 0.0,
        units: Units::Metric,
        emergency_number: "911".into(),
        plan_text: String::new(),
        flags: vec![],
        bed: Bed::Sand,
        limits: Limits::default(),
        features: vec![],
        soundings: vec![],
        raster: Some(Field { grid, values: raster.values.iter().map(|z| level_m - z).collect() }),
        hypsography: None,
        sounded_on: String::new(),
        heights: vec![],
    }
}

/// The first place, from the south, 1.2 m deep with deeper water farther out and shallower behind.
fn waist_deep(ground: &Ground) -> Spot {
    let depth = |spot: Spot| ground.grid.cell(spot).map_or(f64::NAN, |cell| ground.depth_m[cell]);
    (0..ground.grid.len())
        .map(|cell| ground.grid.centre(cell))
        .find(|&spot| {
            let (out, back) =
                (Spot::towards(Bearing::new(0.0), 15.0), Spot::towards(Bearing::new(180.0), 10.0));
            (1.1..1.3).contains(&depth(spot)) && depth(spot + out) > 1.6 && depth(spot + back) < 0.8
        })
        .expect("a shore that slopes")
}
