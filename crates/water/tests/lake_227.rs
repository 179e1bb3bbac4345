//! Real soundings through the door: Lake 227 of the Experimental Lakes Area (data/sites/lake-227/SOURCE.md).

use water::door::{SiteFiles, named_files, read_site};

fn files() -> SiteFiles {
    let dir = concat!(env!("CARGO_MANIFEST_DIR"), "/../../data/sites/lake-227/");
    let read = |name: &str| std::fs::read(format!("{dir}{name}")).ok();
    let names = named_files(&read("site.toml").expect("site.toml of Lake 227"));
    SiteFiles { files: names.into_iter().filter_map(|name| Some((name.clone(), read(&name)?))).collect() }
}

#[test]
fn lake_227_has_1039_points_of_which_six_stray() {
    let checked = read_site(&files());
    for problem in &checked.problems {
        println!("{problem}");
    }
    let site = checked.value.expect("Lake 227 is usable");
    // SOURCE.md: 1,039 rows; rows 1 to 6 (lines 2 to 7 under the header) lie about 4.5 km away.
    assert_eq!(site.soundings.len(), 1_033);
    let stray: Vec<_> = checked.problems.iter().filter(|p| p.code == "W310").collect();
    assert_eq!(stray.len(), 1);
    assert_eq!(stray[0].place.file, "227_LA.csv");
    assert!(stray[0].what.starts_with("6 soundings"), "{}", stray[0].what);
    for line in 2..=7 {
        assert!(stray[0].what.contains(&format!("line {line} (")), "{}", stray[0].what);
    }
    assert!(!stray[0].what.contains("line 8 "));
    // SOURCE.md: z from -11.07 to -0.48 m on the lake.
    let depths = || site.soundings.iter().map(|s| s.depth_m);
    assert!((depths().fold(0.0, f64::max) - 11.07).abs() < 1e-9);
    assert!((depths().fold(99.0, f64::min) - 0.48).abs() < 1e-9);
    assert!(checked.problems.iter().any(|p| p.code == "W220" && !p.fatal), "the outline is drawn and said");
}
