//! What people tell: sightings and reports are read, and nonsense is refused with a way out.

use measure::Spot;
use proptest::prelude::*;
use search::told::{Fields, Happening, missing, reports, sighting};
use search::{Seen, Sighting, WitnessClass};
use water::*;

/// Alarm at 14:32:07.
const ALARM_S: f64 = 52_327.0;

fn square(side: f64) -> Shape {
    let ring = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side), (0.0, 0.0)];
    Shape::Area(vec![vec![ring.iter().map(|&(east, north)| Spot::new(east, north)).collect()]])
}

fn site() -> Site {
    let feature = |name: &str, kind, shape| Feature { name: name.into(), kind, shape };
    Site {
        name: "Test pond".into(),
        frame: Frame::new(LonLat { lon: -3.1, lat: 54.5 }),
        time_zone: "Europe/London".into(),
        water_kind: WaterKind::Lake,
        salinity: Salinity::Fresh,
        stage_datum: "gauge board".into(),
        datum_stage_m: 0.0,
        units: Units::Metric,
        emergency_number: "112".into(),
        plan_text: String::new(),
        flags: Vec::new(),
        bed: Bed::Sand,
        limits: Limits::default(),
        features: vec![
            feature("", Kind::Water, square(80.0)),
            feature("Deep end", Kind::BathingArea, square(20.0)),
            feature("Tower", Kind::Post, Shape::Point(Spot::new(10.0, -2.0))),
            feature("Jetty end", Kind::Landmark, Shape::Point(Spot::new(5.0, 30.0))),
        ],
        soundings: Vec::new(),
        raster: None,
        hypsography: None,
        sounded_on: String::new(),
        heights: Vec::new(),
    }
}

fn read(text: &str) -> Result<Sighting, Vec<Problem>> {
    sighting(Fields::seen(text, Place::default()), &site(), 0.0, ALARM_S)
}

#[test]
fn every_way_of_saying_where_is_read() {
    let told = read("landmark=Jetty end ago=2min class=companion by=Sam under").unwrap();
    assert_eq!(told.class, WitnessClass::Companion);
    assert!(told.went_under && told.by == "Sam" && (told.from_s, told.to_s) == (-150.0, -90.0));
    assert!(matches!(told.seen, Seen::Point { spot, error_m: None, .. } if spot == Spot::new(5.0, 30.0)));

    let told = read("post=tower bearing=350 range=30 by-mark at=14:30..14:31 talked=Sam, Kit").unwrap();
    assert_eq!((told.from_s, told.to_s), (-127.0, -67.0));
    assert_eq!(told.talked_with, ["Sam", "Kit"]);
    assert!(matches!(told.seen, Seen::Bearing { range_m: Some(30.0), by_mark: true, error_deg: None, .. }));

    assert!(matches!(read("area=Deep end ago=now").unwrap().seen, Seen::Area { .. }));
    let told = read("point=-3.0999,54.5003 error=8 stood=Tower").unwrap();
    assert!(matches!(told.seen, Seen::Point { error_m: Some(8.0), stood: Some(_), .. }));
    assert_eq!((told.from_s, told.to_s), (-600.0, 0.0), "no time told: the last ten minutes");
}

#[test]
fn nonsense_is_refused_with_every_problem_at_once() {
    for (text, codes) in [
        ("", vec!["A121"]),
        ("landmark=Nowhere ago=2min", vec!["A124"]),
        ("landmark=Tower area=Deep end", vec!["A121"]),
        ("bearing=20", vec!["A122"]),
        ("post=Tower bearing=720", vec!["A104"]),
        ("point=54.5,-3.1", vec!["A126"]),
        ("point=here", vec!["A125"]),
        ("area=Tower", vec!["A123"]),
        ("landmark=Tower ago=2min at=14:30", vec!["A127"]),
        ("landmark=Tower ago=soon class=fish", vec!["A120", "A128"]),
        ("landmark=Tower at=14:50", vec!["A129"]),
        ("landmark=Tower colour=red", vec!["A103"]),
    ] {
        let problems = read(text).expect_err(text);
        let found: Vec<&str> = problems.iter().map(|p| p.code.as_str()).collect();
        for code in codes {
            assert!(found.contains(&code), "{text}: {problems:?}");
        }
        assert!(problems.iter().all(|p| !p.remedy.is_empty() && !p.what.is_empty()));
    }
}

#[test]
fn a_report_file_is_read_in_order() {
    let text = "\u{feff}{\"at\":\"14:35:00\",\"report\":\"shore checked\"}\r\n\r\n\
        {\"at\":\"14:36:10\",\"report\":\"dive made\",\"order\":2,\"up\":7}\n\
        {\"at\":\"14:37:00\",\"report\":\"witness\",\"landmark\":\"Jetty end\",\"seen_at\":\"14:31\",\"class\":\"guard\",\"under\":true}\n\
        {\"at\":\"14:38:00\",\"report\":\"people came\",\"people\":[{\"name\":\"Vera\",\"volunteer\":true,\"dive_m\":3}]}\n\
        {\"at\":\"14:39:30\",\"report\":\"all out\",\"reason\":\"thunder\"}\n";
    let all = reports("reports.jsonl", text, &site(), ALARM_S).unwrap();
    assert_eq!(all.len(), 5);
    assert_eq!(all[1].at_s, 243.0);
    assert_eq!(all[1].happening, Happening::DiveMade { order: 2, up: Some(7) });
    assert!(matches!(&all[2].happening, Happening::Witness(told) if told.from_s == -67.0 && told.went_under));
    assert!(
        matches!(&all[3].happening, Happening::PeopleCame(people) if people[0].member.dive_m.is_none() && people[0].member.wade)
    );
    assert_eq!(all[4].line, 6);
}

// Three and a half heads are no three heads: a slip must not call a searcher missing. Limits of who comes are those of the day.
#[test]
fn counts_are_whole_and_newcomers_have_the_limits_of_the_day() {
    for (line, words) in [
        (r#"{"at":"14:36","report":"dive made","order":1,"up":3.5}"#, "up is 3.5, not a whole number"),
        (
            r#"{"at":"14:36","report":"dive made","order":1,"up":-1}"#,
            "up is -1; it must lie between 0 and 200",
        ),
        (r#"{"at":"14:36","report":"lane walked","order":"x"}"#, "give a number, such as order=1"),
        (r#"{"at":"14:36","report":"contact","order":1.5}"#, "order is 1.5, not a whole number"),
        (r#"{"at":"14:36","report":"people came","people":[]}"#, "the list \"people\" is empty"),
        (r#"{"at":"14:36","report":"people came","people":[{"name":"Zed","dive_m":40}]}"#, "dives to 40 m"),
        (r#"{"at":"14:36","report":"people came","people":[{"name":"Zed","height_m":1.0}]}"#, "1.2 to 2.3 m"),
    ] {
        let problems = reports("r.jsonl", line, &site(), ALARM_S).unwrap_err();
        let text: String = problems.iter().map(|p| p.to_string()).collect();
        assert!(problems.len() == 1 && text.contains(words) && !text.contains("Some("), "{line}: {text}");
    }
}

#[test]
fn a_bad_report_line_is_named_and_the_rest_is_still_read_for_problems() {
    let text = "not json\n[1]\n{\"report\":\"found\"}\n{\"at\":\"14:36\",\"report\":\"gone home\"}\n\
        {\"at\":\"14:36\",\"report\":\"lane walked\"}\n{\"at\":\"14:30\",\"report\":\"found\"}\n\
        {\"at\":\"14:36\",\"report\":\"people came\",\"people\":[{\"name\":\"\",\"height_m\":17}]}\n{\"at\":\"14:40\",\"report\":\"found\"}\n{\"at\":\"14:36\",\"report\":\"found\"}";
    let problems = reports("r.jsonl", text, &site(), ALARM_S).unwrap_err();
    let lines: Vec<usize> = problems.iter().filter_map(|p| p.place.line).collect();
    assert_eq!(lines, [1, 2, 3, 4, 5, 6, 7, 9], "{problems:?}");
}

#[test]
fn who_is_missing_is_read() {
    assert_eq!(missing("height=1.25 swimmer", Place::default()).unwrap().swimmer, Some(true));
    assert!(missing("tall", Place::default()).is_err());
}

proptest! {
    #[test]
    fn no_words_make_the_door_fall(text in "\\PC{0,60}", keyed in "(landmark|point|post|bearing|ago|at|error|area)=[ -~]{0,20}") {
        let _ = read(&text);
        let _ = read(&keyed);
        let _ = read(&format!("{keyed} {text}"));
        let _ = reports("r", &text, &site(), ALARM_S);
    }

    #[test]
    fn no_json_makes_the_door_fall(kind in "(lane walked|dive made|stopped here|contact|witness|people came|people left|found)", value in "(1|-3|1e300|null|\"\"|\"x,y\"|\\[\\]|\\[1,2\\]|\\{\\}|true)", key in "(order|up|metres|people|names|landmark|point|ago)") {
        let line = format!("{{\"at\":\"14:40\",\"report\":\"{kind}\",\"{key}\":{value}}}");
        let _ = reports("r", &line, &site(), ALARM_S);
    }
}
