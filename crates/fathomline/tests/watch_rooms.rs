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

/// A pond of 60 × 60 m round 3 W 54 N with a bathing area on its western side and one post; a folder of its own.
fn pond(name: &str, (zone_m, post_east_m): (f64, f64), sounded: bool, more: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("fathomline-pond-{}-{name}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let at = |east: f64, north: f64| {
        let lon = -3.0 + east / (111_320.0 * 54.0_f64.to_radians().cos());
        format!("[{lon:.9},{:.9}]", 54.0 + north / 111_320.0)
    };
    let ring = |west: f64, east: f64, south: f64, north: f64| {
        let corners = [(west, south), (east, south), (east, north), (west, north), (west, south)];
        corners.map(|(e, n)| at(e, n)).join(",")
    };
    let feature = |properties: &str, geometry: String| {
        format!(r#"{{"type":"Feature","properties":{{{properties}}},"geometry":{{{geometry}}}}}"#)
    };
    let area = |ring: String| format!(r#""type":"Polygon","coordinates":[[{ring}]]"#);
    let map = [
        feature(r#""kind":"water","name":"Pond""#, area(ring(-30.0, 30.0, -30.0, 30.0))),
        feature(r#""kind":"bathing_area","name":"Zone""#, area(ring(-30.0, -30.0 + zone_m, -15.0, 15.0))),
        feature(
            r#""kind":"post","name":"Stand","eye_m":3.0"#,
            format!(r#""type":"Point","coordinates":{}"#, at(post_east_m, 0.0)),
        ),
    ];
    let map = format!(r#"{{"type":"FeatureCollection","features":[{}]}}"#, map.join(","));
    let soundings: String = (0..100)
        .map(|k| at(6.0 * f64::from(k % 10) - 27.0, 6.0 * f64::from(k / 10) - 27.0))
        .fold("lon,lat,depth_m\n".into(), |text, spot| text + spot.trim_matches(['[', ']']) + ",1.4\n");
    let crew: String = ["Ada", "Ben", "Cleo", "Dov"]
        .map(|name| {
            format!(
                "[[crew]]\nname = \"{name}\"\nheight_m = 1.8\nwade = true\ndive_m = 3.0\nlookout = true\nlead = true\n\
                 post = \"Stand\"\nhours = [\"10:00-18:00\"]\n"
            )
        })
        .concat();
    let site =
        "name = \"Pond\"\norigin = [-3.0, 54.0]\ntime_zone = \"Europe/London\"\nwater_kind = \"lake\"\n";
    std::fs::write(folder.join("site.toml"), site).unwrap();
    std::fs::write(folder.join("map.geojson"), map).unwrap();
    std::fs::write(folder.join("day.toml"), format!("date = \"2026-07-14\"\nstage_m = 0.0\n{more}\n{crew}"))
        .unwrap();
    if sounded {
        std::fs::write(folder.join("soundings.csv"), soundings).unwrap();
    }
    folder
}

fn said(arguments: &[&str]) -> String {
    let output = run(arguments);
    assert!(output.status.success(), "{arguments:?}: {}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn an_area_that_nobody_sounded_is_watched_told_and_has_a_card() {
    let folder = pond("unsounded", (30.0, -34.0), false, "");
    let dir = folder.to_str().unwrap();
    let glare = json(&["water", "glare", dir, "--json"]);
    assert!(glare.to_string().contains("Zone, depth not known"), "{glare}");
    let glare = said(&["water", "glare", dir]);
    assert!(!glare.contains("nothing is watched") && !glare.contains("none in view"), "{glare}");
    let zero = said(&["today", "zero", "--site", dir]);
    assert!(
        zero.contains("\nZone\n") && zero.contains("Call the emergency number")
            || zero.contains("call the emergency number"),
        "{zero}"
    );
    let ready = said(&["today", "readiness", "--site", dir, "--incidents", "80", "--what-if", "rope=1.2"]);
    assert!(ready.contains("100 % of it: the depth is not known"), "{ready}");
    assert!(!ready.contains("inf") && !ready.contains("NaN"), "{ready}");
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn a_narrow_area_has_a_card_and_a_post_in_the_water_no_entry() {
    let folder = pond("narrow", (4.0, -34.0), true, "");
    let dir = folder.to_str().unwrap();
    let zero = said(&["today", "zero", "--site", dir]);
    assert!(zero.contains("\nZone\n"), "{zero}");
    std::fs::remove_dir_all(folder).unwrap();
    // Eight metres west of a post that stands in the water: one swims, and enters nowhere.
    let folder = pond("afloat", (30.0, 0.0), true, "");
    let reach = said(&["water", "reach", folder.to_str().unwrap(), "--at=-3.000122,54"]);
    let asked = reach.lines().find(|line| line.starts_with("To the place asked for")).unwrap();
    assert!(reach.contains("Stand stands in 1.4 m"), "{reach}");
    assert!(asked.contains("(swim 8 m") && !asked.contains("walks in"), "{asked}");
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn an_area_without_water_is_said_to_have_none() {
    let folder = pond("dry", (-20.0, -34.0), true, "");
    let dir = folder.to_str().unwrap();
    let reach = said(&["water", "reach", dir]);
    assert!(reach.contains("Zone holds no water"), "{reach}");
    refused(&["today", "zero", "--site", dir], &["Zone holds no water"]);
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn water_that_carries_searchers_off_is_not_called_searchable() {
    let float = "[[floats]]\nfrom = [-3.0, 54.0]\nto = [-3.0, 54.0005]\nseconds = 20\n";
    let folder = pond("torrent", (30.0, -34.0), true, float);
    let dir = folder.to_str().unwrap();
    let ready = said(&["today", "readiness", "--site", dir, "--incidents", "8"]);
    assert!(ready.contains("current is too fast") && !ready.contains(": searchable\n"), "{ready}");
    std::fs::remove_dir_all(folder).unwrap();
}

#[test]
fn two_who_leave_at_different_hours_are_both_replaced() {
    let folder = std::env::temp_dir().join(format!("fathomline-two-leave-{}", std::process::id()));
    std::fs::create_dir_all(&folder).unwrap();
    let kept = folder.join("roster.json").to_str().unwrap().to_string();
    let args = ["today", "roster", "--site", SITE, "--json"];
    let made = json(&args);
    std::fs::write(&kept, made.to_string()).unwrap();
    let after = json(&[&args[..], &["--keep", &kept, "--without", "Leila@12:00", "Oskar@15:00"]].concat());
    for row in after["table"].as_array().unwrap() {
        let empty = row["posts"].as_object().unwrap().values().any(|who| who.as_array().unwrap().is_empty());
        assert!(!empty, "{row}");
    }
    std::fs::remove_dir_all(&folder).unwrap();
}

/// Words of a text that tell a length or an area in metres: a number, a blank and the unit.
fn metres(text: &str) -> Vec<String> {
    let words: Vec<&str> = text.split_whitespace().collect();
    let unit = |word: &str| {
        matches!(
            word.trim_end_matches([',', ';', ':', '.', ')']),
            "m" | "m2" | "m²" | "metres" | "km" | "km²"
        )
    };
    let told =
        words.windows(2).filter(|pair| pair[0].ends_with(|c: char| c.is_ascii_digit()) && unit(pair[1]));
    told.map(|pair| pair.join(" ")).collect()
}

#[test]
fn a_site_in_feet_is_told_in_feet_alone() {
    let text = |arguments: &[&str]| {
        let output = run(arguments);
        assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
        String::from_utf8(output.stdout).unwrap()
    };
    let asked: [&[&str]; 4] = [
        &["water", "reach", LAKE],
        &["water", "glare", LAKE, "--day", "data/sites/pleasant-beach/day.toml"],
        &["water", "places", LAKE, "--most", "2", "--posts", "2", "--season", "2026-08-01..2026-08-02"],
        &[
            "today",
            "readiness",
            "--site",
            LAKE,
            "--incidents",
            "200",
            "--what-if",
            "rope=1.2",
            "--what-if",
            "stage+0.3",
        ],
    ];
    for arguments in asked {
        let told = text(arguments);
        // What was assumed of a file is told by the file's own key, and that is metres.
        let lines: Vec<&str> = told.lines().filter(|line| !line.contains("_m")).collect();
        let found = metres(&lines.join("\n"));
        assert!(found.is_empty() && told.contains(" ft"), "{arguments:?}: {found:?}\n{told}");
    }
}

#[test]
fn posts_that_nobody_can_stand_at_are_said() {
    let more = ["A=-3.1001,54.5001", "B=-3.1002,54.5001", "C=-3.1003,54.5001", "D=-3.1004,54.5001"];
    let posts: Vec<&str> = (0..11).map(|k| more[k % 4]).collect();
    let all = json(&[&["water", "reach", SITE, "--json", "--post"], &posts[..]].concat());
    let notes = all["notes"].to_string();
    assert!(notes.contains("11 posts, but of today's crew 10 may go in"), "{notes}");
}

#[test]
fn the_photo_of_a_site_lies_under_its_map_unless_it_is_left_out() {
    let file = std::env::temp_dir().join(format!("fathomline-photo-{}.svg", std::process::id()));
    let shown = |more: &[&str]| {
        let drawn = run(&[&["water", "show", SITE, "--map", file.to_str().unwrap()], more].concat());
        assert!(drawn.status.success());
        std::fs::read_to_string(&file).unwrap()
    };
    let (with, without) = (shown(&[]), shown(&["--no-photo"]));
    std::fs::remove_file(&file).unwrap();
    assert!(with.contains("<image") && with.contains("photo of 2026-05-02"));
    assert!(!without.contains("<image") && without.len() < 3_000_000);
}

#[test]
fn a_calendar_with_nobody_in_it_is_refused() {
    let file = std::env::temp_dir().join(format!("fathomline-nobody-{}.ics", std::process::id()));
    let names = ["Ines", "Oskar", "Leila", "Marta", "Callum", "Priya", "Joss", "Tamsin", "Bram", "Wren"];
    let asked = ["today", "roster", "--site", SITE, "--ics", file.to_str().unwrap(), "--without"];
    refused(&[&asked[..], &names[..]].concat(), &["--ics", "nobody stands at any post"]);
    assert!(!file.exists());
}
