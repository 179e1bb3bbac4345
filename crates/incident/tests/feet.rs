//! A site in feet: every length that a person reads, on screens, in the log and on the sheet, is in feet.

mod desk;

use desk::{Desk, SMALL, ago, place};
use incident::event::Event;
use incident::report::{Report, Where};
use incident::{Water, chart, handover};
use measure::{Bearing, Spot};
use search::Method;
use water::door::{SiteFiles, read_day, read_site};
use water::{Day, Site, Units};

fn beach(units: Units) -> (Site, Day) {
    let file = |name: &str, bytes: &[u8]| (name.to_string(), bytes.to_vec());
    let files = SiteFiles {
        files: vec![
            file("site.toml", include_bytes!("../../../data/sites/pleasant-beach/site.toml")),
            file("map.geojson", include_bytes!("../../../data/sites/pleasant-beach/map.geojson")),
            file(
                "pleasant_elevation.tif",
                include_bytes!("../../../data/sites/pleasant-beach/pleasant_elevation.tif"),
            ),
        ],
    };
    let mut site = read_site(&files).value.expect("the site comes through the door");
    assert_eq!(site.units, Units::Feet);
    site.units = units;
    let day = include_bytes!("../../../data/sites/pleasant-beach/day.toml");
    let mut day = read_day("day.toml", day, &site).value.expect("the day comes through the door");
    // Enough for lines that wade and that dive.
    for name in ["Bo", "Cy", "Di", "Ed", "Flo"] {
        day.crew.push(water::Member { name: name.into(), ..day.crew[2].clone() });
    }
    (site, day)
}

/// All words of screens, sheet and chart as JSON, after a search in which lengths of every kind were told; and refusals.
fn read(units: Units) -> Vec<String> {
    let (site, day) = beach(units);
    let still = chart(&site, &water::Ground::build(&site, day.stage_m).value, &day);
    // Contours at round lengths of the site's own, beside its two limits.
    let limits = [site.limits.wade_depth_m, site.limits.dive_depth_m];
    for contour in still.contours.iter().filter(|contour| !limits.contains(&contour.depth_m)) {
        let twice = 2.0 * units.length_of(contour.depth_m);
        assert!((twice - twice.round()).abs() < 1e-9, "{units:?}: {}", contour.depth_m);
    }
    let mut desk = Desk::on(Water::new(site, day.stage_m), &day, SMALL);
    let mut all = vec![serde_json::to_string(&still.conditions).unwrap()];
    desk.send("a", Report::SwimmerMissing { practice: false });
    desk.send("a", place(1, Spot::new(-20.0, 5.0)));
    desk.send("a", ago(1, 60.0, 120.0));
    let mut more = desk::sighting(2);
    if let Report::Sighting { place, .. } = &mut more {
        let bearing = Bearing::new(280.0);
        *place = Some(Where::Bearing { from: "Stand".into(), bearing, range_m: Some(37.0) });
    }
    desk.send("a", more);
    desk.send("a", Report::MissingTold { missing: 1, height_m: Some(1.3), swimmer: None, words: None });
    desk.send(
        "a",
        Report::CurrentMeasured { from: Spot::new(-20.0, 5.0), to: Spot::new(-20.0, 12.0), seconds: 90.0 },
    );
    desk.say_all("a");
    for order in desk.state.incident.as_ref().unwrap().orders.keys().copied().collect::<Vec<_>>() {
        let now_ms = desk.now_ms;
        desk.append("a", &format!("walked-{order}"), (now_ms, Event::MetresWalked { order, metres: 12.0 }));
        all.push(serde_json::to_string(&desk.screen("a")).unwrap());
    }
    desk.wait(240);
    desk.think();
    all.push(serde_json::to_string(&desk.screen("a")).unwrap());
    let orders = desk.state.incident.as_ref().unwrap().orders.clone();
    let line = orders.values().find(|known| matches!(known.shown.method, Some(Method::Wade | Method::Dive)));
    let (order, now_ms) = (line.expect("a line").shown.order, desk.now_ms);
    desk.append("a", "short", (now_ms, Event::LaneStoppedShort { order, metres: Some(17.0) }));
    desk.think();
    all.push(serde_json::to_string(&desk.screen("a")).unwrap());
    let sheet = handover(&desk.state, &desk.thought, &desk.names, desk.now_ms);
    all.push(serde_json::to_string(&sheet).unwrap());
    let wrong = [
        Report::MissingTold { missing: 1, height_m: Some(5.0), swimmer: None, words: None },
        Report::CurrentMeasured { from: Spot::default(), to: Spot::new(9.0, 0.0), seconds: 1.0 },
    ];
    for report in wrong {
        let refusal = desk.try_send("a", report, None).expect_err("refused");
        all.push(format!("{} {}", refusal.what, refusal.remedy));
    }
    all
}

/// Every number with metres or square metres after it, and a few letters before; metres a second are not lengths.
fn metres(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for unit in [" m", " metre", " m²"] {
        for (at, _) in text.match_indices(unit) {
            let after = text[at + unit.len()..].chars().next().unwrap_or(' ');
            let number = text[..at].ends_with(|c: char| c.is_ascii_digit());
            let ends = unit == " metre" || !(after.is_alphanumeric() || after == '/');
            if number && ends {
                found.push(
                    text[..at + unit.len()].chars().rev().take(40).collect::<Vec<_>>().iter().rev().collect(),
                );
            }
        }
    }
    found
}

#[test]
fn nobody_on_a_site_in_feet_reads_metres() {
    let feet = read(Units::Feet);
    for text in &feet {
        assert_eq!(metres(text), Vec::<String>::new());
    }
    let feet = feet.join("\n");
    for words in [
        "sight 9.8 ft by the disc",
        "Stage 982.94 ft",
        "on the map 66 ft west and 16 ft north of its origin",
        "bearing 280, 121 ft",
        "missing person 1 described, 4 ft 3 in",
        "current timed: 23 ft in 90 s",
        ": 39 ft walked",
        "ended early after 56 ft",
        "a height of 16 ft 5 in cannot be",
        "30 ft in 1 s is no float",
    ] {
        assert!(feet.contains(words), "{words} is not said");
    }
    // The same story in metres says as many lengths in metres, so that none was merely left out above.
    let metric = read(Units::Metric).join("\n");
    assert!(metres(&metric).len() > 30, "{}", metres(&metric).len());
    for words in
        ["sight 3.0 m by the disc", "Stage 299.60 m", ", 1.30 m", "current timed: 7 m", ": 12 m walked"]
    {
        assert!(metric.contains(words), "{words} is not said");
    }
}
