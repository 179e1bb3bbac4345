//! A log told from end to end, and what each role reads at each stage, against a text that was accepted.
//!
//! With one guard ashore there are no lanes, so that the text does not hang on the planner.

mod desk;

use desk::{Desk, SMALL, tarn_with};
use incident::report::{CareStep, Report, Role, WhyOut};
use incident::{Water, handover};
use std::fmt::Write as _;

fn tell(desk: &Desk, title: &str, text: &mut String) {
    writeln!(text, "## {title}").unwrap();
    for device in ["lead", "recorder", "gate", "viewer"] {
        let screen = desk.screen(device);
        let words = &screen.first_words;
        writeln!(text, "{device}: {} | {} | {}", words.over, words.lines.join(" / "), words.under).unwrap();
        writeln!(text, "  may: {}", screen.you.may.join(" ")).unwrap();
    }
    let screen = desk.screen("lead");
    writeln!(text, "{:?}, practice {}, shouts: {}", screen.stage, screen.practice, screen.shouts.join(" "))
        .unwrap();
    if let Some(care) = &screen.care {
        writeln!(text, "care: {}", care.of).unwrap();
        for step in &care.steps {
            let at = step.at_ms.map(|ms| (ms - desk::ALARM_MS) / 1000);
            writeln!(text, "  {}: {} {at:?}", step.title, step.note).unwrap();
        }
    }
    writeln!(text).unwrap();
}

fn story() -> String {
    let (site, mut day) = tarn_with(2);
    for member in &mut day.crew {
        (member.dive_m, member.wade, member.board) = (None, false, false);
    }
    let mut desk = Desk::on(Water::new(site, day.stage_m), &day, SMALL);
    let mut text = String::from("# What each role reads, stage by stage\n\n");
    for (device, role) in
        [("lead", Role::Lead), ("recorder", Role::Recorder), ("gate", Role::Gate), ("viewer", Role::Viewer)]
    {
        desk.role(device, role);
    }
    tell(&desk, "quiet", &mut text);
    desk.send("lead", Report::SwimmerMissing { practice: true });
    tell(&desk, "asking, practice", &mut text);
    desk.wait(6);
    desk.send("viewer", Report::ThisIsReal);
    desk.send("lead", desk::place(1, measure::Spot::new(-12.0, 24.0)));
    tell(&desk, "asking for the time", &mut text);
    desk.send("lead", desk::ago(1, 60.0, 120.0));
    desk.send("gate", Report::Services { here: false });
    desk.send("gate", Report::ShoreChecked { place: Some("Changing rooms".into()) });
    let words = Some("Girl, 9. Green suit".to_string());
    desk.send("gate", Report::MissingTold { missing: 1, height_m: Some(1.3), swimmer: Some(true), words });
    desk.wait(600);
    tell(&desk, "searching", &mut text);
    desk.send("gate", Report::AllOut { why: WhyOut::Thunder });
    tell(&desk, "all out", &mut text);
    desk.wait(300);
    desk.send("lead", Report::BackIn);
    desk.send("recorder", Report::Found { missing: None });
    desk.wait(20);
    desk.send("recorder", Report::Care { step: CareStep::Surfaced, done: true });
    tell(&desk, "found", &mut text);
    desk.send("lead", Report::NotThem);
    desk.send("lead", Report::CommandPassed { to: "Sergeant of the water rescue".into() });
    tell(&desk, "command passed", &mut text);
    desk.send("gate", Report::FoundAshore { missing: 1, place: Some("Kiosk".into()) });
    tell(&desk, "found ashore", &mut text);
    writeln!(text, "## log").unwrap();
    for line in desk.screen("lead").log.iter().rev().filter(|line| !line.words.starts_with("orders shown")) {
        writeln!(text, "{:5} s  {}", (line.happened_ms - desk::ALARM_MS) / 1000, line.words).unwrap();
    }
    let sheet = handover(&desk.state, &desk.thought, &desk.names, desk.now_ms);
    writeln!(
        text,
        "\n## sheet\n{}, {} after the alarm; {}; {}",
        sheet.site, sheet.since, sheet.command, sheet.services
    )
    .unwrap();
    for line in sheet
        .missing
        .iter()
        .map(|m| &m.words)
        .chain(sheet.sightings.iter().map(|s| &s.words))
        .chain(&sheet.ashore)
    {
        writeln!(text, "{line}").unwrap();
    }
    text
}

#[test]
fn golden_alarm_room() {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/golden/alarm-room.txt");
    let text = story();
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(path, &text).unwrap();
    }
    let golden = std::fs::read_to_string(path).unwrap_or_default();
    let first = text.lines().zip(golden.lines()).find(|(now, then)| now != then);
    assert!(
        text == golden,
        "the texts have changed, first at {first:?}; accept them with `cargo xtask bless`"
    );
}
