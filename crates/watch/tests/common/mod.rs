//! Waters for tests: the demo site from its files, and ponds made by hand.
#![allow(dead_code)]

use measure::{Bearing, Spot};
use water::door::{SiteFiles, read_day, read_site};
use water::*;

/// The demo site and its day.
pub fn kestrel() -> (Site, Day) {
    let file = |name: &str, bytes: &[u8]| (name.to_string(), bytes.to_vec());
    let files = SiteFiles {
        files: vec![
            file("site.toml", include_bytes!("../../../../data/sites/kestrel-tarn/site.toml")),
            file("map.geojson", include_bytes!("../../../../data/sites/kestrel-tarn/map.geojson")),
            file("soundings.csv", include_bytes!("../../../../data/sites/kestrel-tarn/soundings.csv")),
        ],
    };
    let site = read_site(&files).value.expect("the demo site passes the door");
    let day = include_bytes!("../../../../data/sites/kestrel-tarn/day.toml");
    let day = read_day("day.toml", day, &site).value.expect("so does its day");
    (site, day)
}

pub fn ring(low: (f64, f64), high: (f64, f64)) -> Vec<Spot> {
    [(low.0, low.1), (high.0, low.1), (high.0, high.1), (low.0, high.1), (low.0, low.1)]
        .map(|(east, north)| Spot::new(east, north))
        .to_vec()
}

pub fn area(name: &str, kind: Kind, low: (f64, f64), high: (f64, f64)) -> Feature {
    Feature { name: name.into(), kind, shape: Shape::Area(vec![vec![ring(low, high)]]) }
}

pub fn point(name: &str, kind: Kind, at: (f64, f64)) -> Feature {
    Feature { name: name.into(), kind, shape: Shape::Point(Spot::new(at.0, at.1)) }
}

/// A site with nothing on it.
pub fn bare() -> Site {
    Site {
        name: "Test water".into(),
        frame: Frame::new(LonLat { lon: 8.0, lat: 47.0 }),
        time_zone: "Europe/Zurich".into(),
        water_kind: WaterKind::Lake,
        salinity: Salinity::Fresh,
        stage_datum: "pole".into(),
        datum_stage_m: 0.0,
        units: Units::Metric,
        emergency_number: "112".into(),
        plan_text: String::new(),
        flags: vec![],
        bed: Bed::Sand,
        limits: Limits::default(),
        features: vec![],
        soundings: vec![],
        raster: None,
        hypsography: None,
        sounded_on: String::new(),
        heights: vec![],
    }
}

/// A pond from (0, 0) to `size`, 2 m deep from its edge on where it is sounded, with one post on its southern shore.
pub fn pond(size: (f64, f64), depth_m: f64) -> Site {
    let mut site = bare();
    site.features = vec![
        area("Pond", Kind::Water, (0.0, 0.0), size),
        area("Baths", Kind::BathingArea, (0.0, 0.0), size),
        point("South", Kind::Post, (0.5 * size.0, -2.0)),
    ];
    let step = |extent: f64| (extent / 12.0).max(0.5);
    let (mut east, mut all) = (0.5 * step(size.0), Vec::new());
    while east < size.0 {
        let mut north = 0.5 * step(size.1);
        while north < size.1 {
            all.push(Sounding { spot: Spot::new(east, north), depth_m });
            north += step(size.1);
        }
        east += step(size.0);
    }
    site.soundings = all;
    site
}

pub fn day(crew: Vec<Member>) -> Day {
    Day {
        date: "2026-07-14".into(),
        stage_m: 0.0,
        wind_mps: 2.0,
        wind_from: Bearing::new(270.0),
        water_c: 21.0,
        secchi_m: 1.0,
        floats: vec![],
        crew,
        kit: Kit::default(),
        assumed: vec![],
    }
}

pub fn member(name: &str) -> Member {
    Member {
        name: name.into(),
        height_m: 1.75,
        wade: true,
        dive_m: Some(3.0),
        board: false,
        lookout: true,
        lead: false,
        volunteer: false,
        post: String::new(),
        hours: Vec::new(),
    }
}
