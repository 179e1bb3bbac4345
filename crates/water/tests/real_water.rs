//! Real water: published lake tables from their rasters, a sonar survey, and drifters in canals.
//!
//! Files and their sources: data/real/*/SOURCE.md.

use measure::Spot;
use water::formats::raster::{Raster, geotiff};
use water::{
    Bed, Field, FloatRun, Flow, Frame, Grid, Ground, Hypsography, Limits, LonLat, Salinity, Site, Sounding,
    Units, WaterKind, WaterSummary, depth_at, float_current, tracks,
};

fn site(frame: Frame) -> Site {
    Site {
        name: "real water".into(),
        frame,
        time_zone: "America/Chicago".into(),
        water_kind: WaterKind::Lake,
        salinity: Salinity::Fresh,
        stage_datum: "lake level".into(),
        datum_stage_m: 0.0,
        units: Units::Metric,
        emergency_number: "911".into(),
        plan_text: String::new(),
        flags: vec![],
        bed: Bed::Mud,
        limits: Limits::default(),
        features: vec![],
        soundings: vec![],
        raster: None,
        hypsography: None,
        sounded_on: String::new(),
        heights: Vec::new(),
    }
}

/// A lake raster as a site: elevations turned into depth below stage 0, cells laid out as in the file.
fn lake(raster: &Raster) -> Site {
    let mut site = site(Frame::new(LonLat { lon: -89.56, lat: 43.98 }));
    let depths: Vec<f64> = raster.values.iter().map(|z| -z).collect();
    site.hypsography = Some(Hypsography::of_levels(raster.cell_area(), raster.values.iter().copied(), 0.0));
    let grid = Grid { corner: Spot::default(), cell_m: raster.cell[0], cols: raster.cols, rows: raster.rows };
    site.raster = Some(Field { grid, values: depths });
    site
}

/// Published rows: stage, area, volume.
fn table(text: &str) -> Vec<[f64; 3]> {
    text.lines()
        .skip(1)
        .map(|line| {
            let field: Vec<f64> = line.split(',').skip(1).map(|f| f.trim().parse().unwrap()).collect();
            [field[0], field[1], field[2]]
        })
        .collect()
}

fn reproduces(raster: &[u8], rows: &str) {
    let raster = geotiff(raster, None).unwrap();
    let cells = Hypsography::of_levels(raster.cell_area(), raster.values.iter().copied(), 300.0);
    let rows = table(rows);
    let mut compared = 0;
    for &[stage_m, area_m2, volume_m3] in &rows[1..] {
        let ours_m2 = cells.area_deeper_m2(stage_m - 300.0, 0.0);
        // Ten digits are printed; one in the last.
        assert!((ours_m2 / area_m2 - 1.0).abs() < 2e-9, "area at {stage_m}: {ours_m2}, published {area_m2}");
        // The publisher's volumes are sums over slices of 3 cm, ours are exact: 1e-4 where the lake is not a puddle.
        let ours_m3 = cells.volume_m3(stage_m - 300.0);
        if volume_m3 > 0.01 * rows[rows.len() - 1][2] {
            assert!(
                (ours_m3 / volume_m3 - 1.0).abs() < 1e-4,
                "volume at {stage_m}: {ours_m3}, published {volume_m3}"
            );
            compared += 1;
        }
    }
    assert!(compared > 50, "{compared}");
}

const PLEASANT: &[u8] = include_bytes!("../../../data/real/wisconsin-lakes/pleasant_elevation.tif");
const PLAINFIELD: &[u8] = include_bytes!("../../../data/real/wisconsin-lakes/plainfield_elevation.tif");

// shows: DE-9
#[test]
fn pleasant_lake_has_its_published_area_and_volume_at_every_stage() {
    reproduces(PLEASANT, include_str!("../../../data/real/wisconsin-lakes/pleasant_stage_area_volume.csv"));
}

// shows: DE-9
#[test]
fn plainfield_lake_has_its_published_area_and_volume_at_every_stage() {
    reproduces(
        PLAINFIELD,
        include_str!("../../../data/real/wisconsin-lakes/plainfield_stage_area_volume.csv"),
    );
}

#[test]
fn a_lake_from_its_raster_keeps_the_published_numbers_in_the_summary_and_on_the_map() {
    let mut site = lake(&geotiff(PLEASANT, None).unwrap());
    // Any datum will do.
    site.datum_stage_m = 0.0;
    let ground = Ground::build(&site, 299.9208792).value;
    let summary = WaterSummary::of(&site, &ground, &[]);
    assert!((summary.area_m2 - 579_077.37).abs() < 0.005, "{}", summary.area_m2);
    assert!((summary.volume_m3.unwrap() / 3_227_894.7 - 1.0).abs() < 1e-4);
    // Bed 291.143 m (SOURCE.md).
    assert!((summary.max_depth_m.unwrap() - 8.778).abs() < 1e-3);
    assert_eq!(summary.bands.wade_m2 + summary.bands.dive_m2 + summary.bands.deep_m2, summary.area_m2);
    // The map's own cells, resampled to 1 m, agree to a thousandth.
    site.hypsography = None;
    let on_map = WaterSummary::of(&site, &ground, &[]);
    assert!((on_map.area_m2 / summary.area_m2 - 1.0).abs() < 2e-3, "{}", on_map.area_m2);
    assert!((on_map.volume_m3.unwrap() / summary.volume_m3.unwrap() - 1.0).abs() < 2e-3);
}

/// The soundings of Lake 227 that lie on the lake (the six others are 4.5 km away).
fn lake_227() -> Site {
    let text = include_str!("../../../data/sites/lake-227/227_LA.csv");
    let frame = Frame::new(LonLat { lon: -93.6888, lat: 49.6879 });
    let mut site = site(frame);
    for line in text.lines().skip(1) {
        let f: Vec<f64> = line.split(',').map(|f| f.trim().parse().unwrap()).collect();
        let spot = frame.to_site(LonLat { lon: f[1], lat: f[0] });
        if spot.length() < 1000.0 {
            site.soundings.push(Sounding { spot, depth_m: -f[2] });
        }
    }
    assert_eq!(site.soundings.len(), 1033);
    site
}

#[test]
fn lake_227_is_deep_in_the_middle_and_keeps_every_sounding() {
    let site = lake_227();
    let noted = Ground::build(&site, 0.0);
    let ground = noted.value;
    let summary = WaterSummary::of(&site, &ground, &[]);
    let max_m = summary.max_depth_m.unwrap();
    // Deepest sounding 11.07 m; the nearest cell's middle lies up to 0.7 m beside it.
    assert!((10.8..=11.07).contains(&max_m), "{max_m}");
    let mut apart: Vec<f64> = site
        .soundings
        .iter()
        .map(|s| (depth_at(&ground, s.spot).0 - s.depth_m).abs())
        .filter(|d| d.is_finite())
        .collect();
    apart.sort_by(f64::total_cmp);
    // Soundings stand to 5 decimals of a degree, about 1 m: cells blur neighbours that differ.
    assert!(apart.len() > 1000 && apart[apart.len() / 2] < 0.05, "median {}", apart[apart.len() / 2]);
    assert!(noted.notes.iter().any(|n| n.contains("no water outline")));
    assert!(noted.notes.iter().any(|n| n.contains("a place that has one already")), "{:?}", noted.notes);
}

#[test]
fn lake_227_with_a_shore_is_shallow_at_the_rim() {
    let mut site = lake_227();
    // A plain outline for the test: a round one of 150 m about the survey, which reaches 131 m from its middle.
    let middle = Spot::new(0.0, 0.0);
    let ring: Vec<Spot> = (0..=72)
        .map(|i| middle + Spot::towards(measure::Bearing::new(5.0 * (i % 72) as f64), 190.0))
        .collect();
    site.features.push(water::Feature {
        name: String::new(),
        kind: water::Kind::Water,
        shape: water::Shape::Area(vec![vec![ring]]),
    });
    let ground = Ground::build(&site, 0.0).value;
    let summary = WaterSummary::of(&site, &ground, &[]);
    assert!((summary.area_m2 / (std::f64::consts::PI * 190.0 * 190.0) - 1.0).abs() < 5e-3);
    assert!((10.8..=11.07).contains(&summary.max_depth_m.unwrap()));
    for i in 0..36 {
        let rim = Spot::towards(measure::Bearing::new(10.0 * i as f64 + 5.0), 188.0);
        let (depth_m, away_m) = depth_at(&ground, rim);
        assert!((0.0..1.0).contains(&depth_m) && away_m > 10.0, "{rim:?}: {depth_m}");
    }
}

const DRIFTERS: [(&str, &str); 9] = [
    ("20001340", include_str!("../../../data/real/canal-drifters/20001340.csv")),
    ("20001346", include_str!("../../../data/real/canal-drifters/20001346.csv")),
    ("20001355", include_str!("../../../data/real/canal-drifters/20001355.csv")),
    ("20001361", include_str!("../../../data/real/canal-drifters/20001361.csv")),
    ("20001367", include_str!("../../../data/real/canal-drifters/20001367.csv")),
    ("20001369", include_str!("../../../data/real/canal-drifters/20001369.csv")),
    ("20001390", include_str!("../../../data/real/canal-drifters/20001390.csv")),
    ("20001397", include_str!("../../../data/real/canal-drifters/20001397.csv")),
    ("20001404", include_str!("../../../data/real/canal-drifters/20001404.csv")),
];

fn runs_of(text: &str) -> (Vec<FloatRun>, Vec<String>) {
    let fixes = tracks::read_csv(text).unwrap();
    let noted = tracks::float_runs(&Frame::new(fixes[0].place), &fixes);
    (noted.value, noted.notes)
}

#[test]
fn every_canal_drifter_is_read_and_none_of_its_runs_is_a_ride() {
    let (mut fixes, mut stuck) = (0, 0);
    for (name, text) in DRIFTERS {
        fixes += tracks::read_csv(text).unwrap().len();
        let (runs, notes) = runs_of(text);
        println!("{name}: {} runs, {} notes, {:?}", runs.len(), notes.len(), float_current(&runs));
        stuck += usize::from(notes.iter().any(|n| n.contains("stuck")));
        assert!(!runs.is_empty(), "{name}: {notes:?}");
        for run in &runs {
            let speed_mps = run.from.distance(run.to) / run.seconds;
            assert!(speed_mps < 2.5 && run.seconds >= 300.0, "{name}: {run:?}");
        }
    }
    // 1,228 fixes (SOURCE.md); most drifters lay against a bank or gate for a while.
    assert_eq!(fixes, 1228);
    assert!(stuck >= 5, "{stuck}");
}

#[test]
fn a_canal_drifter_gives_a_current_along_its_canal() {
    // 20001340 ran south-south-east down one reach for its first quarter of an hour: by its own fixes
    // 0.3 m/s and more. The mean of its runs lies between its slowest and fastest.
    let (runs, _) = runs_of(DRIFTERS[0].1);
    let speeds: Vec<f64> = runs.iter().map(|r| r.from.distance(r.to) / r.seconds).collect();
    let (velocity, covariance) = float_current(&runs).unwrap();
    assert!(velocity.length() <= speeds.iter().copied().fold(0.0, f64::max));
    assert!(covariance[0] > 0.0 && covariance[0] * covariance[2] >= covariance[1] * covariance[1]);
    let flow = Flow::from_floats(&runs[..3.min(runs.len())]).value;
    let begin = flow.at(runs[0].from);
    assert!(begin.north < -0.1 && begin.north.abs() > begin.east.abs(), "{begin:?}");
}
