//! Everything that is written is read back by the library of its format.

use super::*;
use crate::picture::tests::camp;
use measure::Spot;
use water::{Field, Frame, Grid, LonLat};

fn features(text: &str) -> Vec<::geojson::Feature> {
    let ::geojson::GeoJson::FeatureCollection(all) = text.parse().unwrap() else {
        panic!("not a collection")
    };
    all.features
}

fn kind<'a>(all: &'a [::geojson::Feature], kind: &str) -> Vec<&'a ::geojson::Feature> {
    all.iter().filter(|f| f.property("kind").and_then(|k| k.as_str()) == Some(kind)).collect()
}

/// Every ring of a polygon or several, as (longitude, latitude).
fn rings(feature: &::geojson::Feature) -> Vec<Vec<Vec<[f64; 2]>>> {
    let ring = |r: &Vec<::geojson::Position>| r.iter().map(|p| [p[0], p[1]]).collect::<Vec<_>>();
    match &feature.geometry.as_ref().unwrap().value {
        ::geojson::GeometryValue::Polygon { coordinates } => vec![coordinates.iter().map(ring).collect()],
        ::geojson::GeometryValue::MultiPolygon { coordinates } => {
            coordinates.iter().map(|p| p.iter().map(ring).collect()).collect()
        }
        other => panic!("not an area: {other:?}"),
    }
}

fn turning(ring: &[[f64; 2]]) -> f64 {
    ring.windows(2)
        .map(|w| {
            (w[0][0] - ring[0][0]) * (w[1][1] - ring[0][1]) - (w[1][0] - ring[0][0]) * (w[0][1] - ring[0][1])
        })
        .sum()
}

#[test]
fn geojson_comes_back_with_every_lane_in_its_place() {
    let camp = camp();
    let scene = camp.scene();
    let all = features(&geojson(&scene));
    let lanes = kind(&all, "lane");
    let numbers: Vec<u64> = lanes.iter().map(|f| f.property("number").unwrap().as_u64().unwrap()).collect();
    assert_eq!(numbers, [3, 1, 4, 5, 2, 6]);
    assert_eq!(lanes[1].property("who").unwrap()[0], "Tove");
    assert_eq!(lanes[1].property("state").unwrap(), "under_way");
    assert_eq!(lanes[1].property("method").unwrap(), "dive");
    // The alarm was at 14:32:07; the first run begins 250 s later.
    assert_eq!(lanes[1].property("from_time").unwrap(), "14:36:17");
    let frame = camp.site.frame;
    for (feature, run) in kind(&all, "lane_line").iter().skip(1).zip(&camp.plan.runs) {
        let ::geojson::GeometryValue::LineString { coordinates } = &feature.geometry.as_ref().unwrap().value
        else {
            panic!("not a line")
        };
        for (position, spot) in coordinates.iter().zip([run.from, run.to]) {
            let back = frame.to_site(LonLat { lon: position[0], lat: position[1] });
            // Nine decimals of a degree are about 0.1 mm.
            assert!(back.distance(spot) < 1e-3, "{back:?} {spot:?}");
        }
    }
    assert_eq!(kind(&all, "last_seen").len(), 2);
    assert_eq!(kind(&all, "gap").len(), 2);
    assert_eq!(kind(&all, "outline").len(), 3);
}

#[test]
fn outer_rings_run_counter_clockwise_and_holes_clockwise() {
    let mut camp = camp();
    let grid = Grid { corner: Spot::new(-20.0, -20.0), cell_m: 1.0, cols: 40, rows: 40 };
    let values = (0..grid.len()).map(|k| 3.0 - (grid.centre(k).length() - 10.0).abs()).collect();
    camp.map = Field { grid, values };
    camp.regions = vec![(0.5, 1.0)];
    let all = features(&geojson(&camp.scene()));
    for feature in kind(&all, "lane").into_iter().chain(kind(&all, "outline")) {
        for polygon in rings(feature) {
            for (k, ring) in polygon.iter().enumerate() {
                assert_eq!(ring.first(), ring.last());
                assert!(turning(ring) * if k == 0 { 1.0 } else { -1.0 } > 0.0);
            }
        }
    }
    let outline = kind(&all, "outline");
    assert_eq!(rings(outline[0])[0].len(), 2, "the hole came along");
}

#[test]
fn a_lane_across_the_antimeridian_is_cut_there() {
    let mut camp = camp();
    for lon in [180.0, -180.0, 179.9999, -179.9999] {
        camp.site.frame = Frame::new(LonLat { lon, lat: -16.5 });
        let all = features(&geojson(&camp.scene()));
        let mut cut = 0;
        for feature in kind(&all, "lane") {
            let polygons = rings(feature);
            cut += usize::from(polygons.len() > 1);
            for ring in polygons.iter().flatten() {
                assert!(ring.iter().all(|p| p[0].abs() <= 180.0));
                let (low, high) =
                    ring.iter().fold((f64::MAX, f64::MIN), |(a, b), p| (a.min(p[0]), b.max(p[0])));
                assert!(high - low < 1.0, "{lon}: a ring from {low} to {high}");
                assert!(turning(ring) > 0.0);
            }
        }
        assert!(cut > 0, "{lon}: no lane crossed");
    }
}

#[test]
fn gpx_comes_back_with_routes_and_places() {
    let mut camp = camp();
    camp.alarm.sightings[0].by = "<script> & \"Jo\" \u{1}".into();
    camp.plan.runs[2].from = Spot::new(f64::NAN, 0.0);
    let file = ::gpx::read(gpx(&camp.scene()).unwrap().as_bytes()).unwrap();
    assert_eq!(file.version, ::gpx::GpxVersion::Gpx11);
    let names: Vec<_> = file.routes.iter().map(|r| r.name.clone().unwrap()).collect();
    assert_eq!(names, ["lane 3", "lane 1", "lane 4", "lane 2", "lane 6"]);
    let start = file.routes[1].points[0].point();
    let back = camp.site.frame.to_site(LonLat { lon: start.x(), lat: start.y() });
    assert!(back.distance(camp.plan.runs[0].from) < 1e-3);
    assert!(file.waypoints.iter().any(|w| w.name.as_deref() == Some("last seen, <script> & \"Jo\" ")));
    assert!(file.waypoints.iter().any(|w| w.name.as_deref() == Some("Tower")));
}

fn small() -> Field<f64> {
    let grid = Grid { corner: Spot::new(-3.5, 7.25), cell_m: 0.5, cols: 3, rows: 2 };
    Field { grid, values: vec![0.0, 0.125, f64::NAN, 1e-9, 0.5, 0.25] }
}

#[test]
fn the_ascii_grid_lies_north_up_with_its_corner() {
    let text = esri_ascii(&small());
    let lines: Vec<&str> = text.lines().collect();
    assert_eq!(
        lines[..6],
        ["ncols 3", "nrows 2", "xllcorner -3.5", "yllcorner 7.25", "cellsize 0.5", "NODATA_value -9999"]
    );
    let row = |k: usize| lines[k].split(' ').map(|v| v.parse::<f64>().unwrap()).collect::<Vec<_>>();
    assert_eq!(row(6), [1e-9, 0.5, 0.25]);
    assert_eq!(row(7), [0.0, 0.125, -9999.0]);
    let wkt = prj(&Frame::new(LonLat { lon: 10.93, lat: -47.0 }));
    assert!(wkt.contains("\"Central_Meridian\",10.93") && wkt.contains("\"Latitude_Of_Origin\",-47.0"));
    assert_eq!(wkt.matches('[').count(), wkt.matches(']').count());
}

#[test]
fn the_geotiff_comes_back_with_values_and_place() {
    use tiff::decoder::{Decoder, DecodingResult};
    use tiff::tags::Tag;
    let frame = Frame::new(LonLat { lon: 10.93, lat: 47.41 });
    let bytes = geotiff(&small(), &frame).unwrap();
    if let Ok(folder) = std::env::var("FATHOMLINE_PICTURES") {
        std::fs::write(format!("{folder}/small.tif"), &bytes).unwrap();
        std::fs::write(format!("{folder}/small.asc"), esri_ascii(&small())).unwrap();
        std::fs::write(format!("{folder}/small.prj"), prj(&frame)).unwrap();
    }
    let mut file = Decoder::new(std::io::Cursor::new(bytes)).unwrap();
    assert_eq!(file.dimensions().unwrap(), (3, 2));
    let DecodingResult::F32(values) = file.read_image().unwrap() else { panic!("not floats") };
    assert_eq!(values, [1e-9, 0.5, 0.25, 0.0, 0.125, -9999.0]);
    assert_eq!(file.get_tag_f64_vec(Tag::ModelTiepointTag).unwrap(), [0.0, 0.0, 0.0, -3.5, 8.25, 0.0]);
    assert_eq!(file.get_tag_f64_vec(Tag::ModelPixelScaleTag).unwrap(), [0.5, 0.5, 0.0]);
    assert_eq!(file.get_tag_f64_vec(Tag::GeoDoubleParamsTag).unwrap(), [0.0, 0.0, 10.93, 47.41]);
    let keys = file.get_tag_u16_vec(Tag::GeoKeyDirectoryTag).unwrap();
    assert_eq!(keys.len(), 4 + 4 * usize::from(keys[3]));
    assert!(keys[4..].chunks(4).is_sorted_by_key(|k| k[0]), "keys are sorted, as the standard asks");
    assert!(geotiff(&Field::filled(Grid { rows: 0, ..small().grid }, 0.0), &frame).is_err());
}

#[test]
fn another_library_places_the_raster_as_we_do() {
    // PROJ, through GDAL reading both the GeoTIFF and the ASCII grid with its .prj, places (1000, 0) of site metres about
    // 10.93 E 47.41 N here; 1e-9 degrees is a tenth of a millimetre, both compute the geodesic exactly.
    let frame = Frame::new(LonLat { lon: 10.93, lat: 47.41 });
    let at = frame.to_lonlat(Spot::new(1000.0, 0.0));
    assert!(
        (at.lon - 10.943_249_905_927_816).abs() < 1e-9 && (at.lat - 47.409_999_234_327_88).abs() < 1e-9,
        "{at:?}"
    );
}
