//! `fathomline alarm plan` as people run it: orders, JSON, files, reports, and what is refused.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const KIND: [&str; 4] = ["--at", "14:32:07", "--kind", "seen-going-under"];
const COUSIN: &str = "point=-3.1002392,54.4999191 error=6 stood=Slab ago=1..3min class=companion by=cousin";
const GUARD: &str = "post=Jetty bearing=356 range=29 by-mark ago=2min class=guard by=Oskar under";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn folder(name: &str) -> PathBuf {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    std::fs::create_dir_all(&dir).unwrap_or_else(|e| panic!("{}: {e}", dir.display()));
    dir
}

fn run(more: &[&str], threads: &str) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fathomline"))
        .args(["alarm", "plan", "--site"])
        .arg(root().join("data/sites/kestrel-tarn"))
        .args(KIND)
        .args(more)
        .env("RAYON_NUM_THREADS", threads)
        .output()
        .expect("the program runs")
}

/// Standard output of a run that must succeed.
fn good(more: &[&str]) -> String {
    let out = run(more, "2");
    assert!(out.status.success(), "{more:?}: {}", String::from_utf8_lossy(&out.stderr));
    String::from_utf8(out.stdout).expect("UTF-8")
}

fn demo(more: &[&str]) -> String {
    let mut all = vec!["--missing", "height=1.4 non-swimmer", "--seen", COUSIN, "--seen", GUARD];
    all.extend(more);
    good(&all)
}

fn parsed(text: &str) -> Value {
    serde_json::from_str(text).unwrap_or_else(|e| panic!("{e}: {text}"))
}

/// A day file with a crew of so many words each: `Ada: lookout lead`.
fn day(name: &str, crew: &[&str], head: &str) -> String {
    let mut text = format!(
        "date = \"2026-07-08\"\nwater_c = 22\nsecchi_m = 0.9\n{head}\n[kit]\ntubes = 1\nmarkers = 1\n"
    );
    for person in crew {
        let (who, may) = person.split_once(':').expect("name: words");
        text.push_str(&format!("[[crew]]\nname = \"{who}\"\n"));
        for word in may.split_whitespace() {
            match word.strip_prefix("dive=") {
                Some(depth) => text.push_str(&format!("dive_m = {depth}\n")),
                None => text.push_str(&format!("{word} = true\n")),
            }
        }
    }
    let path = folder("days").join(format!("{name}.toml"));
    std::fs::write(&path, text).expect("a day file");
    path.display().to_string()
}

fn reports(name: &str, lines: &[&str]) -> String {
    let path = folder("reports").join(format!("{name}.jsonl"));
    std::fs::write(&path, lines.join("\n")).expect("a report file");
    path.display().to_string()
}

#[test]
fn golden_demo_orders() {
    let text = demo(&[]);
    let path = root().join("crates/fathomline/tests/golden/alarm-plan.txt");
    if std::env::var_os("BLESS").is_some() {
        std::fs::write(&path, &text).expect("golden text");
    }
    let golden = std::fs::read_to_string(&path).expect("golden text; run `cargo xtask bless` once");
    assert_eq!(text, golden, "`cargo xtask bless` accepts the new text");
    assert!(text.lines().all(|line| line.chars().count() <= 96), "a line is too wide");
}

#[test]
fn the_json_is_whole_and_the_same_on_any_number_of_threads() {
    let args = ["--seen", COUSIN, "--seen", GUARD, "--json"];
    let (one, two) = (run(&args, "1"), run(&args, "2"));
    assert!(one.status.success() && one.stdout == two.stdout, "threads change the outcome");
    let value = parsed(&String::from_utf8(one.stdout).expect("UTF-8"));
    let sum: f64 = ["bottom", "afloat", "ashore", "elsewhere"]
        .iter()
        .map(|part| value["masses"][part].as_f64().expect("a mass"))
        .sum();
    assert!((sum - 1.0).abs() <= 1e-12, "masses sum to {sum}");
}

/// Every key of `value` is described by `schema`, and every key the schema requires is there.
fn matches_schema(value: &Value, schema: &Value, whole: &Value, at: &str) {
    if let Some(name) = schema["$ref"].as_str() {
        return matches_schema(value, &whole["$defs"][name.rsplit('/').next().expect("a name")], whole, at);
    }
    assert!(schema["description"].is_string() || at.ends_with(']'), "{at}: no description");
    match value {
        Value::Object(fields) if schema["properties"].is_object() => {
            for (key, inner) in fields {
                let described = schema["properties"].get(key);
                let described = described.unwrap_or_else(|| panic!("{at}.{key} is not in the schema"));
                matches_schema(inner, described, whole, &format!("{at}.{key}"));
            }
            for key in schema["properties"].as_object().expect("properties").keys() {
                assert!(fields.contains_key(key), "{at}.{key} is in the schema and not in the output");
            }
        }
        Value::Array(items) if schema["items"].is_object() => {
            for (k, inner) in items.iter().enumerate() {
                matches_schema(inner, &schema["items"], whole, &format!("{at}[{k}]"));
            }
        }
        _ => {}
    }
}

#[test]
fn the_schema_has_exactly_the_fields_of_the_demo() {
    let schema =
        std::fs::read_to_string(root().join("docs/handbook/alarm-plan.schema.json")).expect("schema");
    let schema = parsed(&schema);
    matches_schema(&parsed(&demo(&["--json", "--now", "14:33:30"])), &schema, &schema, "$");
}

#[test]
fn three_guards_are_told_marker_watcher_dives_and_the_call() {
    let path = day("three", &["Ada: lookout lead", "Ben: wade dive=3.0", "Cy: wade"], "");
    let value = parsed(&good(&["--day", &path, "--seen", COUSIN, "--json"]));
    let words: Vec<&str> =
        value["orders"].as_array().expect("orders").iter().filter_map(|o| o["words"].as_str()).collect();
    let all = words.join("\n");
    let marker = all.find("Drop the marker").unwrap_or_else(|| panic!("no marker: {all}"));
    let dives = all.to_lowercase().find("dives").unwrap_or_else(|| panic!("no dives: {all}"));
    assert!(words[0].starts_with("Ben:"), "{all}");
    assert!(marker < dives, "{all}");
    assert!(all.contains("Ada watches you") || all.contains("eyes on Ben"), "{all}");
    assert_eq!(all.matches("call 112").count(), 1, "{all}");
    assert!(all.contains("Cy"), "nobody calls Cy: {all}");
}

#[test]
fn few_or_unqualified_people_are_told_plainly() {
    for (name, crew, say) in [
        ("nobody", vec![], "call 112"),
        ("one", vec!["Ben: wade dive=3.0"], "call 112"),
        ("bystander", vec!["Una: "], "call 112"),
    ] {
        let path = day(name, &crew, "");
        let value = parsed(&good(&["--day", &path, "--seen", GUARD, "--json"]));
        let text = value["orders"].to_string();
        assert!(text.contains(say), "{name}: {text}");
        assert_eq!(value["plan"]["runs"].as_array().map(Vec::len), Some(0), "{name}");
        assert!(!text.contains("Surface dives") && !text.contains("dive line"), "{name}: {text}");
    }
}

#[test]
fn a_current_above_swim_speed_sends_nobody_to_dive() {
    let float = "[[floats]]\nfrom = [-3.1006946, 54.4993532]\nto = [-3.1006946, 54.4995532]\nseconds = 10\n";
    let head_last = day("river", &["Ada: lookout lead", "Ben: wade dive=3.0", "Cy: wade"], "");
    let mut text = std::fs::read_to_string(&head_last).expect("the day");
    text.push_str(float);
    std::fs::write(&head_last, text).expect("the day");
    let value = parsed(&good(&["--day", &head_last, "--seen", GUARD, "--json"]));
    for run in value["plan"]["runs"].as_array().expect("runs") {
        assert!(run["method"] != "alone" && run["method"] != "dive", "{run}");
    }
    assert!(value["cautions"].to_string().contains("Current"), "{}", value["cautions"]);
    let first = value["orders"][0]["words"].as_str().expect("words");
    assert!(first.contains("stay out") && !first.contains("to the last seen point"), "{first}");
}

#[test]
fn each_report_is_taken() {
    let lines = [
        r#"{"at":"14:32:20","report":"contact","note":"a log"}"#,
        r#"{"at":"14:33:00","report":"shore checked"}"#,
        r#"{"at":"14:33:05","report":"surface looked"}"#,
        r#"{"at":"14:33:30","report":"witness","point":"-3.1003,54.4999","ago":"3min","class":"companion","by":"Sam"}"#,
        r#"{"at":"14:34:00","report":"stopped here","order":2,"metres":2}"#,
        r#"{"at":"14:34:30","report":"people came","people":[{"name":"Ruth","wade":true,"dive_m":3}]}"#,
        r#"{"at":"14:35:00","report":"people left","names":["Bram"]}"#,
        r#"{"at":"14:36:00","report":"all out","reason":"thunder"}"#,
        r#"{"at":"14:50:00","report":"back in"}"#,
        r#"{"at":"14:55:00","report":"found"}"#,
    ];
    let state = |count: usize| {
        let path = reports(&format!("each-{count}"), &lines[..count]);
        parsed(&demo(&["--reports", &path, "--json"]))
    };
    assert!(state(1)["said"].to_string().contains("a log"));
    let ashore = |v: &Value| v["masses"]["ashore"].as_f64().expect("a mass");
    assert!(ashore(&state(2)) < ashore(&state(1)));
    assert_eq!(state(4)["alarm"]["told"]["sightings"].as_array().map(Vec::len), Some(3));
    assert!(state(5)["under_way"].as_array().expect("lanes").iter().any(|o| o["stopped_short"] == true));
    assert!(state(6)["plan"]["jobs"].to_string().contains("Ruth"));
    assert!(!state(7)["plan"]["jobs"].to_string().contains("Bram"));
    assert_eq!(state(8)["state"]["all_out"], "thunder");
    assert_eq!(state(8)["orders"].as_array().map(Vec::len), Some(0));
    assert_eq!(state(9)["state"], "searching");
    assert_eq!(state(10)["state"], "found");
}

#[test]
fn bad_input_is_refused_all_at_once_and_nothing_is_written() {
    let map = folder("refused").join("none.svg");
    let map_text = map.display().to_string();
    let path = reports("bad", &[r#"{"at":"14:30:00","report":"found"}"#, "not json", r#"{"report":"sung"}"#]);
    let out = run(
        &[
            "--seen",
            "landmark=Nowhere",
            "--seen",
            "ago=soon point=1",
            "--now",
            "99:00",
            "--reports",
            &path,
            "--map",
            &map_text,
        ],
        "2",
    );
    assert_eq!(out.status.code(), Some(2));
    assert!(out.stdout.is_empty() && !map.exists(), "something was written");
    let said = String::from_utf8_lossy(&out.stderr);
    for code in ["A124", "A125", "A128", "A131", "A140"] {
        assert!(said.contains(code), "{code}: {said}");
    }
    assert!(said.matches("A131").count() >= 3, "{said}");
}

#[test]
fn files_can_be_read_again() {
    let dir = folder("files");
    let name = |file: &str| dir.join(file).display().to_string();
    let (svg, png, lanes) = (name("map.svg"), name("map.png"), name("lanes.geojson"));
    let (gpx, asc, tif) = (name("lanes.gpx"), name("belief.asc"), name("belief.tif"));
    demo(&["--map", &svg, "--geojson", &lanes, "--gpx", &gpx, "--belief", &asc]);
    demo(&["--map", &png, "--belief", &tif]);
    let read = |path: &str| std::fs::read(path).unwrap_or_else(|e| panic!("{path}: {e}"));
    assert!(String::from_utf8(read(&svg)).expect("UTF-8").contains("<svg"));
    assert!(read(&png).starts_with(b"\x89PNG"));
    let lanes = parsed(&String::from_utf8(read(&lanes)).expect("UTF-8"));
    assert_eq!(lanes["type"], "FeatureCollection");
    assert!(String::from_utf8(read(&gpx)).expect("UTF-8").contains("<gpx"));
    assert!(read(&tif).starts_with(b"II*\0"));
    let text = String::from_utf8(read(&asc)).expect("UTF-8");
    let sum: f64 = text
        .lines()
        .skip(6)
        .flat_map(str::split_whitespace)
        .filter_map(|w| w.parse::<f64>().ok())
        .filter(|v| *v >= 0.0)
        .sum();
    assert!(sum > 0.3 && sum <= 1.0 + 1e-6, "cells sum to {sum}");
}

// Nobody is sent to a place on land because somebody's finger slipped, and none is called a last seen point that nobody saw.
#[test]
fn a_place_far_from_the_water_is_said_and_sends_nobody_there() {
    let first = |seen: &[&str]| {
        let mut more = vec!["--json"];
        more.extend(seen.iter().flat_map(|words| ["--seen", *words]));
        let all = parsed(&good(&more));
        let words = all["orders"][0]["words"].as_str().expect("words").to_string();
        (words, all["said"].to_string() + &all["notes"].to_string(), all)
    };
    let (words, notes, slip) = first(&["point=-3.0850,54.5 ago=1min by=Sam"]);
    assert!(words.contains("most probable place") && !words.contains("last seen point"), "{words}");
    assert!(notes.contains("from any water; not used"), "{notes}");
    let (words, notes, nobody) = first(&[]);
    assert!(words.contains("most probable place"), "{words}");
    assert!(notes.contains("nobody saw them"), "{notes}");
    assert_eq!(slip["regions"], nobody["regions"], "what cannot be used says no more than nothing");
    // Thirty metres inland of the Slab: a tap beside the water. The marker goes to the water's edge.
    let (words, _, near) = first(&["point=-3.0995,54.49983 ago=1min by=Sam"]);
    assert!(words.contains("last seen point"), "{words}");
    let east = near["last_seen"]["east_m"].as_f64().expect("east");
    assert!(east < 20.0, "moved to the water: {east} m east");
    // Too far along the bearing: the distance is wrong, the bearing may be right.
    let (_, notes, _) = first(&["post=Jetty bearing=340 range=900 ago=1min"]);
    assert!(notes.contains("the distance is not used"), "{notes}");
}

// A report that reaches the file twice is one report, and a diver at work is not called away to the marker.
#[test]
fn a_line_written_twice_counts_once_and_divers_stay_divers() {
    let seen = ["--json", "--seen", "landmark=Raft ago=2min class=companion by=Sam under", "--reports"];
    let with = |name: &str, lines: &[&str]| {
        let file = reports(name, lines);
        let mut more = seen.to_vec();
        more.push(&file);
        parsed(&good(&more))
    };
    let dive = r#"{"at":"14:33:40","report":"dive made","order":1,"up":3}"#;
    let (once, twice) = (with("dive", &[dive]), with("dive-twice", &[dive, dive]));
    assert_eq!(once["masses"], twice["masses"]);
    assert!(twice["said"].to_string().contains("the same as line 1"), "{}", twice["said"]);
    // Written to the minute, two dives of one minute read alike: neither may be lost.
    let minute = r#"{"at":"14:34","report":"dive made","order":1,"up":3}"#;
    let (one, two) = (with("minute", &[minute]), with("minute-two", &[minute, minute]));
    assert_ne!(one["masses"], two["masses"], "{}", two["said"]);
    assert!(!two["said"].to_string().contains("counted once"), "{}", two["said"]);
    let first = |all: &Value| {
        let orders = all["orders"].as_array().expect("orders").clone();
        orders.into_iter().filter(|order| order["post"] == "first").count()
    };
    assert_eq!(first(&once), 0, "the first guard dives with order 1: {}", once["under_way"]);
    let found = with(
        "found-and-back",
        &[r#"{"at":"14:36:00","report":"found"}"#, r#"{"at":"14:39:00","report":"back in"}"#],
    );
    assert!(found["said"].to_string().contains("still missing"), "{}", found["said"]);
}

#[test]
fn a_site_in_feet_has_its_areas_in_feet_too() {
    let (from, to) = (root().join("data/sites/kestrel-tarn"), folder("in-feet"));
    for name in ["site.toml", "map.geojson", "soundings.csv", "day.toml"] {
        let text = std::fs::read_to_string(from.join(name)).expect("a file of the site");
        std::fs::write(to.join(name), text.replace("\"metric\"", "\"feet\"")).expect("written");
    }
    let out = Command::new(env!("CARGO_BIN_EXE_fathomline"))
        .args(["alarm", "plan", "--seen", COUSIN, "--site"])
        .arg(&to)
        .output()
        .expect("the program runs");
    let text = String::from_utf8(out.stdout).expect("UTF-8");
    assert!(out.status.success() && text.contains(" sq ft") && !text.contains("m²"), "{text}");
}
