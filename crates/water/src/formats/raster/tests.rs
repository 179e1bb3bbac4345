use super::*;
use crate::LonLat;
use proptest::prelude::*;

const PLEASANT: &[u8] = include_bytes!("../../../../../data/real/wisconsin-lakes/pleasant_elevation.tif");
const PLEASANT_TFW: &[u8] = include_bytes!("../../../../../data/real/wisconsin-lakes/pleasant_elevation.tfw");

fn sample() -> Raster {
    let values = vec![1.5, f64::NAN, -9999.0, 0.1 + 0.2, -1e-300, 7.0];
    Raster { west: -93.7, south: 49.6, cell: [0.25, 0.5], cols: 3, rows: 2, values }
}

fn same(a: &Raster, b: &Raster) -> bool {
    let head = |r: &Raster| (r.west, r.south, r.cell, r.cols, r.rows);
    let bits =
        |r: &Raster| r.values.iter().map(|v| if v.is_nan() { 1 } else { v.to_bits() }).collect::<Vec<_>>();
    head(a) == head(b) && bits(a) == bits(b)
}

#[test]
fn what_is_written_is_read_back_to_the_last_bit() {
    let raster = sample();
    let ascii = esri_ascii(write_esri_ascii(&raster).as_bytes()).unwrap();
    assert!(same(&raster, &ascii), "{ascii:?}");
    for crs in [Crs::Geographic(4326), Crs::Projected(3071), Crs::SiteMetres(LonLat { lon: -3.0, lat: 54.0 })]
    {
        let bytes = write_geotiff(&raster, crs);
        let back = geotiff(&bytes, None).unwrap();
        assert!(same(&raster, &back), "{back:?}");
        let code = match crs {
            Crs::Geographic(code) | Crs::Projected(code) => Some(u32::from(code)),
            Crs::SiteMetres(_) => None,
        };
        assert_eq!(geotiff_epsg(&bytes), code, "{crs:?}");
    }
}

#[test]
fn a_foreign_geotiff_lies_where_its_tags_and_its_world_file_say() {
    let raster = geotiff(PLEASANT, Some(PLEASANT_TFW)).unwrap();
    assert_eq!((raster.cols, raster.rows), (205, 153));
    // Read from the file's tags with another program: tie point and scale.
    assert_eq!(raster.west, 555319.7313249598);
    assert!((raster.south - (390718.7465234132 - 153.0 * 5.486410972817871)).abs() < 1e-6);
    let known: Vec<f64> = raster.values.iter().copied().filter(|v| v.is_finite()).collect();
    let (low, high) = known.iter().fold((f64::MAX, f64::MIN), |(l, h), v| (l.min(*v), h.max(*v)));
    assert!((low - 291.143).abs() < 1e-3 && (high - 311.187).abs() < 1e-3, "{low} {high}");
    assert!(known.len() < raster.values.len(), "the nodata tag is a rounded -3.4e38");
    let moved = String::from_utf8_lossy(PLEASANT_TFW).replace("555322", "555422");
    assert!(geotiff(PLEASANT, Some(moved.as_bytes())).unwrap_err().contains("world file"));
    for bad in ["1 2 3", "5.4 0.1 0.1 -5.4 0 0", "x"] {
        assert!(geotiff(PLEASANT, Some(bad.as_bytes())).is_err(), "{bad}");
    }
}

#[test]
fn ascii_headers_come_in_many_dresses() {
    let plain = "ncols 2\nnrows 2\nxllcorner 10\nyllcorner 20\ncellsize 2\nNODATA_value -1\n1 2\n3 -1\n";
    let raster = esri_ascii(plain.as_bytes()).unwrap();
    assert_eq!((raster.west, raster.south, raster.cell), (10.0, 20.0, [2.0, 2.0]));
    assert!(raster.values[..1] == [3.0] && raster.values[1].is_nan() && raster.values[2..] == [1.0, 2.0]);
    assert_eq!(raster.middle(3), (13.0, 23.0));
    let dressed = "\u{feff}NCOLS 2\r\nNROWS 2\r\nXLLCENTER 11\r\nYLLCENTER 21\r\nDX 2\r\nDY 2\r\nnodata_VALUE -1\r\n1 2 3\r\n-1";
    assert!(same(&raster, &esri_ascii(dressed.as_bytes()).unwrap()));
}

#[test]
fn every_broken_grid_is_refused_with_value_and_way_out() {
    let head = "ncols 2\nnrows 2\nxllcorner 10\nyllcorner 20\ncellsize 2\n";
    for (text, says) in [
        ("", "ncols"),
        ("ncols 2\n1 2\n", "nrows"),
        (&format!("{head}1 2 3"), "3 values where 2 x 2 = 4"),
        (&format!("{head}1 2 3 4 5"), "more than 2 x 2"),
        (&format!("{head}1 2 3 4,5"), "\"4,5\""),
        (&head.replace("ncols 2", "ncols 2.5"), "whole number"),
        (&head.replace("ncols 2", "ncols -2"), "whole number"),
        (&head.replace("nrows 2", "nrows 900000000"), "more than 50000000 cells"),
        (&format!("{}1 2 3 4", head.replace("cellsize 2", "cellsize 0")), "above 0"),
        (&format!("{}1 2 3 4", head.replace("cellsize 2", "cellsize NaN")), "above 0"),
        (&head.replace("cellsize", "cell"), "no header name"),
    ] {
        let error = esri_ascii(text.as_bytes()).unwrap_err();
        assert!(error.contains(says), "{text:?}: {error}");
    }
    assert!(esri_ascii(&[0xff, 0xfe, 0]).unwrap_err().contains("not text"));
    for bytes in [&b""[..], b"II*\0", &PLEASANT[..2000], &PLEASANT[..200_000], b"MM\0*\0\0\0\x08\0\0"] {
        assert!(geotiff(bytes, None).is_err());
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 256, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn broken_bytes_never_panic(at in 0usize..1459, byte in any::<u8>(), cut in 0usize..4000) {
        let mut bytes = PLEASANT.to_vec();
        bytes[at] = byte;
        let _ = geotiff(&bytes, None);
        // The directory of this file lies near its end or its start; both are tried.
        let back = bytes.len() - 1 - at;
        bytes[back] = byte;
        let _ = geotiff(&bytes, None);
        let _ = geotiff(&bytes[..bytes.len() - cut], Some(&bytes[..cut.min(99)]));
        let _ = esri_ascii(&bytes[..cut]);
    }
}

// Made with another program (rasterio): 5 by 4 cells of 10 m in UTM zone 30 north, north-west corner 493500,
// 6039150, depths 1.0 to 2.9 m row by row from the north-west.
const SOUTH_FIRST: &[u8] = include_bytes!("../../../tests/rasters/south-first.tif");
const SCALED: &[u8] = include_bytes!("../../../tests/rasters/scaled.tif");

#[test]
fn rows_may_run_north_and_samples_may_be_scaled() {
    for (name, bytes) in [("south row first", SOUTH_FIRST), ("hundredths less a half", SCALED)] {
        let raster = geotiff(bytes, None).unwrap_or_else(|why| panic!("{name}: {why}"));
        assert_eq!(geotiff_epsg(bytes), Some(32_630), "{name}");
        assert_eq!(
            (raster.west, raster.south, raster.cell),
            (493_500.0, 6_039_110.0, [10.0, 10.0]),
            "{name}"
        );
        // Row 0 is the south row of the raster: 2.5 to 2.9 m.
        let south: Vec<f64> = raster.values[..5].iter().map(|v| (v * 10.0).round()).collect();
        assert_eq!(south, [25.0, 26.0, 27.0, 28.0, 29.0], "{name}");
        assert!((raster.values[19] - 1.4).abs() < 1e-6, "{name}");
    }
    assert!(geotiff(SCALED, None).expect("read").values[15].is_nan(), "the no-data value is not scaled");
}
