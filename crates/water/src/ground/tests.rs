use super::*;
use crate::{
    Feature, Frame, Kind, Limits, LonLat, Salinity, Shape, Site, Sounding, Support, Units, WaterKind,
};
use measure::Spot;

fn ring(places: &[(f64, f64)]) -> Vec<Spot> {
    let mut ring: Vec<Spot> = places.iter().map(|&(e, n)| Spot::new(e, n)).collect();
    ring.push(ring[0]);
    ring
}

fn square(from: (f64, f64), to: (f64, f64)) -> Vec<Spot> {
    ring(&[from, (to.0, from.1), to, (from.0, to.1)])
}

fn feature(kind: Kind, shape: Shape) -> Feature {
    Feature { name: String::new(), kind, shape }
}

fn water(rings: Vec<Vec<Spot>>) -> Feature {
    feature(Kind::Water, Shape::Area(vec![rings]))
}

pub(crate) fn site(features: Vec<Feature>, soundings: &[(f64, f64, f64)]) -> Site {
    Site {
        name: "test water".into(),
        frame: Frame::new(LonLat { lon: -3.0, lat: 54.5 }),
        time_zone: "Europe/London".into(),
        water_kind: WaterKind::Lake,
        salinity: Salinity::Fresh,
        stage_datum: "pole".into(),
        datum_stage_m: 0.0,
        units: Units::Metric,
        emergency_number: "112".into(),
        plan_text: String::new(),
        flags: vec![],
        bed: Bed::Sand,
        limits: Limits::default(),
        features,
        soundings: soundings
            .iter()
            .map(|&(e, n, d)| Sounding { spot: Spot::new(e, n), depth_m: d })
            .collect(),
        raster: None,
        hypsography: None,
        sounded_on: String::new(),
        heights: Vec::new(),
    }
}

fn wet(ground: &Ground) -> usize {
    (0..ground.grid.len()).filter(|&c| ground.is_water(c)).count()
}

fn at(ground: &Ground, e: f64, n: f64) -> usize {
    ground.grid.cell(Spot::new(e, n)).unwrap()
}

/// A basin 100 m × 60 m whose floor falls 0.1 m a metre from the west shore, sounded every 5 m.
fn sloping() -> Site {
    let soundings: Vec<_> = (1..20)
        .flat_map(|i| (1..12).map(move |j| (5.0 * i as f64, 5.0 * j as f64, 0.5 * i as f64)))
        .collect();
    site(vec![water(vec![square((0.0, 0.0), (100.0, 60.0))])], &soundings)
}

// shows: DE-3
#[test]
fn the_depth_follows_the_soundings_and_the_stage_shifts_it() {
    let low = Ground::build(&sloping(), 0.0).value;
    let high = Ground::build(&sloping(), 0.4).value;
    for (e, n) in [(30.5, 30.5), (51.5, 22.5), (70.5, 40.5)] {
        let cell = at(&low, e, n);
        assert!((low.depth_m[cell] - 0.1 * e).abs() < 1e-9, "{e}: {}", low.depth_m[cell]);
        assert!((high.depth_m[cell] - low.depth_m[cell] - 0.4).abs() < 1e-12);
        assert!(f64::from(low.to_sounding_m[cell]) <= 3.6 && !low.beyond[cell]);
    }
    assert_eq!(wet(&low), 6000);
    assert_eq!(wet(&high), 6000, "soundings know nothing outside the outline");
    assert!(high.notes.iter().any(|n| n.contains("above datum")));
    let fallen = Ground::build(&sloping(), -1.0).value;
    assert!(!fallen.is_water(at(&fallen, 5.5, 30.5)) && fallen.is_water(at(&fallen, 14.5, 30.5)));
    let dry = Ground::build(&sloping(), -50.0);
    assert_eq!(wet(&dry.value), 0);
    assert!(dry.notes.iter().any(|n| n.contains("no cell is under water")));
}

// shows: DE-8
#[test]
fn no_soundings_give_no_depth_and_say_so() {
    let noted = Ground::build(&site(vec![water(vec![square((0.0, 0.0), (40.0, 30.0))])], &[]), 0.0);
    assert!(noted.value.depth_m.iter().all(|d| d.is_nan()));
    assert!(noted.value.to_sounding_m.iter().all(|d| d.is_infinite()));
    assert_eq!(noted.value.cover.iter().filter(|&&c| c == Cover::Open).count(), 1200);
    assert!(noted.notes.iter().any(|n| n.starts_with("no soundings")));
}

#[test]
fn one_two_or_collinear_soundings_slope_to_the_shore() {
    for soundings in
        [vec![(20.0, 15.0, 3.0)], vec![(20.0, 15.0, 3.0), (25.0, 15.0, 3.0)], vec![(20.0, 15.0, 3.0); 4]]
    {
        let noted =
            Ground::build(&site(vec![water(vec![square((0.0, 0.0), (40.0, 30.0))])], &soundings), 0.0);
        let ground = noted.value;
        let deep = ground.depth_m[at(&ground, 20.5, 15.5)];
        assert!((2.5..=3.0).contains(&deep), "{deep}");
        let rim = ground.depth_m[at(&ground, 0.5, 15.5)];
        assert!((0.04..0.4).contains(&rim), "{rim}");
        assert_eq!(wet(&ground), 1200);
        assert!(ground.depth_m.iter().all(|d| d.is_nan() || *d <= 3.0));
    }
}

#[test]
fn without_an_outline_the_hull_of_the_soundings_is_the_water() {
    let soundings =
        [(0.0, 0.0, 1.0), (50.0, 0.0, 2.0), (50.0, 50.0, 3.0), (0.0, 50.0, 2.0), (25.0, 25.0, 4.0)];
    let noted = Ground::build(&site(vec![], &soundings), 0.0);
    assert_eq!(wet(&noted.value), 2500);
    assert!(noted.notes.iter().any(|n| n.contains("no water outline")));
    for few in [&soundings[..0], &soundings[..1], &soundings[..2]] {
        let noted = Ground::build(&site(vec![], few), 0.0);
        assert!(noted.notes.iter().any(|n| n.contains("no water outline")), "{:?}", noted.notes);
        assert!(noted.value.grid.len() < 10_000);
    }
}

#[test]
fn a_place_sounded_twice_takes_the_mean_and_names_the_difference() {
    let mut site = sloping();
    site.soundings.push(Sounding { spot: Spot::new(50.0, 30.0), depth_m: 7.0 });
    let noted = Ground::build(&site, 0.0);
    assert!(noted.notes.iter().any(|n| n.contains("differ by up to 2 m")), "{:?}", noted.notes);
}

// shows: DE-4
#[test]
fn an_island_is_land_and_shallow_all_round_and_two_basins_do_not_mix() {
    let lake = vec![square((0.0, 0.0), (60.0, 60.0)), square((25.0, 25.0), (35.0, 35.0))];
    let soundings: Vec<_> = (0..12)
        .flat_map(|i| (0..12).map(move |j| (2.5 + 5.0 * i as f64, 2.5 + 5.0 * j as f64, 4.0)))
        .collect();
    let outside: Vec<_> = soundings
        .into_iter()
        .filter(|s| !((22.0..38.0).contains(&s.0) && (22.0..38.0).contains(&s.1)))
        .collect();
    let ground = Ground::build(&site(vec![water(lake)], &outside), 0.0).value;
    assert_eq!(wet(&ground), 3500);
    assert_eq!(ground.cover[at(&ground, 30.5, 30.5)], Cover::Land);
    assert!(ground.depth_m[at(&ground, 24.5, 30.5)] < 1.0);

    let (west, east) = (square((0.0, 0.0), (20.0, 20.0)), square((30.0, 0.0), (50.0, 20.0)));
    let two = vec![water(vec![west]), water(vec![east])];
    let ground = Ground::build(&site(two, &[(10.0, 10.0, 9.0), (40.0, 10.0, 1.0)]), 0.0).value;
    assert_eq!(wet(&ground), 800);
    let deepest = (0..ground.grid.len())
        .filter(|&c| ground.is_water(c) && ground.grid.centre(c).east > 25.0)
        .map(|c| ground.depth_m[c])
        .fold(0.0, f64::max);
    assert!(deepest <= 1.0, "the deep basin leaks over land: {deepest}");
}

// shows: DE-5
#[test]
fn solid_docks_are_land_and_no_shore_and_water_under_piled_ones_is_water() {
    let dock = |support, from, to| feature(Kind::Dock(support), Shape::Area(vec![vec![square(from, to)]]));
    let mut site = sloping();
    site.features.push(dock(Support::Piled, (40.0, 20.0), (44.0, 40.0)));
    site.features.push(dock(Support::Solid, (90.0, 20.0), (100.0, 40.0)));
    let ground = Ground::build(&site, 0.0).value;
    let under = at(&ground, 42.5, 30.5);
    assert_eq!(ground.cover[under], Cover::Under);
    assert!(ground.is_water(under) && (ground.depth_m[under] - 4.25).abs() < 1e-9);
    let solid = at(&ground, 95.5, 30.5);
    assert!(ground.cover[solid] == Cover::Land && ground.depth_m[solid] <= 0.0);
    assert_eq!(wet(&ground), 6000 - 200);
    // An outline that runs round a solid dock: its face is a wall, and deep water stands against it.
    let notched = ring(&[
        (0.0, 0.0),
        (100.0, 0.0),
        (100.0, 20.0),
        (90.0, 20.0),
        (90.0, 40.0),
        (100.0, 40.0),
        (100.0, 60.0),
        (0.0, 60.0),
    ]);
    site.features[0] = water(vec![notched]);
    let ground = Ground::build(&site, 0.0).value;
    assert!(ground.depth_m[at(&ground, 89.5, 30.5)] > 8.0);
    assert!(ground.notes.iter().any(|n| n.contains("wall")));
}

// shows: DE-5
#[test]
fn a_pool_has_walls() {
    let mut site =
        site(vec![water(vec![square((0.0, 0.0), (25.0, 10.0))])], &[(5.0, 5.0, 1.0), (20.0, 5.0, 2.0)]);
    site.water_kind = WaterKind::Pool;
    let ground = Ground::build(&site, 0.0).value;
    let cell = at(&ground, 24.9, 9.9);
    assert!(ground.depth_m[cell] == 2.0 && ground.beyond[cell]);
}

#[test]
fn bottom_polygons_and_ground_to_keep_off_are_painted() {
    let mut site = sloping();
    site.limits.keep_off_m = 3.0;
    site.features
        .push(feature(Kind::Bottom(Bed::Weed), Shape::Area(vec![vec![square((10.0, 10.0), (20.0, 20.0))]])));
    site.features
        .push(feature(Kind::DropOff, Shape::Line(vec![Spot::new(60.0, 0.0), Spot::new(60.0, 60.0)])));
    site.features.push(feature(Kind::NoGo, Shape::Area(vec![vec![square((80.0, 10.0), (95.0, 30.0))]])));
    site.features.push(feature(Kind::NoGo, Shape::Point(Spot::new(20.0, 40.0))));
    let ground = Ground::build(&site, 0.0).value;
    assert!(
        ground.bed[at(&ground, 15.5, 15.5)] == Bed::Weed && ground.bed[at(&ground, 25.5, 15.5)] == Bed::Sand
    );
    for (e, n, off) in [
        (57.5, 30.5, true),
        (56.5, 30.5, false),
        (88.5, 20.5, true),
        (77.5, 20.5, true),
        (75.5, 20.5, false),
        (20.5, 42.5, true),
        (20.5, 44.5, false),
    ] {
        assert_eq!(ground.keep_off[at(&ground, e, n)], off, "{e} {n}");
    }
}

#[test]
fn tiny_and_huge_waters_get_a_fitting_cell_and_say_so() {
    let tiny =
        Ground::build(&site(vec![water(vec![square((0.0, 0.0), (1.0, 1.0))])], &[(0.5, 0.5, 0.8)]), 0.0);
    let area: f64 = wet(&tiny.value) as f64 * tiny.value.grid.cell_area_m2();
    assert!((area - 1.0).abs() < 0.02, "{area}");
    assert!(tiny.notes.iter().any(|n| n.contains("small")));
    let huge =
        Ground::build(&site(vec![water(vec![square((-5e3, -5e3), (5e3, 5e3))])], &[(0.0, 0.0, 30.0)]), 0.0);
    assert!(huge.value.grid.len() <= 4_000_000 && huge.value.grid.cell_m < 5.1);
    let area = wet(&huge.value) as f64 * huge.value.grid.cell_area_m2();
    assert!((area / 1e8 - 1.0).abs() < 2e-3, "{area}");
    assert!(huge.notes.iter().any(|n| n.contains("more than 4000000 cells")));
    let thread =
        Ground::build(&site(vec![water(vec![square((0.0, 0.0), (9e6, 0.5))])], &[(5.0, 0.2, 1.0)]), 0.0);
    assert!(thread.value.grid.len() <= 4_000_000);
}

#[test]
fn odd_shapes_and_numbers_neither_panic_nor_hang() {
    let flat = ring(&[(0.0, 0.0), (10.0, 0.0), (20.0, 0.0)]);
    let broken = ring(&[(0.0, 0.0), (f64::NAN, 3.0), (10.0, 10.0)]);
    for rings in [vec![flat], vec![broken], vec![], vec![vec![]], vec![vec![Spot::default()]]] {
        let noted = Ground::build(
            &site(vec![water(rings)], &[(1.0, 1.0, 1.0), (f64::NAN, 0.0, 2.0), (3.0, 3.0, f64::NAN)]),
            0.0,
        );
        assert!(!noted.notes.is_empty());
    }
    let noted = Ground::build(&sloping(), f64::NAN);
    assert!(noted.value.stage_m == 0.0 && noted.notes.iter().any(|n| n.contains("not a number")));
}

// shows: DE-6
#[test]
fn a_bay_with_only_shore_around_it_is_still_water() {
    let lake = ring(&[
        (0.0, 0.0),
        (60.0, 0.0),
        (60.0, 28.0),
        (120.0, 28.0),
        (120.0, 32.0),
        (60.0, 32.0),
        (60.0, 60.0),
        (0.0, 60.0),
    ]);
    let noted = Ground::build(
        &site(vec![water(vec![lake])], &[(20.0, 20.0, 3.0), (40.0, 30.0, 4.0), (20.0, 45.0, 3.0)]),
        0.0,
    );
    assert!(noted.value.is_water(at(&noted.value, 110.5, 30.5)));
    assert_eq!(wet(&noted.value), 3600 + 240);
    assert!(
        noted.notes.iter().any(|n| n.contains("nothing but shore and soundings of no depth")),
        "{:?}",
        noted.notes
    );
}

// shows: DE-7
#[test]
fn a_raster_is_used_bilinear_and_water_spreads_over_it_where_it_connects() {
    // A valley along north: depth 2 − 0.1 |e − 50|, so that the shore at datum is at e = 30 and 70; a ridge cuts off e > 85.
    let grid = crate::Grid { corner: Spot::new(0.0, 0.0), cell_m: 2.0, cols: 50, rows: 30 };
    let bed = |s: Spot| {
        if s.east < 84.0 {
            2.0 - 0.1 * (s.east - 50.0).abs()
        } else if s.east < 90.0 {
            -9.0
        } else {
            5.0
        }
    };
    let raster = crate::Field { grid, values: (0..grid.len()).map(|c| bed(grid.centre(c))).collect() };
    let mut site = site(vec![water(vec![square((30.0, 0.0), (70.0, 60.0))])], &[]);
    site.raster = Some(raster);
    let ground = Ground::build(&site, 0.0).value;
    assert!((ground.depth_m[at(&ground, 40.5, 30.5)] - 1.05).abs() < 1e-9);
    assert_eq!(wet(&ground), 2400);
    let high = Ground::build(&site, 1.0);
    // 10 m more on each side.
    assert!((wet(&high.value) as f64 - 3600.0).abs() <= 120.0, "{}", wet(&high.value));
    assert!(high.notes.iter().any(|n| n.contains("outside the outline")));
    assert!(high.value.grid.cell(Spot::new(92.0, 30.0)).is_none_or(|c| !high.value.is_water(c)));
    site.features.clear();
    let bare = Ground::build(&site, 0.0);
    assert!((wet(&bare.value) as f64 - 3000.0).abs() < 100.0, "{}", wet(&bare.value));
    assert!(bare.notes.iter().any(|n| n.contains("every raster cell under water")));
}

// shows: DE-10
#[test]
fn the_ground_has_the_same_bits_on_any_number_of_threads() {
    let build = |threads| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        let ground = pool.install(|| Ground::build(&sloping(), 0.2)).value;
        ground.depth_m.iter().map(|d| d.to_bits()).collect::<Vec<_>>()
    };
    assert_eq!(build(1), build(3));
}

#[test]
fn a_shore_of_thousands_of_vertices_and_few_soundings_is_soon_done() {
    let ring: Vec<Spot> = (0..=8000)
        .map(|i| {
            let turn = (i % 8000) as f64 * std::f64::consts::TAU / 8000.0;
            Spot::new(300.0 * turn.cos(), 300.0 * turn.sin()) * (1.0 + 0.05 * (40.0 * turn).sin())
        })
        .collect();
    let ground =
        Ground::build(&site(vec![water(vec![ring])], &[(0.0, 0.0, 6.0), (100.0, 50.0, 4.0)]), 0.0).value;
    let water = wet(&ground) as f64 * ground.grid.cell_area_m2();
    // π r² (1 + a²/2) for a wavy circle of amplitude a.
    assert!((water / (std::f64::consts::PI * 9e4 * (1.0 + 0.05 * 0.05 / 2.0)) - 1.0).abs() < 1e-3, "{water}");
    assert!(ground.depth_m.iter().all(|d| d.is_nan() || (0.0..=6.0).contains(d)));
}

#[test]
#[ignore = "slow: run with --ignored"]
fn a_million_soundings_are_used() {
    let draws = measure::Seed(5).stream("million soundings");
    let soundings: Vec<(f64, f64, f64)> = (0..1_000_000)
        .map(|i| (1000.0 * draws.u01(2 * i), 1000.0 * draws.u01(2 * i + 1)))
        .map(|(e, n)| (e, n, 2.0 + e / 1000.0))
        .collect();
    let ground =
        Ground::build(&site(vec![water(vec![square((0.0, 0.0), (1000.0, 1000.0))])], &soundings), 0.0).value;
    let cell = at(&ground, 500.5, 500.5);
    assert!((ground.depth_m[cell] - 2.5005).abs() < 1e-3 && ground.to_sounding_m[cell] < 3.0);
    assert_eq!(wet(&ground), 1_000_000);
}
