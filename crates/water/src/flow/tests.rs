use super::*;

fn run(from: (f64, f64), to: (f64, f64), seconds: f64) -> FloatRun {
    FloatRun { from: Spot::new(from.0, from.1), to: Spot::new(to.0, to.1), seconds }
}

#[test]
fn one_run_has_its_velocity_and_the_variance_of_place_length_and_clock() {
    let (velocity, covariance) = float_current(&[run((0.0, 0.0), (12.0, 16.0), 100.0)]).unwrap();
    assert!((velocity - Spot::new(0.12, 0.16)).length() < 1e-15);
    // By hand: 20 m in 100 s; (2·0.5² + (0.05·20)² + (0.2·1)²) / 100² = (0.5 + 1 + 0.04) / 10⁴.
    assert!(
        (covariance[0] - 1.54e-4).abs() < 1e-15 && covariance[2] == covariance[0] && covariance[1] == 0.0
    );
}

// shows: CU-1
#[test]
fn equal_runs_share_the_variance_and_a_longer_run_weighs_more() {
    let same = [run((0.0, 0.0), (10.0, 0.0), 100.0), run((5.0, 5.0), (15.0, 5.0), 100.0)];
    let single = float_current(&same[..1]).unwrap().1[0];
    let (velocity, both) = float_current(&same).unwrap();
    assert!((velocity - Spot::new(0.1, 0.0)).length() < 1e-15);
    assert!((both[0] - 0.5 * single).abs() < 1e-15);
    let mixed = [run((0.0, 0.0), (2.0, 0.0), 20.0), run((0.0, 0.0), (24.0, 0.0), 200.0)];
    let (velocity, _) = float_current(&mixed).unwrap();
    assert!(velocity.east > 0.115 && velocity.east < 0.12, "{velocity:?}");
}

#[test]
fn unusable_runs_are_named_and_none_left_is_still() {
    assert_eq!(float_current(&[]), None);
    let bad = [
        run((0.0, 0.0), (1.0, 0.0), 0.0),
        run((0.0, 0.0), (1.0, 0.0), -5.0),
        run((f64::NAN, 0.0), (1.0, 0.0), 5.0),
        run((0.0, 0.0), (1.0, 0.0), f64::INFINITY),
    ];
    assert_eq!(float_current(&bad), None);
    let noted = Flow::from_floats(&bad);
    assert_eq!(noted.value, Flow::Still);
    assert!(
        ["float 1", "float 2", "float 3", "float 4"]
            .iter()
            .all(|f| noted.notes.iter().any(|n| n.contains(f)))
    );
    assert!(noted.value.covariance_at(Spot::default())[0] > 0.0);
}

// shows: CU-4
#[test]
fn floats_that_agree_give_one_velocity_and_those_that_do_not_a_field() {
    let agree = [run((0.0, 0.0), (20.0, 0.0), 100.0), run((0.0, 30.0), (21.0, 30.5), 100.0)];
    let Flow::Uniform { velocity, .. } = Flow::from_floats(&agree).value else { panic!("one velocity") };
    assert!((velocity.east - 0.205).abs() < 0.005);
    let differ = [run((0.0, 0.0), (30.0, 0.0), 100.0), run((0.0, 80.0), (-30.0, 80.0), 100.0)];
    let noted = Flow::from_floats(&differ);
    assert!(matches!(noted.value, Flow::Field { .. }));
    assert!(noted.notes.iter().any(|n| n.contains("disagree")));
    // On a float its own velocity, surely; between them none, and great doubt.
    let (on, between) = (Spot::new(15.0, 0.0), Spot::new(0.0, 40.0));
    assert!((noted.value.at(on).east - 0.3).abs() < 0.001);
    assert!(noted.value.at(between).length() < 1e-12);
    assert!(noted.value.covariance_at(between)[0] > 0.08 && noted.value.covariance_at(on)[0] < 0.01);
}

// shows: CU-5
#[test]
fn a_stuck_float_is_named_and_does_not_slow_the_others() {
    let floats = [
        run((0.0, 0.0), (30.0, 0.0), 100.0),
        run((0.0, 9.0), (31.0, 9.0), 100.0),
        run((5.0, 4.0), (5.2, 4.0), 300.0),
    ];
    let noted = Flow::from_floats(&floats);
    let Flow::Uniform { velocity, .. } = noted.value else { panic!("one velocity: {:?}", noted.value) };
    assert!((velocity.east - 0.305).abs() < 0.006, "{velocity:?}");
    assert!(noted.notes.iter().any(|n| n.contains("float 3") && n.contains("stuck")));
    // Alone it may just be still water: used, and asked about.
    let alone = Flow::from_floats(&floats[2..]);
    assert!(matches!(alone.value, Flow::Uniform { .. }));
    assert!(alone.notes.iter().any(|n| n.contains("float 1") && n.contains("no current")));
}

#[test]
fn the_chance_above_a_chi_square_is_that_of_the_tables() {
    // Standard 0.05 points of χ² for 2, 4 and 10 degrees of freedom (tables; from memory, unverified), and exp(-x/2).
    for (x, m) in [(5.991_464_547, 1), (9.487_729_037, 2), (18.307_038_05, 5)] {
        assert!((chi_square_above(x, m) - 0.05).abs() < 1e-9, "{x}");
    }
    assert!((chi_square_above(3.0, 1) - (-1.5f64).exp()).abs() < 1e-15);
    assert_eq!(chi_square_above(0.0, 3), 1.0);
    assert!(chi_square_above(4000.0, 1000) < 1e-100 && chi_square_above(1000.0, 1000) > 0.99);
}

// shows: CU-4
#[test]
fn the_test_calls_agreeing_floats_different_one_time_in_twenty() {
    let (mut called, tries, floats) = (0, 4000, 4);
    let mut stream = measure::Seed(11).stream("float test").draws();
    let mut normal = move || stream.normal();
    for _ in 0..tries {
        let measured: Vec<FloatVelocity> = (0..floats)
            .map(|i| FloatVelocity {
                spot: Spot::new(i as f64, 0.0),
                velocity: Spot::new(0.2 + 0.01 * normal(), 0.1 + 0.01 * normal()),
                variance: 1e-4,
            })
            .collect();
        let (mean, _) = weighted_mean(&measured).unwrap();
        called += usize::from(chi_square_above(chi_square(&measured, mean), floats - 1) < DISAGREE_LEVEL);
    }
    // 200 expected; binomial standard deviation 13.8, four of them allowed.
    assert!((145..=255).contains(&called), "{called} of {tries}");
}
