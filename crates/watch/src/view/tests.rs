use super::*;
use crate::glare::daylight;
use crate::glare::season_tests::pond;
use measure::{Bearing, Spot};
use water::{Feature, Ground, Kind, LonLat, Shape};

const PLACE: LonLat = LonLat { lon: -3.1, lat: 54.5 };

// shows: VW-1
#[test]
fn a_head_from_three_metres_up() {
    for (distance, arcmin, zenith) in [
        (10.0, 76.0, 73.3),
        (20.0, 39.0, 81.5),
        (25.0, 31.0, 83.2),
        (50.0, 16.0, 86.6),
        (75.0, 10.5, 87.7),
        (100.0, 7.9, 88.3),
        (150.0, 5.3, 88.9),
    ] {
        let (got, flat) = head_angle(0.23, distance, 3.0);
        assert!((got - arcmin).abs() < if arcmin > 20.0 { 0.6 } else { 0.26 }, "{distance}: {got}");
        assert!((flat - zenith).abs() < 0.06, "{distance}: {flat}");
    }
    assert!((notice(12.0) - 0.8).abs() < 1e-12 && (notice(6.0) - 0.2).abs() < 1e-12 && notice(500.0) <= 0.8);
}

fn at(bearing: f64, out: f64) -> Spot {
    Spot::towards(Bearing::new(bearing), out)
}

// shows: VW-3
#[test]
fn a_raft_hides_what_lies_behind_it() {
    let mut site = pond(PLACE);
    let ground = Ground::build(&site, 0.0).value;
    let tops = Tops::of(&site, &ground, Some(0.9));
    // The raft lies 8 to 12 m north of the middle; the post South looks north.
    let post = |eye_m: f64| Post { name: "South".into(), spot: at(180.0, 42.0), eye_m, measured: true };
    let seen = |post: &Post, tops: &Tops| {
        let behind = (13..38).filter(|n| tops.sees(post, Spot::new(0.0, f64::from(*n)))).count();
        let before = (-38..7).filter(|n| tops.sees(post, Spot::new(0.0, f64::from(*n)))).count();
        (behind, before)
    };
    let (low, high) = (seen(&post(1.6), &tops), seen(&post(5.0), &tops));
    assert_eq!((low.1, high.1), (45, 45));
    assert!(low.0 == 0 && high.0 > 5 && high.0 < 25, "{low:?} {high:?}");
    // Bare, or with its height told, it hides less.
    let bare = Tops::of(&site, &ground, Some(0.0));
    assert!(seen(&post(1.6), &bare).0 > low.0);
    site.heights.push(("raft".into(), 0.05));
    assert!(seen(&post(1.6), &Tops::of(&site, &ground, None)).0 > 20);
    // A moored boat drawn as a landmark with a height.
    let hull: Vec<Spot> = [(-6.0, -10.0), (6.0, -10.0), (6.0, -8.0), (-6.0, -8.0), (-6.0, -10.0)]
        .map(|(e, n)| Spot::new(e, n))
        .to_vec();
    site.features.push(Feature {
        name: "Launch".into(),
        kind: Kind::Landmark,
        shape: Shape::Area(vec![vec![hull]]),
    });
    assert_eq!(seen(&post(1.6), &Tops::of(&site, &ground, Some(0.9))).1, 45);
    site.heights.push(("Launch".into(), 1.4));
    assert!(seen(&post(1.6), &Tops::of(&site, &ground, Some(0.9))).1 < 35);
    // A boat drawn as a line hides as well, however thin against the cells; a mark without a height hides nothing.
    let line = |name: &str, north: f64| Feature {
        name: name.into(),
        kind: Kind::Landmark,
        shape: Shape::Line(vec![Spot::new(-6.0, north), Spot::new(6.0, north)]),
    };
    site.features.push(line("Skiff", 20.25));
    let high = |site: &water::Site| seen(&post(5.0), &Tops::of(site, &ground, Some(0.0))).0;
    let without = high(&site);
    site.heights.push(("Skiff".into(), 0.8));
    assert!(high(&site) < without, "{without}");
    // From the middle of the raft itself nothing is hidden by it.
    let on_raft = Post { spot: Spot::new(0.0, 10.0), ..post(1.6) };
    assert!(tops.sees(&on_raft, Spot::new(0.0, 30.0)) && tops.sees(&on_raft, Spot::new(0.0, 10.0)));
    assert!(!tops.sees(&post(2.0), Spot::new(f64::NAN, 0.0)));
}

// shows: VW-3
#[test]
fn how_far_a_raft_hides_is_as_by_similar_triangles() {
    let site = pond(PLACE);
    let ground = Ground::build(&site, 0.0).value;
    let tops = Tops::of(&site, &ground, Some(0.0));
    // An eye of 2.4 m at 42 m south; the far edge of the bare raft (0.4 m) lies at 12 m north, 54 m off: a look that clears it
    // falls 2.0 m in 54 m, and is down at the head's 0.1 m after 54 × 2.3 / 2.0 = 62.1 m, at 20.1 m north.
    let post = Post { name: "South".into(), spot: at(180.0, 42.0), eye_m: 2.4, measured: true };
    for (north, sees) in [(7.9, true), (12.2, false), (20.0, false), (20.2, true), (30.0, true)] {
        assert_eq!(tops.sees(&post, Spot::new(0.0, north)), sees, "{north}");
    }
    // Beside the raft nothing is hidden.
    assert!(tops.sees(&post, Spot::new(4.0, 14.0)));
}

// shows: VW-4
#[test]
fn one_looks_deeper_from_above_and_never_past_the_flat_look() {
    let clarity = |secchi_m: f64| Clarity { secchi_m, light: daylight(40.0) };
    let depths = [20.0, 50.0, 65.0, 75.0, 80.0, 84.9].map(|zenith| look_depth(zenith, &clarity(3.0)));
    assert!(depths.windows(2).all(|w| w[1] <= w[0]) && depths[0] > 0.3 && depths[0] < 3.0, "{depths:?}");
    assert!(look_depth(50.0, &clarity(6.0)) > 1.9 * depths[1]);
    for zenith in [85.0, 89.0, f64::NAN] {
        assert_eq!(look_depth(zenith, &clarity(30.0)), 0.0);
    }
    assert_eq!(look_depth(30.0, &clarity(0.0)), 0.0);
    assert_eq!(look_depth(30.0, &Clarity { secchi_m: 3.0, light: daylight(-2.0) }), 0.0);
}

// shows: VW-5
#[test]
fn every_spot_belongs_to_one_zone() {
    let mut site = pond(PLACE);
    let ground = Ground::build(&site, 0.0).value;
    for most in [1, 50, 700, 100_000] {
        let spots = Spots::of(&site, &ground, most);
        let mut zones = vec![0; spots.len()];
        spots.zones.iter().flat_map(|z| &z.spots).for_each(|s| zones[*s] += 1);
        assert!(zones.iter().all(|count| *count == 1));
        assert!(most < 50 || (spots.len() as f64) < 1.3 * most as f64, "{most}: {}", spots.len());
        for zone in &spots.zones {
            let deep = zone.name.ends_with("deeper");
            assert!(zone.spots.iter().all(|s| (spots.depth_m[*s] > site.limits.wade_depth_m) == deep));
        }
    }
    // Without a bathing area: the water near posts. Without posts as well: none.
    site.features.retain(|f| f.kind != Kind::BathingArea);
    assert!(!Spots::of(&site, &ground, 700).is_empty());
    site.features.retain(|f| f.kind != Kind::Post);
    assert!(Spots::of(&site, &ground, 700).is_empty());
}

#[test]
fn eyes_are_told_or_a_deck_and_fall_as_the_water_rises() {
    let mut site = pond(PLACE);
    site.heights.push(("EAST".into(), 4.0));
    let low = posts(&site, 0.0);
    assert_eq!((low[0].eye_m, low[1].eye_m, low[1].measured), (1.6, 4.0, true));
    let high = posts(&site, 0.5);
    assert_eq!((high[0].eye_m, high[1].eye_m), (1.1, 3.5));
    assert!(posts(&site, 100.0).iter().all(|p| p.eye_m > 0.0));
    assert_eq!(posts(&site, f64::NAN)[1].eye_m, 4.0);
}
