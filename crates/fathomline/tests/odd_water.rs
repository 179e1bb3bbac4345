//! Odd waters and odd words through the whole program: an answer or a plain problem, and never a panic or a hang.

use std::path::{Path, PathBuf};
use std::process::{Command, Output, Stdio};
use std::time::Instant;

const CREW: &str = "\n[[crew]]\nname = \"Ann\"\nheight_m = 1.8\nwade = true\ndive_m = 3.0\nlookout = true\nlead = true\n\
[[crew]]\nname = \"Bob\"\nheight_m = 1.75\nwade = true\ndive_m = 4.0\nlookout = true\n\
[[crew]]\nname = \"Cy\"\nheight_m = 1.7\nwade = true\ndive_m = 3.0\nlookout = true\n";

/// A square water of one depth round 3 W 54 N, its side given; gone when dropped.
struct Pond(PathBuf);

impl Drop for Pond {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

fn lonlat(east_m: f64, north_m: f64) -> (f64, f64) {
    (-3.0 + east_m / (111_320.0 * 54.0_f64.to_radians().cos()), 54.0 + north_m / 111_320.0)
}

fn pond(name: &str, side_m: f64, depth_m: f64, crew: &str) -> Pond {
    let dir = std::env::temp_dir().join(format!("odd-water-{name}-{}", std::process::id()));
    std::fs::create_dir_all(&dir).expect("a folder for the test");
    let half = side_m / 2.0;
    let ring: Vec<String> = [(-half, -half), (half, -half), (half, half), (-half, half), (-half, -half)]
        .map(|(e, n)| lonlat(e, n))
        .iter()
        .map(|(lon, lat)| format!("[{lon:.9},{lat:.9}]"))
        .collect();
    let map = format!(
        r#"{{"type":"FeatureCollection","features":[{{"type":"Feature","properties":{{"kind":"water"}},"geometry":{{"type":"Polygon","coordinates":[[{}]]}}}}]}}"#,
        ring.join(",")
    );
    let mut soundings = "lon,lat,depth_m\n".to_string();
    for k in 0..121 {
        let at = |n: i32| side_m * 0.096 * f64::from(n - 5);
        let (lon, lat) = lonlat(at(k % 11), at(k / 11));
        soundings += &format!("{lon:.9},{lat:.9},{depth_m}\n");
    }
    let site =
        "name = \"Odd\"\norigin = [-3.0, 54.0]\ntime_zone = \"Europe/London\"\nwater_kind = \"lake\"\n";
    let day = format!("date = \"2026-07-14\"\nstage_m = 0.0\n{crew}");
    for (file, text) in
        [("site.toml", site), ("map.geojson", &map), ("soundings.csv", &soundings), ("day.toml", &day)]
    {
        std::fs::write(dir.join(file), text).expect("a file of the test");
    }
    Pond(dir)
}

fn run(words: &[&str], dir: &Path) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_fathomline"));
    command.args(words);
    command.arg(dir).output().expect("the program runs")
}

fn plan(pond: &Pond, words: &[&str]) -> (bool, String, String) {
    let all: Vec<&str> = ["alarm", "plan"].iter().chain(words).chain(&["--site"]).copied().collect();
    let output = run(&all, &pond.0);
    let text = |bytes: &[u8]| String::from_utf8_lossy(bytes).into_owned();
    let (out, err) = (text(&output.stdout), text(&output.stderr));
    assert!(!err.contains("panicked"), "{err}");
    (output.status.success(), out, err)
}

#[test]
fn ten_kilometres_of_water_are_planned_in_good_time() {
    let pond = pond("wide", 10_000.0, 1.0, CREW);
    let begun = Instant::now();
    let (good, out, err) =
        plan(&pond, &["--at", "14:00", "--seen", "point=-3.0,54.0 error=10 ago=2min class=guard"]);
    assert!(good && out.contains("line"), "{out}{err}");
    // Some seconds on a quiet machine; the bound only tells it from laying lanes over 100 km².
    assert!(begun.elapsed().as_secs() < 120, "{:?}", begun.elapsed());
}

#[test]
fn no_share_is_written_with_a_minus() {
    let pond = pond("nobody", 60.0, 2.0, "");
    let (good, out, _) = plan(&pond, &["--at", "14:00"]);
    assert!(good && out.contains("ashore 30 %") && !out.contains("-0 %"), "{out}");
}

#[test]
fn orders_for_a_time_before_the_alarm_are_refused_and_midnight_is_no_bar() {
    let pond = pond("clock", 60.0, 1.0, CREW);
    let (good, _, err) = plan(&pond, &["--at", "14:00", "--now", "13:00"]);
    assert!(!good && err.contains("before the alarm at 14:00:00"), "{err}");
    let (good, out, err) = plan(&pond, &["--at", "23:58", "--now", "00:03"]);
    assert!(good && out.contains("+5:00"), "{out}{err}");
}

#[test]
fn a_name_on_a_map_without_names_is_answered_with_another_way() {
    let pond = pond("nameless", 60.0, 1.0, CREW);
    let (good, _, err) = plan(&pond, &["--at", "14:00", "--seen", "landmark=Raft ago=1min"]);
    assert!(!good && err.contains("write point=LON,LAT"), "{err}");
}

#[test]
fn a_water_without_depth_is_not_said_to_have_no_soundings() {
    let pond = pond("flat", 60.0, 0.0, CREW);
    let output = run(&["water", "show"], &pond.0);
    let out = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(out.contains("soundings of no depth"), "{out}");
}

#[test]
fn a_full_disk_behind_the_orders_is_said_without_a_panic() {
    let Ok(full) = std::fs::OpenOptions::new().write(true).open("/dev/full") else { return };
    let pond = pond("full", 60.0, 1.0, CREW);
    let output = Command::new(env!("CARGO_BIN_EXE_fathomline"))
        .args(["alarm", "plan", "--at", "14:00", "--site"])
        .arg(&pond.0)
        .stdout(Stdio::from(full))
        .output()
        .expect("the program runs");
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        !output.status.success() && err.contains("could not be written") && !err.contains("panicked"),
        "{err}"
    );
}

#[test]
fn a_map_of_reach_tells_late_water_from_water_that_is_not_trusted() {
    let pond = pond("late", 300.0, 2.0, CREW);
    let file = pond.0.join("reach.svg");
    let (lon, lat) = lonlat(-152.0, 0.0);
    let post = format!("Stand={lon:.7},{lat:.7}");
    let output =
        run(&["water", "reach", "--post", &post, "--map", file.to_str().unwrap(), "--json"], &pond.0);
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let svg = std::fs::read_to_string(&file).unwrap();
    assert!(svg.contains("url(#late)") && svg.contains("not trusted: no sounding within"));
}
