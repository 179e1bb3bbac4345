use super::*;
use measure::{Bearing, Seed};

/// A unit step from an elevation and an azimuth.
fn towards(elevation_deg: f64, azimuth_deg: f64) -> [f64; 3] {
    let (up, level) = libm::sincos(elevation_deg.to_radians());
    let (east, north) = libm::sincos(azimuth_deg.to_radians());
    [level * east, level * north, up]
}

/// From a spot back to an eye that looks at it along `look_deg`.
fn back(view_zenith_deg: f64, look_deg: f64) -> [f64; 3] {
    towards(90.0 - view_zenith_deg, look_deg + 180.0)
}

fn sea(wind_mps: f64) -> Surface {
    Surface::new(Slopes::new(&Wind { speed_mps: wind_mps, from: None }, 1.0))
}

fn plain_ratio(surface: &Surface, sun: [f64; 3], eye: [f64; 3]) -> (Glint, f64) {
    let beam = Beam::new(sun, &surface.slopes);
    let look = Look::new(eye, &surface.slopes, surface.n);
    let g = glint(surface, &beam, &look);
    (g, beam.light.beam_lx * g.per_lux / look.background_cdm2(&beam.light))
}

// shows: GL-6
#[test]
fn the_worked_example_of_an_eye_three_metres_up() {
    let surface = sea(4.0);
    let zenith = libm::atan(10.0_f64).to_degrees();
    for (off, tilt, omega, density, per_lux, ratio) in [
        (0.0, 9.64, 74.64, 3.963, 1.959, 66.0),
        (5.0, 13.09, 74.45, 1.356, 0.691, 23.0),
        (10.0, 19.78, 73.89, 0.0548, 0.0304, 1.0),
        (15.0, 26.76, 73.00, 0.00027, 0.0002, 0.01),
    ] {
        let (g, got) = plain_ratio(&surface, towards(25.0, 240.0), back(zenith, 240.0 + off));
        assert!((libm::atan(g.tan2.sqrt()).to_degrees() - tilt).abs() < 0.006, "{off}: {g:?}");
        assert!((libm::acos(g.cos_omega).to_degrees() - omega).abs() < 0.006, "{off}: {g:?}");
        assert!((g.density - density).abs() < 0.005 * density + 5e-6, "{off}: {g:?}");
        assert!((g.per_lux - per_lux).abs() < 0.01 * per_lux + 5e-5, "{off}: {g:?}");
        assert!((got - ratio).abs() < 0.03 * ratio + 0.005, "{off}: {got}");
    }
}

/// Half-width of the band in which a person just under is hidden, without the veil \[degrees\].
fn half_width(wind_mps: f64, view_zenith_deg: f64, elevation_deg: f64) -> f64 {
    let surface = sea(wind_mps);
    let hidden = |off: f64| {
        plain_ratio(&surface, towards(elevation_deg, 0.0), back(view_zenith_deg, off)).1
            >= Thresholds::usual().under * (1.0 - 1e-12)
    };
    (0..1800).rev().map(|k| 0.05 * f64::from(k)).find(|off| hidden(*off)).unwrap_or(0.0)
}

// shows: GL-7
#[test]
fn wind_widens_the_path_and_a_high_sun_leaves_none() {
    // Rows of the table of half-widths: view 75, 80, 86.4 degrees from the vertical; sun 5, 10, 20, 30, 40, 50 high.
    let table = [
        (75.0, 1.0, [3.7, 5.2, 7.1, 6.6, 0.0, 0.0]),
        (75.0, 10.0, [8.0, 11.0, 15.0, 17.0, 16.0, 0.0]),
        (80.0, 3.0, [4.3, 6.1, 8.5, 8.7, 0.0, 0.0]),
        (80.0, 6.0, [5.3, 7.7, 11.0, 12.0, 9.0, 0.0]),
        (86.4, 1.0, [1.9, 3.0, 4.0, 0.0, 0.0, 0.0]),
        (86.4, 10.0, [3.9, 6.5, 11.0, 13.0, 10.0, 0.0]),
    ];
    for (zenith, wind, widths) in table {
        for (elevation, expect) in [5.0, 10.0, 20.0, 30.0, 40.0, 50.0].into_iter().zip(widths) {
            let got = half_width(wind, zenith, elevation);
            let rounding = if expect < 10.0 { 0.11 } else { 0.55 };
            assert!((got - expect).abs() < rounding, "{zenith} {wind} {elevation}: {got} not {expect}");
        }
    }
    for zenith in [75.0, 80.0, 85.0, 88.0] {
        let mut last = 0.0;
        for wind in [1.0, 2.0, 4.0, 8.0] {
            let width = half_width(wind, zenith, 20.0);
            assert!(width > last, "{zenith} {wind}: {width}");
            last = width;
        }
        assert_eq!(half_width(4.0, zenith, 55.0), 0.0);
    }
}

// shows: GL-8
#[test]
fn a_wind_along_the_look_stretches_the_path_and_one_across_widens_it() {
    let from = |degrees: f64| {
        Surface::new(Slopes::new(&Wind { speed_mps: 8.0, from: Some(Bearing::new(degrees)) }, 1.0))
    };
    // Sun in the west at 20 degrees, spot seen 8 degrees beside it: the facet leans across the look.
    let at = |surface: &Surface| plain_ratio(surface, towards(20.0, 270.0), back(80.0, 282.0)).1;
    let (along, across, round) = (at(&from(270.0)), at(&from(0.0)), at(&sea(8.0)));
    assert!(along < round && round < across, "{along} {round} {across}");
    // From one side or the other is the same.
    assert!((at(&from(90.0)) - along).abs() < 1e-9 * along);
}

// shows: GL-9
#[test]
fn steps_follow_from_the_contrasts() {
    let t = Thresholds::usual();
    assert!((t.under - 3.0).abs() < 1e-12 && (t.head - 9.0).abs() < 1e-12);
    for (ratio, step) in [
        (0.0, Step::Clear),
        (0.3, Step::Slight),
        (1.0, Step::Impaired),
        (3.0, Step::UnderHidden),
        (9.0, Step::HeadHidden),
        (f64::INFINITY, Step::HeadHidden),
    ] {
        assert_eq!(t.step(ratio), step, "{ratio}");
    }
    let surface = sea(4.0);
    let down = Beam::new(towards(-3.0, 240.0), &surface.slopes);
    let look = Look::new(back(84.0, 240.0), &surface.slopes, surface.n);
    assert_eq!(glare_ratio(&surface, &down, &look), 0.0);
    // Straight into the sun the veil joins the glint.
    let up = Beam::new(towards(10.0, 240.0), &surface.slopes);
    let bare = Surface { veil_share: 0.0, ..surface };
    assert!(glare_ratio(&surface, &up, &look) > glare_ratio(&bare, &up, &look) + 0.5);
}

fn scattered(count: u64) -> Vec<[f64; 3]> {
    let stream = Seed(4).stream("suns");
    (0..count).map(|k| towards(70.0 * stream.u01(2 * k) - 5.0, 360.0 * stream.u01(2 * k + 1))).collect()
}

// shows: GL-10
#[test]
fn squares_of_the_sky_give_the_counts_of_one_by_one() {
    let steps = scattered(6_000);
    let suns = Suns::new(&steps);
    assert_eq!(suns.len(), steps.iter().filter(|s| s[2] > 0.0).count());
    let reaches: Vec<Reach> = (0..300)
        .map(|k| {
            let t = f64::from(k);
            Reach { step: back(40.0 + 0.165 * t, 37.0 * t), most_tan2: 0.002 + 0.0008 * t }
        })
        .collect();
    let mean_square = 0.018;
    let tallies = suns.tallies(&reaches, mean_square);
    assert_eq!(suns.counts(&reaches), tallies.iter().map(|t| t.count).collect::<Vec<_>>());
    for (reach, tally) in reaches.iter().zip(&tallies) {
        let (mut count, mut dose, mut met) = (0, 0.0, vec![false; steps.len()]);
        suns.near(reach, |k| met[k] = true);
        for (k, s) in steps.iter().enumerate().filter(|(_, s)| s[2] > 0.0) {
            let (a, b, c) = (s[0] + reach.step[0], s[1] + reach.step[1], s[2] + reach.step[2]);
            let inside = a * a + b * b <= reach.most_tan2 * (c * c);
            count += u64::from(inside);
            assert!(met[k] || !inside);
            dose += libm::exp(-(a * a + b * b) / (c * c) / mean_square);
        }
        assert_eq!(tally.count, count);
        assert!((tally.dose - dose).abs() < 1e-6 * dose + 2e-7, "{} {dose}", tally.dose);
    }
    let none = Suns::new(&[towards(-1.0, 10.0), [f64::NAN; 3]]);
    assert!(none.is_empty() && none.counts(&reaches)[0] == 0);
}

// shows: GL-11
#[test]
fn nothing_beyond_the_bound_reaches_the_ratio() {
    for wind in [0.0, 2.0, 9.0, 20.0] {
        for from in [None, Some(Bearing::new(200.0))] {
            let surface = Surface::new(Slopes::new(&Wind { speed_mps: wind, from }, 0.7));
            for sun in scattered(300) {
                let beam = Beam::new(sun, &surface.slopes);
                for (zenith, look) in [(60.0, 210.0), (80.0, 250.0), (88.0, 30.0)] {
                    let eye = back(zenith, look);
                    let look = Look::new(eye, &surface.slopes, surface.n);
                    let g = glint(&surface, &beam, &look);
                    let ratio = beam.light.beam_lx * g.per_lux / look.background_cdm2(&beam.light);
                    let most = beam.light.beam_lx / (4.0 * eye[2]) / look.background_cdm2(&beam.light);
                    if sun[2] > 0.0 && ratio >= 0.5 {
                        assert!(g.tan2 <= widest_tan2(&surface.slopes, most, 0.5), "{wind}: {g:?}");
                    }
                }
            }
        }
    }
}
