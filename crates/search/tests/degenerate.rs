//! Water and crews at the edge of sense: a plain word instead of a panic, a hang or nonsense.

mod common;

use common::*;
use measure::{Bearing, Seed, Spot};
use search::{
    Alarm, AlarmKind, Method, Missing, Seen, Sighting, Stretch, WitnessClass,
    belief::Belief,
    orders::orders,
    plan::{Plan, Request, Role, check::check, plan},
};
use water::{Flow, Kind, Shape, Units};

fn sound(world: &World) -> Plan {
    let request = world.request();
    let plan = plan(&request);
    let review = check(&plan, &request);
    assert_eq!(review.violations, Vec::new());
    assert!(plan.value <= plan.ceiling * (1.0 + 1e-9) + 1e-12, "{} over {}", plan.value, plan.ceiling);
    assert!(!orders(&plan, &world.setting(), request.alarm_at_s).is_empty());
    plan
}

fn says(plan: &Plan, words: &str) {
    assert!(plan.notes.iter().any(|note| note.contains(words)), "{words:?} is not among {:?}", plan.notes);
}

fn with_ground(people: usize, depth: impl Fn(Spot) -> f64) -> World {
    let mut world = beach(people, 10);
    world.ground = ground(60, 50, depth);
    world.last_seen = Spot::new(30.0, 25.0);
    world.belief = belief(&world.ground, &[(world.last_seen, 6.0, 1.0)], 8000);
    world.site.features = marks();
    world
}

// shows: PL-6
#[test]
fn nobody_is_there() {
    let mut world = beach(3, 4000);
    world.crew.clear();
    let plan = sound(&world);
    assert!(plan.teams.is_empty() && plan.jobs.is_empty());
    says(&plan, "nobody can be sent: call 112");
    let told = orders(&plan, &world.setting(), 0.0);
    assert!(told[0].words.starts_with("Whoever is there: call 112"), "{}", told[0].words);
}

#[test]
fn everybody_is_out_or_off_duty() {
    let mut world = beach(3, 4000);
    world.crew[0].out = true;
    world.crew[1].from_s = f64::NAN;
    world.day.crew[2].hours = vec![water::Hours { from_s: 0.0, to_s: 60.0 }];
    says(&sound(&world), "nobody can be sent");
}

// shows: PL-6
#[test]
fn one_person_stays_out_and_calls() {
    let world = beach(1, 4000);
    let plan = sound(&world);
    assert!(plan.runs.is_empty());
    says(&plan, "one person alone stays out of the water");
    assert!(plan.gaps[0].why.contains("nobody who is here"), "{:?}", plan.gaps);
    let told = orders(&plan, &world.setting(), 0.0);
    assert!(
        told[0].words.contains("call 112") && told[0].words.contains("Nobody goes in"),
        "{}",
        told[0].words
    );
}

// shows: PL-6
#[test]
fn nobody_is_qualified() {
    let mut world = beach(4, 4000);
    for m in &mut world.day.crew {
        (m.wade, m.dive_m, m.lead, m.lookout, m.board) = (false, None, false, false, false);
    }
    let plan = sound(&world);
    assert!(plan.runs.is_empty());
    assert!(plan.jobs.iter().all(|job| job.1 == Role::Gate));
    says(&plan, "nobody here is qualified");
}

#[test]
fn two_people_one_searches_one_watches() {
    let world = beach(2, 8000);
    let plan = sound(&world);
    assert_eq!(plan.teams[0].method, Method::Alone);
    // First at the marker, then advance by advance: always the same one, always under the other's eyes.
    assert!(plan.teams.iter().all(|team| team.members == [1] && team.lookout == Some(0)), "{:?}", plan.teams);
}

// shows: PL-7
#[test]
fn without_a_named_watcher_the_first_guard_does_not_dive() {
    let mut world = with_ground(2, |_| 2.0);
    for m in &mut world.day.crew {
        m.lookout = false;
    }
    assert!(sound(&world).runs.is_empty());
    let mut shallow = with_ground(2, |_| 0.8);
    shallow.day.crew[0].lookout = false;
    let plan = sound(&shallow);
    assert_eq!(plan.teams[0].method, Method::Alone, "the feet need no watcher");
}

#[test]
fn deep_water_and_nobody_dives() {
    let mut world = with_ground(6, |_| 2.5);
    for m in &mut world.day.crew {
        m.dive_m = None;
    }
    let plan = sound(&world);
    assert!(plan.runs.is_empty(), "{:?}", plan.runs);
    says(&plan, "nobody here may dive");
    assert!(plan.gaps.iter().any(|gap| gap.why.contains("nobody here may dive")), "{:?}", plan.gaps);
}

// shows: PL-8
#[test]
fn cold_water_forbids_dives_and_short_breath_forbids_depth() {
    let mut world = with_ground(6, |_| 2.5);
    world.day.water_c = 8.0;
    let plan = sound(&world);
    assert!(plan.teams.iter().all(|t| t.method != Method::Dive));
    says(&plan, "no surface dives without a wetsuit");
    world.day.water_c = 14.0;
    assert!(
        sound(&world).teams.iter().all(|t| t.method != Method::Dive),
        "11 s under do not reach 2.5 m and back"
    );
}

#[test]
fn depth_nothing_everywhere_or_unknown() {
    for depth in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        let plan = sound(&with_ground(6, move |_| depth));
        assert!(plan.runs.is_empty() && plan.value == 0.0, "{depth}");
    }
}

// shows: PL-8
#[test]
fn a_current_above_swim_speed_sends_nobody() {
    let mut world = with_ground(8, |_| 1.1);
    world.flow = Flow::Uniform { velocity: Spot::new(1.4, 0.0), covariance: [0.0; 3] };
    let plan = sound(&world);
    assert!(plan.runs.is_empty(), "{:?}", plan.runs);
    assert!(plan.gaps.iter().any(|gap| gap.why.contains("current")), "{:?}", plan.gaps);
}

// shows: PL-9
#[test]
fn in_a_current_every_line_goes_down_it() {
    let mut world = with_ground(8, |s| 0.4 + 0.02 * s.north);
    let current = Spot::towards(Bearing::new(70.0), 0.2);
    world.flow = Flow::Uniform { velocity: current, covariance: [0.0; 3] };
    let plan = sound(&world);
    let runs: Vec<_> = plan.runs.iter().filter(|r| plan.teams[r.team].method != Method::Alone).collect();
    assert!(runs.len() > 2);
    assert!(runs.iter().all(|r| r.from.bearing_to(r.to).angle_to(Bearing::new(70.0)) <= 60.0));
}

#[test]
fn nothing_believed_on_the_bottom_and_water_smaller_than_a_line() {
    let mut world = beach(5, 10);
    world.belief.cloud = Default::default();
    let plan = sound(&world);
    says(&plan, "belief holds nothing");
    assert!(plan.jobs.iter().any(|job| job.1 == Role::Lead));

    let mut pond = beach(11, 10);
    pond.ground = ground(3, 2, |_| 0.8);
    pond.last_seen = Spot::new(1.5, 1.0);
    pond.belief = belief(&pond.ground, &[(pond.last_seen, 0.5, 1.0)], 500);
    let plan = sound(&pond);
    // Strips stray by about as much as the pond is wide, so each leaves a good part of it.
    assert!(plan.runs.len() < 30, "a pond of 3 by 2 m is not searched for ever: {} runs", plan.runs.len());
    assert!(plan.teams.iter().all(|t| t.members.len() <= 2), "no room for more abreast");
}

#[test]
fn last_seen_off_the_map_and_particles_that_are_not_numbers() {
    let mut world = beach(6, 4000);
    world.last_seen = Spot::new(-500.0, 900.0);
    world.belief.cloud.east[3] = f64::NAN;
    world.belief.cloud.mass[5] = f64::NAN;
    world.belief.cloud.rest_s[7] = f32::INFINITY;
    sound(&world);
}

// shows: PL-10
#[test]
fn volunteers_stand_between_guards_and_no_deeper_than_their_waist() {
    let mut world = with_ground(6, |s| 0.3 + 0.03 * s.north);
    for k in [3, 4, 5] {
        world.day.crew[k] = water::Member { volunteer: true, dive_m: None, ..world.day.crew[k].clone() };
    }
    let plan = sound(&world);
    let line = plan.teams.iter().find(|t| t.method == Method::Wade).expect("a wading line");
    assert!(line.members.iter().any(|&k| world.day.crew[k].volunteer), "{line:?}");
    assert!(
        plan.jobs.iter().any(|j| j.1 == Role::Gate && world.day.crew[j.0].volunteer),
        "one volunteer at the gate"
    );
}

// shows: PL-11
#[test]
fn a_weir_is_kept_off_by_lines_and_on_the_way() {
    let mut world = with_ground(8, |_| 0.9);
    world.site.features.push(feature("Weir", Kind::NoGo, Shape::Point(Spot::new(33.0, 27.0))));
    let plan = sound(&world);
    assert!(!plan.runs.is_empty());
    assert!(plan.gaps.iter().any(|gap| gap.why.contains("no searcher may enter")), "{:?}", plan.gaps);
}

#[test]
fn notes_of_a_site_in_feet_are_in_feet() {
    let notes = |units| {
        let mut world = with_ground(8, |s| if s.north < 8.0 { -0.5 } else { 0.9 });
        world.site.units = units;
        world.ground.depth_m[60 * 40 + 30] = f64::NAN;
        world.site.features.push(feature("Weir", Kind::NoGo, Shape::Point(Spot::new(33.0, 27.0))));
        let land = Spot::new(30.0, 2.0);
        let ring = [(29.0, 1.0), (31.0, 1.0), (31.0, 3.0), (29.0, 1.0)];
        let ring = ring.iter().map(|&(east, north)| Spot::new(east, north)).collect();
        let bearing = |range_m| Seen::Bearing {
            stood: Spot::new(30.0, 1.0),
            bearing: Bearing::new(180.0),
            error_deg: Some(1.0),
            range_m: Some(range_m),
            by_mark: true,
        };
        let seen = [
            Seen::Point { spot: land, error_m: Some(5.0), stood: None },
            Seen::Point { spot: Spot::new(30.0, -900.0), error_m: Some(5.0), stood: None },
            Seen::Area { name: "Lawn".into(), rings: vec![vec![ring]] },
            bearing(2.0),
            bearing(400.0),
        ];
        let sighting = |(k, seen): (usize, Seen)| Sighting {
            by: format!("witness {k}"),
            class: WitnessClass::Guard,
            seen,
            heading: None,
            from_s: -60.0,
            to_s: -60.0,
            went_under: false,
            talked_with: Vec::new(),
        };
        let alarm = Alarm {
            kind: AlarmKind::SeenGoingUnder,
            at_s: 50_000.0,
            missing: Missing { height_m: 1.4, swimmer: Some(true) },
            sightings: seen.into_iter().enumerate().map(sighting).collect(),
        };
        let begun = Belief::start(&world.setting(), &alarm, Seed(3), 2000);
        let mut all = begun.notes;
        all.extend(begun.value.widen(&world.setting(), Seed(3)).notes);
        all.extend(plan(&world.request()).gaps.into_iter().map(|gap| gap.why));
        all.retain(|note| note.contains(|c: char| c.is_ascii_digit()));
        all
    };
    let told =
        ["any water; not used", "moved", "assumed there", "nearest water", "no searcher may enter", "off"];
    let (metric, feet) = (notes(Units::Metric), notes(Units::Feet));
    assert!(!feet.iter().any(|note| metre(note)), "{feet:?}");
    for words in told {
        let length = |all: &[String], unit: &str| {
            all.iter().any(|note| note.contains(words) && note.contains(&format!(" {unit}")))
        };
        assert!(length(&metric, "m"), "{words}: {metric:?}");
        assert!(length(&feet, "ft") || length(&feet, "sq ft"), "{words}: {feet:?}");
    }
    assert!(metric.iter().filter(|note| metre(note)).count() >= told.len(), "{metric:?}");
}

// shows: PL-12
#[test]
fn the_same_seed_gives_the_same_bits_on_one_thread_and_on_two() {
    let world = beach(8, 30_000);
    let request = Request { effort: 60, ..world.request() };
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| plan(&request))
    };
    let (one, two) = (with(1), with(2));
    assert_eq!(one.value.to_bits(), two.value.to_bits());
    assert_eq!(one, two);
    let more = plan(&Request { effort: 200, ..world.request() });
    assert!(more.value >= one.value, "{} after more effort, {} before", more.value, one.value);
}

// shows: PL-5
#[test]
fn what_is_under_way_is_kept_as_it_is() {
    let world = beach(9, 30_000);
    let first = world.request();
    let mut before = plan(&first);
    let now_s = 130.0;
    for run in &mut before.runs {
        run.under_way = run.from_s <= now_s && run.to_s > now_s;
    }
    let kept: Vec<_> = before.runs.iter().filter(|r| r.under_way).cloned().collect();
    assert!(kept.len() >= 2);
    // A witness changes everything: the mass is elsewhere now.
    let mut moved = world.clone();
    moved.belief = belief(&world.ground, &[(Spot::new(30.0, 28.0), 7.0, 1.0)], 30_000);
    let second = Request { now_s, before: Some(&before), ..moved.request() };
    let next = plan(&second);
    assert_eq!(check(&next, &second).violations, Vec::new());
    for run in kept {
        let same = next.runs.iter().find(|r| r.legs == run.legs && r.under_way);
        let same = same.unwrap_or_else(|| panic!("the run from {} s is gone", run.from_s));
        assert_eq!(next.teams[same.team], before.teams[run.team]);
    }
    assert!(next.runs.iter().any(|r| !r.under_way && r.from.east < 50.0), "the new lanes follow the witness");
}

// shows: PL-2
#[test]
fn the_checker_sees_what_is_broken() {
    let world = beach(9, 20_000);
    let request = world.request();
    let good = plan(&request);
    let broken = |change: &dyn Fn(&mut Plan)| {
        let mut bad = good.clone();
        change(&mut bad);
        check(&bad, &request).violations.iter().map(|v| v.rule).collect::<Vec<_>>()
    };
    let dive = good.teams.iter().position(|t| t.method == Method::Dive).unwrap();
    let wade = good.runs.iter().position(|r| good.teams[r.team].method == Method::Wade).unwrap();
    assert!(broken(&|p| p.teams[dive].lookout = None).contains(&"lookout"));
    assert!(broken(&|p| p.runs[wade].legs[0].sweep.from_s -= 1000.0).contains(&"time"));
    let shift = |p: &mut Plan, north: f64| {
        for leg in &mut p.runs[wade].legs {
            if let Stretch::Strip { from, to, .. } = &mut leg.sweep.stretch {
                from.north += north;
                to.north += north;
            }
        }
    };
    assert!(broken(&|p| shift(p, 30.0)).contains(&"depth"));
    assert!(broken(&|p| shift(p, 500.0)).contains(&"ground"));
    let lead = good.jobs.iter().find(|j| j.1 == Role::Lead).unwrap().0;
    assert!(
        broken(&|p| p.teams[dive].members[0] = lead).contains(&"figures")
            || broken(&|p| p.teams[dive].members[1] = lead).contains(&"person")
    );
    let both = broken(&|p| {
        let other = p.runs.iter().position(|r| p.teams[r.team].method == Method::Dive).unwrap();
        p.runs[wade].legs = p.runs[other].legs.clone();
        p.runs[wade].to_s = p.runs[other].to_s;
        p.runs[wade].from_s = p.runs[other].from_s;
    });
    assert!(both.contains(&"apart"), "{both:?}");
    assert!(broken(&|p| p.value = f64::NAN).contains(&"figures"));
}

// shows: PL-2
#[test]
fn what_broke_a_rule_is_told_in_the_units_of_the_site() {
    let mut world = beach(9, 20_000);
    let good = plan(&world.request());
    let by = |method: Method| good.runs.iter().position(|r| good.teams[r.team].method == method).unwrap();
    let (wade, dive, alone) = (by(Method::Wade), by(Method::Dive), by(Method::Alone));
    let strips = |plan: &mut Plan, change: &dyn Fn(&mut Spot, &mut Spot, &mut f64)| {
        for leg in &mut plan.runs[wade].legs {
            if let Stretch::Strip { from, to, width_m } = &mut leg.sweep.stretch {
                change(from, to, width_m);
            }
        }
    };
    type Change<'a> = (&'a str, &'a dyn Fn(&mut Plan));
    let changes: [Change; 6] = [
        ("wider than its line", &|p| strips(p, &|_, _, width_m| *width_m = 40.0)),
        ("is sent into", &|p| strips(p, &|from, to, _| (from.north, to.north) = (80.0, 90.0))),
        ("at most", &|p| strips(p, &|from, to, _| *to = *from + (*to - *from) * 3.0)),
        ("off at", &|p| p.runs[wade].from.east += 400.0),
        ("apart", &|p| {
            let legs = p.runs[dive].legs.clone();
            (p.runs[wade].from_s, p.runs[wade].to_s) = (p.runs[dive].from_s, p.runs[dive].to_s);
            p.runs[wade].legs = legs;
        }),
        ("alone in", &|p| {
            if let Stretch::Disc { radius_m, .. } = &mut p.runs[alone].legs[0].sweep.stretch {
                *radius_m = 80.0;
            }
        }),
    ];
    for units in [Units::Metric, Units::Feet] {
        world.site.units = units;
        let broken = |world: &World, words: &str, plan: &Plan| {
            let all = check(plan, &world.request()).violations.into_iter().map(|one| one.what);
            let told: Vec<String> = all.filter(|what| what.contains(words)).collect();
            assert!(!told.is_empty(), "{words}");
            for what in told {
                let feet = what.split([' ', ',']).any(|word| word == "ft");
                assert_eq!((metre(&what), feet), (units == Units::Metric, units == Units::Feet), "{what}");
            }
        };
        for (words, change) in changes {
            let mut bad = good.clone();
            change(&mut bad);
            broken(&world, words, &bad);
        }
        let running = World {
            flow: Flow::Uniform { velocity: Spot::new(0.0, 3.0), covariance: [0.0; 3] },
            ..world.clone()
        };
        broken(&running, "in a current of", &good);
    }
}

/// Whether words give a number in metres.
fn metre(words: &str) -> bool {
    let words: Vec<&str> = words.split([' ', ';', ',', ':']).collect();
    words.windows(2).any(|pair| pair[0].parse::<f64>().is_ok() && ["m", "m²"].contains(&pair[1]))
}
