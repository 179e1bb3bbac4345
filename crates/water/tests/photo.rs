//! The photo under the map: placed in each of its three ways, and everything that keeps it from being shown.

mod shared;

use measure::Spot;
use shared::{check, files, said, site, text, with};
use water::door::{Photo, SiteFiles, named_files, read_photo, read_site};
use water::{Frame, LonLat};

/// The least that has the outer form of a PNG.
fn png(width: u32, height: u32) -> Vec<u8> {
    let mut bytes = b"\x89PNG\r\n\x1a\n".to_vec();
    let mut chunk = |kind: &[u8; 4], content: &[u8]| {
        bytes.extend((content.len() as u32).to_be_bytes());
        bytes.extend(kind);
        bytes.extend(content);
        bytes.extend([0; 4]);
    };
    chunk(b"IHDR", &[&width.to_be_bytes()[..], &height.to_be_bytes()[..], &[8, 2, 0, 0, 0]].concat());
    chunk(b"IDAT", &[0]);
    chunk(b"IEND", &[]);
    bytes
}

/// Alder Pond with a photo.
fn pond(photo: &str, more: &[(&str, Vec<u8>)]) -> SiteFiles {
    let pond = files("alder-pond");
    let mut pond = with(&pond, "site.toml", format!("{}\n{photo}", text(&pond, "site.toml")));
    for (name, bytes) in more {
        pond = with(&pond, name, bytes.clone());
    }
    pond
}

fn photo(files: &SiteFiles) -> Option<Photo> {
    read_photo(files, &site(files))
}

/// `corners` of a photo 40 m wide and 30 m high about the pond's origin, turned by degrees.
fn corners(turn_deg: f64, wide: f64, high: f64) -> (String, [Spot; 4]) {
    let frame = Frame::new(LonLat { lon: -3.0, lat: 54.0 });
    let (sin, cos) = turn_deg.to_radians().sin_cos();
    let spots = [(-0.5, 0.5), (0.5, 0.5), (0.5, -0.5), (-0.5, -0.5)].map(|(u, v)| {
        let (x, y) = (u * wide, v * high);
        Spot::new(x * cos - y * sin, x * sin + y * cos)
    });
    let written = spots.map(|spot| {
        let LonLat { lon, lat } = frame.to_lonlat(spot);
        format!("[{lon:.9}, {lat:.9}]")
    });
    (format!("corners = [{}]", written.join(", ")), spots)
}

#[test]
fn a_photo_lies_where_its_corners_say_however_it_is_turned() {
    for turn in [0.0, 33.0, 180.0, -100.0] {
        let (told, spots) = corners(turn, 40.0, 30.0);
        let pond = pond(
            &format!("[photo]\nfile = \"p.png\"\ndate = \"2026-05-02\"\n{told}"),
            &[("p.png", png(400, 300))],
        );
        assert_eq!(said(&read_site(&pond).problems), "", "{turn}");
        let photo = photo(&pond).expect("a photo");
        assert_eq!(
            (photo.media, photo.width_px, photo.height_px, photo.date.as_str()),
            ("image/png", 400, 300, "2026-05-02")
        );
        for (found, told) in photo.corners.iter().zip(spots) {
            // Nine decimals of a degree are a tenth of a millimetre.
            assert!(found.distance(told) < 1e-3, "{turn}: {found:?} {told:?}");
        }
    }
}

#[test]
fn points_and_a_world_file_say_the_same_place() {
    let (_, spots) = corners(20.0, 40.0, 30.0);
    let frame = Frame::new(LonLat { lon: -3.0, lat: 54.0 });
    // A point a quarter into the picture from its upper left corner, and three of its corners.
    let inner = spots[0] + (spots[1] - spots[0]) * 0.25 + (spots[3] - spots[0]) * 0.25;
    let told: String =
        [((0.0, 0.0), spots[0]), ((400.0, 0.0), spots[1]), ((0.0, 300.0), spots[3]), ((100.0, 75.0), inner)]
            .map(|((x, y), spot)| {
                let LonLat { lon, lat } = frame.to_lonlat(spot);
                format!("[[photo.points]]\npixel = [{x}, {y}]\nat = [{lon:.9}, {lat:.9}]\n")
            })
            .concat();
    let by_points = pond(&format!("[photo]\nfile = \"p.png\"\n{told}"), &[("p.png", png(400, 300))]);
    assert_eq!(said(&read_site(&by_points).problems), "");
    let found = photo(&by_points).expect("a photo").corners;
    assert!(found.iter().zip(spots).all(|(a, b)| a.distance(b) < 1e-3), "{found:?}");

    // In degrees, not turned: 0.000001 degrees a pixel, the middle of the upper left pixel at the origin.
    let world = b"0.000001\n0\n0\n-0.000001\n-3.0\n54.0\n".to_vec();
    let by_world = pond("[photo]\nfile = \"p.png\"", &[("p.png", png(400, 300)), ("p.pgw", world)]);
    let found = photo(&by_world).expect("a photo").corners;
    let first = frame.to_site(LonLat { lon: -3.0 - 0.000_000_5, lat: 54.0 + 0.000_000_5 });
    let third = frame.to_site(LonLat { lon: -3.0 + 0.000_399_5, lat: 54.0 - 0.000_299_5 });
    assert!(found[0].distance(first) < 1e-3 && found[2].distance(third) < 1e-3, "{found:?}");
}

#[test]
fn files_of_the_photo_are_among_those_that_are_opened() {
    let names = named_files(b"[photo]\nfile = \"p.jpg\"\n");
    assert!(names.iter().any(|n| n == "p.jpg") && names.iter().any(|n| n == "p.jgw"), "{names:?}");
    let names = named_files(b"[photo]\nfile = \"../p.jpg\"\n");
    assert!(!names.iter().any(|n| n.contains("p.jpg")), "{names:?}");
}

#[test]
fn whatever_is_wrong_with_a_photo_is_said_and_the_site_is_used_without_it() {
    let (good, _) = corners(0.0, 40.0, 30.0);
    let far = good.replace("-3.0", "-4.0").replace("-2.9", "-3.9");
    let line = "[[photo.points]]\npixel = [0, 0]\nat = [-3, 54]\n[[photo.points]]\npixel = [10, 0]\nat = [-3.0001, 54]\n";
    let straight = format!("{line}[[photo.points]]\npixel = [20, 0]\nat = [-3.0002, 54]\n");
    let picture = || ("p.png", png(400, 300));
    let big = || ("p.png", [png(400, 300), vec![0; 4_100_000]].concat());
    let world = |text: &str| ("p.pgw", text.as_bytes().to_vec());
    for (name, told, more, expect) in [
        ("missing", good.as_str(), vec![], ("- W330", "is not there")),
        ("bytes", &good, vec![big()], ("- W331", "MB")),
        ("pixels", &good, vec![("p.png", png(5000, 10))], ("- W331", "5000 × 10")),
        ("no picture", &good, vec![("p.png", b"GIF89a".to_vec())], ("- W332", "no JPEG and no PNG")),
        ("empty", &good, vec![("p.png", vec![])], ("- W332", "is empty")),
        ("cut short", &good, vec![("p.png", png(400, 300)[..40].to_vec())], ("- W332", "cut short")),
        ("no place", "", vec![picture()], ("- W333", "nothing says where")),
        ("two points", line, vec![picture()], ("- W333", "fewer than three")),
        ("one line", &straight, vec![picture()], ("- W333", "on one line")),
        ("no numbers", "", vec![picture(), world("1 2 3")], ("- W333", "not six numbers")),
        ("nan", "", vec![picture(), world("1 0 0 NaN 0 0")], ("- W333", "not six numbers")),
        ("no such epsg", "epsg = 99999", vec![picture(), world("1 0 0 -1 0 0")], ("- W333", "EPSG:99999")),
        ("no size", "", vec![picture(), world("0 0 0 0 -3 54")], ("- W33", "")),
        ("off the earth", "", vec![picture(), world("1 0 0 -1 -3 54")], ("- W334", "off the earth")),
        ("elsewhere", &far, vec![picture()], ("- W334", "does not show any water")),
    ] {
        let pond = pond(&format!("[photo]\nfile = \"p.png\"\n{told}"), &more);
        let checked = read_site(&pond);
        check(name, &checked.problems, expect);
        assert!(checked.value.is_some(), "{name}: no search waits for a picture");
        assert_eq!(photo(&pond), None, "{name}");
    }
}

#[test]
fn a_mirrored_photo_is_refused_and_an_odd_one_is_said() {
    let at = |told: &str| pond(&format!("[photo]\nfile = \"p.png\"\n{told}"), &[("p.png", png(400, 300))]);
    let (good, _) = corners(0.0, 40.0, 30.0);
    let list: Vec<&str> =
        good["corners = [".len()..good.len() - 1].split("], [").map(|p| p.trim_matches(['[', ']'])).collect();
    let order = |n: [usize; 4]| format!("corners = [{}]", n.map(|k| format!("[{}]", list[k])).join(", "));
    check("mirrored", &read_site(&at(&order([1, 0, 3, 2]))).problems, ("- W333", "mirrored"));
    assert_eq!(photo(&at(&order([1, 0, 3, 2]))), None);
    // From another corner on: the picture lies turned by a right angle and is pressed together.
    let begun_wrong = at(&order([1, 2, 3, 0]));
    check("stretched", &read_site(&begun_wrong).problems, ("- W335", "stretched"));
    assert!(photo(&begun_wrong).is_some());
    let (wide, _) = corners(0.0, 60.0, 30.0);
    let other: Vec<&str> =
        wide["corners = [".len()..wide.len() - 1].split("], [").map(|p| p.trim_matches(['[', ']'])).collect();
    let crooked = format!("corners = [[{}], [{}], [{}], [{}]]", list[0], other[1], list[2], list[3]);
    check("crooked", &read_site(&at(&crooked)).problems, ("- W335", "do not fit together"));
    for (told, expect) in [
        ("corners = [[1, 2]]", ("! W103", "corners")),
        ("corners = [[-3, 154], [1, 1], [1, 1], [1, 1]]", ("! W103", "corners")),
        ("corner = 1", ("! W102", "corner")),
        ("date = \"2026-13-40\"", ("! W105", "does not exist")),
        (&format!("epsg = 4326\n{good}"), ("! W333", "twice")),
    ] {
        check(told, &read_site(&at(told)).problems, expect);
    }
    let pond = files("alder-pond");
    let up = format!("{}\n[photo]\nfile = \"../p.png\"\n", text(&pond, "site.toml"));
    check("path", &read_site(&with(&pond, "site.toml", up)).problems, ("! W109", "../p.png"));
}
