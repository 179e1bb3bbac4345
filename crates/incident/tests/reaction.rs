//! How long the desk thinks: `cargo test --release -p incident --test reaction -- --ignored --nocapture`.

mod desk;

use desk::{Desk, tarn};
use incident::report::Report;
use incident::{Effort, Water};
use std::time::Instant;

/// With small clouds in every run; with the full ones when asked for.
fn reactions(effort: Effort) -> Vec<(&'static str, f64)> {
    let (site, day) = tarn();
    let mut desk = Desk::on(Water::new(site, day.stage_m), &day, effort);
    let mut all = Vec::new();
    let mut time = |name, desk: &mut Desk, report: Report| {
        let start = Instant::now();
        desk.send("a", report);
        let screens: usize = (0..10).map(|_| serde_json::to_string(&desk.screen("a")).unwrap().len()).sum();
        assert!(screens > 0);
        all.push((name, start.elapsed().as_secs_f64()));
        desk.wait(5);
    };
    time("first touch", &mut desk, Report::SwimmerMissing { practice: false });
    time("where", &mut desk, desk::place(1, measure::Spot::new(-12.0, 24.0)));
    time("when: orders", &mut desk, desk::ago(1, 60.0, 120.0));
    time(
        "who",
        &mut desk,
        Report::MissingTold { missing: 1, height_m: Some(1.3), swimmer: None, words: None },
    );
    time("second witness: where", &mut desk, desk::place(2, measure::Spot::new(-20.0, 30.0)));
    time("second witness: when", &mut desk, desk::ago(2, 90.0, 100.0));
    desk.say_all("a");
    let wade = desk.line(search::Method::Wade);
    desk.now_ms = wade.ends_ms;
    let mut time = |name, desk: &mut Desk, report: Report| {
        let start = Instant::now();
        desk.send("a", report);
        all.push((name, start.elapsed().as_secs_f64()));
        desk.wait(5);
    };
    time("lane walked", &mut desk, Report::LaneWalked { order: wade.order });
    time(
        "one more missing",
        &mut desk,
        Report::MissingTold { missing: 2, height_m: None, swimmer: None, words: None },
    );
    time("a remark", &mut desk, Report::Note { words: "cold".into() });
    let start = Instant::now();
    desk.screen("a");
    all.push(("one screen", start.elapsed().as_secs_f64()));
    all
}

#[test]
fn small_clouds_answer_at_once() {
    for (name, seconds) in reactions(desk::SMALL) {
        assert!(seconds < 20.0, "{name}: {seconds:.1} s with a small cloud, on whatever machine");
    }
}

#[test]
#[ignore = "measures time: run it alone, in release"]
fn full_clouds_answer_within_a_second() {
    for (name, seconds) in reactions(Effort::default()) {
        println!("{name:>24} {:8.1} ms", 1000.0 * seconds);
    }
}
