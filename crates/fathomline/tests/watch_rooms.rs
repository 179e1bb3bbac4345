//! Reach, best places and the roster from the command line, on the demo site.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

const SITE: &str = "data/sites/kestrel-tarn";
const LAKE: &str = "data/sites/pleasant-beach";

fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..")
}

fn run(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_fathomline")).current_dir(root()).args(arguments).output().unwrap()
}

fn json(arguments: &[&str]) -> Value {
    let output = run(arguments);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    serde_json::from_slice(&output.stdout).unwrap()
}

fn refused(arguments: &[&str], words: &[&str]) {
    let output = run(arguments);
    let said = String::from_utf8_lossy(&output.stderr).to_string();
    assert_eq!(output.status.code(), Some(2), "{said}");
    assert!(words.iter().all(|w| said.contains(w)), "{said}");
}

#[test]
fn reach_tells_zones_posts_and_the_way_to_a_place() {
    let all = json(&["water", "reach", SITE, "--json", "--at", "-3.1008,54.5003"]);
    let zone = &all["zones"][0];
    assert_eq!(zone["zone"], "Swim area");
    let (median, worst) = (zone["median_s"].as_f64().unwrap(), zone["worst_s"].as_f64().unwrap());
    assert!(median > 5.0 && median < worst && worst < 120.0);
    assert_eq!(all["posts"].as_array().unwrap().len(), 3);
    let route = &all["place"]["route"];
    assert!(route["legs"].as_array().unwrap().len() >= 2 && route["entries"]["allowed"][0].is_string());
    assert!(route["back"]["seconds"].as_f64().unwrap() > 0.0);
    let one = json(&["water", "reach", SITE, "--json", "--post", "Tower"]);
    assert!(one["zones"][0]["worst_s"].as_f64().unwrap() >= worst);
    refused(&["water", "reach", SITE, "--post", "Nowhere"], &["Nowhere", "Tower, Jetty, Willow"]);
    refused(&["water", "reach", SITE, "--at", "54.5,-3.1"], &["--at", "longitude,latitude"]);
    let file = std::env::temp_dir().join(format!("fathomline-reach-{}.svg", std::process::id()));
    json(&["water", "reach", SITE, "--json", "--map", file.to_str().unwrap()]);
    let svg = std::fs::read_to_string(&file).unwrap();
    std::fs::remove_file(&file).unwrap();
    assert!(svg.contains("Kestrel Tarn: reach") && svg.contains("the site's limit") && svg.len() < 3_000_000);
}

#[test]
fn the_best_places_are_no_worse_than_todays_and_the_move_gains() {
    let all = json(&["water", "places", SITE, "--json", "--posts", "3", "--most", "10"]);
    let value = |part: &Value| part["value"].as_f64().unwrap();
    let (best, today) = (value(&all["best"]), value(&all["today"]));
    assert!(best >= today && all["best"]["gap"].as_f64().unwrap() < 1e-6);
    assert_eq!(all["best"]["places"].as_array().unwrap().len(), 3);
    if let Some(gain) = all["best_move"]["gain"].as_f64() {
        assert!(gain > 0.0 && today + gain <= best + 1e-9);
    }
    refused(&["water", "places", SITE, "--posts", "0"], &["--posts"]);
}

#[test]
fn places_are_worth_less_where_less_is_seen() {
    let asked = ["water", "places", SITE, "--json", "--most", "2", "--posts", "2"];
    let both = json(&[&asked[..], &["--season", "2026-08-01..2026-08-02"]].concat());
    let (reach, view) = (both["today"]["reach"].as_f64().unwrap(), both["today"]["view"].as_f64().unwrap());
    let value = both["today"]["value"].as_f64().unwrap();
    // A cell counts the best of products, which is no more than the product of the best.
    assert!(view > 0.3 && view < 1.0 && value < reach && value <= view, "{value} {reach} {view}");
    let alone = json(&[&asked[..], &["--reach-only"]].concat());
    assert!(
        (alone["today"]["value"].as_f64().unwrap() - reach).abs() < 1e-12 && alone["today"]["view"].is_null()
    );
    // Posts of the map keep their eye, and other places have the one that is told.
    let low = json(&[&asked[..], &["--season", "2026-08-01..2026-08-02", "--eye", "0.7"]].concat());
    for place in low["candidates"].as_array().unwrap() {
        let new = place["name"].as_str().unwrap().starts_with("place ");
        assert_eq!(place["eye_m"].as_f64() == Some(0.7), new, "{place}");
    }
    refused(&[&asked[..], &["--bathers", "Nowhere=3"]].concat(), &["Nowhere", "Swim area"]);
    refused(&[&asked[..], &["--bathers", "Swim area=0"]].concat(), &["nobody bathes"]);
}

#[test]
fn the_roster_follows_the_sun() {
    let asked = ["today", "roster", "--site", LAKE, "--hours", "12:00-20:00", "--json"];
    let glare = |more: &[&str]| -> Vec<(String, String)> {
        let made = json(&[&asked[..], more].concat());
        let rows = made["table"].as_array().unwrap().clone();
        rows.iter()
            .filter(|row| !row["glare"].as_array().unwrap().is_empty())
            .map(|row| {
                (row["from"].as_str().unwrap().to_string(), row["glare"][0].as_str().unwrap().to_string())
            })
            .collect()
    };
    // On an August evening the Stand looks into the sun, and water glare says so of the same half-hours.
    let computed = glare(&[]);
    assert!(!computed.is_empty() && computed.iter().all(|(_, post)| post == "Stand"), "{computed:?}");
    assert!(computed.iter().all(|(from, _)| from.as_str() >= "16:00"), "{computed:?}");
    assert!(glare(&["--glare", "none"]).is_empty());
    let told = glare(&["--glare", "Pier head=13:00-14:00"]);
    assert_eq!(told.len(), 2);
    assert!(told.iter().all(|(_, post)| post == "Pier head"));
    // Over midnight the sun of both days counts, and the dark is said.
    let night = json(&["today", "roster", "--site", LAKE, "--hours", "19:00-02:00", "--json"]);
    assert!(night["notes"].to_string().contains("below the horizon"), "{}", night["notes"]);
    refused(&[&asked[..], &["--glare", "Nowhere=13:00-14:00"]].concat(), &["--glare", "Stand", "none"]);
}

#[test]
fn a_roster_is_made_written_and_repaired() {
    let folder = std::env::temp_dir().join(format!("fathomline-roster-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let file = |name: &str| folder.join(name).to_str().unwrap().to_string();
    let (ics, csv, kept) = (file("day.ics"), file("day.csv"), file("roster.json"));
    let args = ["today", "roster", "--site", SITE, "--hours", "11:00-17:00", "--json"];
    let made = json(&[&args[..], &["--ics", &ics, "--csv", &csv]].concat());
    assert_eq!(made["table"].as_array().unwrap().len(), 12);
    assert!(std::fs::read_to_string(&ics).unwrap().starts_with("BEGIN:VCALENDAR\r\n"));
    assert_eq!(std::fs::read_to_string(&csv).unwrap().lines().count(), 13);
    std::fs::write(&kept, made.to_string()).unwrap();
    let after = json(&[&args[..], &["--keep", &kept, "--without", "Leila@14:00"]].concat());
    for (was, is) in made["table"].as_array().unwrap().iter().zip(after["table"].as_array().unwrap()).take(6)
    {
        assert_eq!(was, is, "what is over stays");
    }
    assert!(!after["table"].as_array().unwrap()[6..].iter().any(|row| row.to_string().contains("Leila")));
    refused(&["today", "roster", "--site", SITE, "--without", "Nobody"], &["Nobody", "Ines"]);
    std::fs::remove_dir_all(&folder).unwrap();
}
