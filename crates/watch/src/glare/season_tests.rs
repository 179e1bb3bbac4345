//! A season from a pond of one's own: counts, banks, stands, polar days.

use super::*;
use crate::sun::{Air, Course, Station};
use crate::view::{
    Clarity, Post, SeasonSuns, Sights, Spots, Tops, Zone, head_angle, look_depth, posts, sights, view_benefit,
};
use measure::{Bearing, Spot};
use water::{
    Bed, Feature, Frame, Ground, Kind, Limits, LonLat, Salinity, Shape, Site, Sounding, Support, Units,
    WaterKind,
};

fn ring(places: &[(f64, f64)]) -> Vec<Spot> {
    places.iter().chain(places.first()).map(|&(e, n)| Spot::new(e, n)).collect()
}

fn feature(name: &str, kind: Kind, shape: Shape) -> Feature {
    Feature { name: name.into(), kind, shape }
}

/// A round pond with a post on each bank and a raft.
pub fn pond(origin: LonLat) -> Site {
    let shore: Vec<(f64, f64)> = (0..48)
        .map(|k| {
            let step = Spot::towards(Bearing::new(7.5 * f64::from(k)), 40.0);
            (step.east, step.north)
        })
        .collect();
    let area = Shape::Area(vec![vec![ring(&shore)]]);
    let raft = Shape::Area(vec![vec![ring(&[(-2.0, 8.0), (2.0, 8.0), (2.0, 12.0), (-2.0, 12.0)])]]);
    let post = |name: &str, bearing: f64| {
        feature(name, Kind::Post, Shape::Point(Spot::towards(Bearing::new(bearing), 42.0)))
    };
    let sounding = |e: i32, n: i32| {
        let spot = Spot::new(8.0 * f64::from(e), 8.0 * f64::from(n));
        Sounding { spot, depth_m: 3.0 * (1.0 - spot.length() / 40.0) }
    };
    let soundings = (-4..=4).flat_map(|e| (-4..=4).map(move |n| sounding(e, n)));
    Site {
        name: "round pond".into(),
        frame: Frame::new(origin),
        time_zone: "UTC".into(),
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
        features: vec![
            feature("pond", Kind::Water, area.clone()),
            feature("Bathing", Kind::BathingArea, area),
            feature("Raft", Kind::Raft(Support::Floating), raft),
            post("North", 0.0),
            post("East", 90.0),
            post("South", 180.0),
            post("West", 270.0),
        ],
        soundings: soundings.filter(|s| s.depth_m > 0.0).collect(),
        raster: None,
        hypsography: None,
        sounded_on: String::new(),
        heights: vec![],
    }
}

/// Moments every 20 minutes of days from 21 June 2026, by the sun's own time of the place.
fn moments(lon_deg: f64, from_day: i64, days: usize) -> Vec<Moment> {
    let midnight = 1_782_000_000.0 + 86_400.0 * from_day as f64 - lon_deg * 240.0;
    (0..days * 72)
        .map(|k| {
            let minute = 20 * (k % 72);
            Moment {
                unix_s: midnight + 86_400.0 * (k / 72) as f64 + 60.0 * minute as f64,
                day: k / 72,
                minute,
                period: 0,
                open: (8 * 60..20 * 60).contains(&minute),
            }
        })
        .collect()
}

struct Made {
    site: Site,
    posts: Vec<Post>,
    spots: Spots,
    sights: Vec<Sights>,
    surface: Surface,
}

fn made(origin: LonLat, eye_m: f64, wind: Wind) -> Made {
    let site = pond(origin);
    let ground = Ground::build(&site, 0.0).value;
    let mut all = posts(&site, 0.0);
    all.iter_mut().for_each(|post| post.eye_m = eye_m);
    let spots = Spots::of(&site, &ground, 700);
    let seen = sights(&all, &spots, &Tops::of(&site, &ground, None));
    Made { site, posts: all, spots, sights: seen, surface: Surface::new(Slopes::new(&wind, 0.7)) }
}

impl Made {
    fn scene(&self) -> Scene<'_> {
        Scene {
            posts: &self.posts,
            spots: &self.spots,
            sights: &self.sights,
            surface: self.surface,
            thresholds: Thresholds::usual(),
            limit_m: 50.0,
        }
    }
}

fn course(origin: LonLat, moments: &[Moment]) -> Course {
    let station = Station { lat_deg: origin.lat, lon_deg: origin.lon, height_m: 100.0 };
    let span = (moments[0].unix_s, moments[moments.len() - 1].unix_s);
    Course::over(span, station, Air::at_height(100.0), 69.0).unwrap()
}

fn season(made: &Made, origin: LonLat, moments: &[Moment]) -> Season {
    Season::of(&made.scene(), moments, &course(origin, moments))
}

const BREEZE: Wind = Wind { speed_mps: 3.0, from: None };
/// Three continents, both halves of the Earth.
const WISCONSIN: LonLat = LonLat { lon: -89.5, lat: 44.1 };
const SYDNEY: LonLat = LonLat { lon: 151.2, lat: -33.9 };
const BANGKOK: LonLat = LonLat { lon: 100.5, lat: 13.7 };

/// Mean share hidden over hours of the day, for each post.
fn hidden(season: &Season, hours: std::ops::Range<usize>) -> Vec<f64> {
    (0..season.posts.len())
        .map(|post| {
            let inside = |m: &Moment| hours.contains(&(m.minute / 60));
            let at: Vec<usize> = (0..season.moments.len()).filter(|k| inside(&season.moments[*k])).collect();
            at.iter().filter_map(|k| season.whole_share(post, *k)).map(|s| s.under).sum::<f64>()
                / at.len() as f64
        })
        .collect()
}

// shows: GL-12
#[test]
fn a_season_is_every_spot_and_moment_by_itself() {
    for wind in [
        BREEZE,
        Wind { speed_mps: 8.0, from: Some(Bearing::new(250.0)) },
        Wind { speed_mps: 0.0, from: None },
    ] {
        let made = made(WISCONSIN, 2.0, wind);
        let moments = moments(WISCONSIN.lon, 40, 2);
        let season = season(&made, WISCONSIN, &moments);
        let scene = made.scene();
        let steps = course(WISCONSIN, &moments).steps(&moments.iter().map(|m| m.unix_s).collect::<Vec<_>>());
        for post in [1, 2] {
            let mut often = vec![0u32; made.spots.len()];
            for (k, sun) in steps.iter().enumerate() {
                let each = scene.steps(post, *sun);
                for (z, zone) in made.spots.zones.iter().enumerate() {
                    let seen: Vec<Step> = zone.spots.iter().filter_map(|s| each[*s]).collect();
                    let share =
                        |least: Step| seen.iter().filter(|s| **s >= least).count() as f64 / seen.len() as f64;
                    let got = season.share(post, z, k).unwrap();
                    let expect = Share {
                        impaired: share(Step::Impaired),
                        under: share(Step::UnderHidden),
                        head: share(Step::HeadHidden),
                    };
                    assert_eq!(got, expect, "{post} {z} {k}");
                }
                if moments[k].open && half_hour(moments[k].minute) == 36 {
                    for (spot, step) in each.iter().enumerate() {
                        often[spot] += u32::from(step.is_some_and(|s| s >= Step::UnderHidden));
                    }
                }
            }
            let open = f64::from(season.open_moments(0, 36));
            for (spot, count) in often.iter().enumerate() {
                assert_eq!(season.hidden(post, (0, 36), spot), f64::from(*count) / open);
            }
        }
    }
}

// shows: GL-13
#[test]
fn the_bank_that_looks_at_the_low_sun_is_blind() {
    for (origin, day) in [(WISCONSIN, 0), (SYDNEY, 183), (BANGKOK, 260)] {
        let low = made(origin, 1.6, BREEZE);
        let times = moments(origin.lon, day, 2);
        let season_low = season(&low, origin, &times);
        let [north, east, south, west] = hidden(&season_low, 16..18)[..] else { panic!("four posts") };
        // The evening sun is in the west: who stands on the eastern bank looks into it.
        assert!(
            east > 0.02 && east > 4.0 * west && east > north && east > south,
            "{origin:?}: {east} {west} {north} {south}"
        );
        let [_, east, _, west] = hidden(&season_low, 6..8)[..] else { panic!("four posts") };
        assert!(west > 0.02 && west > 4.0 * east, "{origin:?}: {east} {west}");
        // From a tower the path is wider and comes with a higher sun; what a tower gains is depth, not freedom from glare.
        // Wind widens it.
        let high = season(&made(origin, 6.0, BREEZE), origin, &times);
        let windy = season(&made(origin, 1.6, Wind { speed_mps: 8.0, from: None }), origin, &times);
        let calm = season(&made(origin, 1.6, Wind { speed_mps: 1.0, from: None }), origin, &times);
        let evening = |s: &Season| hidden(s, 16..18)[1];
        assert!(evening(&high) > evening(&season_low), "{origin:?}");
        assert!(hidden(&high, 14..16)[1] > hidden(&season_low, 14..16)[1]);
        let clarity = Clarity { secchi_m: 3.0, light: daylight(40.0) };
        let depth = |eye_m: f64| look_depth(head_angle(0.23, 10.0, eye_m).1, &clarity);
        assert!(depth(6.0) > 1.4 * depth(1.6));
        assert!(
            evening(&windy) > evening(&season_low) && evening(&calm) < evening(&season_low),
            "{origin:?}"
        );
    }
}

// shows: GL-13
#[test]
fn noon_above_fifty_degrees_hides_nobody_and_polar_days_are_what_they_are() {
    let made_here = made(BANGKOK, 1.6, BREEZE);
    let times = moments(BANGKOK.lon, 0, 1);
    let high = season(&made_here, BANGKOK, &times);
    for (k, elevation) in high.elevation_deg.iter().enumerate().filter(|(_, e)| **e > 50.0) {
        for post in 0..4 {
            assert_eq!(high.whole_share(post, k).unwrap().under, 0.0, "{elevation}");
        }
    }
    let polar = LonLat { lon: 18.9, lat: 78.0 };
    let arctic = made(polar, 2.5, BREEZE);
    let summer = season(&arctic, polar, &moments(polar.lon, 0, 1));
    assert!(summer.elevation_deg.iter().all(|e| *e > 0.0));
    // Whoever looks north loses water to the midnight sun.
    assert!(hidden(&summer, 0..1)[2] > 0.02);
    let night = season(&arctic, polar, &moments(polar.lon, 183, 1));
    assert!((0..4).all(|p| (0..72).all(|k| night.whole_share(p, k) == Some(Share::default()))));
    assert_eq!(night.half_hours(0), vec![[0.0; HALF_HOURS]; 4]);
}

// shows: GL-12
#[test]
fn half_hours_minutes_and_words_follow_from_the_shares() {
    let made = made(WISCONSIN, 2.0, BREEZE);
    let times = moments(WISCONSIN.lon, 0, 2);
    let season = season(&made, WISCONSIN, &times);
    let halves = season.half_hours(1);
    let open: Vec<usize> =
        (0..times.len()).filter(|k| times[*k].day == 1 && half_hour(times[*k].minute) == 35).collect();
    let mean = open.iter().map(|k| season.whole_share(1, *k).unwrap().under).sum::<f64>() / open.len() as f64;
    assert!((halves[1][35] - mean).abs() < 1e-12 && halves[1][35] > 0.0);
    assert_eq!(halves[1][4], 0.0);
    let minutes = season.minutes_a_day((1, 0), 0.02, 20.0);
    let by_hand = (0..times.len())
        .filter(|k| times[*k].open && times[*k].day == 0 && season.share(1, 0, *k).unwrap().under >= 0.02)
        .count();
    assert_eq!(minutes[0], 20.0 * by_hand as f64);
    assert!(minutes[0] > 0.0);
    let words = losses(&season, (&made.posts, &made.spots, &made.site), &["21 June".into()], 0.05);
    let east = words.iter().find(|loss| loss.post == 1).unwrap();
    assert!(
        east.half_hours.0 >= 30 && east.half_hours.1 <= 40 && east.words.contains("on 21 June"),
        "{}",
        east.words
    );
    // The post across the water has the sun behind it.
    let (other, rest) = east.better.unwrap();
    assert!(other != 1 && rest < 0.5, "{east:?}");
    assert!(!words.iter().any(|loss| loss.words.contains("safe")));
}

// shows: VW-6
#[test]
fn the_benefit_of_a_place_agrees_with_the_full_evaluation() {
    let made = made(WISCONSIN, 2.0, BREEZE);
    let times = moments(WISCONSIN.lon, 0, 6);
    let course = course(WISCONSIN, &times);
    let full = Season::of(&made.scene(), &times, &course);
    let suns = SeasonSuns::of(&times, &course);
    let benefit = view_benefit((&made.posts, &made.sights), &made.spots, (&suns, &made.surface), 50.0);
    let open: u32 = (0..HALF_HOURS).map(|h| full.open_moments(0, h)).sum();
    let most = measure::parameters::value("notice_chance");
    let (mut worst, mut sum, mut count) = (0.0_f64, 0.0, 0.0);
    for post in 0..4 {
        for spot in 0..made.spots.len() {
            let sight = made.sights[post].each[spot];
            let got = benefit[post][spot];
            assert!((0.0..=most).contains(&got));
            if !sight.watched(50.0) {
                assert_eq!(got, 0.0);
                continue;
            }
            let often = |h| full.hidden(post, (0, h), spot) * f64::from(full.open_moments(0, h));
            let hidden = (0..HALF_HOURS).map(often).sum::<f64>() / f64::from(open);
            let gap = (got / crate::view::notice(sight.arcmin) - (1.0 - hidden)).abs();
            worst = worst.max(gap);
            sum += gap;
            count += 1.0;
        }
    }
    assert!(worst < 0.05 && sum / count < 0.01, "{worst} {}", sum / count);
}

#[test]
fn no_post_no_water_and_a_post_in_the_water() {
    let mut bare = made(WISCONSIN, 2.0, BREEZE);
    bare.posts.clear();
    bare.sights.clear();
    let times = moments(WISCONSIN.lon, 0, 1);
    assert!(season(&bare, WISCONSIN, &times).half_hours(0).is_empty());
    let mut dry = made(WISCONSIN, 2.0, BREEZE);
    dry.spots =
        Spots { square: vec![], places: vec![], depth_m: vec![], zones: Vec::<Zone>::new(), ..dry.spots };
    dry.sights.iter_mut().for_each(|s| s.each.clear());
    let empty = season(&dry, WISCONSIN, &times);
    assert!(empty.whole_share(0, 60).is_none() && empty.half_hours(0)[0] == [0.0; HALF_HOURS]);
    assert!(losses(&empty, (&dry.posts, &dry.spots, &dry.site), &[], 0.1).is_empty());
    // In the middle of the water, and a kilometre away.
    let mut odd = made(WISCONSIN, 2.0, BREEZE);
    let ground = Ground::build(&odd.site, 0.0).value;
    odd.posts[0].spot = odd.spots.places[odd.spots.len() / 2];
    odd.posts[1].spot = Spot::new(1000.0, 0.0);
    odd.sights = sights(&odd.posts, &odd.spots, &Tops::of(&odd.site, &ground, None));
    let got = season(&odd, WISCONSIN, &times);
    assert!((0..72).all(|k| got.whole_share(0, k).is_some_and(|s| s.under.is_finite())));
    assert!((0..72).all(|k| got.whole_share(1, k).is_none()));
}
