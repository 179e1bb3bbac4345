//! Named cases at the door: each wrong thing in an otherwise good site, and what is said of it.

mod shared;

use measure::Spot;
use shared::{check, day, files, said, site, text, with};
use water::door::{SiteFiles, read_site};
use water::{Kind, Shape};

#[test]
fn good_sites_come_through_without_a_word() {
    for name in ["alder-pond", "twin-basins"] {
        let checked = read_site(&files(name));
        assert_eq!(said(&checked.problems), "", "{name}");
        assert!(checked.value.is_some());
    }
    let pond = site(&files("alder-pond"));
    assert_eq!((pond.features.len(), pond.soundings.len()), (13, 323));
    assert_eq!(pond.sounded_on, "2026-05-03");
    assert_eq!(pond.limits.wade_depth_m, 1.1);
    let post = pond.named("POST ONE").expect("post one");
    // The map was drawn with the post 10 m west and 42 m south of the origin, on a sphere: a part in 1,000 is allowed.
    assert!(post.shape.middle().distance(Spot::new(-10.0, -42.0)) < 0.1, "{:?}", post.shape);
    let basins = site(&files("twin-basins"));
    assert_eq!(basins.of_kind(Kind::Water).count(), 2);
    let deepest = basins.soundings.iter().max_by(|a, b| a.depth_m.total_cmp(&b.depth_m)).expect("some");
    // levels.xyz holds 81.2 - 2.5 m in the middle of each basin, 70 m east and west of the origin.
    assert!(
        (deepest.depth_m - 2.5).abs() < 1e-6 && (deepest.spot.east.abs() - 70.0).abs() < 0.05,
        "{deepest:?}"
    );
}

#[test]
fn site_toml_is_checked_key_by_key() {
    let pond = files("alder-pond");
    let toml = text(&pond, "site.toml");
    for (name, from, to, expect) in [
        ("typo", "time_zone =", "time_zome =", ("! W102", "time_zome")),
        ("typo remedy", "time_zone =", "time_zome =", ("! W102", "write \"time_zone\"")),
        ("typo leaves a gap", "time_zone =", "time_zome =", ("! W104", "\"time_zone\" is missing")),
        ("line", "time_zone =", "time_zome =", ("! W102", "site.toml:4")),
        ("no such zone", "Europe/London", "Europe/Londres", ("! W106", "Europe/Londres")),
        ("number as text", "0.5", "\"0.5\"", ("! W103", "datum_stage_m")),
        ("nan", "0.5", "nan", ("! W105", "NaN")),
        ("infinite", "0.5", "inf", ("! W105", "inf")),
        ("word", "\"lake\"", "\"pond\"", ("! W105", "pond")),
        ("lat beyond the pole", "[-3.0, 54.0]", "[-3.0, 94.0]", ("! W105", "turn the two round")),
        ("origin null", "[-3.0, 54.0]", "[-3.0]", ("! W103", "origin")),
        ("empty name", "\"Alder Pond\"", "\"\"", ("! W104", "name")),
        ("not toml", "[flags]", "[flags", ("! W101", "is not TOML")),
        ("limit", "wade_depth_m = 1.1", "wade_depth_m = 11", ("! W105", "from 0.3 to 1.5 m")),
        ("limit typo", "wade_depth_m", "wade_deep_m", ("! W102", "limits, wade_deep_m")),
        ("no number", "emergency_number = \"999\"", "", ("- W107", "emergency_number")),
        ("no bed", "bed = \"mud\"", "", ("- W108", "mud is assumed")),
        ("no salinity", "salinity = \"fresh\"", "", ("- W108", "fresh is assumed")),
        ("path", "\"soundings.csv\"", "\"../soundings.csv\"", ("! W109", "../soundings.csv")),
        ("no such file", "\"soundings.csv\"", "\"other.csv\"", ("! W001", "other.csv")),
        ("no format", "\"soundings.csv\"", "\"soundings\"", ("! W001", "soundings")),
        ("no such epsg", "[[soundings]]", "[[soundings]]\nepsg = 99999", ("! W111", "EPSG:99999")),
        ("level alone", "[[soundings]]", "[[soundings]]\nvalues = \"level\"", ("! W110", "water_level_m")),
        ("level unasked", "[[soundings]]", "[[soundings]]\nwater_level_m = 3", ("! W110", "values")),
        ("date", "[[soundings]]", "[[soundings]]\ndate = \"2026-13-01\"", ("! W105", "does not exist")),
        ("soundings as table", "[[soundings]]", "[soundings]", ("! W103", "list of tables")),
    ] {
        assert!(toml.contains(from), "{name}");
        let checked = read_site(&with(&pond, "site.toml", toml.replacen(from, to, 1)));
        check(name, &checked.problems, expect);
        assert_eq!(checked.value.is_some(), !expect.0.starts_with('!'), "{name}");
    }
    let twice = format!("{toml}\n[[soundings]]\nfile = \"soundings.csv\"\n");
    check("twice", &read_site(&with(&pond, "site.toml", twice)).problems, ("! W109", "second time"));
}

#[test]
fn text_that_is_no_text_is_named_by_byte_and_marks_are_skipped() {
    let pond = files("alder-pond");
    for (name, file, bytes, expect) in [
        ("empty", "site.toml", &b""[..], ("! W002", "is empty")),
        ("latin 1", "site.toml", b"name = \"Caf\xe9\"", ("! W003", "byte 11 (0xE9)")),
        ("utf-16", "map.geojson", b"\xff\xfe{\0", ("! W003", "UTF-16")),
        ("empty map", "map.geojson", b"  \r\n", ("! W002", "is empty")),
        ("empty soundings", "soundings.csv", b"", ("! W002", "is empty")),
        ("binary soundings", "soundings.csv", b"lon,lat\n\x80", ("! W003", "soundings.csv:2")),
    ] {
        check(name, &read_site(&with(&pond, file, bytes)).problems, expect);
    }
    let mut marked = pond.clone();
    for (_, bytes) in &mut marked.files {
        let text = String::from_utf8(bytes.clone()).expect("text").replace('\n', "\r\n");
        *bytes = [b"\xEF\xBB\xBF", text.as_bytes()].concat();
    }
    let checked = read_site(&marked);
    assert_eq!(said(&checked.problems), "", "BOM and CRLF");
    assert_eq!(checked.value.expect("site").soundings, site(&pond).soundings);
}

#[test]
fn the_map_is_checked_feature_by_feature() {
    let pond = files("alder-pond");
    let map = text(&pond, "map.geojson");
    for (name, from, to, expect) in [
        ("kind typo", "\"bathing_area\"", "\"bathing_aera\"", ("! W202", "bathing_area")),
        ("no kind", "\"kind\": \"rope\",", "", ("! W202", "has no property kind")),
        ("bed", "\"bed\": \"weed\"", "\"bed\": \"weeds\"", ("! W203", "write \"weed\"")),
        ("no bed", ", \"bed\": \"weed\"", "", ("! W203", "has no property bed")),
        ("no support", ", \"support\": \"piled\"", "", ("- W224", "water is assumed under it")),
        (
            "eye",
            "\"name\": \"post one\"",
            "\"name\": \"post one\", \"eye_m\": -2",
            ("! W227", "write metres from 0.3"),
        ),
        (
            "eye word",
            "\"name\": \"post one\"",
            "\"name\": \"post one\", \"eye_m\": \"high\"",
            ("! W227", "eye_m"),
        ),
        ("no name", "\"name\": \"post one\"", "\"title\": \"post one\"", ("! W204", "feature 7")),
        ("same name", "\"post two\"", "\"Post One\"", ("! W205", "Post One")),
        ("same name of areas", "\"beach\"", "\"weed bank\"", ("- W205", "weed bank")),
        ("null", "[-3.0001528, 53.9996226]", "[-3.0001528, null]", ("! W209", "null")),
        ("nan", "[-3.0001528, 53.9996226]", "[NaN, 53.9996226]", ("! W201", "no NaN")),
        ("infinity", "[-3.0001528, 53.9996226]", "[-Infinity, 53.9996226]", ("! W201", "no NaN")),
        ("huge", "[-3.0001528, 53.9996226]", "[500000, 5983500]", ("! W206", "projected metres")),
        ("swapped", "[-3.0001528, 53.9996226]", "[53.9996226, -3.0001528]", ("! W207", "swapped")),
        ("far", "[-3.0001528, 53.9996226]", "[-3.0001528, 54.02]", ("- W218", "from the water")),
        ("farther", "[-3.0001528, 53.9996226]", "[-3.0, 55.0]", ("! W207", "km from the origin")),
        ("height", "[-3.0001528, 53.9996226]", "[-3.0001528, 53.9996226, 12]", ("- W225", "1 positions")),
        ("wrong shape", "\"type\": \"Point\"", "\"type\": \"MultiLineString\"", ("! W209", "list")),
        ("line for point", "\"kind\": \"rope\"", "\"kind\": \"post\"", ("! W208", "one point")),
        (
            "collection",
            "\"type\": \"LineString\"",
            "\"type\": \"GeometryCollection\"",
            ("! W209", "GeometryCollection"),
        ),
        ("json", "\"features\":[", "\"features\":[,", ("! W201", "map.geojson:1")),
        ("no collection", "FeatureCollection", "Feature", ("! W201", "FeatureCollection")),
    ] {
        assert!(map.contains(from), "{name}: {from}");
        let checked = read_site(&with(&pond, "map.geojson", map.replacen(from, to, 1)));
        check(name, &checked.problems, expect);
        assert_eq!(
            checked.value.is_some(),
            !expect.0.starts_with('!'),
            "{name}\n{}",
            said(&checked.problems)
        );
    }
    let moved = text(&pond, "site.toml").replace("[-3.0, 54.0]", "[54.0, -3.0]");
    check(
        "origin swapped",
        &read_site(&with(&pond, "site.toml", moved)).problems,
        ("! W207", "look swapped"),
    );
}

/// A site about an origin with one water of these rings, and a sounding within.
fn water_of(origin: [f64; 2], geometry: &str, inside: [f64; 2]) -> SiteFiles {
    let toml = format!(
        "name = \"w\"\norigin = [{:?}, {:?}]\ntime_zone = \"UTC\"\nwater_kind = \"lake\"\nsalinity = \"fresh\"\n\
         datum_stage_m = 0\nemergency_number = \"1\"\nplan_text = \"p\"\nbed = \"sand\"\n",
        origin[0], origin[1]
    );
    let map = format!(
        "{{\"type\":\"FeatureCollection\",\"features\":[{{\"type\":\"Feature\",\"properties\":{{\"kind\":\"water\",\"name\":\"w\"}},\"geometry\":{geometry}}}]}}"
    );
    let csv = format!("lon,lat,depth_m\n{},{},2\n", inside[0], inside[1]);
    let file = |name: &str, text: String| (name.to_string(), text.into_bytes());
    SiteFiles { files: vec![file("site.toml", toml), file("map.geojson", map), file("soundings.csv", csv)] }
}

/// A polygon of these metres east and north of 0, 0 at the equator.
fn polygon(rings: &[&[(f64, f64)]]) -> String {
    // A degree is 111,319.5 m along the equator and 110,574.3 m across it (WGS 84).
    let place = |(e, n): &(f64, f64)| format!("[{:.9},{:.9}]", e / 111_319.5, n / 110_574.3);
    let ring = |r: &&[(f64, f64)]| format!("[{}]", r.iter().map(place).collect::<Vec<_>>().join(","));
    let rings: Vec<String> = rings.iter().map(ring).collect();
    format!("{{\"type\":\"Polygon\",\"coordinates\":[{}]}}", rings.join(","))
}

fn area_m2(site: &water::Site) -> f64 {
    let polygons = site.of_kind(Kind::Water).flat_map(|f| match &f.shape {
        Shape::Area(polygons) => polygons.clone(),
        _ => Vec::new(),
    });
    let ring = |ring: &Vec<Spot>| 0.5 * ring.windows(2).map(|w| w[0].cross(w[1])).sum::<f64>().abs();
    polygons.map(|p| ring(&p[0]) - p[1..].iter().map(&ring).sum::<f64>()).sum()
}

#[test]
fn odd_rings_are_mended_when_plain_and_refused_with_the_place_when_not() {
    type Rings = &'static [&'static [(f64, f64)]];
    let cases: [(&str, Rings, &str, &str, f64); 15] = [
        ("square", &[&[(0., 0.), (10., 0.), (10., 10.), (0., 10.), (0., 0.)]], "", "", 100.0),
        ("clockwise", &[&[(0., 0.), (0., 10.), (10., 10.), (10., 0.), (0., 0.)]], "", "", 100.0),
        ("one metre", &[&[(0., 0.), (1., 0.), (1., 1.), (0., 1.), (0., 0.)]], "", "", 1.0),
        ("not closed", &[&[(0., 0.), (10., 0.), (10., 10.), (0., 10.)]], "- W210", "10.0 m", 100.0),
        (
            "doubled corner",
            &[&[(0., 0.), (10., 0.), (10., 0.), (10., 10.), (0., 10.), (0., 0.)]],
            "",
            "",
            100.0,
        ),
        (
            "bow tie",
            &[&[(0., 0.), (10., 10.), (10., 0.), (0., 10.), (0., 0.)]],
            "! W213",
            "[0.000045, 0.000045]",
            0.0,
        ),
        (
            "bow tie through a corner",
            &[&[(0., 0.), (5., 5.), (10., 10.), (10., 0.), (5., 5.), (0., 10.), (0., 0.)]],
            "! W213",
            "[0.000045, 0.000045]",
            0.0,
        ),
        (
            "slip of the hand",
            &[&[(0., 0.), (10., 0.), (10., 10.), (5., 10.), (5.5, 10.5), (5.5, 9.8), (0., 10.), (0., 0.)]],
            "- W211",
            "was cut off",
            99.0,
        ),
        (
            "spur",
            &[&[(0., 0.), (10., 0.), (15., 0.), (10., 0.), (10., 10.), (0., 10.), (0., 0.)]],
            "- W211",
            "cut off",
            100.0,
        ),
        ("line", &[&[(0., 0.), (10., 0.), (20., 0.), (0., 0.)]], "! W214", "no area", 0.0),
        ("sliver", &[&[(0., 0.), (0.1, 0.), (0.05, 0.1), (0., 0.)]], "! W214", "less than", 0.0),
        ("two corners", &[&[(0., 0.), (10., 0.), (0., 0.)]], "! W212", "needs three", 0.0),
        (
            "island",
            &[
                &[(0., 0.), (10., 0.), (10., 10.), (0., 10.), (0., 0.)],
                &[(4., 4.), (6., 4.), (6., 6.), (4., 6.), (4., 4.)],
            ],
            "",
            "",
            96.0,
        ),
        (
            "hole outside",
            &[
                &[(0., 0.), (10., 0.), (10., 10.), (0., 10.), (0., 0.)],
                &[(14., 4.), (16., 4.), (16., 6.), (14., 6.), (14., 4.)],
            ],
            "! W215",
            "outside the outline",
            0.0,
        ),
        (
            "hole across",
            &[
                &[(0., 0.), (10., 0.), (10., 10.), (0., 10.), (0., 0.)],
                &[(4., 4.), (16., 4.), (16., 6.), (4., 6.), (4., 4.)],
            ],
            "! W215",
            "cross",
            0.0,
        ),
    ];
    for (name, rings, code, words, area) in cases {
        let checked = read_site(&water_of([0.0, 0.0], &polygon(rings), [0.00001, 0.00001]));
        if code.is_empty() {
            assert_eq!(said(&checked.problems), "", "{name}");
        } else {
            check(name, &checked.problems, (code, words));
        }
        assert_eq!(checked.value.is_none(), code.starts_with('!'), "{name}\n{}", said(&checked.problems));
        if let Some(site) = checked.value {
            assert!((area_m2(&site) - area).abs() < 0.02 * area.max(1.0), "{name}: {} m²", area_m2(&site));
        }
    }
}

#[test]
fn odd_places_on_the_globe_are_places_like_any_other() {
    let square = |w: f64, s: f64, e: f64, n: f64| {
        format!(
            "{{\"type\":\"Polygon\",\"coordinates\":[[[{w},{s}],[{e},{s}],[{e},{n}],[{w},{n}],[{w},{s}]]]}}"
        )
    };
    let cut = "{\"type\":\"MultiPolygon\",\"coordinates\":[[[[179.999,0],[180,0],[180,0.001],[179.999,0.001],[179.999,0]]],\
               [[[-180,0],[-179.999,0],[-179.999,0.001],[-180,0.001],[-180,0]]]]}";
    // 0.002 by 0.001 degrees at the equator: 222.64 m by 110.57 m.
    let expect = 222.64 * 110.57;
    for (name, origin, geometry, expect, code) in [
        ("over the date line", [180.0, 0.0], square(179.999, 0.0, -179.999, 0.001), expect, ""),
        ("beyond 180", [-179.9995, 0.0], square(179.999, 0.0, 180.001, 0.001), expect, "- W222"),
        ("cut at the date line", [180.0, 0.0], cut.to_string(), expect, "- W219"),
        ("ten kilometres", [0.0, 0.0], square(0.0, 0.0, 0.09, 0.09), 10_018.75 * 9_951.7, ""),
    ] {
        let inside = [origin[0] + 0.0001, 0.0005];
        let checked = read_site(&water_of(origin, &geometry, inside));
        if code.is_empty() {
            assert_eq!(said(&checked.problems), "", "{name}");
        } else {
            check(name, &checked.problems, (code, ""));
        }
        let area = area_m2(&checked.value.unwrap_or_else(|| panic!("{name}: {}", said(&checked.problems))));
        assert!((area / expect - 1.0).abs() < 1e-3, "{name}: {area} m², expected {expect}");
    }
    // Round the pole itself: four corners 0.001 degrees of latitude off (111.69 m by WGS 84) make a square of side 158 m.
    let pole = "{\"type\":\"Polygon\",\"coordinates\":[[[0,89.999],[90,89.999],[180,89.999],[-90,89.999],[0,89.999]]]}";
    let checked = read_site(&water_of([0.0, 90.0], pole, [10.0, 89.9999]));
    let area = area_m2(&checked.value.unwrap_or_else(|| panic!("{}", said(&checked.problems))));
    assert!((area / (2.0 * 111.694_f64.powi(2)) - 1.0).abs() < 1e-3, "{area}");
}

#[test]
fn soundings_are_checked_row_by_row() {
    let pond = files("alder-pond");
    let csv = text(&pond, "soundings.csv");
    for (name, row, expect) in [
        ("text", "-3,54,deep,2026-05-01", ("- W302", "\"deep\" is not a number: not used")),
        ("line", "-3,54,deep,2026-05-01", ("- W302", "soundings.csv:325")),
        ("nan", "-3,54,NaN,", ("- W302", "NaN")),
        ("decimal comma", "-3,54,1,5,2026-05-01", ("- W302", "has 5 fields")),
        ("negative", "-3,54,-1.5,", ("- W308", "line 325: -1.5 m")),
        ("absurd", "-3,54,5000,", ("- W307", "line 325: 5000 m")),
        ("far", "-3.1,54.2,2,", ("- W310", "line 325 (2 m deep, 23")),
        ("on the other side of the world", "177,-54,2,", ("- W310", "line 325")),
        ("out of range", "-3,540,2,", ("- W306", "line")),
        ("spike", "-3.00002,54.00002,44,", ("- W313", "line 325 (44 m among")),
        ("zero is shore", "-3.00002,54.00002,0,", ("- W313", "line 325 (0 m among")),
        ("no such date", "-3,54,1,2026-02-30", ("- W302", "2026-02-30")),
    ] {
        let checked = read_site(&with(&pond, "soundings.csv", format!("{csv}{row}\n")));
        check(name, &checked.problems, expect);
        assert_eq!(checked.value.is_some(), !expect.0.starts_with('!'), "{name}");
    }
    let rows =
        |rows: &str| read_site(&with(&pond, "soundings.csv", format!("lon,lat,depth_m\n{rows}\n"))).problems;
    for (name, text, expect) in [
        ("no rows", "", ("! W303", "no sounding")),
        ("upside down", "-3,54,-1\n-3.0001,54,-2", ("! W305", "elevation_below_surface")),
        ("swapped", "54,-3,1\n54.0001,-3,2", ("! W310", "all of its")),
        ("metres", "500000,5983000,1\n500001,5983000,2", ("! W306", "epsg")),
        ("two depths at one place", "-3,54,1\n-3,54,2", ("- W312", "lines 2, 3: 1 to 2 m")),
    ] {
        check(name, &rows(text), expect);
    }
    let toml = text(&pond, "site.toml").replace("[[soundings]]\nfile = \"soundings.csv\"\n", "");
    let bare = SiteFiles {
        files: vec![
            ("site.toml".into(), toml.into_bytes()),
            ("map.geojson".into(), text(&pond, "map.geojson").into_bytes()),
        ],
    };
    let checked = read_site(&bare);
    check("no soundings", &checked.problems, ("- W304", "no depth is known"));
    assert!(checked.value.expect("a site").soundings.is_empty());
}

#[test]
fn without_an_outline_the_main_body_of_soundings_stays() {
    let pond = files("alder-pond");
    let without = |csv: String| {
        let mut bare = with(&pond, "soundings.csv", csv);
        bare.files.retain(|(name, _)| name != "map.geojson");
        read_site(&bare)
    };
    let grid = |lon: f64, count: usize| -> String {
        (0..count)
            .map(|n| format!("{},{},2\n", lon + 1e-5 * (n % 10) as f64, 54.0 + 1e-5 * (n / 10) as f64))
            .collect()
    };
    let head = "lon,lat,depth_m\n";
    let one = without(format!("{head}-3,54,2\n"));
    check("one sounding", &one.problems, ("- W220", "1 soundings"));
    // A circle of 5 m about one sounding, drawn with 16 corners: 76.5 m².
    assert!((area_m2(&one.value.expect("a site")) - 76.5).abs() < 0.5);
    let stray = without(format!("{head}{}-3.1,54,2\n", grid(-3.0, 40)));
    check("stray", &stray.problems, ("- W310", "line 42 (2 m deep"));
    assert_eq!(stray.value.expect("a site").soundings.len(), 40);
    let two = without(format!("{head}{}{}", grid(-3.0, 40), grid(-3.01, 30)));
    check("two bodies", &two.problems, ("! W311", "the largest of 40 and 30"));
    // A degree of longitude at 54 N is 65.6 km on WGS 84.
    let elsewhere = without(format!("{head}{}", grid(-4.0, 20)));
    check("elsewhere", &elsewhere.problems, ("! W314", "66 km from the site's origin"));
    let scattered: String = (0..20).map(|n| format!("{},54,2\n", -3.0 + 0.01 * f64::from(n))).collect();
    check("scattered", &without(format!("{head}{scattered}")).problems, ("! W311", "20 bodies"));
    check("nothing wet", &without(format!("{head}-3,54,0\n")).problems, ("! W221", "no wet sounding"));
}

#[test]
fn a_raster_of_heights_becomes_depths_on_the_site() {
    let pond = files("alder-pond");
    let toml = text(&pond, "site.toml")
        .replace("file = \"soundings.csv\"", "file = \"bed.asc\"\nvalues = \"level\"\nwater_level_m = 80");
    // Cells of 0.0001 degrees; heights fall by 1 m a column to the east, from 79.5 in the west.
    let rows = "79.5 78.5 77.5 76.5 -9999\n".repeat(6);
    let asc = format!(
        "ncols 5\nnrows 6\nxllcorner -3.00025\nyllcorner 53.9997\ncellsize 0.0001\nNODATA_value -9999\n{rows}"
    );
    let checked = read_site(&with(&with(&pond, "site.toml", toml), "bed.asc", asc));
    let site = checked.value.unwrap_or_else(|| panic!("{}", said(&checked.problems)));
    let field = site.raster.expect("a raster");
    // 0.0001 degrees of longitude at 54 N is 6.556 m: the middle of column 2 lies at the origin, depth 80 - 77.5.
    let at = |east: f64| field.at(Spot::new(east, 0.0)).unwrap_or(f64::NAN);
    assert!((at(0.0) - 2.5).abs() < 0.6 && (at(6.556) - 3.5).abs() < 0.6, "{} {}", at(0.0), at(6.556));
    assert!(field.grid.cell_m <= 6.56, "no coarser than the raster: {}", field.grid.cell_m);
    assert!(at(13.1).is_nan(), "no value where the raster has none: {}", at(13.1));
    assert!(field.values.iter().all(|v| v.is_nan() || (0.5 - 1e-9..=3.5 + 1e-9).contains(v)));
}

// A table of heights read as depths makes a lake of 227 m, and one of feet a lake three times too deep.
#[test]
fn a_column_that_names_itself_otherwise_is_not_read_as_depths_in_metres() {
    let pond = files("alder-pond");
    let toml = text(&pond, "site.toml");
    let csv = text(&pond, "soundings.csv");
    for (column, entry, expect) in [
        ("level_m", "", ("! W305", "level_m is read as depths")),
        ("elevation", "", ("! W305", "holds heights")),
        ("depth_ft", "columns = { value = \"depth_ft\" }", ("! W305", "1 foot is 0.3048 m")),
        ("Depth (feet)", "columns = { value = \"Depth (feet)\" }", ("! W305", "another unit")),
    ] {
        let table = csv.replacen("depth_m", column, 1);
        let entry = toml.replace("file = \"soundings.csv\"", &format!("file = \"soundings.csv\"\n{entry}"));
        let checked = read_site(&with(&with(&pond, "soundings.csv", table), "site.toml", entry));
        check(column, &checked.problems, expect);
        assert!(checked.value.is_none(), "{column}");
    }
    // Whoever says what the column holds is believed.
    let said_so = toml.replace("file = \"soundings.csv\"", "file = \"soundings.csv\"\nvalues = \"depth\"");
    let table = csv.replacen("depth_m", "level", 1);
    assert!(read_site(&with(&with(&pond, "soundings.csv", table), "site.toml", said_so)).value.is_some());
}

// The file has UTM coordinates, and no epsg stands in site.toml: its own code must be taken.
#[test]
fn a_geotiff_lies_where_its_own_code_says() {
    let tif = include_bytes!("rasters/south-first.tif");
    let site = |epsg: &str| {
        let toml = format!(
            "name = \"x\"\norigin = [-3.1, 54.5]\ntime_zone = \"Europe/London\"\nwater_kind = \"lake\"\n[[soundings]]\nfile = \"a.tif\"\n{epsg}"
        );
        let files = vec![("site.toml".to_string(), toml.into_bytes()), ("a.tif".to_string(), tif.to_vec())];
        read_site(&SiteFiles { files })
    };
    let checked = site("");
    let read = checked.value.unwrap_or_else(|| panic!("{}", said(&checked.problems)));
    // The middle of the raster, 493525 6039130, is -3.0999816 54.4997409 by PROJ 9; depths run 1.0 to 2.9 m.
    let spot = read.frame.to_site(water::LonLat { lon: -3.099_981_6, lat: 54.499_740_9 });
    let depth = read.raster.expect("a raster").at(spot).expect("in the raster");
    // 1.95 m between two cells of 1.7 and 2.2 m: cells of the site are as large, and one of the two is met.
    assert!((depth - 1.95).abs() < 0.3, "{depth}");
    check("another code", &site("epsg = 32631\n").problems, ("- W111", "itself names 32630"));
}

// Without the shift of its old datum a British survey lies a hundred metres off, and nothing would tell.
#[test]
fn a_national_grid_is_shifted_and_said_to_be() {
    let toml = "name = \"x\"\norigin = [-3.1, 54.5]\ntime_zone = \"Europe/London\"\nwater_kind = \"lake\"\n[[soundings]]\nfile = \"a.csv\"\nepsg = EPSG\n";
    let site = |epsg: &str| {
        let csv = "easting,northing,depth_m\n328859.5,512187.7,2\n328869.5,512187.7,2\n328859.5,512197.7,2\n";
        let files = vec![
            ("site.toml".to_string(), toml.replace("EPSG", epsg).into_bytes()),
            ("a.csv".to_string(), csv.as_bytes().to_vec()),
        ];
        read_site(&SiteFiles { files })
    };
    let checked = site("27700");
    check("shifted", &checked.problems, ("- W111", "good to about 5 m"));
    let first = checked.value.expect("a site").soundings[0].spot;
    assert!(first.length() < 5.0, "{first:?}: these are the coordinates of the origin");
    check("no shift known", &site("28992").problems, ("! W111", "national datum"));
}

const DAY: &str = "date = \"2026-07-14\"\nstage_m = 0.5\nwind_mps = 3\nwind_from_deg = 200\nwater_c = 18\nsecchi_m = 1\n\
    [kit]\ntubes = 1\n[[crew]]\nname = \"a\"\nheight_m = 1.7\nwade = true\n";

#[test]
fn the_day_is_checked_and_its_gaps_are_listed() {
    let good = day(DAY);
    assert_eq!(said(&good.problems), "");
    assert_eq!(good.value.expect("a day").assumed, []);
    let whole = day(&String::from_utf8(shared::file("alder-pond", "day.toml")).expect("text"));
    assert_eq!(said(&whole.problems), "");
    let whole = whole.value.expect("a day");
    assert!((whole.wind_mps - 14.4 / 3.6).abs() < 1e-12);
    assert_eq!(whole.crew[1].post, "post two");
    assert_eq!(whole.crew[2].height_m, measure::parameters::value("height_guard_m"));
    assert_eq!(whole.assumed.len(), 1);
    let step = whole.floats[1].to - whole.floats[1].from;
    assert!(step.distance(Spot::new(12.0, 0.0)) < 1e-9);
    let bare = day("date = \"2026-07-14\"\n");
    check("no crew", &bare.problems, ("- W413", "nobody can be sent"));
    let names: Vec<String> = bare.value.expect("a day").assumed.into_iter().map(|a| a.0).collect();
    assert_eq!(names, ["stage_m", "wind_mps", "wind_from_deg", "water_c", "secchi_m", "kit"]);
    let knots = day(&DAY.replace("wind_mps = 3", "wind_knots = 10")).value.expect("a day");
    assert!((knots.wind_mps - 5.144_444_444).abs() < 1e-6);
}

#[test]
fn nonsense_in_the_day_is_refused() {
    for (name, from, to, expect) in [
        ("no date", "date = \"2026-07-14\"\n", "", ("! W404", "date")),
        ("no such date", "2026-07-14", "2026-02-30", ("! W405", "does not exist")),
        ("leap day", "2026-07-14", "2100-02-29", ("! W405", "does not exist")),
        ("typo", "secchi_m", "sechi_m", ("! W402", "write \"secchi_m\"")),
        ("gale", "wind_mps = 3", "wind_mps = 400", ("! W405", "400")),
        ("two winds", "wind_mps = 3", "wind_mps = 3\nwind_kmh = 3", ("! W407", "more than once")),
        ("no direction", "wind_from_deg = 200\n", "", ("- W408", "north is assumed")),
        ("bearing", "= 200", "= 361", ("! W405", "361")),
        ("boiling", "water_c = 18", "water_c = 100", ("! W405", "100")),
        ("stage in feet", "stage_m = 0.5", "stage_m = 50", ("! W406", "datum stage")),
        ("giant", "1.7", "17", ("! W405", "17")),
        ("text", "1.7", "\"1.7\"", ("! W403", "height_m")),
        ("deep", "wade = true", "dive_m = 300", ("! W405", "300")),
        (
            "same name",
            "wade = true",
            "wade = true\n[[crew]]\nname = \"A \"\nlead = true",
            ("! W420", "called A"),
        ),
        ("no name", "name = \"a\"\n", "", ("! W404", "name")),
        ("post", "wade = true", "wade = true\npost = \"post won\"", ("! W423", "write \"post one\"")),
        ("volunteer", "wade = true", "wade = true\nvolunteer = true\nlead = true", ("! W421", "volunteer")),
        ("nothing", "wade = true", "", ("- W422", "may do nothing")),
        (
            "overlap",
            "wade = true",
            "wade = true\nhours = [\"09:00-13:00\", \"12:59-15:00\"]",
            ("! W424", "overlap"),
        ),
        (
            "overlap at night",
            "wade = true",
            "wade=true\nhours = [\"22:00-02:00\", \"01:00-03:00\"]",
            ("! W424", "overlap"),
        ),
        ("no span", "wade = true", "wade = true\nhours = [\"9-13\"]", ("! W405", "9-13")),
        ("no hour", "wade = true", "wade = true\nhours = [\"09:00-25:00\"]", ("! W405", "25:00")),
        ("kit", "tubes = 1", "tubes = -1", ("! W405", "tubes")),
        ("half a tube", "tubes = 1", "tubes = 1.5", ("! W403", "whole number")),
        ("kit typo", "tubes = 1", "tube = 1", ("! W402", "write \"tubes\"")),
        ("not toml", "stage_m = 0.5", "stage_m = ", ("! W401", "day.toml:2")),
    ] {
        assert!(DAY.contains(from), "{name}");
        let checked = day(&DAY.replacen(from, to, 1));
        check(name, &checked.problems, expect);
        assert_eq!(
            checked.value.is_some(),
            !expect.0.starts_with('!'),
            "{name}\n{}",
            said(&checked.problems)
        );
    }
    for (name, float, expect) in [
        ("no time", "from = \"raft\"\nto = \"post one\"", ("! W404", "seconds")),
        ("zero time", "from = \"raft\"\nto = \"post one\"\nseconds = 0", ("! W409", "seconds is 0")),
        ("back in time", "from = \"raft\"\nto = \"post one\"\nseconds = -5", ("! W405", "-5")),
        ("no end", "from = \"raft\"\nseconds = 5", ("! W404", "distance_m")),
        (
            "two ends",
            "from = \"raft\"\nto = \"gate\"\ndistance_m = 3\nbearing_deg = 3\nseconds = 50",
            ("! W407", "twice"),
        ),
        ("unknown mark", "from = \"rafts\"\nto = \"gate\"\nseconds = 50", ("! W412", "write \"raft\"")),
        (
            "elsewhere",
            "from = [54.0, -3.0]\nto = \"gate\"\nseconds = 50",
            ("! W412", "does not lie at this site"),
        ),
        ("fast", "from = \"raft\"\nto = \"gate\"\nseconds = 5", ("- W410", "moved 1")),
        ("stuck", "from = \"raft\"\nto = \"raft\"\nseconds = 60", ("- W411", "stuck")),
    ] {
        let checked = day(&format!("{DAY}[[floats]]\n{float}\n"));
        check(name, &checked.problems, expect);
        assert_eq!(checked.value.is_some(), !expect.0.starts_with('!'), "{name}");
    }
}

#[test]
fn rasters_that_cannot_be_used_are_refused() {
    let pond = files("alder-pond");
    let one = text(&pond, "site.toml").replace("soundings.csv", "bed.asc");
    let grid = |west: f64, value: &str| {
        let rows = format!("{value} {value}\n").repeat(2);
        format!(
            "ncols 2\nnrows 2\nxllcorner {west}\nyllcorner 53.9999\ncellsize 0.0001\nNODATA_value -9999\n{rows}"
        )
    };
    for (name, toml, asc, expect) in [
        ("good", one.clone(), grid(-3.0001, "2"), None),
        ("torn", one.clone(), "ncols 2\nnrows 2\n".into(), Some(("! W320", "bed.asc"))),
        ("nothing", one.clone(), grid(-3.0001, "-9999"), Some(("! W321", "no cell with a value"))),
        ("abroad", one.clone(), grid(10.0, "2"), Some(("! W322", "km of the site's origin"))),
        ("beside", one.clone(), grid(-2.99, "2"), Some(("! W322", "lies in the water"))),
        ("upside down", one.clone(), grid(-3.0001, "-2"), Some(("! W305", "wrong sign"))),
        (
            "two",
            format!("{one}[[soundings]]\nfile = \"more.asc\"\n"),
            grid(-3.0001, "2"),
            Some(("! W324", "second raster")),
        ),
    ] {
        let files =
            with(&with(&with(&pond, "site.toml", toml), "bed.asc", asc), "more.asc", grid(-3.0001, "3"));
        let checked = read_site(&files);
        match expect {
            Some(expect) => check(name, &checked.problems, expect),
            None => assert_eq!(said(&checked.problems), "", "{name}"),
        }
        assert_eq!(checked.value.is_some(), expect.is_none(), "{name}");
    }
}

#[test]
fn maps_without_sense_are_refused_and_none_is_needed_with_soundings() {
    let pond = files("alder-pond");
    let map = text(&pond, "map.geojson");
    let rope = map.lines().find(|line| line.contains("\"rope\"")).expect("a rope");
    let at = rope.find("[[").expect("its places");
    let still = format!("{}[[-3.0, 54.0], [-3.0, 54.0]]}}}},", &rope[..at]);
    let long = "n".repeat(41);
    let many = format!("[{}-3.0, 54.0]", "-3.0, 54.0], [".repeat(100_001));
    for (name, map, expect) in [
        ("still rope", map.replace(rope, &still), ("! W217", "no length")),
        ("long name", map.replace("split oak", &long), ("- W223", "longer than 40 letters")),
        ("too many", map.replace(&rope[at..], &format!("[{many}]}}}},")), ("! W226", "100000 positions")),
        (
            "no features",
            "{\"type\":\"FeatureCollection\",\"features\":[]}".into(),
            ("- W220", "round the 323"),
        ),
        ("null", "null".into(), ("! W201", "not a FeatureCollection")),
        ("deep", "[".repeat(100_000), ("! W201", "is not JSON")),
    ] {
        check(name, &read_site(&with(&pond, "map.geojson", map)).problems, expect);
    }
    let toml =
        ("site.toml".to_string(), text(&pond, "site.toml").replace("[[soundings]]", "[none]").into_bytes());
    let alone = read_site(&SiteFiles { files: vec![toml] });
    check("nothing at all", &alone.problems, ("! W221", "no water polygon"));
    check("no folder", &read_site(&SiteFiles::default()).problems, ("! W001", "is not there"));
}

#[test]
fn no_name_is_nobodys() {
    let map = r#"{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"kind":"water"},"geometry":
        {"type":"Polygon","coordinates":[[[0,0],[0.001,0],[0.001,0.001],[0,0]]]}},
        {"type":"Feature","properties":{"kind":"post","name":"North"},"geometry":{"type":"Point","coordinates":[0,0.001]}}]}"#;
    let settings = "name = \"any\"\norigin = [0, 0]\ntime_zone = \"UTC\"\nwater_kind = \"lake\"\n";
    let files = [("site.toml", settings), ("map.geojson", map)];
    let files = files.map(|(name, text)| (name.to_string(), text.as_bytes().to_vec())).to_vec();
    let site =
        water::door::read_site(&water::door::SiteFiles { files }).value.expect("three corners are a water");
    // Who has no post stands where people gather, not in the middle of a water that has no name.
    assert!(site.named("").is_none() && site.named(" ").is_none());
    assert_eq!(site.named(" north").map(|f| f.kind), Some(water::Kind::Post));
}
