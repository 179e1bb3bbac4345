//! Every parser with good input to begin from. One line a parser.

use search::told::{self, Fields};
use water::Place;
use water::door::{SiteFiles, read_day, read_photo, read_site};
use water::formats::{raster, soundings};

/// A parser under test.
pub struct Parser {
    /// What it is called on the command line.
    pub name: &'static str,
    /// Good inputs.
    pub seeds: fn() -> Vec<Vec<u8>>,
    /// Reads the bytes; whatever comes of it is right as long as it comes.
    pub read: fn(&[u8]),
}

macro_rules! site_file {
    ($path:literal) => {
        include_bytes!(concat!("../../crates/water/tests/sites/", $path)).to_vec()
    };
}

/// All of them.
pub const PARSERS: &[Parser] = &[
    Parser {
        name: "site_toml",
        seeds: || vec![site_file!("alder-pond/site.toml"), site_file!("twin-basins/site.toml")],
        read: |bytes| in_folder("site.toml", bytes),
    },
    Parser {
        name: "map_geojson",
        seeds: || vec![site_file!("alder-pond/map.geojson"), site_file!("twin-basins/map.geojson")],
        read: |bytes| in_folder("map.geojson", bytes),
    },
    Parser {
        name: "soundings_csv",
        seeds: || vec![site_file!("alder-pond/soundings.csv"), b"y;x;z\n54;-3;1.5\n54.0001;-3;2\n".to_vec()],
        read: |bytes| in_folder("soundings.csv", bytes),
    },
    Parser {
        name: "soundings_xyz",
        seeds: || vec![site_file!("twin-basins/levels.xyz")],
        read: |bytes| {
            text(bytes, |text| drop(soundings::xyz(text)));
            projected("levels.xyz", bytes);
        },
    },
    Parser {
        name: "soundings_geojson",
        seeds: || vec![GEOJSON.as_bytes().to_vec(), site_file!("alder-pond/map.geojson")],
        read: |bytes| text(bytes, |text| drop(soundings::geojson(text))),
    },
    Parser {
        name: "esri_ascii",
        seeds: || vec![GRID.as_bytes().to_vec()],
        read: |bytes| {
            drop(raster::esri_ascii(bytes));
            raster_folder(bytes);
        },
    },
    Parser {
        name: "geotiff",
        seeds: || vec![b"II*\0\x08\0\0\0\0\0".to_vec(), small_tiff()],
        read: |bytes| drop(raster::geotiff(bytes, Some(b"1\n0\n0\n-1\n0.5\n0.5\n"))),
    },
    Parser {
        name: "photo",
        seeds: || {
            vec![include_bytes!("../../data/sites/kestrel-tarn/photo.jpg").to_vec(), SMALL_PNG.to_vec()]
        },
        read: |bytes| photo_folder(CORNERS, bytes, None),
    },
    Parser {
        name: "photo_place",
        seeds: || vec![CORNERS.as_bytes().to_vec(), POINTS.as_bytes().to_vec()],
        read: |bytes| text(bytes, |told| photo_folder(told, SMALL_PNG, None)),
    },
    Parser {
        name: "world_file",
        seeds: || vec![b"0.00001\n0\n0\n-0.00001\n-3.0\n54.0\n".to_vec()],
        read: |bytes| photo_folder("", SMALL_PNG, Some(bytes)),
    },
    Parser {
        name: "day_toml",
        seeds: || vec![site_file!("alder-pond/day.toml")],
        read: |bytes| {
            let site = read_site(&alder_pond()).value.expect("the invented site is good");
            let checked = read_day("day.toml", bytes, &site);
            assert!(checked.value.is_some() || !checked.problems.is_empty());
        },
    },
    Parser {
        name: "seen_words",
        seeds: || {
            vec![
                b"point=-3.0,54.0 error=7 stood=-3.001,54 ago=1..3min class=companion by=Sam talked=Ada,Bo"
                    .to_vec(),
                b"post=Post one bearing=340 range=24 by-mark at=14:29..14:31 class=guard under heading=200"
                    .to_vec(),
                b"landmark=Raft ago=90s placed".to_vec(),
            ]
        },
        read: |bytes| {
            text(bytes, |text| {
                let site = read_site(&alder_pond()).value.expect("the invented site is good");
                let seen = told::sighting(Fields::seen(text, place("--seen")), &site, 0.0, 52_000.0);
                assert!(seen.is_ok() || seen.is_err_and(|problems| !problems.is_empty()));
            });
        },
    },
    Parser {
        name: "missing_words",
        seeds: || vec![b"height=1.4 non-swimmer".to_vec(), b"swimmer".to_vec()],
        read: |bytes| text(bytes, |text| drop(told::missing(text, place("--missing")))),
    },
    Parser {
        name: "report_lines",
        seeds: || vec![REPORTS.as_bytes().to_vec()],
        read: |bytes| {
            text(bytes, |text| {
                let site = read_site(&alder_pond()).value.expect("the invented site is good");
                let all = told::reports("reports.jsonl", text, &site, 52_000.0);
                assert!(all.is_ok() || all.is_err_and(|problems| !problems.is_empty()));
            });
        },
    },
];

const REPORTS: &str = r#"{"at":"14:34:40","report":"dive made","order":2,"up":6}
{"at":"14:35:05","report":"witness","point":"-3.0003,54.0","ago":"3min","class":"companion","by":"Sam"}
{"at":"14:36:10","report":"lane walked","order":1}
{"at":"14:36:30","report":"stopped here","order":3,"metres":12.5}
{"at":"14:37:00","report":"people came","people":[{"name":"Ruth","wade":true,"dive_m":3,"height_m":1.7}]}
{"at":"14:38:00","report":"all out","reason":"thunder"}
{"at":"14:39:00","report":"found"}
"#;

/// A little-endian GeoTIFF of two by two heights in one strip of 32-bit reals.
fn small_tiff() -> Vec<u8> {
    const ENTRIES: [(u16, u16, u32, u32); 10] = [
        (256, 3, 1, 2),
        (257, 3, 1, 2),
        (258, 3, 1, 32),
        (259, 3, 1, 1),
        (262, 3, 1, 1),
        (273, 4, 1, 134),
        (277, 3, 1, 1),
        (278, 3, 1, 2),
        (279, 4, 1, 16),
        (339, 3, 1, 3),
    ];
    let mut file = b"II*\0\x08\0\0\0".to_vec();
    file.extend((ENTRIES.len() as u16).to_le_bytes());
    for (tag, kind, count, content) in ENTRIES {
        file.extend(tag.to_le_bytes());
        file.extend(kind.to_le_bytes());
        file.extend(count.to_le_bytes());
        file.extend(content.to_le_bytes());
    }
    file.extend(0_u32.to_le_bytes());
    for height_m in [1.5_f32, 2.0, 2.5, -9999.0] {
        file.extend(height_m.to_le_bytes());
    }
    file
}

fn place(option: &str) -> Place {
    Place { file: option.into(), line: None, item: None }
}

const GEOJSON: &str = r#"{"type":"FeatureCollection","features":[
{"type":"Feature","properties":{"depth_m":2.5,"date":"2025-06-01"},"geometry":{"type":"Point","coordinates":[-3,54]}},
{"type":"Feature","properties":null,"geometry":{"type":"MultiPoint","coordinates":[[-3,54,-3],[-3.0001,54,-6]]}}]}"#;

const GRID: &str = "ncols 4\nnrows 3\nxllcorner -3.0002\nyllcorner 53.9998\ncellsize 0.0001\nNODATA_value -9999\n\
1 2 3 4\n2 3 -9999 5\n3 4 5 6\n";

fn text(bytes: &[u8], read: impl FnOnce(&str)) {
    read(&String::from_utf8_lossy(bytes));
}

fn alder_pond() -> SiteFiles {
    let file = |name: &str, bytes: Vec<u8>| (name.to_string(), bytes);
    SiteFiles {
        files: vec![
            file("site.toml", site_file!("alder-pond/site.toml")),
            file("map.geojson", site_file!("alder-pond/map.geojson")),
            file("soundings.csv", site_file!("alder-pond/soundings.csv")),
        ],
    }
}

fn check(files: &SiteFiles) {
    let checked = read_site(files);
    let Some(site) = checked.value else { return assert!(checked.problems.iter().any(|p| p.fatal)) };
    assert!(site.datum_stage_m.is_finite() && !site.name.is_empty());
    assert!(site.soundings.iter().all(|s| s.spot.is_finite() && s.depth_m.is_finite()));
    assert!(site.features.iter().all(|f| f.shape.middle().is_finite()));
}

fn in_folder(name: &str, bytes: &[u8]) {
    let mut files = alder_pond();
    files.files.retain(|(file, _)| file != name);
    files.files.push((name.to_string(), bytes.to_vec()));
    check(&files);
}

fn projected(name: &str, bytes: &[u8]) {
    let file = |name: &str, bytes: Vec<u8>| (name.to_string(), bytes);
    let files = SiteFiles {
        files: vec![file("site.toml", site_file!("twin-basins/site.toml")), file(name, bytes.to_vec())],
    };
    check(&files);
}

/// Where a photo of Alder Pond lies, told in two ways.
const CORNERS: &str = "corners = [[-3.001, 54.001], [-2.999, 54.001], [-2.999, 53.999], [-3.001, 53.999]]\n";
const POINTS: &str = "[[photo.points]]\npixel = [0, 0]\nat = [-3.001, 54.001]\n[[photo.points]]\npixel = [4, 0]\nat = [-2.999, 54.001]\n\
[[photo.points]]\npixel = [0, 4]\nat = [-3.001, 53.999]\n";
/// The outer form of a PNG of 4 by 4 pixels.
const SMALL_PNG: &[u8] = b"\x89PNG\r\n\x1a\n\0\0\0\x0dIHDR\0\0\0\x04\0\0\0\x04\x08\x02\0\0\0\0\0\0\0\
\0\0\0\x01IDAT\0\0\0\0\0\0\0\0\0IEND\0\0\0\0";

fn photo_folder(told: &str, picture: &[u8], world: Option<&[u8]>) {
    let toml = String::from_utf8(site_file!("alder-pond/site.toml")).expect("UTF-8");
    let mut files = alder_pond();
    files.files[0].1 = format!("{toml}\n[photo]\nfile = \"p.png\"\n{told}").into_bytes();
    files.files.push(("p.png".to_string(), picture.to_vec()));
    files.files.extend(world.map(|bytes| ("p.pgw".to_string(), bytes.to_vec())));
    check(&files);
    let Some(site) = read_site(&files).value else { return };
    if let Some(photo) = read_photo(&files, &site) {
        assert!(photo.corners.iter().all(|corner| corner.is_finite()));
    }
}

fn raster_folder(bytes: &[u8]) {
    let toml = String::from_utf8(site_file!("alder-pond/site.toml")).expect("UTF-8");
    let file = |name: &str, bytes: Vec<u8>| (name.to_string(), bytes);
    let files = SiteFiles {
        files: vec![
            file("site.toml", toml.replace("soundings.csv", "bed.asc").into_bytes()),
            file("bed.asc", bytes.to_vec()),
        ],
    };
    check(&files);
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_seeds_of_tiff_and_words_are_good_input() {
        assert!(raster::geotiff(&small_tiff(), Some(b"1\n0\n0\n-1\n0.5\n0.5\n")).is_ok());
        let site = read_site(&alder_pond()).value.expect("the invented site is good");
        assert!(told::reports("reports.jsonl", REPORTS, &site, 52_000.0).is_ok());
        for (told, picture) in [(CORNERS, SMALL_PNG), (POINTS, SMALL_PNG)] {
            let toml = String::from_utf8(site_file!("alder-pond/site.toml")).expect("UTF-8");
            let mut files = alder_pond();
            files.files[0].1 = format!("{toml}\n[photo]\nfile = \"p.png\"\n{told}").into_bytes();
            files.files.push(("p.png".to_string(), picture.to_vec()));
            assert!(read_photo(&files, &site).is_some(), "{told}");
        }
    }
}
