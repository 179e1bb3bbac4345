//! `fathomline water glare` from the outside: a day, a season, pictures, odd sites and odd options.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn run(site: &Path, arguments: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fathomline"));
    command.args(["water", "glare"]).arg(site).args(arguments).output().unwrap()
}

fn tarn() -> PathBuf {
    root().join("data/sites/kestrel-tarn")
}

fn text(site: &Path, arguments: &[&str]) -> String {
    let output = run(site, arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

fn json(site: &Path, arguments: &[&str]) -> Value {
    let mut all = arguments.to_vec();
    all.push("--json");
    serde_json::from_str(&text(site, &all)).unwrap()
}

#[track_caller]
fn refused(site: &Path, arguments: &[&str], says: &str) {
    let output = run(site, arguments);
    let stderr = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{arguments:?}: {stderr}");
    assert!(stderr.contains(says), "{arguments:?} does not say {says:?}: {stderr}");
}

/// A copy of Kestrel Tarn's settings with another map, in a folder of its own.
fn with_map(name: &str, map: impl Fn(String) -> String) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("fathomline-glare-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    for file in ["site.toml", "soundings.csv", "day.toml"] {
        std::fs::copy(tarn().join(file), folder.join(file)).unwrap();
    }
    let text = std::fs::read_to_string(tarn().join("map.geojson")).unwrap();
    std::fs::write(folder.join("map.geojson"), map(text)).unwrap();
    folder
}

#[test]
fn the_evening_of_kestrel_tarn() {
    let evening = ["--open", "15:00-21:00"];
    let all = json(&tarn(), &evening);
    assert_eq!(all["posts"].as_array().unwrap().len(), 3);
    assert_eq!(
        (all["open"]["from"].as_str(), all["wind"]["from_deg"].as_f64()),
        (Some("15:00"), Some(200.0))
    );
    let hour = |time: &str| {
        all["hours"]
            .as_array()
            .unwrap()
            .iter()
            .find(|h| h["time"] == time)
            .unwrap_or_else(|| panic!("{time}"))
    };
    let tower = |time: &str, key: &str| hour(time)["posts"][0][key].as_u64().unwrap();
    assert!(tower("15:00", "under_hidden") + tower("15:00", "head_hidden") < 20);
    assert!(
        tower("19:00", "head_hidden") > 100 && hour("19:00")["sun_azimuth_deg"].as_f64().unwrap() > 270.0
    );
    let counts: u64 = ["not_watched", "no_sun", "clear", "slight", "impaired", "under_hidden", "head_hidden"]
        .map(|key| tower("18:00", key))
        .iter()
        .sum();
    assert_eq!(counts, all["spots"].as_u64().unwrap());
    let half = &all["half_hours"][0]["half_hours"];
    assert_eq!(half.as_array().unwrap().len(), 12);
    assert!(half[8]["hidden_share"].as_f64().unwrap() > half[0]["hidden_share"].as_f64().unwrap());
    let said = text(&tarn(), &evening);
    assert!(said.contains("Tower") && said.contains("single flashes") && said.contains("bearing"), "{said}");
    for word in [" safe", "is clear", "not in the water"] {
        assert!(!said.contains(word), "{word}: {said}");
    }
}

#[test]
fn wind_posts_and_crowd_change_what_they_should() {
    let sum = |arguments: &[&str], key: &str| {
        let all = json(&tarn(), &[&["--open", "17:00-20:00"], arguments].concat());
        let hours = all["hours"].as_array().unwrap();
        hours.iter().map(|h| h["posts"][0][key].as_u64().unwrap()).sum::<u64>()
    };
    let hidden = |wind: &str| sum(&["--wind", wind], "under_hidden") + sum(&["--wind", wind], "head_hidden");
    assert!(hidden("1") < hidden("4") && hidden("4") < hidden("9"));
    assert!(hidden("0") > 0);
    assert!(sum(&["--crowd", "0"], "not_watched") <= sum(&["--crowd", "1.8"], "not_watched"));
    let jetty = json(&tarn(), &["--post", "jetty"]);
    assert_eq!(jetty["posts"][0]["name"], "Jetty");
    assert_eq!(jetty["posts"].as_array().unwrap().len(), 1);
}

#[test]
fn a_season_has_a_row_for_each_month_and_pictures_are_drawn() {
    let folder = with_map("pictures", |map| map);
    let chart = folder.join("chart.svg");
    let map = folder.join("map.png");
    let arguments = [
        "--season",
        "2026-08-20..2026-09-05",
        "--chart",
        chart.to_str().unwrap(),
        "--map",
        map.to_str().unwrap(),
    ];
    let all = json(&tarn(), &arguments);
    assert_eq!(all["periods"], serde_json::json!(["August", "September"]));
    assert_eq!(all["posts"][0]["zones"][0]["minutes_a_day"]["by_day"].as_array().unwrap().len(), 17);
    let svg = std::fs::read_to_string(&chart).unwrap();
    assert!(svg.contains("opens 09:00") && svg.contains("url(#glare2)") && !svg.contains("NaN"));
    assert!(std::fs::read(&map).unwrap().starts_with(b"\x89PNG"));
    for (light, width) in [("dusk", "390"), ("print", "1000")] {
        let arguments = [&arguments[..], &["--light", light, "--width", width]].concat();
        text(&tarn(), &arguments);
        assert!(std::fs::read_to_string(&chart).unwrap().contains("</svg>"));
    }
    refused(&tarn(), &["--chart", "out.jpeg"], "A140");
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn odd_options_are_refused_with_the_way_out() {
    refused(&tarn(), &["--post", "Crow's nest"], "Tower, Jetty, Willow");
    refused(&tarn(), &["--season", "2026-09-01..2026-08-01"], "earlier date first");
    refused(&tarn(), &["--wind", "gale"], "metres a second");
    refused(&tarn(), &["--open", "20:00-10:00"], "the earlier first");
    refused(&tarn(), &["--day", "nowhere.toml"], "W001");
    refused(&root().join("data/sites/nowhere"), &[], "W001");
}

#[test]
fn no_post_and_posts_in_odd_places() {
    let drop_posts = |map: String| {
        let keep: Vec<&str> = map.lines().filter(|line| !line.contains("\"kind\":\"post\"")).collect();
        keep.join("\n")
    };
    let bare = with_map("bare", drop_posts);
    // A crew names its posts: without crew the day is still a day.
    let day = std::fs::read_to_string(bare.join("day.toml")).unwrap();
    std::fs::write(bare.join("day.toml"), day.split("[[crew]]").next().unwrap()).unwrap();
    refused(&bare, &[], "A171");
    let silent = with_map("silent", |map| map);
    std::fs::write(silent.join("day.toml"), "date = \"2026-07-08\"\n").unwrap();
    let all = json(&silent, &[]);
    assert!(
        all["wind"]["from_deg"].is_null() && all["wind"]["told"] == false && all["open"]["told"] == false
    );
    let notes = all["notes"].to_string();
    assert!(
        notes.contains("wind_mps =") && notes.contains("secchi_m =") && notes.contains("no opening hours"),
        "{notes}"
    );
    std::fs::remove_dir_all(silent).unwrap();
    std::fs::remove_dir_all(bare).unwrap();
    // The Tower in the middle of the water, with no height told.
    let afloat = with_map("afloat", |map| {
        map.replace("\"name\":\"Tower\",\"eye_m\":4.0", "\"name\":\"Tower\"")
            .replace("[-3.0999506,54.5]", "[-3.1009,54.5001]")
    });
    let said = text(&afloat, &["--open", "08:00-20:00"]);
    assert!(said.contains("Tower: no eye_m on the map"), "{said}");
    std::fs::remove_dir_all(afloat).unwrap();
}

#[test]
fn polar_night_and_polar_day() {
    let far_north = with_map("north", |map| map.replace(",54.", ",74."));
    for file in ["site.toml", "soundings.csv", "day.toml"] {
        let text = std::fs::read_to_string(far_north.join(file)).unwrap();
        let text = text.replace(", 54.", ", 74.").replace(",54.", ",74.");
        std::fs::write(far_north.join(file), text).unwrap();
    }
    let night = text(&far_north, &["--season", "2026-12-20..2026-12-21"]);
    assert!(night.contains("down") && !night.contains("cannot be seen on"), "{night}");
    let day = json(&far_north, &["--season", "2026-06-20..2026-06-21", "--open", "00:00-24:00"]);
    let up = day["hours"].as_array().unwrap().iter().all(|h| h["sun_elevation_deg"].as_f64().unwrap() > 0.0);
    assert!(up && day["hours"].as_array().unwrap().len() == 24);
    std::fs::remove_dir_all(far_north).unwrap();
}

#[test]
fn a_month_s_mean_does_not_hide_its_worst_days() {
    // Each of the last days of July by itself, and all of July: a post that loses a half-hour on one of them is not called clear.
    let season = text(&tarn(), &["--season", "2026-07-01..2026-07-31", "--open", "10:00-18:30"]);
    let day_file = std::env::temp_dir().join(format!("fathomline-glare-day-{}.toml", std::process::id()));
    let day = std::fs::read_to_string(tarn().join("day.toml")).unwrap().replace("2026-07-08", "2026-07-31");
    std::fs::write(&day_file, day).unwrap();
    let last = text(&tarn(), &["--day", day_file.to_str().unwrap(), "--open", "10:00-18:30"]);
    std::fs::remove_file(&day_file).unwrap();
    let mut lost = 0;
    for post in ["Tower", "Jetty", "Willow"] {
        if last.contains(&format!("from {post} (eye")) {
            lost += 1;
            assert!(!season.contains(&format!("- {post}: no half-hour")), "{post}\n{last}\n{season}");
        }
    }
    assert!(lost > 0, "{last}");
}
