//! Truth trials on a small beach: promises against what comes true, the same bits on any number of threads.

mod waters;

use measure::Seed;
use readiness::chain::Thinking;
use readiness::incident::{Truths, Witnesses, World};
use readiness::trials::{Trial, Trials, run, verdict};
use readiness::what_if::Scene;
use std::cell::Cell;

const QUICK: Thinking = Thinking { particles: 3_000, effort: 1 };

fn trials<'a>(scene: &'a Scene, zones: &'a [readiness::bathers::Zone], world: World) -> Trials<'a> {
    Trials {
        setting: scene.setting(),
        zones,
        witnesses: Witnesses::One,
        world,
        at_s: 52_200.0,
        thinking: QUICK,
        planned_anew: false,
        horizon_s: 1800.0,
        seed: Seed(5),
    }
}

// shows: TR-1
#[test]
fn what_first_plans_promise_comes_true() {
    let scene = waters::beach(6);
    let zones = scene.zones();
    let all = run(&trials(&scene, &zones, World::as_modelled(Truths::Model)), 60, &|_| true);
    let v = verdict(&all, scene.day.water_c);
    println!("promised {:?}\nbeyond {:?}", v.promised, v.beyond_promise);
    assert_eq!(v.trials, 60);
    assert!(v.promised.windows(2).all(|w| w[0] <= w[1]) && v.promised[2] > 0.2, "{:?}", v.promised);
    // Three and a half standard errors, and two percent for planning on the 3,000 particles that promise.
    for beyond in &v.beyond_promise {
        assert!(beyond.mean.abs() <= 3.5 * beyond.error + 0.02, "{beyond:?}");
    }
}

// shows: TR-1
#[test]
#[ignore = "twenty minutes: `cargo xtask calibrate`"]
fn what_first_plans_promise_comes_true_over_a_thousand_truths() {
    let scene = waters::beach(8);
    let zones = scene.zones();
    for witnesses in [Witnesses::One, Witnesses::Disagree, Witnesses::Nobody] {
        let asked = Trials {
            witnesses,
            thinking: Thinking::default(),
            ..trials(&scene, &zones, World::as_modelled(Truths::Model))
        };
        let v = verdict(&run(&asked, 1000, &|_| true), scene.day.water_c);
        println!("{witnesses:?}: promised {:?}, beyond {:?}", v.promised, v.beyond_promise);
        for beyond in &v.beyond_promise {
            assert!(beyond.mean.abs() <= 3.3 * beyond.error + 0.01, "{witnesses:?}: {beyond:?}");
        }
    }
}

// shows: TR-2
#[test]
fn a_world_that_finds_less_breaks_the_promise_and_the_trials_say_so() {
    let scene = waters::beach(6);
    let zones = scene.zones();
    let world = World { contact: 0.2, shift_m: 25.0, ..World::as_modelled(Truths::Model) };
    let v = verdict(&run(&trials(&scene, &zones, world), 60, &|_| true), scene.day.water_c);
    assert!(!v.keeps_its_word(2.5), "{:?}", v.beyond_promise);
    assert!(v.beyond_promise[3].mean < 0.0, "{:?}", v.beyond_promise);
}

#[test]
fn a_few_trials_without_a_find_do_not_break_a_promise_that_many_would() {
    let nobody = Trial {
        promised: vec![0.04, 0.07, 0.1, 0.12, 0.15],
        promised_worth: 0.08,
        habits_worth: vec![0.02; 3],
        as_written_s: None,
        planned_s: None,
        habits_s: vec![None; 3],
        rest_s: 20.0,
        plans: 1,
    };
    assert!(verdict(&vec![nobody.clone(); 4], 20.0).keeps_its_word(2.5));
    assert!(!verdict(&vec![nobody; 400], 20.0).keeps_its_word(2.5));
}

// shows: TR-3
#[test]
fn the_same_seed_gives_the_same_trials_on_one_thread_and_on_two() {
    let scene = waters::beach(5);
    let zones = scene.zones();
    let asked = Trials { planned_anew: true, ..trials(&scene, &zones, World::as_modelled(Truths::Bathers)) };
    let with = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().unwrap();
        pool.install(|| run(&asked, 3, &|_| true))
    };
    let (one, two) = (with(1), with(2));
    assert_eq!(one, two);
    assert!(one.iter().any(|trial| trial.plans > 1), "nothing was planned anew");
}

// shows: TR-4
#[test]
fn whoever_says_enough_keeps_what_is_done() {
    let scene = waters::beach(4);
    let zones = scene.zones();
    let told = Cell::new(0);
    let asked = trials(&scene, &zones, World::as_modelled(Truths::Bathers));
    let some = run(&asked, 100, &|done| {
        told.set(done);
        done < 8
    });
    assert_eq!((some.len(), told.get()), (8, 8));
    assert_eq!(some, run(&asked, 8, &|_| true), "the same as if no more had been asked for");
}

// shows: TR-7
#[test]
fn reports_and_new_plans_find_what_the_first_plan_does_not_lose() {
    let scene = waters::beach(7);
    let zones = scene.zones();
    let asked = Trials { planned_anew: true, ..trials(&scene, &zones, World::as_modelled(Truths::Model)) };
    let all = run(&asked, 8, &|_| true);
    for trial in &all {
        assert!(trial.plans >= 1 && trial.planned_s.is_none_or(|s| s > 0.0 && s <= 1800.0), "{trial:?}");
    }
    let found = all.iter().filter(|trial| trial.planned_s.is_some()).count();
    assert!(found >= 2, "only {found} of 8 were found");
}

#[test]
fn waters_and_crews_that_cannot_search_find_nobody_and_nothing_breaks() {
    for people in [0, 1, 3] {
        let scene = waters::beach(people);
        let zones = scene.zones();
        let asked =
            Trials { planned_anew: true, ..trials(&scene, &zones, World::as_modelled(Truths::Model)) };
        let all = run(&asked, 3, &|_| true);
        assert_eq!(all.len(), 3);
        assert!(
            people > 1 || all.iter().all(|t| t.planned_s.is_none() && t.habits_s.iter().all(Option::is_none))
        );
    }
    let mut dry = waters::beach(5);
    dry.ground.depth_m.fill(-1.0);
    dry.ground.cover.fill(water::Cover::Land);
    let zones = dry.zones();
    assert!(run(&trials(&dry, &zones, World::as_modelled(Truths::Model)), 3, &|_| true).is_empty());
}
