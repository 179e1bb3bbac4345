//! Truth trials and readiness at the command line: what is printed, and what is refused.

use std::process::{Command, Output};

fn fathomline(arguments: &[&str]) -> Output {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    Command::new(env!("CARGO_BIN_EXE_fathomline"))
        .current_dir(root)
        .args(arguments)
        .output()
        .expect("the program runs")
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).expect("UTF-8")
}

const KESTREL: [&str; 2] = ["--site", "data/sites/kestrel-tarn"];
const QUICK: [&str; 5] = ["--trials", "2", "--first-plan", "--particles", "1000"];

#[test]
fn trials_print_the_same_for_the_same_seed_and_progress_beside() {
    let asked = [&["practice", "trials"][..], &KESTREL, &QUICK, &["--json"]].concat();
    let (one, two) = (fathomline(&asked), fathomline(&asked));
    assert!(one.status.success(), "{}", text(&one.stderr));
    assert_eq!(one.stdout, two.stdout);
    let said: serde_json::Value = serde_json::from_slice(&one.stdout).expect("JSON");
    let verdict = &said["scenes"][0]["verdict"];
    assert_eq!(verdict["trials"], 2);
    assert_eq!(verdict["gains"].as_array().map(Vec::len), Some(3));
    assert!(text(&one.stderr).contains("2 of 2"));
}

#[test]
fn readiness_tells_zones_and_a_paragraph() {
    let out = fathomline(&[&["today", "readiness"][..], &KESTREL, &["--incidents", "1"]].concat());
    assert!(out.status.success(), "{}", text(&out.stderr));
    let said = text(&out.stdout);
    for words in ["Swim area", "first guard at the last seen point", "To read out", "the supervisor decides"]
    {
        assert!(said.contains(words), "{words} is missing in\n{said}");
    }
    // Nothing about life, and nothing that ends a search.
    for word in ["survive", "alive", "safe", "clear of"] {
        assert!(!said.to_lowercase().contains(word), "{word} in\n{said}");
    }
}

#[test]
fn one_guard_alone_is_not_said_to_be_there() {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../..");
    let day = std::fs::read_to_string(format!("{root}/data/sites/kestrel-tarn/day.toml")).unwrap();
    let mut parts = day.split("[[crew]]");
    let alone = format!("{}[[crew]]{}", parts.next().unwrap(), parts.next().unwrap());
    let file = std::env::temp_dir().join(format!("fathomline-alone-{}.toml", std::process::id()));
    std::fs::write(&file, alone).unwrap();
    let asked = ["--incidents", "1", "--day", file.to_str().unwrap()];
    let out = fathomline(&[&["today", "readiness"][..], &KESTREL, &asked].concat());
    std::fs::remove_file(&file).unwrap();
    let said = text(&out.stdout).split_whitespace().collect::<Vec<_>>().join(" ");
    for words in
        ["but nobody may go in", "one guard alone stays out of the water", "None of it can be searched"]
    {
        assert!(said.contains(words), "{words} is missing in\n{said}{}", text(&out.stderr));
    }
    assert!(!said.contains("the first guard is there"), "{said}");
}

#[test]
fn what_makes_no_sense_is_refused_with_the_way_out() {
    for (arguments, words) in [
        (&["practice", "trials", "--perturb", "spread=0"][..], "--perturb"),
        (&["practice", "trials", "--perturb", "luck=1"], "is not understood"),
        (&["practice", "trials", "--horizon", "0"], "--horizon"),
        (&["practice", "trials", "--current=-3"], "--current"),
        (&["today", "readiness", "--what-if", "guard+7"], "--what-if"),
        (&["today", "readiness", "--at", "25:99"], "--at"),
    ] {
        let (room, rest) = arguments.split_at(2);
        let out = fathomline(&[room, &KESTREL, rest].concat());
        assert!(!out.status.success() && out.stdout.is_empty(), "{arguments:?}");
        assert!(text(&out.stderr).contains(words), "{arguments:?}: {}", text(&out.stderr));
    }
}

#[test]
fn a_water_where_nobody_bathes_is_told_so() {
    for room in [["practice", "trials"], ["practice", "robust"], ["today", "readiness"]] {
        let out = fathomline(&[&room[..], &["--site", "data/sites/lake-227"]].concat());
        assert_eq!(out.status.code(), Some(2), "{room:?}");
        assert!(text(&out.stderr).contains("names no bathing area"), "{}", text(&out.stderr));
    }
}
