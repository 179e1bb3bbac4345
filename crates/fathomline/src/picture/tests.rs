//! A rich invented camp lake, and what every picture must hold to.

use super::*;
use measure::{Bearing, Seed, Spot};
use search::belief::{Cloud, Masses};
use search::plan::{Gap, Leg, Plan, Role, Run, Team};
use search::*;
use water::*;

/// Everything a scene borrows.
pub struct Camp {
    pub site: Site,
    pub ground: Ground,
    pub day: Day,
    pub flow: Flow,
    pub alarm: Alarm,
    pub cloud: Cloud,
    pub map: Field<f64>,
    pub regions: Vec<(f64, f64)>,
    pub plan: Plan,
    pub searched: Vec<Searched>,
}

/// One faces the water towards this bearing.
const FACING: f64 = 300.0;

/// The place `right` along the beach and `out` from it.
pub fn at(right: f64, out: f64) -> Spot {
    Spot::towards(Bearing::new(FACING), out) + Spot::towards(Bearing::new(FACING + 90.0), right)
}

fn back(spot: Spot) -> (f64, f64) {
    let (o, r) = (Spot::towards(Bearing::new(FACING), 1.0), Spot::towards(Bearing::new(FACING + 90.0), 1.0));
    (spot.dot(r), spot.dot(o))
}

fn feature(name: &str, kind: Kind, shape: Shape) -> Feature {
    Feature { name: name.into(), kind, shape }
}

fn area(places: &[(f64, f64)]) -> Shape {
    let mut ring: Vec<Spot> = places.iter().map(|&(r, o)| at(r, o)).collect();
    ring.push(ring[0]);
    Shape::Area(vec![vec![ring]])
}

fn line(places: &[(f64, f64)]) -> Shape {
    Shape::Line(places.iter().map(|&(r, o)| at(r, o)).collect())
}

fn shore(right: f64) -> f64 {
    -4.0 + 0.0016 * right * right + 1.5 * (right * 0.05).sin()
}

fn depth_m(right: f64, out: f64) -> f64 {
    let off = out - shore(right);
    let hole = 2.2 * (-((right - 20.0) / 18.0).powi(2) - ((out - 62.0) / 9.0).powi(2)).exp();
    0.055 * off + 0.35 * (right * 0.04).sin() * (off / 40.0).min(1.0) + hole
}

pub fn site() -> Site {
    let mut water: Vec<(f64, f64)> =
        (-120..=120).step_by(4).map(|r| (f64::from(r), shore(f64::from(r)))).collect();
    water.extend([(125.0, 60.0), (90.0, 105.0), (20.0, 122.0), (-60.0, 112.0), (-120.0, 75.0)]);
    let stream = Seed(3).stream("soundings");
    let mut soundings = Vec::new();
    for k in 0..700_u64 {
        let (r, o) = (-115.0 + 230.0 * stream.u01(2 * k), 118.0 * stream.u01(2 * k + 1));
        let blind = (r - 70.0).hypot(o - 55.0) < 17.0 || (r + 85.0).hypot(o - 50.0) < 15.0;
        if o > shore(r) && !blind && o < 100.0 {
            soundings.push(Sounding { spot: at(r, o), depth_m: depth_m(r, o) });
        }
    }
    Site {
        name: "Kestrel Tarn".into(),
        frame: Frame::new(LonLat { lon: 10.93, lat: 47.41 }),
        time_zone: "Europe/Berlin".into(),
        water_kind: WaterKind::Lake,
        salinity: Salinity::Fresh,
        stage_datum: "gauge board at the boathouse".into(),
        datum_stage_m: 0.0,
        units: Units::Metric,
        emergency_number: "112".into(),
        plan_text: String::new(),
        flags: vec![],
        bed: Bed::Sand,
        limits: Limits::default(),
        features: vec![
            feature("tarn", Kind::Water, area(&water)),
            feature(
                "beach",
                Kind::BathingArea,
                area(&[(-75.0, 3.0), (75.0, 5.0), (70.0, 68.0), (-66.0, 70.0)]),
            ),
            feature(
                "Jetty",
                Kind::Dock(Support::Piled),
                area(&[
                    (-44.0, -6.0),
                    (-40.0, -6.0),
                    (-40.0, 27.0),
                    (-26.0, 27.0),
                    (-26.0, 31.0),
                    (-44.0, 31.0),
                ]),
            ),
            feature(
                "Raft",
                Kind::Raft(Support::Floating),
                area(&[(6.0, 50.0), (12.0, 50.0), (12.0, 56.0), (6.0, 56.0)]),
            ),
            feature(
                "Swim rope",
                Kind::Rope,
                line(&[(-66.0, 3.0), (-62.0, 66.0), (0.0, 74.0), (64.0, 64.0), (72.0, 4.0)]),
            ),
            feature("Shallow rope", Kind::Rope, line(&[(-40.0, 17.0), (70.0, 19.0)])),
            feature("Drop-off", Kind::DropOff, line(&[(-10.0, 52.0), (15.0, 47.0), (50.0, 55.0)])),
            feature("Weir", Kind::NoGo, area(&[(100.0, 20.0), (115.0, 22.0), (115.0, 40.0), (102.0, 38.0)])),
            feature("Tower", Kind::Post, Shape::Point(at(8.0, -12.0))),
            feature("Willow post", Kind::Post, Shape::Point(at(55.0, -6.0))),
            feature("Jetty post", Kind::Post, Shape::Point(at(-35.0, 29.0))),
            feature("Birch", Kind::Landmark, Shape::Point(at(82.0, 0.0))),
            feature("Boathouse", Kind::Landmark, Shape::Point(at(-62.0, -10.0))),
            feature("Gate 2", Kind::Gate, Shape::Point(at(-15.0, -20.0))),
            feature("Kit", Kind::KitPlace, Shape::Point(at(16.0, -14.0))),
        ],
        soundings,
        raster: None,
        hypsography: None,
        sounded_on: "2026-07-03".into(),
        heights: Vec::new(),
    }
}

pub fn ground(site: &Site) -> Ground {
    let grid = Grid { corner: Spot::new(-170.0, -170.0), cell_m: 1.0, cols: 340, rows: 340 };
    let Shape::Area(water) = &site.features[0].shape else { panic!("water is an area") };
    let mut ground = Ground {
        grid,
        stage_m: 0.12,
        depth_m: vec![f64::NAN; grid.len()],
        cover: vec![Cover::Land; grid.len()],
        bed: vec![Bed::Sand; grid.len()],
        to_sounding_m: vec![f32::INFINITY; grid.len()],
        beyond: vec![false; grid.len()],
        keep_off: vec![false; grid.len()],
        notes: vec!["no soundings beyond 100 m from the beach".into()],
    };
    for k in 0..grid.len() {
        let spot = grid.centre(k);
        if outline::ring_holds(&water[0][0], spot) {
            let (r, o) = back(spot);
            ground.depth_m[k] = depth_m(r, o) + 0.12;
            ground.cover[k] = Cover::Open;
            let near = site.soundings.iter().map(|s| s.spot.distance(spot)).fold(f64::INFINITY, f64::min);
            ground.to_sounding_m[k] = near as f32;
        }
    }
    ground
}

fn sweep(method: Method, (from, to): (Spot, Spot), width_m: f64, (from_s, to_s): (f64, f64)) -> Sweep {
    let chance = Detection::undrilled(0.7);
    Sweep {
        method,
        stretch: Stretch::Strip { from, to, width_m },
        steer_m: 0.5,
        firm: chance,
        rough: chance,
        from_s,
        to_s,
    }
}

fn run(
    team: usize,
    method: Method,
    ends: ((f64, f64), (f64, f64)),
    width_m: f64,
    (from_s, under_way): (f64, bool),
) -> Run {
    let (from, to) = (at(ends.0.0, ends.0.1), at(ends.1.0, ends.1.1));
    let legs = (0..10)
        .map(|k| {
            let k = f64::from(k);
            let piece = (from.lerp(to, k / 10.0), from.lerp(to, (k + 1.0) / 10.0));
            Leg {
                sweep: sweep(method, piece, width_m, (from_s + 30.0 * k, from_s + 30.0 * (k + 1.0))),
                depth_m: 2.0,
            }
        })
        .collect();
    Run {
        team,
        from,
        to,
        width_m,
        leaves_s: from_s - 40.0,
        from_s,
        to_s: from_s + 300.0,
        legs,
        gain: 0.1,
        shore_left: false,
        under_way,
    }
}

fn member(name: &str, post: &str) -> Member {
    Member {
        name: name.into(),
        height_m: 1.75,
        wade: true,
        dive_m: Some(4.0),
        board: true,
        lookout: true,
        lead: true,
        volunteer: false,
        post: post.into(),
        hours: vec![],
    }
}

fn team(method: Method, members: std::ops::Range<usize>, lookout: Option<usize>, width_m: f64) -> Team {
    Team {
        method,
        leader: members.start,
        members: members.collect(),
        lookout,
        spacing_m: 1.0,
        width_m,
        depth_from_m: 0.5,
        depth_to_m: 3.0,
        fins: false,
        formed_s: 60.0,
        forms_at: at(0.0, 0.0),
    }
}

pub fn plan() -> Plan {
    let (d, w) = (Method::Dive, Method::Wade);
    Plan {
        teams: vec![team(d, 0..7, Some(12), 8.0), team(w, 7..12, None, 7.0), team(d, 13..17, Some(17), 6.0)],
        jobs: vec![(18, Role::Lead, None), (19, Role::Lookout, None)],
        runs: vec![
            run(0, d, ((-18.0, 34.0), (16.0, 34.0)), 8.0, (250.0, true)),
            run(1, w, ((-32.0, 7.0), (46.0, 9.0)), 7.0, (330.0, true)),
            run(2, d, ((0.0, 44.0), (34.0, 44.0)), 6.0, (460.0, false)),
            run(0, d, ((18.0, 34.0), (50.0, 34.0)), 8.0, (600.0, false)),
            run(0, d, ((-18.0, 25.0), (26.0, 25.0)), 8.0, (900.0, false)),
        ],
        value: 0.4,
        ceiling: 0.5,
        found_by: vec![(180.0, 0.2)],
        gaps: vec![
            Gap {
                spot: at(9.0, 53.0),
                area_m2: 36.0,
                mass: 0.03,
                why: "under the raft: needs a mask, a light and a tether".into(),
            },
            Gap {
                spot: at(24.0, 63.0),
                area_m2: 420.0,
                mass: 0.006,
                why: "deeper than anybody here may dive".into(),
            },
        ],
        notes: vec!["nobody here may dive below 4.0 m".into()],
        ..Plan::default()
    }
}

fn seen(by: &str, spot: Spot, stood: Spot) -> Sighting {
    Sighting {
        by: by.into(),
        class: WitnessClass::Guard,
        seen: Seen::Point { spot, error_m: None, stood: Some(stood) },
        heading: None,
        from_s: -80.0,
        to_s: -50.0,
        went_under: true,
        talked_with: vec![],
    }
}

pub fn camp() -> Camp {
    let site = site();
    let ground = ground(&site);
    let mut draws = Seed(9).stream("cloud").draws();
    let mut cloud = Cloud::default();
    for k in 0..40_000 {
        let (middle, spread) =
            if k % 5 < 3 { ((-6.0, 34.0), (11.0, 6.0)) } else { ((16.0, 40.0), (16.0, 9.0)) };
        let spot = at(middle.0 + spread.0 * draws.normal(), middle.1 + spread.1 * draws.normal());
        if ground.grid.cell(spot).is_some_and(|c| ground.is_water(c)) {
            cloud.east.push(spot.east);
            cloud.north.push(spot.north);
        }
    }
    let n = cloud.len();
    cloud.mass = vec![0.65 / n as f64; n];
    cloud.prior = cloud.mass.clone();
    cloud.rest_s = vec![-60.0; n];
    cloud.bed = vec![Bed::Sand; n];
    let mut raw = Field::filled(ground.grid, 0.0);
    for k in 0..n {
        let cell = raw.grid.cell(Spot::new(cloud.east[k], cloud.north[k])).unwrap();
        raw.values[cell] += cloud.mass[k];
    }
    let masses = Masses { bottom: 1.0, afloat: 0.0, ashore: 0.0, elsewhere: 0.0 };
    let belief = search::belief::Belief::from_cloud(cloud.clone(), masses);
    let (map, area_m2) = (belief.smoothed(&raw.grid), raw.grid.cell_area_m2());
    let regions = belief.regions(&raw.grid, &[0.5, 0.8, 0.95]);
    let regions = regions.iter().map(|region| (region.share, region.density * area_m2)).collect();
    let names = [
        "Tove", "Anselm", "Bea", "Cato", "Dag", "Esra", "Fenn", "Sanna", "Gil", "Hanne", "Ivo", "Jory",
        "Idris", "Ines", "Callum", "Rhea", "Mats", "Beth", "Maren", "Łukasz",
    ];
    let posts = [
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "",
        "Jetty post",
        "",
        "",
        "",
        "",
        "",
        "Tower",
        "Willow post",
    ];
    let day = Day {
        date: "2026-07-08".into(),
        stage_m: 0.12,
        wind_mps: 2.0,
        wind_from: Bearing::new(200.0),
        water_c: 19.0,
        secchi_m: 1.4,
        floats: vec![],
        crew: names.iter().zip(posts).map(|(n, p)| member(n, p)).collect(),
        kit: Kit::default(),
        assumed: vec![],
    };
    let bearing = Sighting {
        seen: Seen::Bearing {
            stood: at(8.0, -12.0),
            bearing: at(8.0, -12.0).bearing_to(at(16.0, 38.0)),
            error_deg: None,
            range_m: Some(50.0),
            by_mark: false,
        },
        ..seen("Noor", Spot::default(), Spot::default())
    };
    Camp {
        flow: Flow::Uniform {
            velocity: Spot::towards(Bearing::new(5.0), 0.11),
            covariance: [1e-4, 0.0, 1e-4],
        },
        alarm: Alarm {
            kind: AlarmKind::SeenGoingUnder,
            at_s: 52_327.0,
            missing: Missing { height_m: 1.45, swimmer: Some(true) },
            sightings: vec![seen("Bram", at(-9.0, 33.0), at(-28.0, 29.0)), bearing],
        },
        searched: vec![Searched {
            number: 3,
            sweep: sweep(Method::Wade, (at(-20.0, 15.0), at(48.0, 16.0)), 7.0, (120.0, 290.0)),
            by: "Sanna".into(),
        }],
        plan: plan(),
        site,
        ground,
        day,
        cloud,
        map,
        regions,
    }
}

impl Camp {
    pub fn scene(&self) -> SearchScene<'_> {
        SearchScene {
            setting: Setting { site: &self.site, day: &self.day, ground: &self.ground, flow: &self.flow },
            alarm: &self.alarm,
            cloud: &self.cloud,
            masses: Masses { bottom: 0.65, afloat: 0.04, ashore: 0.18, elsewhere: 0.13 },
            map: Some(&self.map),
            regions: &self.regions,
            plan: &self.plan,
            numbers: &[1, 4, 5, 2, 6],
            searched: &self.searched,
            people: &[],
            now_s: 402.0,
            header: Header {
                title: "swimmer missing".into(),
                clock: "6:42".into(),
                now: "14:38:49".into(),
                alarm: "14:32:07".into(),
                say_next: Some("Ines's line, lane 5. Raft, face the birch. 10 dives together.".into()),
            },
            look: Look {
                date: "8 July 2026".into(),
                cautions: vec!["Drop-off behind the raft: wading lines keep 5 m off.".into()],
                ..Look::default()
            },
        }
    }
}

/// Well formed for a strict reader, and without a number that is none.
fn sound(svg: &str) {
    let options = resvg::usvg::Options::default();
    resvg::usvg::Tree::from_str(svg, &options)
        .unwrap_or_else(|e| panic!("{e}: {}", &svg[..svg.len().min(400)]));
    for bad in ["NaN", "inf\"", "inf ", "Infinity"] {
        let place = svg.find(bad);
        assert!(
            place.is_none(),
            "{bad} in the picture: {}",
            &svg[place.unwrap().saturating_sub(100)..][..130]
        );
    }
    assert!(svg.len() < 3_000_000, "{} bytes", svg.len());
}

/// Writes pictures to look at, where a folder is named; does nothing otherwise.
fn keep(name: &str, svg: &str, width: u32) {
    if let Ok(folder) = std::env::var("FATHOMLINE_PICTURES") {
        std::fs::write(format!("{folder}/{name}.svg"), svg).unwrap();
        std::fs::write(format!("{folder}/{name}.png"), png(svg, width).unwrap()).unwrap();
    }
}

#[test]
fn the_camp_lake_is_drawn_for_laptop_phone_dusk_and_paper() {
    let camp = camp();
    for (name, width, theme) in [
        ("laptop", 1000.0, Theme::Sun),
        ("phone", 390.0, Theme::Sun),
        ("dusk", 700.0, Theme::Dusk),
        ("print", 800.0, Theme::Print),
    ] {
        let mut scene = camp.scene();
        scene.look.width = width;
        scene.look.theme = theme;
        let (search, water) = (search_map(&scene), water_map(&camp.site, &camp.ground, &scene.look));
        keep(&format!("search-{name}"), &search, 2 * width as u32);
        keep(&format!("water-{name}"), &water, 2 * width as u32);
        sound(&search);
        sound(&water);
        for word in [
            ">1<",
            ">2<",
            ">3<",
            ">4<",
            ">5<",
            ">6<",
            "Say next",
            "Bram",
            "Noor",
            "on the bottom",
            "6:42",
            "under the raft",
        ] {
            assert!(search.contains(word), "{name}: {word}");
        }
        for word in ["Kestrel Tarn", "Jetty", "Tower", "Not trusted", "too deep to dive", "stage 0.12 m"] {
            assert!(water.contains(word), "{name}: {word}");
        }
    }
}

#[test]
fn strange_shapes_never_break_a_picture() {
    let mut camp = camp();
    let grid = Grid { corner: Spot::new(-30.0, -20.0), cell_m: 1.5, cols: 40, rows: 25 };
    for seed in 0..40 {
        let mut draws = Seed(seed).stream("strange").draws();
        let sizes = [0.0, 1e-9, 0.5, 40.0, 5000.0, 1e9, f64::INFINITY, f64::NAN];
        let spot = |draws: &mut measure::chance::Draws| {
            let size = sizes[if draws.u01() < 0.7 { 3 } else { draws.index(8) }];
            Spot::new(size * draws.between(-1.0, 1.0), size * draws.between(-1.0, 1.0))
        };
        let kinds = [
            Kind::Water,
            Kind::BathingArea,
            Kind::Dock(Support::Solid),
            Kind::Raft(Support::Piled),
            Kind::Rope,
            Kind::Post,
            Kind::Gate,
            Kind::CatchPoint,
            Kind::NoGo,
            Kind::DropOff,
        ];
        camp.site.features = (0..30)
            .map(|_| {
                let places: Vec<Spot> = (0..draws.index(6)).map(|_| spot(&mut draws)).collect();
                let shape = match draws.index(3) {
                    0 => Shape::Point(spot(&mut draws)),
                    1 => Shape::Line(places),
                    _ => Shape::Area(vec![vec![places], vec![]]),
                };
                feature("x", kinds[draws.index(kinds.len())], shape)
            })
            .collect();
        camp.site.soundings =
            (0..50).map(|k| Sounding { spot: spot(&mut draws), depth_m: f64::from(k) - 5.0 }).collect();
        for run in &mut camp.plan.runs {
            (run.from, run.to) = (spot(&mut draws), spot(&mut draws));
        }
        camp.alarm.sightings[0].seen =
            Seen::Area { name: "there".into(), rings: vec![vec![], vec![vec![spot(&mut draws)]]] };
        camp.ground.grid = grid;
        let cells = grid.len();
        camp.ground.depth_m = (0..cells).map(|_| draws.between(-1.0, 8.0)).collect();
        camp.ground.cover = vec![if seed % 3 == 0 { Cover::Land } else { Cover::Open }; cells];
        camp.ground.to_sounding_m = (0..cells).map(|_| draws.between(0.0, 30.0) as f32).collect();
        let mut scene = camp.scene();
        scene.look.width = [0.0, 390.0, 1000.0, 1e9][seed as usize % 4];
        sound(&search_map(&scene));
        sound(&water_map(&camp.site, &camp.ground, &scene.look));
        let _ = (crate::export::geojson(&scene), crate::export::gpx(&scene).unwrap());
    }
}

#[test]
fn the_same_scene_gives_the_same_picture() {
    let camp = camp();
    assert_eq!(search_map(&camp.scene()), search_map(&camp.scene()));
}

#[test]
fn yellow_is_only_for_what_to_say_next_and_there_is_no_red() {
    let camp = camp();
    let mut scene = camp.scene();
    assert_eq!(search_map(&scene).matches("#FFE100").count(), 1);
    scene.header.say_next = None;
    let quiet = search_map(&scene);
    assert!(!quiet.contains("#FFE100") && !quiet.contains("#9C0018"));
}

#[test]
fn an_empty_site_and_an_empty_search_are_drawn() {
    let mut camp = camp();
    camp.site.features.clear();
    camp.site.soundings.clear();
    camp.cloud = Cloud::default();
    camp.regions.clear();
    camp.searched.clear();
    camp.alarm.sightings.clear();
    camp.plan = Plan::default();
    let mut scene = camp.scene();
    scene.map = None;
    scene.header = Header::default();
    sound(&search_map(&scene));
    sound(&water_map(&camp.site, &camp.ground, &Look::default()));
    let none = Ground {
        grid: Grid { corner: Spot::default(), cell_m: 1.0, cols: 0, rows: 0 },
        depth_m: vec![],
        cover: vec![],
        bed: vec![],
        to_sounding_m: vec![],
        beyond: vec![],
        keep_off: vec![],
        stage_m: f64::NAN,
        notes: vec![],
    };
    sound(&water_map(&camp.site, &none, &Look { width: f64::NAN, ..Look::default() }));
}

#[test]
fn values_that_are_no_numbers_stay_out_of_the_picture() {
    let mut camp = camp();
    camp.cloud.east[3] = f64::NAN;
    camp.cloud.mass[5] = f64::INFINITY;
    camp.map.values[7] = f64::NAN;
    camp.regions.push((f64::NAN, f64::NAN));
    camp.plan.runs[1].from = Spot::new(f64::NAN, 0.0);
    camp.plan.gaps[0].spot = Spot::new(f64::INFINITY, 0.0);
    camp.plan.gaps[1].area_m2 = f64::NAN;
    camp.ground.depth_m.iter_mut().step_by(3).for_each(|d| *d = f64::NAN);
    camp.ground.to_sounding_m.fill(f32::INFINITY);
    camp.site.soundings[0].depth_m = f64::NAN;
    camp.site.features[8].shape = Shape::Point(Spot::new(f64::NAN, f64::NAN));
    camp.flow = Flow::Uniform { velocity: Spot::new(f64::NAN, 0.0), covariance: [0.0; 3] };
    let mut scene = camp.scene();
    scene.masses.afloat = f64::NAN;
    sound(&search_map(&scene));
    sound(&water_map(&camp.site, &camp.ground, &Look::default()));
}

#[test]
fn a_photo_lies_under_the_bands_where_its_corners_are() {
    let camp = camp();
    // Four dots: red, green, blue, white, from the upper left to the lower right.
    let mut dots = resvg::tiny_skia::Pixmap::new(2, 2).unwrap();
    let colours = [(255, 0, 0), (0, 255, 0), (0, 0, 255), (255, 255, 255)];
    for (dot, (r, g, b)) in dots.pixels_mut().iter_mut().zip(colours) {
        *dot = resvg::tiny_skia::PremultipliedColorU8::from_rgba(r, g, b, 255).unwrap();
    }
    let corners = [(-400.0, 400.0), (400.0, 400.0), (400.0, -400.0), (-400.0, -400.0)];
    let photo = water::door::Photo {
        file: "photo.png".into(),
        media: "image/png",
        width_px: 2,
        height_px: 2,
        corners: corners.map(|(e, n)| Spot::new(e, n)),
        date: "2026-05-02".into(),
    };
    let under = Under::new(photo, &dots.encode_png().unwrap());
    let look = Look { north_up: true, photo: Some(under), ..Look::default() };
    let svg = water_map(&camp.site, &camp.ground, &look);
    sound(&svg);
    assert!(svg.contains("photo of 2026-05-02"));
    let (image, land) = (svg.find("<image").unwrap(), svg.find("url(#water)").unwrap());
    assert!(image < land, "the photo lies under the water");
    let plain = water_map(&camp.site, &camp.ground, &Look { photo: None, ..look });
    assert!(!plain.contains("<image") && !plain.contains("photo of"));
    let drawn = |svg: &str| resvg::tiny_skia::Pixmap::decode_png(&png(svg, 1000).unwrap()).unwrap();
    let (with, without) = (drawn(&svg), drawn(&plain));
    // The title is a line longer or as long; land at the left edge, high and low: red over blue shows through on both.
    let at = |picture: &resvg::tiny_skia::Pixmap, share: f64| {
        let dot = picture.pixel(6, (f64::from(picture.height()) * share) as u32).unwrap();
        [dot.red(), dot.green(), dot.blue()].map(i32::from)
    };
    let shown = |share: f64| -> Vec<i32> {
        at(&with, share).iter().zip(at(&without, share)).map(|(a, b)| a - b).collect()
    };
    let high = shown(0.2);
    assert!(high[0] > high[2] && high[1] < -60, "{high:?}");
}

#[test]
fn names_are_text_and_never_markup() {
    let mut camp = camp();
    let evil = "<script>alert(1)</script> & \"Jo\" \u{1}\u{FFFE}";
    camp.site.name = evil.into();
    camp.site.stage_datum = evil.into();
    camp.site.features.iter_mut().for_each(|f| f.name = evil.into());
    camp.day.crew.iter_mut().for_each(|m| m.name = evil.into());
    camp.alarm.sightings.iter_mut().for_each(|s| s.by = evil.into());
    camp.plan.gaps.iter_mut().for_each(|g| g.why = evil.into());
    let mut scene = camp.scene();
    scene.header.say_next = Some(evil.into());
    for svg in [search_map(&scene), water_map(&camp.site, &camp.ground, &Look::default())] {
        sound(&svg);
        assert!(!svg.contains("<script"), "markup went through");
        assert!(svg.contains("&lt;script&gt;"));
    }
}

#[test]
fn a_huge_water_stays_a_small_picture() {
    let grid = Grid { corner: Spot::new(-5000.0, -5000.0), cell_m: 5.0, cols: 2000, rows: 2000 };
    let stream = Seed(1).stream("huge");
    let ring: Vec<Spot> = (0..=100_000)
        .map(|k| {
            let wobble = 4500.0 + 200.0 * stream.u01(k % 100_000);
            Spot::towards(Bearing::new(-0.0036 * k as f64), wobble)
        })
        .collect();
    let mut site = site();
    site.features = vec![feature("sea", Kind::Water, Shape::Area(vec![vec![ring]]))];
    site.features.extend((0..3000).map(|k| {
        feature(
            &format!("mark {k}"),
            Kind::Landmark,
            Shape::Point(Spot::new(f64::from(k) - 1500.0, 3.0 * f64::from(k % 700))),
        )
    }));
    site.soundings = (0..200_000)
        .map(|k| Sounding {
            spot: Spot::new(9000.0 * stream.u01(2 * k) - 4500.0, 9000.0 * stream.u01(2 * k + 1) - 4500.0),
            depth_m: 30.0 * stream.u01(k),
        })
        .collect();
    let ground = Ground {
        grid,
        stage_m: 0.0,
        depth_m: (0..grid.len()).map(|k| 30.0 * stream.u01(k as u64)).collect(),
        cover: vec![Cover::Open; grid.len()],
        bed: vec![Bed::Mud; grid.len()],
        to_sounding_m: (0..grid.len()).map(|k| 20.0 * stream.u01(k as u64 + 7) as f32).collect(),
        beyond: vec![false; grid.len()],
        keep_off: vec![false; grid.len()],
        notes: vec![],
    };
    let svg = water_map(&site, &ground, &Look::default());
    sound(&svg);
    keep("water-huge", &svg, 1000);
}

#[test]
fn feet_are_shown_where_the_site_shows_feet() {
    let mut camp = camp();
    camp.site.units = Units::Feet;
    let svg = water_map(&camp.site, &camp.ground, &Look::default());
    sound(&svg);
    keep("water-feet", &svg, 1000);
    assert!(svg.contains(" ft<") && svg.contains("sq ft") && !svg.contains(" m²"));
}

#[test]
fn a_png_is_a_png_and_not_blank() {
    let camp = camp();
    let svg = search_map(&camp.scene());
    let bytes = png(&svg, 500).unwrap();
    let dots = resvg::tiny_skia::Pixmap::decode_png(&bytes).unwrap();
    assert_eq!(dots.width(), 500);
    let first = dots.pixels()[0];
    let other = dots.pixels().iter().filter(|p| **p != first).count();
    assert!(other > dots.pixels().len() / 4, "{other} of {}", dots.pixels().len());
    // Words are drawn, so the built-in letters were found.
    let words = |with: &str| {
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='200' height='40' font-family='Atkinson Hyperlegible Next'><text x='5' y='30' font-size='24' font-weight='800'>{with}</text></svg>"
        );
        let drawn = resvg::tiny_skia::Pixmap::decode_png(&png(&svg, 200).unwrap()).unwrap();
        drawn.pixels().iter().filter(|p| p.alpha() > 128).count()
    };
    assert!(words("Tove 2.9 m² 4°") > 300 && words("Łukasz Jiří") > 200 && words("") == 0);
    assert!(png("<svg", 100).is_err() && png(&svg, 0).is_err() && png(&svg, 99_999).is_err());
}

#[test]
fn dots_follow_the_mass() {
    let mut cloud = Cloud::default();
    for k in 0..10_000 {
        cloud.east.push(f64::from(k));
        cloud.north.push(0.0);
        // Nine tenths of the mass in the first half.
        cloud.mass.push(if k < 5000 { 0.9 / 5000.0 } else { 0.1 / 5000.0 });
    }
    let dots = super::cloud::dots(&cloud, 1000);
    let left = dots.iter().filter(|s| s.east < 5000.0).count();
    assert_eq!((dots.len(), left), (1000, 900));
    cloud.mass.fill(0.0);
    assert!(super::cloud::dots(&cloud, 1000).is_empty());
}
