//! Waters for the tests of belief: a sloping lake with a solid dock and a raft, and how to change it.
#![allow(dead_code)] // each test binary uses its own part

use measure::{Bearing, Spot};
use search::{Alarm, AlarmKind, Missing, Seen, Setting, Sighting, WitnessClass};
use water::{
    Bed, Cover, Day, Flow, Frame, Grid, Ground, Kit, Limits, LonLat, Salinity, Site, Units, WaterKind,
};

/// Site, day, bottom and current that a setting borrows.
pub struct Lake {
    pub site: Site,
    pub day: Day,
    pub ground: Ground,
    pub flow: Flow,
}

impl Lake {
    pub fn setting(&self) -> Setting<'_> {
        Setting { site: &self.site, day: &self.day, ground: &self.ground, flow: &self.flow }
    }
}

/// A lake of `cols` × `rows` metres: shore in the south, 0.04 m deeper every metre north, to 6 m.
pub fn lake(cols: usize, rows: usize) -> Lake {
    let grid = Grid { corner: Spot::default(), cell_m: 1.0, cols, rows };
    let depth_m = (0..grid.len()).map(|cell| (0.04 * (grid.centre(cell).north - 5.0)).min(6.0)).collect();
    Lake {
        site: Site {
            name: "Test Water".into(),
            frame: Frame::new(LonLat { lon: 0.0, lat: 50.0 }),
            time_zone: "Europe/London".into(),
            water_kind: WaterKind::Lake,
            salinity: Salinity::Fresh,
            stage_datum: "gauge".into(),
            datum_stage_m: 0.0,
            units: Units::Metric,
            emergency_number: "112".into(),
            plan_text: String::new(),
            flags: Vec::new(),
            bed: Bed::Sand,
            limits: Limits::default(),
            features: Vec::new(),
            soundings: Vec::new(),
            raster: None,
            hypsography: None,
            sounded_on: String::new(),
            heights: Vec::new(),
        },
        day: Day {
            date: "2030-07-01".into(),
            stage_m: 0.0,
            wind_mps: 0.0,
            wind_from: Bearing::new(0.0),
            water_c: 18.0,
            secchi_m: 1.0,
            floats: Vec::new(),
            crew: Vec::new(),
            kit: Kit::default(),
            assumed: Vec::new(),
        },
        ground: Ground {
            grid,
            stage_m: 0.0,
            depth_m,
            cover: vec![Cover::Open; grid.len()],
            bed: (0..grid.len()).map(|c| if c % 7 == 0 { Bed::Weed } else { Bed::Sand }).collect(),
            to_sounding_m: vec![1.0; grid.len()],
            beyond: vec![false; grid.len()],
            keep_off: vec![false; grid.len()],
            notes: Vec::new(),
        },
        flow: Flow::Still,
    }
}

/// Puts a cover over a rectangle of the lake.
pub fn cover(lake: &mut Lake, west_south: (f64, f64), east_north: (f64, f64), what: Cover) {
    for cell in 0..lake.ground.grid.len() {
        let centre = lake.ground.grid.centre(cell);
        if centre.east > west_south.0
            && centre.east < east_north.0
            && centre.north > west_south.1
            && centre.north < east_north.1
        {
            lake.ground.cover[cell] = what;
        }
    }
}

/// A place pointed out, seen in swimming at a time.
pub fn pointed(by: &str, class: WitnessClass, place: (f64, f64), error_m: f64, at_s: f64) -> Sighting {
    Sighting {
        by: by.into(),
        class,
        seen: Seen::Point { spot: Spot::new(place.0, place.1), error_m: Some(error_m), stood: None },
        heading: None,
        from_s: at_s,
        to_s: at_s,
        went_under: false,
        talked_with: Vec::new(),
    }
}

/// An alarm about a swimmer.
pub fn alarm(sightings: Vec<Sighting>) -> Alarm {
    Alarm {
        kind: AlarmKind::SeenGoingUnder,
        at_s: 50_000.0,
        missing: Missing { height_m: 1.4, swimmer: Some(true) },
        sightings,
    }
}
