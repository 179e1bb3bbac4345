//! `fathomline explain` from the outside: list, pages, evaluation, refusals.

use fathomline::explain;
use proptest::prelude::*;
use serde_json::{Value, json};
use std::io::Write;
use std::process::{Command, Output, Stdio};

fn run(arguments: &[&str], input: &[u8]) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_fathomline"))
        .arg("explain")
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    // A program that refuses early may close its input before all is written.
    let _ = child.stdin.take().unwrap().write_all(input);
    child.wait_with_output().unwrap()
}

fn answer(arguments: &[&str], input: &[u8]) -> Value {
    let output = run(arguments, input);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    assert!(output.stderr.is_empty());
    serde_json::from_slice(&output.stdout).unwrap()
}

#[track_caller]
fn refused(model: &str, text: &str, says: &[&str]) {
    let output = run(&[model, "--json", text], b"");
    let stderr = String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(2), "{model} {text}: {}", String::from_utf8_lossy(&output.stdout));
    assert!(output.stdout.is_empty(), "{model} {text}");
    for words in says {
        assert!(stderr.contains(words), "{model} {text} does not say {words:?}:\n{stderr}");
    }
}

#[test]
fn the_list_names_every_model_of_the_first_rows() {
    let output = run(&[], b"");
    let text = String::from_utf8(output.stdout).unwrap();
    for name in "frame coverage bayes circular_normal_effort optimal_effort mixed_effort effort_ceiling look_order \
                 containment total_error float_current current_at surface_drift terminal_speed sink_offset bed_hold \
                 cross_bearing bearing_range contact line_advance dive_cycle looks survival_weight sight_range wade_limit"
        .split_whitespace()
    {
        assert!(text.lines().any(|line| line.split_whitespace().next() == Some(name)), "{name} is not listed");
    }
}

#[test]
fn every_example_runs_from_the_page_from_an_argument_and_from_input() {
    for model in explain::models() {
        let page = String::from_utf8(run(&[model.name], b"").stdout).unwrap();
        assert!(page.contains("Formula") && page.contains(model.example), "{}", model.name);
        let mut from_argument = answer(&[model.name, "--json", model.example], b"");
        let mut from_input = answer(&[model.name, "--json", "-"], model.example.as_bytes());
        if model.name == "path" {
            // The one figure that is measured, not computed.
            for answer in [&mut from_argument, &mut from_input] {
                assert!(answer["result"]["seconds"].as_f64().unwrap() >= 0.0);
                answer["result"]["seconds"] = json!(0.0);
            }
        }
        assert_eq!(from_argument, from_input);
        assert_eq!(from_argument["model"], model.name);
        for part in ["inputs", "result", "unit"] {
            assert!(from_argument[part].is_object(), "{} {part}", model.name);
        }
        assert!(from_argument["standing"].is_string() && from_argument["sources"].is_array());
        let keys = |part: &str| {
            let mut keys: Vec<String> = from_argument[part].as_object().unwrap().keys().cloned().collect();
            keys.sort();
            keys
        };
        assert_eq!(keys("unit"), keys("result"), "{}", model.name);
    }
}

#[test]
fn every_model_refuses_what_is_missing_unknown_or_no_object() {
    for model in explain::models() {
        // An instance may carry keys of its own; what it lacks is named instead.
        let says = if model.name == "path" { ["rows", "missing"] } else { ["no_such_thing", "did you mean"] };
        refused(model.name, "{\"no_such_thing\": 1}", &says);
        let texts =
            ["", "[]", "7", "null", "{", "{\"a\": NaN}", "{\"a\": 1, \"a\": 1}", "{\"a\": 1e400}", "-1"];
        texts.iter().for_each(|text| refused(model.name, text, &[]));
        let example: Value = serde_json::from_str(model.example).unwrap();
        for (key, value) in example.as_object().unwrap() {
            let mut wrongs = vec![
                json!("three"),
                json!({"x": 1}),
                json!(null),
                json!([[["deep"]]]),
                json!(true),
                json!([]),
            ];
            if value.is_array() {
                wrongs.push(json!("1"));
                wrongs.push(json!(["1"]));
            }
            for wrong in wrongs {
                let mut object = example.clone();
                object[key] = wrong;
                let problems = explain::evaluate(model, &object.to_string()).unwrap_err();
                assert!(problems.iter().any(|p| p.contains(key.as_str())), "{object}: {problems:?}");
            }
            let mut object = example.clone();
            object.as_object_mut().unwrap().remove(key);
            if let Err(problems) = explain::evaluate(model, &object.to_string()) {
                assert!(
                    problems.iter().any(|p| p.contains(key.as_str())),
                    "{} without {key}: {problems:?}",
                    model.name
                );
            }
        }
    }
}

#[test]
fn bad_numbers_are_refused_by_name() {
    for (model, text, says) in [
        (
            "sink_offset",
            r#"{"surface_mps": -0.1, "depth_m": -3}"#,
            &["surface_mps", "depth_m", "at least 0"][..],
        ),
        ("sink_offset", r#"{"surface_mps": 0.1, "depth_m": 3, "sink_mps": 0}"#, &["sink_mps", "above 0"]),
        ("sink_offset", r#"{"surface": 0.1, "depth_m": 3}"#, &["\"surface\"", "\"surface_mps\"", "missing"]),
        ("sink_offset", r#"{"surface_mps": 1e300, "depth_m": 1e300}"#, &["offset_m", "beyond"]),
        ("bayes", r#"{"p": [0.6, 0.6], "d": [0.1, 0.1]}"#, &["1.2", "above 1"]),
        ("bayes", r#"{"p": [0.6], "d": [0.1], "rest": 0.5}"#, &["above 1"]),
        ("bayes", r#"{"p": [0.6, 0.2], "d": [0.1]}"#, &["d has 1", "p has 2"]),
        ("bayes", r#"{"p": [0.6, 1.2], "d": [0.1, -0.1]}"#, &["p[1]", "d[1]"]),
        ("bayes", r#"{"p": [1], "d": [1], "rest": 0}"#, &["contradiction"]),
        (
            "bayes",
            r#"{"p": [0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1,0.1], "d": [1,1,1,1,1,1,1,1,1,1]}"#,
            &["contradiction"],
        ),
        ("coverage", r#"{"coverage": 1, "area_m2": 3}"#, &["both given"]),
        ("coverage", r#"{"speed_mps": 1}"#, &["sweep_width_m is missing", "area_m2 is missing"]),
        (
            "coverage",
            r#"{"sweep_width_m": 1, "speed_mps": 1, "searchers": 2.5, "time_s": 1, "area_m2": 1}"#,
            &["searchers", "whole"],
        ),
        ("sight_range", r#"{}"#, &["neither"]),
        ("sight_range", r#"{"secchi_m": 1, "beam_per_m": 7}"#, &["both given"]),
        (
            "containment",
            r#"{"sigma_m": [1, 2, 3], "probability": 1}"#,
            &["sigma_m", "probability", "below 1"],
        ),
        ("cross_bearing", r#"{"posts": [[0, 0], [10, 0]], "bearings_deg": [0, 0]}"#, &["do not cross"]),
        ("cross_bearing", r#"{"posts": [[0, 0], [10, 0]], "bearings_deg": [270, 90]}"#, &["do not cross"]),
        ("cross_bearing", r#"{"posts": [[0, 0]], "bearings_deg": [270]}"#, &["one stand"]),
        (
            "cross_bearing",
            r#"{"posts": [[0, 0], [1]], "bearings_deg": [270, 400]}"#,
            &["posts[1]", "bearings_deg[1]"],
        ),
        ("frame", r#"{"origin": [200, 0], "point": [0, 91]}"#, &["longitude 200", "latitude 91"]),
        (
            "float_current",
            r#"{"runs": [{"from": [0, 0], "to": [1, 1], "seconds": 0, "who": 1}]}"#,
            &["runs[0]", "who", "seconds"],
        ),
        ("float_current", r#"{"runs": [{"from": [0, 0], "seconds": 10}]}"#, &["\"to\" is missing"]),
        ("look_order", r#"{"p": [0.5], "q": [0.5], "cost": [1], "looks": [0, 1]}"#, &["no cell 1"]),
        (
            "look_order",
            r#"{"p": [0.5], "q": [0.5], "cost": [0], "n": -1, "decay": 1.1}"#,
            &["cost[0]", "n:", "decay"],
        ),
        ("mixed_effort", r#"{"p": [0.5, 0.1], "rate": [[1, 2], [1]], "time": [1, 1]}"#, &["rate[1]"]),
        (
            "effort_ceiling",
            r#"{"p": [0.5], "area_m2": [10], "sweep_width_m": [1], "rate_mps": 1, "start_s": 50, "horizon_s": 10, "decay_s": 300}"#,
            &["horizon_s"],
        ),
        ("line_advance", r#"{"searchers": 0, "mean_m": 8}"#, &["searchers"]),
        ("line_advance", r#"{"searchers": 6, "mean_m": 8, "correlation": 1.5}"#, &["correlation"]),
    ] {
        refused(model, text, says);
    }
}

#[test]
fn unknown_models_and_bad_input_streams_are_refused() {
    let output = run(&["sink_ofset"], b"");
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("sink_offset"));
    assert_eq!(run(&["--json", "{}"], b"").status.code(), Some(2));
    assert_eq!(run(&["frame", "--json", "-"], b"\xff\xfe{").status.code(), Some(2));
    assert_eq!(run(&["frame", "--json", "-"], b"").status.code(), Some(2));
}

#[track_caller]
fn close(model: &str, text: &str, key: &str, expect: f64) {
    let value = answer(&[model, "--json", text], b"");
    let got = value["result"][key].as_f64().unwrap_or_else(|| panic!("{model} {key}: {value}"));
    assert!(
        (got - expect).abs() <= 1e-9 * expect.abs().max(1e-12),
        "{model} {text} {key}: {got} not {expect}"
    );
}

// shows: CU-1
#[test]
fn equal_floats_narrow_the_doubt_and_longer_runs_weigh_more() {
    let current = |runs: &[(f64, f64)]| {
        let run =
            |(metres, seconds): &(f64, f64)| json!({"from": [0, 0], "to": [metres, 0], "seconds": seconds});
        let text = json!({"runs": runs.iter().map(run).collect::<Vec<_>>()}).to_string();
        let result = answer(&["float_current", "--json", &text], b"")["result"].take();
        (result["east_mps"].as_f64().unwrap(), result["covariance"][0][0].as_f64().unwrap())
    };
    let ((one, wide), (four, narrow)) = (current(&[(10.0, 50.0)]), current(&[(10.0, 50.0); 4]));
    assert!((one - 0.2).abs() < 1e-12 && (four - 0.2).abs() < 1e-12);
    assert!((4.0 * narrow / wide - 1.0).abs() < 1e-9, "{wide} {narrow}");
    let (both, _) = current(&[(2.0, 20.0), (40.0, 200.0)]);
    assert!(both > 0.15 && both < 0.2, "{both}");
}

// shows: CU-2
#[test]
fn edges_of_the_current() {
    close("current_at", r#"{"surface_mps": 0.2, "depth_m": 3, "height_m": 9}"#, "speed_mps", 0.2);
    close("current_at", r#"{"surface_mps": 0.2, "depth_m": 0, "height_m": 0}"#, "speed_mps", 0.0);
    close("current_at", r#"{"surface_mps": 0.2, "depth_m": 3, "height_m": 0}"#, "depth_mean_mps", 0.175);
    let hold = answer(&["bed_hold", "--json", r#"{"depth_m": 3, "height_m": 0}"#], b"");
    assert!(hold["result"]["surface_mps"].is_null() && hold["notes"][0].is_string());
}

// shows: LN-2
#[test]
fn edges_of_the_lines() {
    close("contact", r#"{"cap": 0}"#, "pod", 0.0);
    close("contact", r#"{"touch": 1, "cap": 1, "spacing_m": 0.001}"#, "pod", 1.0);
    close(
        "line_advance",
        r#"{"searchers": 6, "mean_m": 8, "sd_m": 1.5, "correlation": 1, "back_m": 1.8}"#,
        "advance_m",
        6.2,
    );
    close("line_advance", r#"{"searchers": 1, "mean_m": 8, "sd_m": 1.5, "back_m": 1.8}"#, "advance_m", 6.2);
    close(
        "dive_cycle",
        r#"{"depth_m": 0, "bottom_s": 10, "reform_s": 15, "rest_factor": 1}"#,
        "cycle_s",
        35.0,
    );
    let rested = r#"{"depth_m": 0, "bottom_s": 10, "reform_s": 15, "rest_factor": 1, "rest_least_s": 20}"#;
    close("dive_cycle", rested, "cycle_s", 45.0);
    let wade = |depth: f64, speed: f64| {
        let text = json!({"depth_m": depth, "speed_mps": speed}).to_string();
        answer(&["wade_limit", "--json", &text], b"")["result"]["advice"].as_str().unwrap().to_string()
    };
    assert_eq!(
        [wade(0.9, 0.1), wade(1.0, 0.3), wade(1.0, 0.5), wade(1.3, 0.0)],
        ["go", "caution", "stop", "stop"]
    );
}

// shows: SV-1
#[test]
fn the_weight_goes_on_past_its_table() {
    close("survival_weight", r#"{"minutes": 60, "water_c": 18}"#, "weight", 0.01 * (-1.0_f64).exp());
    close("survival_weight", r#"{"minutes": 0, "water_c": 18}"#, "weight", 1.0);
}

#[test]
fn defaults_are_echoed_with_the_weakest_standing_and_their_sources() {
    let value = answer(&["sink_offset", "--json", r#"{"surface_mps": 0.2, "depth_m": 3}"#], b"");
    assert_eq!(value["inputs"]["sink_mps"], measure::parameters::value("sink_median_mps"));
    assert_eq!(value["standing"], "assumed");
    let text = r#"{"current": [0, 0], "wind_mps": 5, "wind_from_deg": 0, "seconds": 10}"#;
    let value = answer(&["surface_drift", "--json", text], b"");
    // The value is ours; the sources only give the range it is chosen from.
    assert_eq!(value["standing"], "assumed");
    assert_eq!(value["sources"][0]["id"], "leeway-korea-1998");
}

/// Any JSON value of little depth.
fn any_json() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<f64>().prop_map(Value::from),
        any::<i64>().prop_map(Value::from),
        prop_oneof![Just(0.0), Just(1.0), Just(-1.0), Just(1e-300), Just(1e300), 0.0..2.0_f64]
            .prop_map(Value::from),
        ".{0,8}".prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 24, 5, |inner| {
        let key = prop_oneof![Just("from"), Just("to"), Just("seconds"), Just("x")];
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..5).prop_map(Value::from),
            prop::collection::vec((key, inner), 0..4).prop_map(|pairs| Value::Object(
                pairs.into_iter().map(|(k, v)| (k.to_string(), v)).collect()
            )),
        ]
    })
}

/// A value that a model may well accept.
fn likely_json() -> impl Strategy<Value = Value> {
    let number = || {
        prop_oneof![
            0.0..1.0_f64,
            0.0..400.0_f64,
            Just(0.0),
            Just(1.0),
            Just(1e-300),
            Just(1e300),
            0.0..1e-9_f64
        ]
    };
    prop_oneof![
        number().prop_map(Value::from),
        (0..40_u32).prop_map(Value::from),
        prop::collection::vec(number(), 1..5).prop_map(Value::from),
        prop::collection::vec(0.0..0.3_f64, 2..4).prop_map(Value::from),
        prop::collection::vec(prop::collection::vec(number(), 2..3), 1..4).prop_map(|rows| json!(rows)),
        (number(), number(), number())
            .prop_map(|(a, b, s)| json!([{"from": [a, b], "to": [b, s], "seconds": s}])),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(3000))]
    #[test]
    fn no_object_makes_a_model_panic(
        which in any::<prop::sample::Index>(),
        values in prop::collection::vec(prop_oneof![any_json(), likely_json(), likely_json()], 8),
        keep in prop::collection::vec(0..4_u8, 8),
    ) {
        let all: Vec<_> = explain::models().collect();
        let model = all[which.index(all.len())];
        let mut object: Value = serde_json::from_str(model.example).unwrap();
        for (k, input) in model.inputs.iter().enumerate() {
            if keep[k % 8] == 0 {
                object[input.name] = values[k % 8].clone();
            }
        }
        match explain::evaluate(model, &object.to_string()) {
            Ok(answer) => prop_assert!(answer["result"].is_object()),
            Err(problems) => prop_assert!(!problems.is_empty() && problems.iter().all(|p| !p.is_empty())),
        }
    }

    #[test]
    fn no_text_makes_a_model_panic(which in any::<prop::sample::Index>(), text in ".{0,60}") {
        // Some models have a default for everything, so that an empty object is good input.
        prop_assume!(!text.trim().starts_with('{'));
        let all: Vec<_> = explain::models().collect();
        prop_assert!(explain::evaluate(all[which.index(all.len())], &text).is_err());
    }
}

/// Both files of instances as they are, through the program: exact values reached and proven.
#[test]
fn known_searcher_paths_are_solved_as_written() {
    let file = |name: &str| -> Value {
        let folder = std::path::PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../../tests/data/paths");
        serde_json::from_str(&std::fs::read_to_string(folder.join(name)).unwrap()).unwrap()
    };
    let exact = |item: &Value| {
        item["optimal_value"].as_f64().or(item["result"]["optimal_value"].as_f64()).expect("a known value")
    };
    let model = explain::model("path").unwrap();
    for file in [file("searcher-path-instances.json"), file("plan_instances.json")] {
        for item in file["instances"].as_array().unwrap() {
            let got = explain::evaluate(model, &item.to_string()).unwrap();
            let (result, exact) = (&got["result"], exact(item));
            let value = result["value"].as_f64().unwrap();
            assert!((value - exact).abs() <= 1e-9, "{value} is not {exact}: {}", item["id"]);
            assert!(result["proven"] == true && result["ceiling"].as_f64().unwrap() >= value);
            assert!(!result["path"].as_array().unwrap().is_empty() && result["moves"].as_u64().unwrap() > 0);
        }
        let first = &file["instances"][0];
        let got = answer(&["path", "--json", "-"], first.to_string().as_bytes());
        assert!((got["result"]["value"].as_f64().unwrap() - exact(first)).abs() <= 1e-9);
    }
    refused(
        "path",
        r#"{"rows": 2, "cols": 2, "T": 3, "p": [1.5, 0, 0, 0], "starts": [9]}"#,
        &["p[0]", "starts"],
    );
}
