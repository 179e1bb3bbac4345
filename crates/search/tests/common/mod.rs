//! Small waters, days, crews and beliefs made by hand for tests.
#![allow(dead_code)]

use measure::{Bearing, Seed, Spot};
use search::{
    Setting,
    belief::{Belief, Cloud, Masses},
    plan::{Crew, Request},
};
use water::*;

/// A world that owns what a request borrows.
#[derive(Clone)]
pub struct World {
    pub site: Site,
    pub day: Day,
    pub ground: Ground,
    pub flow: Flow,
    pub belief: Belief,
    pub crew: Vec<Crew>,
    pub last_seen: Spot,
}

impl World {
    pub fn setting(&self) -> Setting<'_> {
        Setting { site: &self.site, day: &self.day, ground: &self.ground, flow: &self.flow }
    }

    pub fn request(&self) -> Request<'_> {
        Request {
            setting: self.setting(),
            belief: &self.belief,
            crew: &self.crew,
            now_s: 0.0,
            alarm_at_s: 14.0 * 3600.0 + 38.0 * 60.0 + 40.0,
            last_seen: self.last_seen,
            missing_height_m: 1.7,
            before: None,
            seed: Seed(7),
            effort: Request::FIRST_EFFORT,
        }
    }
}

pub fn member(name: &str, height_m: f64) -> Member {
    Member {
        name: name.into(),
        height_m,
        wade: true,
        dive_m: Some(4.0),
        board: false,
        lookout: false,
        lead: false,
        volunteer: false,
        post: String::new(),
        hours: Vec::new(),
    }
}

/// Lead, lookout, and searchers: `count` people, the first may lead and watch, the second may watch.
pub fn crew(count: usize) -> Vec<Member> {
    const NAMES: [&str; 12] =
        ["Ruth", "Tom", "Ines", "Ali", "Mo", "Kit", "Ada", "Ben", "Cleo", "Dov", "Eve", "Finn"];
    (0..count)
        .map(|k| Member {
            lead: k == 0,
            lookout: k < 3,
            ..member(NAMES[k % NAMES.len()], 1.66 + 0.03 * (k % 7) as f64)
        })
        .collect()
}

pub fn day(crew: Vec<Member>) -> Day {
    Day {
        date: "2026-07-14".into(),
        stage_m: 0.0,
        wind_mps: 2.0,
        wind_from: Bearing::new(270.0),
        water_c: 21.0,
        secchi_m: 1.0,
        floats: Vec::new(),
        crew,
        kit: Kit { tubes: 3, masks: 2, poles: 1, markers: 2, ..Kit::default() },
        assumed: Vec::new(),
    }
}

pub fn square(east: f64, north: f64, side: f64) -> Shape {
    let at = |e: f64, n: f64| Spot::new(east + e * side, north + n * side);
    Shape::Area(vec![vec![vec![at(0.0, 0.0), at(1.0, 0.0), at(1.0, 1.0), at(0.0, 1.0), at(0.0, 0.0)]]])
}

pub fn feature(name: &str, kind: Kind, shape: Shape) -> Feature {
    Feature { name: name.into(), kind, shape }
}

pub fn site(features: Vec<Feature>) -> Site {
    Site {
        name: "Test water".into(),
        frame: Frame::new(LonLat { lon: -3.0, lat: 54.5 }),
        time_zone: "Europe/London".into(),
        water_kind: WaterKind::Lake,
        salinity: Salinity::Fresh,
        stage_datum: "outlet board".into(),
        datum_stage_m: 0.0,
        units: Units::Metric,
        emergency_number: "112".into(),
        plan_text: String::new(),
        flags: Vec::new(),
        bed: Bed::Sand,
        limits: Limits::default(),
        features,
        soundings: Vec::new(),
        raster: None,
        hypsography: None,
        sounded_on: String::new(),
        heights: Vec::new(),
    }
}

/// Cells of 1 m, `cols` × `rows`, with a depth for every place.
pub fn ground(cols: usize, rows: usize, depth: impl Fn(Spot) -> f64) -> Ground {
    let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols, rows };
    let depth_m: Vec<f64> = (0..grid.len()).map(|c| depth(grid.centre(c))).collect();
    Ground {
        grid,
        stage_m: 0.0,
        cover: depth_m.iter().map(|&d| if d > 0.0 { Cover::Open } else { Cover::Land }).collect(),
        bed: vec![Bed::Sand; grid.len()],
        to_sounding_m: vec![1.0; grid.len()],
        beyond: vec![false; grid.len()],
        keep_off: vec![false; grid.len()],
        notes: Vec::new(),
        depth_m,
    }
}

/// Normal heaps of particles on the water: (middle, spread per axis, share).
pub fn belief(ground: &Ground, heaps: &[(Spot, f64, f64)], count: usize) -> Belief {
    belief_by(ground, heaps, count, Seed(11))
}

/// The same, drawn by a seed.
pub fn belief_by(ground: &Ground, heaps: &[(Spot, f64, f64)], count: usize, seed: Seed) -> Belief {
    let mut draws = seed.stream("test cloud").draws();
    let mut cloud = Cloud::default();
    let mut tries = 0;
    while cloud.east.len() < count && tries < 50 * count {
        tries += 1;
        let mut pick = draws.u01();
        let heap = heaps.iter().find(|h| {
            pick -= h.2;
            pick <= 0.0
        });
        let &(middle, spread, _) = heap.unwrap_or(&heaps[heaps.len() - 1]);
        let spot = middle + Spot::new(draws.normal() * spread, draws.normal() * spread);
        let Some(cell) = ground.grid.cell(spot).filter(|&c| ground.is_water(c)) else { continue };
        cloud.east.push(spot.east);
        cloud.north.push(spot.north);
        cloud.rest_s.push((-150.0 + 60.0 * draws.u01()) as f32);
        cloud.bed.push(ground.bed[cell]);
    }
    let bottom = 0.85;
    let n = cloud.east.len();
    cloud.mass = vec![bottom / n.max(1) as f64; n];
    cloud.prior = cloud.mass.clone();
    Belief::from_cloud(cloud, Masses { bottom, afloat: 0.06, ashore: 0.02, elsewhere: 0.07 })
}

/// Everybody at a place from the alarm on.
pub fn at_hand(count: usize, at: Spot) -> Vec<Crew> {
    (0..count).map(|member| Crew { member, from_s: 0.0, at, out: false, spent: None }).collect()
}

/// Marks of the test waters.
pub fn marks() -> Vec<Feature> {
    vec![
        feature("Tower", Kind::Post, Shape::Point(Spot::new(40.0, 4.0))),
        feature("Jetty end", Kind::Landmark, Shape::Point(Spot::new(60.0, 20.0))),
        feature("Raft", Kind::Raft(Support::Floating), square(78.0, 38.0, 4.0)),
        feature("Gate", Kind::Gate, Shape::Point(Spot::new(20.0, 0.5))),
    ]
}

/// A lake beach 150 × 120 m: shore along the south, depth growing to 5 m, a raft, two witnesses.
pub fn beach(people: usize, particles: usize) -> World {
    let mut ground = ground(150, 120, |s| ((s.north - 5.0) * 0.045).clamp(-1.0, 5.0));
    for cell in 0..ground.grid.len() {
        let spot = ground.grid.centre(cell);
        if (78.0..82.0).contains(&spot.east) && (38.0..42.0).contains(&spot.north) {
            ground.cover[cell] = Cover::Under;
        }
    }
    let heaps = [(Spot::new(70.0, 34.0), 9.0, 0.6), (Spot::new(92.0, 50.0), 12.0, 0.4)];
    let belief = belief(&ground, &heaps, particles);
    World {
        site: site(marks()),
        day: day(crew(people)),
        flow: Flow::Still,
        belief,
        crew: at_hand(people, Spot::new(40.0, 4.0)),
        last_seen: Spot::new(70.0, 34.0),
        ground,
    }
}
