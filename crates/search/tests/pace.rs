//! How long plans take: `cargo test --release -p search --test pace -- --ignored --nocapture`.

mod common;

use common::*;
use measure::Seed;
use search::course::{Course, Told};
use search::plan::{Request, check::check, plan};
use search::told::{Happening, Report};
use search::{Alarm, AlarmKind, Missing, Seen, Sighting, WitnessClass};
use std::time::Instant;

/// CPU seconds of all threads of this process so far (Linux), so that a busy machine does not blur the figure.
fn cpu_s() -> f64 {
    let Ok(tasks) = std::fs::read_dir("/proc/self/task") else { return f64::NAN };
    tasks
        .flatten()
        .filter_map(|task| std::fs::read_to_string(task.path().join("schedstat")).ok())
        .filter_map(|text| text.split_whitespace().next()?.parse::<f64>().ok())
        .sum::<f64>()
        * 1e-9
}

/// A search of twenty reports: every lane is reported when its time is over.
#[test]
#[ignore = "measures time: run it in a release build on a quiet machine"]
fn a_report_is_answered_within_a_fraction_of_a_second() {
    let world = beach(11, 10);
    let setting = world.setting();
    let seen = Seen::Point { spot: world.last_seen, error_m: Some(7.0), stood: None };
    let sighting = Sighting {
        by: "Tom".into(),
        class: WitnessClass::Guard,
        seen,
        heading: None,
        from_s: -150.0,
        to_s: -90.0,
        went_under: false,
        talked_with: Vec::new(),
    };
    let missing = Missing { height_m: 1.4, swimmer: Some(false) };
    let alarm = Alarm { kind: AlarmKind::CountShort, at_s: 52_327.0, missing, sightings: vec![sighting] };
    let mut told = Told {
        alarm,
        reports: Vec::new(),
        now_s: None,
        seed: Seed(3),
        particles: 200_000,
        effort: Request::SECOND_EFFORT,
    };
    let spent = cpu_s();
    let mut live = Course::open(&setting, &told);
    println!("alarm to orders: {:.0} ms CPU", 1e3 * (cpu_s() - spent));
    for line in 1..=20 {
        // The lane under way that ends first; before any, the moment the first begins.
        let open = live.begun.iter().filter(|b| b.ended_s.is_none());
        let next = open.min_by(|a, b| a.run.to_s.total_cmp(&b.run.to_s));
        let Some((order, at_s)) = next.map(|b| (b.number, b.run.to_s)) else {
            live.pass_to(live.now_s + 60.0);
            continue;
        };
        let report = Report { at_s, happening: Happening::LaneWalked { order }, line };
        let spent = cpu_s();
        live.report(&setting, &told, &report);
        live.pass_to(at_s);
        println!("report {line:2} (+{at_s:.0} s): {:.0} ms CPU", 1e3 * (cpu_s() - spent));
        told.reports.push(report);
    }
    let spent = cpu_s();
    Course::follow(&setting, &told);
    println!("replay of {} reports: {:.0} ms CPU", told.reports.len(), 1e3 * (cpu_s() - spent));
}

#[test]
#[ignore = "measures time: run it in a release build on a quiet machine"]
fn a_first_plan_takes_a_tenth_of_a_second() {
    for people in [3, 8, 11] {
        let world = beach(people, 200_000);
        for effort in [1, 10_000, Request::SECOND_EFFORT, 160_000, 640_000] {
            let request = Request { effort, ..world.request() };
            let (mut best, mut cpu) = (f64::INFINITY, f64::INFINITY);
            let mut made = plan(&request);
            for _ in 0..if effort == 1 { 3 } else { 1 } {
                let (start, spent) = (Instant::now(), cpu_s());
                made = plan(&request);
                cpu = cpu.min(cpu_s() - spent);
                best = best.min(start.elapsed().as_secs_f64());
            }
            let start = Instant::now();
            let review = check(&made, &request);
            println!(
                "{people:2} people, effort {effort:6}: {:6.1} ms ({:6.1} ms CPU), {:6} plans, value {:.4} (particles {:.4}), ceiling {:.4}, {} runs, check {:.0} ms",
                1e3 * best,
                1e3 * cpu,
                made.evaluations,
                made.value,
                review.value,
                made.ceiling,
                made.runs.len(),
                1e3 * start.elapsed().as_secs_f64()
            );
            assert!(effort > 1 || best < 1.0, "{best} s");
        }
    }
}
