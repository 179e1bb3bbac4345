//! Belief: sums, order, threads, drift, docks, and water that is hardly there.

mod basin;

use basin::{Lake, alarm, cover, lake, pointed};
use measure::{Bearing, Seed, Spot};
use search::belief::{Belief, Currents, Masses};
use search::{AlarmKind, Detection, Method, Passes, Seen, Stretch, Sweep, WitnessClass};
use water::{Bed, Cover, Feature, Flow, Kind, Shape};

const SEED: Seed = Seed(11);

fn sum(masses: Masses) -> f64 {
    masses.bottom + masses.afloat + masses.ashore + masses.elsewhere
}

/// Every promise about sums and places that must hold for any belief.
fn check_sound(belief: &Belief, lake: &Lake) {
    assert!((sum(belief.masses) - 1.0).abs() < 1e-12, "{:?}", belief.masses);
    let cloud = &belief.cloud;
    let bottom: f64 = cloud.mass.iter().sum();
    assert!((bottom - belief.masses.bottom).abs() < 1e-12, "{bottom} {:?}", belief.masses);
    assert!(belief.masses.elsewhere >= 0.02 - 1e-15);
    assert!(cloud.mass.iter().all(|m| m.is_finite() && *m >= 0.0));
    for i in 0..cloud.len() {
        let cell = lake.ground.grid.cell(cloud.spot(i)).expect("on the map");
        let unknown = lake.ground.depth_m[cell].is_nan() && lake.ground.cover[cell] != Cover::Land;
        assert!(lake.ground.is_water(cell) || unknown, "particle {i} lies on land: {:?}", cloud.spot(i));
        assert!(cloud.rest_s[i].is_finite());
    }
}

fn strip(method: Method, from: (f64, f64), to: (f64, f64), at_s: f64) -> Sweep {
    Sweep {
        method,
        stretch: Stretch::Strip { from: Spot::new(from.0, from.1), to: Spot::new(to.0, to.1), width_m: 8.0 },
        steer_m: 0.5,
        firm: Detection::undrilled(0.7),
        rough: Detection::undrilled(0.5),
        from_s: at_s,
        to_s: at_s + 60.0,
    }
}

// shows: BE-2
#[test]
fn two_witnesses_who_disagree_both_keep_their_place() {
    let lake = lake(120, 100);
    let told = alarm(vec![
        pointed("boy with the red cap", WitnessClass::Companion, (30.0, 60.0), 5.0, -60.0),
        pointed("guard on the pier", WitnessClass::Guard, (90.0, 60.0), 5.0, -60.0),
    ]);
    let noted = Belief::start(&lake.setting(), &told, SEED, 20_000);
    check_sound(&noted.value, &lake);
    let near = |east: f64| -> f64 {
        let cloud = &noted.value.cloud;
        (0..cloud.len())
            .filter(|&i| cloud.spot(i).distance(Spot::new(east, 60.0)) < 15.0)
            .map(|i| cloud.mass[i])
            .sum()
    };
    // Odds of exactly one being right: .9 · .15 against .1 · .85, and .1 · .15 for neither.
    let bottom = noted.value.masses.bottom;
    let expect = [0.135 / 0.235, 0.085 / 0.235];
    for (east, share) in [(30.0, expect[0]), (90.0, expect[1])] {
        let found = near(east) / bottom;
        assert!((found - share).abs() < 0.04, "{east}: {found} against {share}");
    }
}

// shows: BE-20
#[test]
fn who_was_seen_bathing_and_is_not_there_is_sought_among_the_bathers_first() {
    let mut lake = lake(300, 300);
    let ring = [(20.0, 10.0), (80.0, 10.0), (80.0, 60.0), (20.0, 60.0), (20.0, 10.0)];
    let ring = ring.iter().map(|&(east, north)| Spot::new(east, north)).collect();
    lake.site.features.push(Feature {
        name: "Beach".into(),
        kind: Kind::BathingArea,
        shape: Shape::Area(vec![vec![ring]]),
    });
    let wrong = |place| {
        let told = alarm(vec![pointed("a", WitnessClass::Companion, place, 3.0, -60.0)]);
        let belief = Belief::start(&lake.setting(), &told, SEED, 20_000).value;
        check_sound(&belief, &lake);
        // Too far off to be carried, wandered or mistaken by a few metres.
        let far: Vec<usize> = (0..belief.cloud.len())
            .filter(|&i| belief.cloud.spot(i).distance(Spot::new(place.0, place.1)) > 40.0)
            .collect();
        let mass = |cells: &[usize]| cells.iter().map(|&i| belief.cloud.mass[i]).sum::<f64>();
        let beach: Vec<usize> = far
            .iter()
            .copied()
            .filter(|&i| belief.cloud.east[i] < 90.0 && belief.cloud.north[i] < 70.0)
            .collect();
        mass(&beach) / mass(&far)
    };
    let (among, beside, lone) = (wrong((30.0, 20.0)), wrong((50.0, 75.0)), wrong((250.0, 250.0)));
    assert!(among > 0.95 && beside > 0.95, "{among} {beside}");
    assert!(lone < 0.15, "{lone}");
}

// shows: BE-3
#[test]
fn witnesses_who_agree_are_sharper_than_one_and_talking_takes_that_back() {
    let lake = lake(120, 100);
    let place = |by: &str| pointed(by, WitnessClass::Companion, (60.0, 60.0), 8.0, -30.0);
    let spread = |sightings| {
        let belief = Belief::start(&lake.setting(), &alarm(sightings), SEED, 20_000).value;
        let (_, area) = (0, belief.regions(&lake.ground.grid, &[0.5])[0].area_m2);
        area
    };
    let one = spread(vec![place("a")]);
    let two = spread(vec![place("a"), place("b")]);
    let mut talked = place("b");
    talked.talked_with = vec!["a".into()];
    let together = spread(vec![place("a"), talked]);
    assert!(two < 0.8 * one && together > 1.1 * two && together < 1.3 * one, "{one} {two} {together}");
}

// shows: BE-1, BE-4
#[test]
fn the_order_of_sweeps_does_not_matter_and_sums_stay_one() {
    let lake = lake(100, 100);
    let told = alarm(vec![pointed("a", WitnessClass::Guard, (50.0, 50.0), 10.0, -120.0)]);
    let mut sweeps = vec![
        strip(Method::Wade, (40.0, 50.0), (60.0, 50.0), 60.0),
        strip(Method::Wade, (40.0, 53.0), (60.0, 53.0), 120.0),
        strip(Method::Dive, (45.0, 40.0), (52.0, 60.0), 180.0),
        strip(Method::Look, (30.0, 30.0), (70.0, 70.0), 240.0),
        strip(Method::Wade, (60.0, 50.0), (40.0, 50.0), 300.0),
    ];
    sweeps[4].firm = Detection { a: 8.0, b: 2.0 };
    sweeps
        .push(Sweep { stretch: Stretch::Disc { centre: Spot::new(50.0, 50.0), radius_m: 7.0 }, ..sweeps[0] });
    let start = Belief::start(&lake.setting(), &told, SEED, 20_000).value;
    let after = |order: &[usize]| {
        let mut belief = start.clone();
        for &k in order {
            belief.apply(&sweeps[k]);
            check_sound(&belief, &lake);
        }
        belief
    };
    let forward = after(&[0, 1, 2, 3, 4, 5]);
    assert!(forward.masses.elsewhere > start.masses.elsewhere);
    for order in [[5, 4, 3, 2, 1, 0], [2, 0, 5, 1, 4, 3]] {
        let other = after(&order);
        for i in 0..other.cloud.len() {
            assert!((other.cloud.mass[i] - forward.cloud.mass[i]).abs() < 1e-12);
        }
        assert!((other.masses.elsewhere - forward.masses.elsewhere).abs() < 1e-12);
        assert_eq!(other.cloud.passes, forward.cloud.passes);
    }
}

// shows: BE-21
#[test]
fn strips_that_stray_leave_what_each_by_itself_leaves() {
    let mut cloud = search::belief::Cloud::default();
    for k in 0..400_u32 {
        cloud.east.push(f64::from(k % 20) * 0.7);
        cloud.north.push(f64::from(k / 20) * 0.7);
        cloud.rest_s.push(-60.0);
        cloud.bed.push([Bed::Sand, Bed::Weed][k as usize % 2]);
        cloud.prior.push(0.9 / 400.0);
    }
    let masses = Masses { bottom: 0.9, afloat: 0.0, ashore: 0.0, elsewhere: 0.1 };
    let start = Belief::from_cloud(cloud, masses);
    // A step of cover is 1/131,072 off at most, for every strip.
    // A seam: each of the two covers what lies on it with chance one half, and may meet it or not.
    let mut belief = start.clone();
    let beside =
        |north: f64| Sweep { steer_m: 2.5, ..strip(Method::Wade, (-5.0, north), (20.0, north), 0.0) };
    belief.apply(&beside(0.0));
    belief.apply(&beside(6.0));
    let on_seam = |belief: &Belief, bed: Bed| {
        (0..400).find(|&k| belief.cloud.bed[k] == bed && (belief.cloud.north[k] - 2.8).abs() < 0.1).unwrap()
    };
    let k = on_seam(&belief, Bed::Sand);
    let [a, b] = [0.0, 6.0].map(|north| beside(north).cover(belief.cloud.spot(k)));
    let once = beside(0.0).firm.miss(1.0);
    let twice = beside(0.0).firm.miss(2.0);
    let by_hand = (1.0 - a) * (1.0 - b) + (a + b - 2.0 * a * b) * once + a * b * twice;
    let h = Bed::Sand.hidden_share();
    assert!((belief.missed(k) - (h + (1.0 - h) * by_hand)).abs() < 1e-5, "{} {by_hand}", belief.missed(k));
    // Many of three pools, some sure, against the chances of how many met the place.
    let mut draws = Seed(4).stream("strips").draws();
    let sweeps: Vec<Sweep> = (0..24)
        .map(|k| {
            let method = [Method::Wade, Method::Wade, Method::Dive, Method::Look][k % 4];
            let mut end = || (draws.between(-4.0, 18.0), draws.between(-4.0, 18.0));
            let sweep = strip(method, end(), end(), 0.0);
            Sweep { steer_m: [0.0, 0.5, 2.5][k % 3], ..sweep }
        })
        .collect();
    let mut belief = start.clone();
    sweeps.iter().for_each(|sweep| belief.apply(sweep));
    let mut met_often = 0;
    for k in 0..belief.cloud.len() {
        let mut passes = [Passes::after(0.0); 5];
        let covers = sweeps.iter().map(|sweep| (sweep.method, sweep.cover(belief.cloud.spot(k))));
        for (method, cover) in covers.filter(|(_, cover)| *cover > 0.0) {
            passes[method.index()].add(cover);
            met_often += 1;
        }
        let detection = |method: Method| {
            sweeps.iter().find(|s| s.method == method).unwrap().detection(belief.cloud.bed[k])
        };
        let miss = |method: Method| passes[method.index()].miss(|n| detection(method).miss(n));
        let h = belief.cloud.bed[k].hidden_share();
        let exact = (h + (1.0 - h) * miss(Method::Wade) * miss(Method::Dive)) * miss(Method::Look);
        assert!((belief.missed(k) - exact).abs() < 1e-4, "{k}: {} not {exact}", belief.missed(k));
    }
    assert!(met_often > 2_000, "{met_often}");
}

// shows: BE-5
#[test]
fn hidden_persons_are_left_to_other_methods() {
    let lake = lake(60, 60);
    let told = alarm(vec![pointed("a", WitnessClass::Guard, (30.0, 40.0), 3.0, -120.0)]);
    let mut belief = Belief::start(&lake.setting(), &told, SEED, 5_000).value;
    let everywhere = |method| Sweep {
        stretch: Stretch::Strip { from: Spot::new(-10.0, 30.0), to: Spot::new(70.0, 30.0), width_m: 80.0 },
        steer_m: 0.0,
        firm: Detection { a: 9e9, b: 1e9 },
        rough: Detection { a: 9e9, b: 1e9 },
        ..strip(method, (0.0, 0.0), (1.0, 0.0), 600.0)
    };
    for _ in 0..30 {
        belief.apply(&everywhere(Method::Wade));
    }
    for i in 0..belief.cloud.len() {
        let hidden = belief.cloud.bed[i].hidden_share();
        assert!((belief.missed(i) - hidden).abs() < 1e-9, "{} {hidden}", belief.missed(i));
    }
    belief.apply(&everywhere(Method::Pole));
    assert!((belief.missed(0) - 0.1 * belief.cloud.bed[0].hidden_share()).abs() < 1e-9);
    check_sound(&belief, &lake);
}

// shows: BE-6
#[test]
fn who_is_not_yet_at_rest_cannot_be_met() {
    let lake = lake(60, 60);
    let mut seen = pointed("a", WitnessClass::Guard, (30.0, 40.0), 3.0, 100.0);
    seen.went_under = true;
    let start = Belief::start(&lake.setting(), &alarm(vec![seen]), SEED, 5_000).value;
    let mut early = start.clone();
    early.apply(&strip(Method::Wade, (20.0, 40.0), (40.0, 40.0), 50.0));
    let sure: f64 =
        (0..start.cloud.len()).filter(|&i| start.cloud.rest_s[i] > 50.0).map(|i| early.cloud.mass[i]).sum();
    assert!(sure > 0.8 * start.masses.bottom);
    let mut late = start.clone();
    late.apply(&strip(Method::Wade, (20.0, 40.0), (40.0, 40.0), 200.0));
    // Found: bottom share × .85 right × .65 under the strip × .7 × .95 not hidden, about a third of everything.
    let found = 1.0 - start.masses.elsewhere / late.masses.elsewhere;
    assert!((found - 0.33).abs() < 0.1, "{found}");
}

// shows: BE-8
#[test]
fn looks_at_shore_and_surface_raise_everything_else() {
    let lake = lake(60, 60);
    let mut told = alarm(vec![pointed("a", WitnessClass::Guard, (30.0, 40.0), 3.0, -120.0)]);
    told.kind = AlarmKind::CountShort;
    let start = Belief::start(&lake.setting(), &told, SEED, 5_000).value;
    let mut belief = start.clone();
    belief.shore_checked(0.8);
    // .3 ashore, four fifths of it looked at: .06 / .76
    assert!((belief.masses.ashore - 0.06 / 0.76).abs() < 1e-12);
    belief.surface_looked(0.5);
    check_sound(&belief, &lake);
    assert!(belief.masses.elsewhere > start.masses.elsewhere);
    let ratio = |m: Masses| m.bottom / m.elsewhere;
    assert!((ratio(belief.masses) - ratio(start.masses)).abs() < 1e-9);
    belief.shore_checked(f64::NAN);
    belief.shore_checked(7.0);
    assert_eq!(belief.masses.ashore, 0.0);
    check_sound(&belief, &lake);
}

// shows: BE-9
#[test]
fn the_same_seed_gives_the_same_bits_on_one_two_and_three_threads() {
    let mut lake = lake(120, 100);
    lake.flow = Flow::Uniform { velocity: Spot::new(0.2, 0.05), covariance: [4e-4, 1e-4, 4e-4] };
    lake.day.wind_mps = 6.0;
    let told = alarm(vec![
        pointed("a", WitnessClass::Distant, (60.0, 50.0), 12.0, -90.0),
        pointed("b", WitnessClass::Guard, (50.0, 60.0), 6.0, -20.0),
    ]);
    let run = |threads: usize| {
        rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap().install(|| {
            let mut belief = Belief::start(&lake.setting(), &told, SEED, 30_000).value;
            belief.apply(&strip(Method::Dive, (40.0, 50.0), (80.0, 55.0), 120.0));
            let bits: Vec<u64> = [&belief.cloud.east, &belief.cloud.north, &belief.cloud.mass]
                .into_iter()
                .flatten()
                .map(|v| v.to_bits())
                .collect();
            (bits, belief.cloud.rest_s)
        })
    };
    let one = run(1);
    assert_eq!(one, run(2));
    assert_eq!(one, run(3));
}

// shows: BE-10
#[test]
fn a_uniform_current_carries_everybody_the_same_way() {
    let mut lake = lake(300, 200);
    lake.ground.depth_m.fill(4.0);
    lake.flow = Flow::Uniform { velocity: Spot::new(0.3, 0.0), covariance: [0.0; 3] };
    let mut seen = pointed("a", WitnessClass::Guard, (80.0, 100.0), 1.0, -60.0);
    seen.went_under = true;
    let belief = Belief::start(&lake.setting(), &alarm(vec![seen]), SEED, 40_000).value;
    let near: Vec<usize> = (0..belief.cloud.len())
        .filter(|&i| belief.cloud.spot(i).distance(Spot::new(83.0, 100.0)) < 25.0)
        .collect();
    let mean: f64 = near.iter().map(|&i| belief.cloud.east[i]).sum::<f64>() / near.len() as f64;
    // Mean of 1/v of a log-normal: e^(s²/2)/median; offset U·7/8·h·that. Wrong sightings add a little at random.
    let expect = 80.0 + 0.3 * 0.875 * 4.0 * (0.43_f64 * 0.43 / 2.0).exp() / 0.45;
    assert!((mean - expect).abs() < 0.15, "{mean} {expect}");
}

// shows: BE-11
#[test]
fn nobody_drifts_through_a_solid_dock_but_rafts_carry_mass() {
    let mut lake = lake(100, 80);
    cover(&mut lake, (50.0, 0.0), (54.0, 80.0), Cover::Land);
    cover(&mut lake, (30.0, 40.0), (36.0, 46.0), Cover::Under);
    lake.flow = Flow::Uniform { velocity: Spot::new(0.5, 0.0), covariance: [0.0; 3] };
    let mut told = alarm(vec![pointed("a", WitnessClass::Guard, (33.0, 43.0), 2.0, -60.0)]);
    told.sightings[0].went_under = true;
    let under = Belief::start(&lake.setting(), &told, SEED, 10_000).value;
    check_sound(&under, &lake);
    let beneath = (0..under.cloud.len())
        .filter(|&i| {
            lake.ground.grid.cell(under.cloud.spot(i)).is_some_and(|c| lake.ground.cover[c] == Cover::Under)
        })
        .count();
    assert!(beneath > 1_000, "{beneath}");
    told.sightings[0].seen = Seen::Point { spot: Spot::new(47.0, 43.0), error_m: Some(1.0), stood: None };
    told.sightings[0].went_under = false;
    let stopped = Belief::start(&lake.setting(), &told, SEED, 10_000).value;
    check_sound(&stopped, &lake);
    let beyond: f64 = (0..stopped.cloud.len())
        .filter(|&i| stopped.cloud.east[i] > 52.0)
        .map(|i| stopped.cloud.mass[i])
        .sum();
    // Only the share of a wrong witness lies beyond: 0.15, of which about half is there.
    assert!(beyond < 0.1 * stopped.masses.bottom, "{beyond}");
}

// shows: BE-12
#[test]
fn a_non_swimmer_is_in_trouble_from_the_chin_on() {
    let lake = lake(100, 100);
    let mut told = alarm(vec![pointed("a", WitnessClass::Guard, (50.0, 35.0), 8.0, -60.0)]);
    let shallow = |told: &_| {
        let cloud = Belief::start(&lake.setting(), told, SEED, 10_000).value.cloud;
        (0..cloud.len()).filter(|&i| cloud.north[i] < 5.0 + 1.0 / 0.04).map(|i| cloud.mass[i]).sum::<f64>()
    };
    let swimmer = shallow(&told);
    told.missing.swimmer = None;
    let unknown = shallow(&told);
    told.missing.swimmer = Some(false);
    let non_swimmer = shallow(&told);
    assert!(non_swimmer < 0.5 * swimmer && unknown < swimmer && unknown > non_swimmer);
}

// shows: BE-17
#[test]
fn water_that_is_hardly_there_gives_an_answer_or_a_plain_note() {
    let seen = |place| vec![pointed("a", WitnessClass::Distant, place, 5.0, -60.0)];
    // no water at all
    let mut dry = lake(20, 20);
    dry.ground.depth_m.fill(-0.5);
    let noted = Belief::start(&dry.setting(), &alarm(seen((5.0, 5.0))), SEED, 1_000);
    check_sound(&noted.value, &dry);
    assert!(noted.value.cloud.is_empty() && noted.notes.iter().any(|n| n.contains("no water")));
    assert!(noted.value.regions(&dry.ground.grid, &[0.5])[0].cells.is_empty());
    assert!(noted.value.widen(&dry.setting(), SEED).value.cloud.is_empty());
    // one square metre
    let mut puddle = lake(1, 1);
    puddle.ground.depth_m = vec![0.8];
    let noted = Belief::start(&puddle.setting(), &alarm(seen((5.0, 5.0))), SEED, 1_000);
    check_sound(&noted.value, &puddle);
    assert!(noted.notes.iter().any(|n| n.contains("not in the water")), "{:?}", noted.notes);
    // nobody knows the depth
    let mut unknown = lake(30, 30);
    unknown.ground.depth_m.fill(f64::NAN);
    let noted = Belief::start(&unknown.setting(), &alarm(seen((5.0, 5.0))), SEED, 1_000);
    check_sound(&noted.value, &unknown);
    assert!(!noted.value.cloud.is_empty() && noted.notes.iter().any(|n| n.contains("unknown")));
    // a current faster than anything
    let mut torrent = lake(50, 50);
    torrent.flow = Flow::Uniform { velocity: Spot::new(40.0, -30.0), covariance: [1.0, 0.5, 1.0] };
    let noted = Belief::start(&torrent.setting(), &alarm(seen((25.0, 25.0))), SEED, 2_000);
    check_sound(&noted.value, &torrent);
    assert!(noted.notes.iter().any(|n| n.contains("edge of the map")), "{:?}", noted.notes);
    // numbers that are none
    let mut odd = lake(50, 50);
    odd.day.wind_mps = f64::NAN;
    odd.flow = Flow::Uniform { velocity: Spot::new(f64::NAN, 0.0), covariance: [f64::NAN; 3] };
    let mut told = alarm(seen((f64::NAN, 25.0)));
    told.sightings[0].from_s = f64::NAN;
    told.missing.height_m = f64::NAN;
    told.missing.swimmer = Some(false);
    let noted = Belief::start(&odd.setting(), &told, SEED, 2_000);
    check_sound(&noted.value, &odd);
    let mut belief = noted.value;
    let mut nonsense = strip(Method::Wade, (f64::NAN, 0.0), (5.0, 5.0), 0.0);
    belief.apply(&nonsense);
    nonsense.firm.a = f64::NAN;
    belief.apply(&nonsense);
    check_sound(&belief, &odd);
}

#[test]
fn bearings_areas_and_crowds_of_witnesses_are_taken_in() {
    let lake = lake(120, 100);
    let bearing = |by: &str, stood: (f64, f64), degrees: f64, range_m| {
        let mut sighting = pointed(by, WitnessClass::Guard, (0.0, 0.0), 1.0, -60.0);
        sighting.seen = Seen::Bearing {
            stood: Spot::new(stood.0, stood.1),
            bearing: Bearing::new(degrees),
            error_deg: None,
            range_m,
            by_mark: true,
        };
        sighting
    };
    let near = |sightings, spot: Spot, metres: f64| {
        let belief = Belief::start(&lake.setting(), &alarm(sightings), SEED, 20_000).value;
        check_sound(&belief, &lake);
        let cloud = &belief.cloud;
        let inside = (0..cloud.len()).filter(|&i| cloud.spot(i).distance(spot) < metres);
        inside.map(|i| cloud.mass[i]).sum::<f64>() / belief.masses.bottom
    };
    let crossing = Spot::new(60.0, 60.0);
    let crossed =
        vec![bearing("west post", (0.0, 0.0), 45.0, None), bearing("east post", (120.0, 0.0), 315.0, None)];
    // Both right: .85², times 1.7 because their lines do cross in the water, against .2775 for one or none.
    let found = near(crossed, crossing, 15.0);
    assert!((found - 0.81).abs() < 0.07, "{found}");
    assert!(near(vec![bearing("west post", (60.0, 0.0), 0.0, Some(60.0))], crossing, 15.0) > 0.7);
    assert!(near(vec![bearing("west post", (60.0, 0.0), 180.0, None)], crossing, 300.0) > 0.999);
    let ring = [(50.0, 50.0), (70.0, 50.0), (70.0, 70.0), (50.0, 70.0), (50.0, 50.0)];
    let mut area = pointed("mother", WitnessClass::Companion, (0.0, 0.0), 1.0, -60.0);
    area.seen = Seen::Area {
        name: "by the raft".into(),
        rings: vec![vec![ring.iter().map(|&(e, n)| Spot::new(e, n)).collect()]],
    };
    assert!(near(vec![area], crossing, 18.0) > 0.8);
    let crowd = (0..300)
        .map(|k| {
            pointed(
                &format!("bather {k}"),
                WitnessClass::Distant,
                (58.0 + f64::from(k % 5), 60.0),
                9.0,
                -60.0,
            )
        })
        .collect();
    assert!(near(crowd, crossing, 12.0) > 0.9);
    assert!(near(Vec::new(), crossing, 300.0) > 0.999);
}

// shows: BE-18
#[test]
fn wider_beliefs_stay_sound_and_are_wider() {
    let mut lake = lake(200, 100);
    lake.flow = Flow::Uniform { velocity: Spot::new(0.1, 0.0), covariance: [1e-4, 0.0, 1e-4] };
    let told = alarm(vec![pointed("a", WitnessClass::Guard, (60.0, 50.0), 6.0, -60.0)]);
    let mut start = Belief::start(&lake.setting(), &told, SEED, 10_000).value;
    start.apply(&strip(Method::Wade, (40.0, 50.0), (80.0, 50.0), 120.0));
    start.shore_checked(0.5);
    let area = |belief: &Belief| belief.regions(&lake.ground.grid, &[0.8])[0].area_m2;
    let broad = start.broad(&lake.setting(), SEED);
    check_sound(&broad, &lake);
    let wide = start.widen(&lake.setting(), SEED).value;
    check_sound(&wide, &lake);
    assert!(area(&broad) > area(&start) && area(&wide) > 1.5 * area(&broad));
    assert!(wide.spread().0.east > start.spread().0.east + 5.0);
    assert_eq!(broad.sweeps().len(), 1);
    let again = Belief::rebuild(&lake.setting(), &told, (SEED, 10_000), start.sweeps()).value;
    assert_eq!(again.cloud.passes, start.cloud.passes);
}

// shows: BE-14
#[test]
fn regions_nest_and_ranks_agree_with_them() {
    let lake = lake(100, 100);
    let told = alarm(vec![pointed("a", WitnessClass::Guard, (50.0, 50.0), 8.0, -60.0)]);
    let belief = Belief::start(&lake.setting(), &told, SEED, 10_000).value;
    let grid = &lake.ground.grid;
    let total: f64 = belief.smoothed(grid).values.iter().sum();
    assert!((total - belief.masses.bottom).abs() < 1e-12);
    let regions = belief.regions(grid, &[0.5, 0.8, 0.95]);
    for pair in regions.windows(2) {
        assert!(pair[1].cells.starts_with(&pair[0].cells) && pair[1].density <= pair[0].density);
    }
    let (first, last) = (regions[0].cells[0] as usize, *regions[0].cells.last().unwrap() as usize);
    assert!(belief.rank_of(grid, grid.centre(first), 0.0) == 0.0);
    assert!((belief.rank_of(grid, grid.centre(last), 1.0) - 0.5).abs() < 0.01);
    assert_eq!(belief.rank_of(grid, Spot::new(-9.0, 4.0), 0.5), 1.0);
    assert!(belief.map_at(grid, -1e9).values.iter().all(|&m| m == 0.0));
    assert!(!belief.afloat_places(60.0).is_empty());
}

// shows: BE-13
#[test]
fn a_strong_current_moves_bodies_along_the_bed_until_they_rest_again() {
    let mut lake = lake(400, 60);
    lake.ground.depth_m.fill(3.0);
    let mut seen = pointed("a", WitnessClass::Guard, (50.0, 30.0), 1.0, -60.0);
    seen.went_under = true;
    let told = alarm(vec![seen]);
    let mut mean = |east_mps: f64| {
        lake.flow = Flow::Uniform { velocity: Spot::new(east_mps, 0.0), covariance: [0.0; 3] };
        let belief = Belief::start(&lake.setting(), &told, SEED, 20_000).value;
        check_sound(&belief, &lake);
        let cloud = &belief.cloud;
        // Those whom the right witness placed: they landed at most 30 m on.
        let ours: Vec<usize> = (0..cloud.len()).filter(|&i| (20.0..44.0).contains(&cloud.north[i])).collect();
        let east = |share: f64| {
            let mut all: Vec<f64> = ours.iter().map(|&i| cloud.east[i]).collect();
            all.sort_by(f64::total_cmp);
            all[(share * all.len() as f64) as usize]
        };
        let latest = ours.iter().map(|&i| cloud.rest_s[i]).fold(f32::MIN, f32::max);
        (east(0.5), latest)
    };
    // Sinking alone carries U·7/8·h/v: half of them 1.75 m at 0.3 m/s and 5.8 m at 1 m/s.
    let (gentle, gentle_s) = mean(0.3);
    assert!((gentle - 50.0 - 1.75).abs() < 0.7, "{gentle}");
    let (strong, strong_s) = mean(1.0);
    assert!(strong > 50.0 + 5.8 + 4.0 && strong_s > gentle_s + 60.0, "{strong} {strong_s} {gentle_s}");
}

// shows: BE-10
#[test]
fn a_current_that_differs_from_place_to_place_carries_each_by_its_own() {
    let mut lake = lake(300, 200);
    lake.ground.depth_m.fill(4.0);
    let run = |place: (f64, f64), north_mps: f64| water::FloatVelocity {
        spot: Spot::new(place.0, place.1),
        velocity: Spot::new(0.0, north_mps),
        variance: 1e-4,
    };
    lake.flow = Flow::Field { runs: vec![run((60.0, 100.0), 0.3), run((240.0, 100.0), -0.3)] };
    let drift = |east: f64| {
        let told = alarm(vec![pointed("a", WitnessClass::Companion, (east, 100.0), 1.0, -90.0)]);
        let belief = Belief::start(&lake.setting(), &told, SEED, 10_000).value;
        check_sound(&belief, &lake);
        belief.spread().0.north - 100.0
    };
    assert!(drift(60.0) > 5.0 && drift(240.0) < -5.0);
}

// shows: CU-6
#[test]
fn a_current_timed_again_holds_from_then_on_and_not_before() {
    let mut lake = lake(400, 200);
    lake.ground.depth_m.fill(4.0);
    let east = |mps: f64| Flow::Uniform { velocity: Spot::new(mps, 0.0), covariance: [0.0; 3] };
    let told = alarm(vec![pointed("a", WitnessClass::Guard, (80.0, 100.0), 1.0, -300.0)]);
    // From nothing to 0.4 m/s at a moment; sorted, since the cloud is kept in the order of its cells.
    let at = |change_s: f64| {
        let mut currents = Currents::steady(east(0.0));
        currents.timed(change_s, east(0.4));
        Belief::start_in((&lake.setting(), &currents), &told, (SEED, 20_000)).value
    };
    let places = |belief: &Belief| {
        let cloud = &belief.cloud;
        let mut all: Vec<(u32, u64)> =
            (0..cloud.len()).map(|i| (cloud.rest_s[i].to_bits(), cloud.east[i].to_bits())).collect();
        all.sort_unstable();
        all
    };
    let steady = |mps: f64| {
        Belief::start_in((&lake.setting(), &Currents::steady(east(mps))), &told, (SEED, 20_000)).value
    };
    let (still, moved) = (steady(0.0), steady(0.4));
    assert_eq!(places(&at(1e6)), places(&still), "timed after all was over");
    assert_eq!(places(&at(-1e6)), places(&moved), "timed before it began");
    // In the midst of it: who had come to rest lies where they lay.
    let changed = at(-270.0);
    check_sound(&changed, &lake);
    let rested = |belief: &Belief| -> Vec<(u32, u64)> {
        places(belief).into_iter().filter(|(rest, _)| f32::from_bits(*rest) < -270.0).collect()
    };
    assert!(rested(&still).len() > 200, "{}", rested(&still).len());
    assert!(rested(&still).iter().all(|place| rested(&changed).contains(place)));
    let mean = |belief: &Belief| belief.cloud.east.iter().sum::<f64>() / belief.cloud.len() as f64;
    assert!(mean(&still) + 0.1 < mean(&changed) && mean(&changed) + 0.1 < mean(&moved));
    // Who floats stayed until then, and goes on with the new current.
    let gone = |belief: &Belief, at_s: f64| {
        let all = belief.afloat_places(at_s);
        all.iter().map(|spot| spot.east).sum::<f64>() / all.len() as f64
    };
    let late = at(600.0);
    assert!((gone(&late, 600.0) - gone(&still, 600.0)).abs() < 1e-9);
    assert!((gone(&late, 900.0) - gone(&still, 600.0) - 0.4 * 300.0).abs() < 1.0);
}
