//! Readiness of a day: zones, shortages, what would help, and the cheap way against the whole chain.

mod waters;

use measure::{Seed, Spot};
use readiness::chain::{Thinking, found_by, search_through, searched, told};
use readiness::incident::{Incident, Source, Truths, Witnesses, World};
use readiness::luck::Luck;
use readiness::reach::{first_reach, straight_reach};
use readiness::today::{Asked, Case, cases, readiness};
use readiness::trials::{Trials, run, verdict};
use readiness::what_if::{Scene, WhatIf, cases_on, effect, ranked};
use search::course::Course;
use water::{Ground, Kind, Site};

const QUICK: Thinking = Thinking { particles: 2_000, effort: 1 };
const AT_S: f64 = 52_200.0;

fn worked(scene: &Scene, alarms: u64, seed: u64) -> (Vec<Case>, readiness::today::Readiness) {
    let (setting, zones) = (scene.setting(), scene.zones());
    let reach = first_reach(&setting, AT_S);
    let asked = Asked {
        setting,
        zones: &zones,
        at_s: AT_S,
        alarms,
        truths: 20,
        anew: alarms / 4 + 1,
        thinking: QUICK,
        reach: &reach,
        seed: Seed(seed),
    };
    let all = cases(&asked, &|_| true);
    let whole = readiness(&asked, &all);
    (all, whole)
}

// shows: RD-1
#[test]
fn a_day_is_told_zone_by_zone_with_errors() {
    let mut scene = waters::beach(8);
    scene.site.features.push(waters::feature(
        "Deep",
        Kind::BathingArea,
        waters::area((85.0, 110.0), (40.0, 70.0)),
    ));
    let (_, whole) = worked(&scene, 8, 3);
    assert_eq!(whole.zones.len(), 2);
    assert_eq!(whole.incidents, 2 * 8 * 20);
    let [beach, deep] = [&whole.zones[0], &whole.zones[1]];
    for zone in [beach, deep] {
        assert!(zone.found_by.windows(2).all(|w| w[0].mean <= w[1].mean));
        assert!(zone.found_by.iter().all(|m| m.error > 0.0 && m.error < 0.2), "{:?}", zone.found_by);
        let [half, most] = zone.first_guard_s;
        assert!(half.unwrap() <= most.unwrap() && half.unwrap() > 3.0);
    }
    assert!(beach.first_guard_s[0] < deep.first_guard_s[0], "the far zone is reached later");
    assert!(beach.shortage.searchable > 0.99 && beach.shortage.people.is_empty(), "{:?}", beach.shortage);
    assert!(whole.found_by[2].mean > 0.1, "{:?}", whole.found_by);
}

// shows: RD-2
#[test]
fn what_cannot_be_searched_says_why_and_what_is_short() {
    let reasons = |scene: &Scene| {
        let (_, whole) = worked(scene, 2, 1);
        whole.zones[0].shortage.clone()
    };
    let mut unfit = waters::beach(5);
    unfit.day.crew.iter_mut().for_each(|m| {
        (m.wade, m.dive_m, m.lookout, m.lead) = (false, None, false, false);
    });
    let short = reasons(&unfit);
    assert_eq!(short.searchable, 0.0);
    assert!(short.not_searchable[0].1.contains("nobody is on duty who may search"), "{short:?}");
    assert!(
        short.people.iter().any(|p| p.contains("dive")) && short.people.iter().any(|p| p.contains("lead"))
    );

    let mut off = waters::beach(5);
    off.day.crew.iter_mut().for_each(|m| m.hours = vec![water::Hours { from_s: 0.0, to_s: 3600.0 }]);
    assert_eq!(reasons(&off).searchable, 0.0);

    let mut cold = waters::beach(6);
    cold.day.water_c = 7.0;
    let short = reasons(&cold);
    assert!(short.searchable > 0.1 && short.searchable < 0.9);
    assert!(short.not_searchable.iter().any(|(_, why)| why.contains("wetsuit")), "{short:?}");

    let mut unknown = waters::beach(6);
    unknown.ground.depth_m.fill(f64::NAN);
    let short = reasons(&unknown);
    assert_eq!(short.not_searchable, vec![(1.0, "the depth is not known".to_string())]);

    let mut torrent = waters::beach(6);
    torrent.flow = water::Flow::Uniform { velocity: Spot::new(3.0, 0.0), covariance: [0.0; 3] };
    let short = reasons(&torrent);
    assert!(short.searchable < 0.1 && short.not_searchable[0].1.contains("current is too fast"), "{short:?}");
    assert!(short.not_searchable[0].0 > 0.9, "{short:?}");

    let three = reasons(&waters::beach(3));
    assert!(three.people.iter().any(|p| p.starts_with("1 more on duty")), "{three:?}");
    let one = reasons(&waters::beach(1));
    assert!(one.not_searchable[0].1.contains("one guard alone"), "{one:?}");

    let mut dry = waters::beach(6);
    dry.ground.depth_m.fill(-1.0);
    dry.ground.cover.fill(water::Cover::Land);
    let (none, whole) = worked(&dry, 2, 1);
    assert!(none.is_empty() && whole.zones[0].shortage.not_searchable[0].1.contains("no water"));
}

// shows: RD-3
#[test]
fn the_same_seed_gives_the_same_cases_on_one_thread_and_on_two() {
    let scene = waters::beach(5);
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| worked(&scene, 5, 9))
    };
    assert_eq!(with(1), with(2));
}

// shows: RD-4
#[test]
fn changes_are_tried_on_the_same_incidents_and_ranked() {
    let scene = waters::beach(4);
    let (setting, zones) = (scene.setting(), scene.zones());
    let reach = first_reach(&setting, AT_S);
    let asked = Asked {
        setting,
        zones: &zones,
        at_s: AT_S,
        alarms: 12,
        truths: 20,
        anew: 0,
        thinking: QUICK,
        reach: &reach,
        seed: Seed(2),
    };
    let today = cases(&asked, &|_| true);
    let areas = [zones[0].area_m2(&scene.ground.grid)];
    let whole = |_: &Site, ground: Ground| ground;
    let tried = |change: WhatIf| {
        let other = scene.changed(&change, AT_S, &whole).unwrap();
        let setting = other.setting();
        let reach = first_reach(&setting, AT_S);
        effect(
            change.words(asked.setting.site),
            (&today, &cases_on(&asked, &other, &reach, &|_| true)),
            &areas,
        )
    };
    let nothing = tried(WhatIf::Current(1.0));
    assert_eq!((nothing.found_10_min.mean, nothing.found_30_min.mean, nothing.told_apart), (0.0, 0.0, false));
    let (more, fewer) = (tried(WhatIf::GuardMore), tried(WhatIf::GuardFewer));
    assert!(more.found_10_min.mean > 0.0 && fewer.found_10_min.mean < 0.0, "{more:?} {fewer:?}");
    let away = tried(WhatIf::Post("Gate".into(), Spot::new(2.0, 70.0)));
    assert!(away.first_guard_s.mean > 0.0, "people wait at the gate, which is farther off now: {away:?}");
    let rank = ranked(vec![fewer.clone(), nothing, more.clone()]);
    assert_eq!((rank[0].what.as_str(), rank[2].what.as_str()), (more.what.as_str(), fewer.what.as_str()));
    // The order of two is told apart only where their gap is three times the error of it or more.
    for pair in rank.windows(2) {
        let (a, b) = (pair[0].found_10_min, pair[1].found_10_min);
        assert_eq!(pair[0].level_with_next, a.mean - b.mean < 3.0 * a.error.hypot(b.error), "{rank:?}");
    }
    assert!(!rank[2].level_with_next);
    assert!(scene.changed(&WhatIf::Post("Nowhere".into(), Spot::default()), AT_S, &whole).is_none());
    assert!(waters::beach(0).changed(&WhatIf::GuardFewer, AT_S, &whole).is_none());
}

#[test]
fn a_rope_keeps_bathers_shallow_and_a_cut_keeps_the_water_near() {
    let mut scene = waters::beach(5);
    let all = scene.zones()[0].cells.len();
    scene.rope_m = Some(1.2);
    let zones = scene.zones();
    assert!(!zones[0].cells.is_empty() && zones[0].cells.len() < all);
    assert!(zones[0].cells.iter().all(|&cell| scene.ground.depth_m[cell as usize] <= 1.3));
    let cut = readiness::excerpt::about_bathers(&scene.site, &scene.ground, 10.0);
    assert!(cut.grid.len() < scene.ground.grid.len());
    for cell in 0..cut.grid.len() {
        let spot = cut.grid.centre(cell);
        let whole = scene.ground.grid.cell(spot).unwrap();
        assert_eq!(cut.depth_m[cell].to_bits(), scene.ground.depth_m[whole].to_bits());
    }
    let wide = readiness::excerpt::about_bathers(&scene.site, &scene.ground, 1e9);
    assert_eq!(wide.grid, scene.ground.grid);
}

#[test]
fn the_first_guard_is_about_as_fast_as_the_straight_line_says() {
    let scene = waters::beach(6);
    let setting = scene.setting();
    let (ways, straight) = (first_reach(&setting, AT_S), straight_reach(&setting, AT_S));
    for spot in [Spot::new(50.0, 12.0), Spot::new(60.0, 25.0), Spot::new(75.0, 36.0)] {
        let (a, b) = (ways(spot).unwrap(), straight(spot).unwrap());
        // Other paces and real ways: they only have to tell the same story.
        assert!(a > 0.4 * b && a < 2.5 * b, "{spot:?}: {a} s by the ways, {b} s straight");
    }
    let nobody = waters::beach(0);
    let setting = nobody.setting();
    assert!(first_reach(&setting, AT_S)(Spot::new(50.0, 12.0)).is_none());
    assert!(straight_reach(&setting, AT_S)(Spot::new(50.0, 12.0)).is_none());
}

/// What is promised against independent incidents of the whole chain: each in its own world of bathers, from an own seed.
fn against_the_chain(alarms: u64, truths: u64) -> Vec<(readiness::shares::Mean, readiness::shares::Mean)> {
    let scene = waters::beach(7);
    let (_, promised) = worked(&scene, alarms, 21);
    let zones = scene.zones();
    let asked = Trials {
        setting: scene.setting(),
        zones: &zones,
        witnesses: Witnesses::Mixed,
        world: World::as_modelled(Truths::Bathers),
        at_s: AT_S,
        thinking: QUICK,
        planned_anew: true,
        horizon_s: 1800.0,
        seed: Seed(77),
    };
    let v = verdict(&run(&asked, truths, &|_| true), scene.day.water_c);
    let whole = v.columns[1].found_by.clone();
    println!(
        "promised {:?}\nby first plans {:?}",
        promised.zones[0].found_by, promised.zones[0].found_by_first_plan
    );
    println!("came true {whole:?}");
    promised.zones[0].found_by.iter().copied().zip(whole).collect()
}

// shows: RD-5
#[test]
fn what_is_promised_comes_true() {
    for (promised, true_) in against_the_chain(20, 20) {
        let error = promised.error.hypot(true_.error);
        assert!((promised.mean - true_.mean).abs() <= 3.0 * error, "{promised:?} {true_:?}");
    }
}

// shows: RD-5
#[test]
#[ignore = "five minutes of one processor: `cargo xtask calibrate`"]
fn what_is_promised_comes_true_over_many_incidents() {
    for (promised, true_) in against_the_chain(240, 640) {
        let error = promised.error.hypot(true_.error);
        assert!(error < 0.035, "too few to tell anything: {error}");
        assert!((promised.mean - true_.mean).abs() <= 3.0 * error, "{promised:?} {true_:?}");
    }
}

// shows: RD-5
#[test]
#[ignore = "a minute of one processor: `cargo xtask calibrate`"]
fn new_plans_find_more_than_the_first_alone_and_the_promise_knows() {
    let (_, whole) = worked(&waters::beach(7), 240, 21);
    let zone = &whole.zones[0];
    println!("promised {:?}\nby first plans {:?}", zone.found_by, zone.found_by_first_plan);
    assert!(zone.found_by[4].mean > zone.found_by_first_plan[4].mean + 0.01, "{zone:?}");
    assert!(zone.found_by.iter().all(|m| m.error < 0.03), "{zone:?}");
}

// shows: RD-5
#[test]
fn one_course_serves_for_every_truth_behind_an_alarm() {
    let scene = waters::beach(6);
    let (setting, zones) = (scene.setting(), scene.zones());
    let world = World::as_modelled(Truths::Bathers);
    let source = Source { setting, zone: &zones[0], witnesses: Witnesses::Mixed, world, at_s: AT_S };
    let mut found = 0;
    for number in 0..4 {
        let (incident, truths) = source.draw_with_truths((Seed(5), number), 6).unwrap();
        let told = told(&incident, QUICK);
        let luck = Luck { seed: incident.seed, outlook: world.outlook(), pace_sd: world.pace_sd };
        let made = searched((&setting, Course::open(&setting, &told)), &told, &luck, 900.0);
        assert!(made.windows(2).all(|pair| pair[0].to_s <= pair[1].to_s + 1e-9));
        for body in std::iter::once(incident.body).chain(truths.iter().map(|truth| truth.0)) {
            let incident = Incident { body, ..incident.clone() };
            let through =
                search_through((&setting, Course::open(&setting, &told)), &told, (&incident, &luck), 900.0);
            assert_eq!(found_by(&made, &body, &luck), through.found_s, "{number}: {body:?}");
            found += u32::from(through.found_s.is_some());
        }
        // They are not the incident's own over and over.
        assert!(truths.iter().any(|truth| truth.0.spot != incident.body.spot));
    }
    assert!(found > 3, "{found} found");
}

// shows: RD-7
#[test]
fn what_is_likely_after_what_was_told_holds_the_truth_as_often_as_it_says() {
    let scene = waters::beach(3);
    let zones = scene.zones();
    let world = World::as_modelled(Truths::Bathers);
    for witnesses in
        [Witnesses::Nobody, Witnesses::One, Witnesses::Agree, Witnesses::Disagree, Witnesses::Bearing]
    {
        let source = Source { setting: scene.setting(), zone: &zones[0], witnesses, world, at_s: AT_S };
        let ranks: Vec<f64> = (0..400).filter_map(|number| source.rank_of_truth(Seed(8), number)).collect();
        let n = ranks.len() as f64;
        let mean = ranks.iter().sum::<f64>() / n;
        let half = ranks.iter().filter(|r| **r < 0.5).count() as f64 / n;
        let tenth = ranks.iter().filter(|r| **r < 0.1).count() as f64 / n;
        println!("{witnesses:?}: mean {mean:.3}, below a half {half:.3}, below a tenth {tenth:.3}");
        assert!(n > 390.0);
        // Evenly spread ranks: mean 0.5 ± 0.0144, shares ± 0.025 and ± 0.015 over four hundred; 3.3 of those.
        assert!((mean - 0.5).abs() < 0.048 && (half - 0.5).abs() < 0.083, "{witnesses:?}: {mean} {half}");
        assert!((tenth - 0.1).abs() < 0.05, "{witnesses:?}: {tenth}");
    }
}

// shows: RD-6
#[test]
fn a_gain_that_is_told_apart_keeps_its_sign_with_another_seed() {
    let scene = waters::beach(3);
    let whole = |_: &Site, ground: Ground| ground;
    let more =
        (0..3).fold(scene.clone(), |scene, _| scene.changed(&WhatIf::GuardMore, AT_S, &whole).unwrap());
    let areas = [scene.zones()[0].area_m2(&scene.ground.grid)];
    let effects = [11, 12].map(|seed| {
        let (today, _) = worked(&scene, 10, seed);
        let (changed, _) = worked(&more, 10, seed);
        effect("three guards more".into(), (&today, &changed), &areas)
    });
    println!("{effects:?}");
    assert!(effects.iter().any(|e| e.told_apart), "{effects:?}");
    assert!(effects.iter().all(|e| !e.told_apart || e.found_10_min.mean > 0.0), "{effects:?}");
}
