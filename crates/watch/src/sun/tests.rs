use super::*;
use measure::Seed;

const GOLDEN: Station = Station { lat_deg: 39.742476, lon_deg: -105.1786, height_m: 1830.14 };

fn angle_between(a: [f64; 3], b: [f64; 3]) -> f64 {
    let gap: f64 = a.iter().zip(&b).map(|(x, y)| (x - y) * (x - y)).sum();
    2.0 * libm::asin(0.5 * gap.sqrt()).to_degrees()
}

// shows: SN-1
#[test]
fn the_published_example_is_met_to_its_last_digit() {
    // 2003-10-17 12:30:30 at UTC−7, with 820 hPa, 11 °C and 67 s.
    let air = Air { pressure_hpa: 820.0, temperature_c: 11.0 };
    let sun = sun_at(1_066_419_030.0, GOLDEN, air, 67.0).unwrap();
    assert!((sun.zenith_deg() - 50.11162).abs() < 5e-6, "{sun:?}");
    assert!((sun.azimuth_deg - 194.34024).abs() < 5e-6, "{sun:?}");
    assert!((sun.elevation_deg - 39.872046).abs() < 1e-6, "{sun:?}");
}

// shows: SN-2
#[test]
fn the_course_stays_within_a_ten_thousandth_of_a_degree() {
    let stream = Seed(8).stream("course");
    let mut worst: f64 = 0.0;
    for (case, (lat, lon)) in [
        (45.0, 15.0),
        (-33.9, 151.2),
        (69.7, 18.9),
        (0.0, -78.5),
        (-54.8, -68.3),
        (90.0, 0.0),
        (37.7, -105.92),
    ]
    .into_iter()
    .enumerate()
    {
        let station = Station { lat_deg: lat, lon_deg: lon, height_m: 200.0 + 300.0 * case as f64 };
        let air = Air::at_height(station.height_m);
        let begin = 1_577_836_800.0 + 9.1e7 * case as f64;
        let span = (begin, begin + 400.0 * DAY_S);
        let course = Course::over(span, station, air, 69.2).unwrap();
        let times: Vec<f64> =
            (0..400).map(|k| begin + 400.0 * DAY_S * stream.u01(400 * case as u64 + k)).collect();
        for (step, time) in course.steps(&times).into_iter().zip(&times) {
            let exact = sun_at(*time, station, air, 69.2).unwrap();
            worst = worst.max(angle_between(step, exact.step()));
        }
    }
    assert!(worst < 1e-4, "{worst}");
}

#[test]
fn the_ends_of_a_course_and_what_lies_beyond() {
    let air = Air::at_height(0.0);
    let (from, to) = (1_600_000_123.0, 1_600_000_456.0);
    let course = Course::over((from, to), GOLDEN, air, 69.0).unwrap();
    let (up, around) = course.at(&[from, to, from - 3.0 * DAY_S, to + 3.0 * DAY_S, f64::NAN]);
    assert!(up[0].is_finite() && around[1].is_finite() && up[2..].iter().all(|e| e.is_nan()));
    assert!(Course::over((to, from), GOLDEN, air, 69.0).is_none());
    assert!(Course::over((from, f64::INFINITY), GOLDEN, air, 69.0).is_none());
    let nowhere = Station { lat_deg: 91.0, ..GOLDEN };
    assert!(
        Course::over((from, to), nowhere, air, 69.0).is_none() && sun_at(from, nowhere, air, 69.0).is_none()
    );
    assert!(sun_at(f64::NAN, GOLDEN, air, 69.0).is_none());
}

// shows: SN-3
#[test]
fn noon_dusk_midnight_sun_and_polar_night_are_where_people_know_them() {
    // Noon (UTC) on Greenwich's meridian, 21 June and 21 December 2026.
    let (june, december) = (1_782_043_200.0, 1_797_854_400.0);
    let at = |lat: f64, time: f64| {
        let station = Station { lat_deg: lat, lon_deg: 0.0, height_m: 0.0 };
        sun_at(time, station, Air::at_height(0.0), 69.0).unwrap()
    };
    // North of the tropics the noon sun is in the south, south of them in the north; within, it changes sides.
    assert!(
        (at(54.5, june).azimuth_deg - 180.0).abs() < 3.0
            && (at(54.5, december).azimuth_deg - 180.0).abs() < 3.0
    );
    for (lat, time) in [(-33.0, june), (-33.0, december)] {
        let north = at(lat, time).azimuth_deg;
        assert!(!(8.0..=352.0).contains(&north), "{north}");
    }
    assert!((at(10.0, june).azimuth_deg) < 5.0 || at(10.0, june).azimuth_deg > 355.0);
    assert!((at(10.0, december).azimuth_deg - 180.0).abs() < 3.0);
    // Height at noon: 90 − latitude + 23.4 in June.
    assert!((at(54.5, june).elevation_deg - 58.9).abs() < 0.1);
    // Evening in the west, morning in the east, on both halves of the Earth.
    for lat in [54.5, -33.0] {
        let evening = at(lat, june + 3.5 * 3600.0);
        assert!(evening.azimuth_deg > 180.0, "{evening:?}");
        let morning = at(lat, june - 3.5 * 3600.0);
        assert!(morning.azimuth_deg < 180.0, "{morning:?}");
    }
    // Above the polar circle it does not set in June and does not rise in December.
    for hour in 0..24 {
        assert!(at(78.0, june + 3600.0 * f64::from(hour)).apparent_deg > 0.0);
        assert!(at(78.0, december + 3600.0 * f64::from(hour)).apparent_deg < 0.0);
    }
}
