//! What counts as searched, and what an order is called, while reports come in.

mod common;

use common::*;
use measure::Spot;
use search::course::{Course, Told};
use search::plan::Request;
use search::told::{Happening, Report};
use search::{Alarm, AlarmKind, Missing, Seen, Sighting, WitnessClass};

fn told(reports: Vec<(f64, Happening)>, now_s: Option<f64>) -> Told {
    let sighting = Sighting {
        by: "Sam".into(),
        class: WitnessClass::Companion,
        seen: Seen::Point { spot: beach(3, 1).last_seen, error_m: Some(6.0), stood: None },
        heading: None,
        from_s: -150.0,
        to_s: -90.0,
        went_under: true,
        talked_with: Vec::new(),
    };
    let alarm = Alarm {
        kind: AlarmKind::SeenGoingUnder,
        at_s: 50_000.0,
        missing: Missing { height_m: 1.4, swimmer: None },
        sightings: vec![sighting],
    };
    let reports = reports
        .into_iter()
        .enumerate()
        .map(|(k, (at_s, happening))| Report { line: k + 1, at_s, happening })
        .collect();
    Told {
        alarm,
        reports,
        now_s,
        seed: measure::Seed(5),
        particles: 8_000,
        effort: 8.min(Request::FIRST_EFFORT),
    }
}

// shows: PL-14
#[test]
fn a_lane_counts_only_when_it_is_reported() {
    let world = beach(6, 10);
    let setting = world.setting();
    let start = Course::follow(&setting, &told(Vec::new(), None));
    let silent = Course::follow(&setting, &told(Vec::new(), Some(400.0)));
    assert!(!silent.begun.is_empty() && silent.sweeps.is_empty());
    assert_eq!(silent.belief.masses, start.belief.masses, "time alone searches nothing");
    let order = silent.begun.last().expect("an order that began").number;
    let walked = Course::follow(&setting, &told(vec![(400.0, Happening::LaneWalked { order })], None));
    assert!(!walked.sweeps.is_empty());
    assert!(walked.belief.masses.elsewhere > start.belief.masses.elsewhere);
    let twice = vec![(400.0, Happening::LaneWalked { order }), (401.0, Happening::LaneWalked { order })];
    let again = Course::follow(&setting, &told(twice, None));
    assert_eq!(again.sweeps, walked.sweeps, "a repeat changes nothing");
    assert!(!again.said.is_empty(), "and is said");
}

// shows: PL-15
#[test]
fn orders_keep_their_numbers_and_what_is_under_way_its_lane() {
    let world = beach(6, 10);
    let setting = world.setting();
    let before = Course::follow(&setting, &told(Vec::new(), Some(120.0)));
    assert!(!before.begun.is_empty());
    let late = Sighting {
        by: "Lou".into(),
        seen: Seen::Point { spot: world.last_seen + Spot::new(15.0, 0.0), error_m: Some(5.0), stood: None },
        ..told(Vec::new(), None).alarm.sightings[0].clone()
    };
    let after = Course::follow(&setting, &told(vec![(120.0, Happening::Witness(late))], None));
    for begun in &before.begun {
        let same = after.begun.iter().find(|b| b.number == begun.number).expect("an order keeps its number");
        assert_eq!((same.run.from, same.run.to), (begun.run.from, begun.run.to));
    }
    let mut numbers: Vec<usize> = after.begun.iter().map(|b| b.number).collect();
    numbers.sort_unstable();
    numbers.dedup();
    assert_eq!(numbers.len(), after.begun.len(), "no number is given twice");
}
