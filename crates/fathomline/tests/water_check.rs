//! `fathomline water check` as it is typed: lines, JSON, exit codes.

use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn check(dir: &Path, more: &[&str]) -> Output {
    let program = env!("CARGO_BIN_EXE_fathomline");
    Command::new(program).args(["water", "check"]).arg(dir).args(more).output().expect("the program runs")
}

fn text(output: &Output) -> String {
    String::from_utf8(output.stdout.clone()).expect("UTF-8")
}

fn pond() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../water/tests/sites/alder-pond")
}

/// A copy of Alder Pond under another name, to be spoilt.
fn copy(name: &str) -> PathBuf {
    let dir = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = std::fs::remove_dir_all(&dir);
    std::fs::create_dir_all(&dir).expect("a folder");
    for entry in std::fs::read_dir(pond()).expect("Alder Pond") {
        let entry = entry.expect("an entry");
        std::fs::copy(entry.path(), dir.join(entry.file_name())).expect("a copy");
    }
    dir
}

#[test]
fn a_good_folder_ends_with_zero_and_says_what_is_assumed() {
    let output = check(&pond(), &[]);
    assert_eq!(output.status.code(), Some(0), "{}", text(&output));
    assert!(text(&output).contains("assumed for the day: height of gate keeper = 1.72 m (assumed)"));
    assert!(
        text(&output).ends_with("323 soundings used; 0 must be mended, 0 to know\n"),
        "{}",
        text(&output)
    );
}

#[test]
fn every_problem_of_every_file_is_said_at_once() {
    let dir = copy("every-problem");
    let change = |file: &str, from: &str, to: &str| {
        let path = dir.join(file);
        let text = std::fs::read_to_string(&path).expect("text");
        assert!(text.contains(from), "{file}: {from}");
        std::fs::write(&path, text.replacen(from, to, 1)).expect("written");
    };
    change("site.toml", "Europe/London", "Europe/Londres");
    change("map.geojson", "\"bathing_area\"", "\"bathing_aera\"");
    change("soundings.csv", ",2026-05-0", ",2026-55-0");
    change("day.toml", "water_c = ", "water_c = 1");
    let output = check(&dir, &[]);
    assert_eq!(output.status.code(), Some(2));
    for code in
        // The day is told at once too, but for what hangs on a site that cannot be used.
        [
            "must be mended: W106 site.toml",
            "must be mended: W202 map.geojson",
            "to know: W302 soundings.csv",
            "must be mended: W405 day.toml",
        ]
    {
        assert!(text(&output).contains(code), "{code}\n{}", text(&output));
    }
    let json: serde_json::Value = serde_json::from_str(&text(&check(&dir, &["--json"]))).expect("JSON");
    assert_eq!((json["usable"].as_bool(), json["fatal"].as_u64()), (Some(false), Some(3)), "{json:#}");
    assert_eq!(json["problems"][0]["place"]["file"], "site.toml");
}

#[test]
fn a_bad_day_and_a_bad_folder_end_with_two() {
    let dir = copy("bad-day");
    std::fs::write(dir.join("day.toml"), "date = \"2026-02-30\"\n").expect("written");
    let output = check(&dir, &[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output).contains("W405 day.toml:1"), "{}", text(&output));
    let nowhere = check(&dir.join("nowhere"), &[]);
    assert_eq!(nowhere.status.code(), Some(2));
    assert!(text(&nowhere).contains("W001 site.toml: is not there"), "{}", text(&nowhere));
    // A folder where a file belongs is named and not read.
    std::fs::remove_file(dir.join("map.geojson")).expect("removed");
    std::fs::create_dir(dir.join("map.geojson")).expect("a folder");
    let output = check(&dir, &[]);
    assert!(text(&output).contains("W004 map.geojson: is not a plain file"), "{}", text(&output));
}

#[cfg(unix)]
#[test]
fn a_file_beyond_the_limit_is_refused_unread() {
    let dir = copy("too-large");
    let file = std::fs::OpenOptions::new().write(true).open(dir.join("soundings.csv")).expect("open");
    // A file with a hole takes no room on disk.
    file.set_len(129 * 1024 * 1024).expect("grown");
    let output = check(&dir, &[]);
    assert_eq!(output.status.code(), Some(2));
    assert!(text(&output).contains("W005 soundings.csv: is larger than 128 MB"), "{}", text(&output));
}
